"""Very many gardens together in words: what they ask of mains and drain at worst, with their stores and without."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

from typing_extensions import TypedDict

from waterbudget.answers.english import count, in_words, litres, percent, span
from waterbudget.answers.facts import Common, period
from waterbudget.batch.run import Done
from waterbudget.batch.town import Together
from waterbudget.blocks import Answer, Block, Bullets, Column, Picture, Table
from waterbudget.units import L_PER_M3

M3_FROM_L = 10_000.0  # from here on amounts are told in cubic metres
HALF = 0.5
ALL = "all"
MOST_ROWS = 12


class Of(TypedDict):
    """Sums over the gardens of a group, and of one of the sizes tried; null without groups, and for stores as they are.

    Each garden counts as often as its weight says. peak: the most mains water that the watering takes in a day or a
    week, bare_peak: without any store.
    """

    group: str | None
    capacity_l: float | None
    gardens: float
    asked_l: float
    rain_l: float
    needed_l: float
    caught_l: float
    to_drain_l: float
    peak_day: str
    peak_day_l: float
    peak_week_from: str
    peak_week_l: float
    bare_peak_day: str
    bare_peak_day_l: float
    bare_peak_week_from: str
    bare_peak_week_l: float
    storms: list[str]
    storm_caught_l: float
    storm_kept_l: float


class Facts(Common):
    """A batch for machines; faults: what the first sites that could not be run say."""

    out: str
    sites: int
    rows: int
    sites_kept: int
    sites_at_fault: int
    rows_lasting: int
    faults: list[str]
    together: list[Of]


def answer(done: Done, *, kept: bool = True) -> Answer:
    """What came of a batch, in words; kept: whether its rows are there to be read."""
    ran = done.sites - done.faulty
    when = f", {span(*_period(done))}" if done.together else ""
    before = (f"{count(done.kept, 'site')} had been run before and stayed as they were.",) if done.kept else ()
    rows = f", {count(done.rows, 'row')} in {done.out}" if kept else ""
    return Answer(
        "batch",
        f"{done.name}{when}: {count(done.sites, 'site')}{rows}",
        tuple(verdict(done)) if ran else (f"None of the {count(done.sites, 'site')} could be run.",),
        tuple(blocks(done, kept=kept)),
        facts(done),
        before,
    )


def blocks(done: Done, *, kept: bool) -> Iterator[Block]:
    """What is worth knowing, the tables and the picture, what could not be run, and what is assumed."""
    if done.together and done.sizes:
        yield Bullets("help", "Worth knowing", tuple(helps(done)))
    if done.together:
        yield from tables(done)
        yield picture(done)
    if done.faulty:
        yield faults(done)
    if kept and done.together and not done.sizes:
        yield Bullets("help", "What to do next", (next_step(done),))
    yield Bullets("assume", "Assumed", tuple(assumptions()))


def next_step(done: Done) -> str:
    """What the rows are good for."""
    return f"Sort {done.out} by mains_l to see who needs most; --sizes 500,1000,2000 tries other stores."


def facts(done: Done) -> Facts:
    """A batch as plain values."""
    return {
        "site": done.name,
        "period": period(*_period(done)) if done.together else None,
        "out": str(done.out),
        "sites": done.sites,
        "rows": done.rows,
        "sites_kept": done.kept,
        "sites_at_fault": done.faulty,
        "rows_lasting": done.lasting,
        "faults": list(done.faults),
        "together": [_of(one) for one in done.together],
    }


def _of(one: Together) -> Of:
    return {
        "group": one.group or None,
        "capacity_l": one.capacity_l,
        "gardens": one.gardens,
        "asked_l": one.asked_l,
        "rain_l": one.rain_l,
        "needed_l": one.needed_l,
        "caught_l": one.caught_l,
        "to_drain_l": one.to_drain_l,
        "peak_day": one.day.first.isoformat(),
        "peak_day_l": one.day.litres,
        "peak_week_from": one.week.first.isoformat(),
        "peak_week_l": one.week.litres,
        "bare_peak_day": one.bare_day.first.isoformat(),
        "bare_peak_day_l": one.bare_day.litres,
        "bare_peak_week_from": one.bare_week.first.isoformat(),
        "bare_peak_week_l": one.bare_week.litres,
        "storms": [day.isoformat() for day in one.storms],
        "storm_caught_l": one.storm_caught_l,
        "storm_kept_l": one.storm_kept_l,
    }


def _period(done: Done) -> tuple[dt.date, dt.date]:
    dates = done.daily["date"]
    return dates.min().date(), dates.max().date()


def verdict(done: Done) -> Iterator[str]:
    """The worst day of mains water with stores and without, and what the greatest storms leave of their runoff."""
    every = [one for one in done.together if not one.group]
    most = every[-1]
    gardens = f"{most.gardens:,.0f} garden{'' if most.gardens == 1.0 else 's'}"
    bare = most.bare_day
    if not bare.litres > 0.0:
        yield f"The {gardens} ask for no water on any day."
    elif not most.day.litres > 0.0:
        yield (
            f"With {_stores(done, most)} {gardens} need no mains water on any day; without stores up to "
            f"{amount(bare.litres)} a day, on {in_words(bare.first, year=True)}."
        )
    elif done.sizes:
        yield (
            f"Without stores {gardens} take {amount(bare.litres)} of mains water on the worst day, "
            f"{in_words(bare.first, year=True)}. With {litres(most.capacity_l or 0.0)} L at each it is "
            f"{amount(most.day.litres)} at most{_less(most)}."
        )
    else:
        yield (
            f"With their stores {gardens} take at most {amount(most.day.litres)} of mains water in a day, on "
            f"{in_words(most.day.first, year=True)}; without stores {amount(bare.litres)}, on "
            f"{in_words(bare.first, year=True)}{_less(most)}."
        )
    if most.storm_caught_l > 0.0:
        yield (
            f"On the {count(len(most.storms), 'day')} of the heaviest runoff {_stores(done, most)} keep "
            f"{amount(most.storm_kept_l)} of {amount(most.storm_caught_l)} out of the drain "
            f"({percent(most.storm_kept_l / most.storm_caught_l)})."
        )
    if not done.sizes:
        yield (
            f"At {done.lasting:,} of {count(done.sites - done.faulty, 'site')} the stored rain lasts every day of "
            "its weather."
        )


def _stores(done: Done, most: Together) -> str:
    return f"stores of {litres(most.capacity_l or 0.0)} L" if done.sizes else "the stores"


def _less(one: Together) -> str:
    """How much lower the worst day is than without stores, where it shows."""
    share = 1.0 - one.day.litres / one.bare_day.litres
    return f": {percent(share)} less" if round(share, 2) > 0.0 else ": no less, for by then the stores are empty"


def helps(done: Done) -> Iterator[str]:
    """Which of the sizes is the first to do much."""
    every = [one for one in done.together if not one.group]
    halving = next((one for one in every if one.day.litres <= HALF * one.bare_day.litres), None)
    largest = every[-1]
    if halving is not None:
        yield f"{litres(halving.capacity_l or 0.0)} L at each is the smallest size tried that halves the worst day."
    else:
        yield (
            f"None of the sizes halves the worst day: a dry spell empties them first. The whole period's mains water "
            f"falls by {percent(1.0 - largest.needed_l / largest.asked_l if largest.asked_l > 0.0 else 0.0)} with "
            f"{litres(largest.capacity_l or 0.0)} L."
        )


def tables(done: Done) -> Iterator[Table]:
    """All gardens and every group; groups that would fill the screen have a table of their own."""
    of_all = [one for one in done.together if not one.group]
    if len(done.together) <= MOST_ROWS:
        yield table(done, done.together, "Mains water and storms")
    else:
        yield table(done, of_all, "Mains water and storms of all gardens")
        of_groups = [one for one in done.together if one.group]
        yield replace(table(done, of_groups, "Mains water and storms by group"), full=True)


def table(done: Done, of: Sequence[Together], title: str) -> Table:
    """A row for each group and size: the most mains water with stores and without, and what storms leave."""
    in_m3 = max(one.bare_week.litres for one in done.together) >= M3_FROM_L

    def written(value_l: float) -> str:
        return f"{value_l / L_PER_M3:,.1f}" if in_m3 else litres(value_l)

    unit = "m³" if in_m3 else "L"
    grouped, sized = any(one.group for one in of), bool(done.sizes)
    columns = (
        *([Column("group", done.by or "group", most=20)] if grouped else []),
        *([Column("capacity_l", "store", "L", write=litres, is_text=False)] if sized else []),
        Column("gardens", "gardens", write="{:,.0f}".format, is_text=False),
        Column("peak_day_l", "worst day", unit, write=written),
        Column("bare_peak_day_l", "no stores", unit, write=written),
        Column("peak_week_l", "worst week", unit, write=written),
        Column("bare_peak_week_l", "no stores", unit, write=written),
        Column("needed_l", "in all", unit, write=written),
        Column("storm_kept_share", "storms kept", write=percent),
    )
    rows = tuple(
        (
            *([one.group or ALL] if grouped else []),
            *([one.capacity_l] if sized else []),
            one.gardens,
            one.day.litres,
            one.bare_day.litres,
            one.week.litres,
            one.bare_week.litres,
            one.needed_l,
            one.storm_kept_l / one.storm_caught_l if one.storm_caught_l > 0.0 else None,
        )
        for one in of
    )
    below = ("Mains water; the last column is the share of the ten heaviest days' runoff that stays out of the drain.",)
    return Table(title, columns, rows, below)


def picture(done: Done) -> Picture:
    """The curve of the worst day over the size of the stores, or the mains water of every day."""
    return Picture("batch", " ".join(verdict(done)))


def faults(done: Done) -> Bullets:
    """The first sites that could not be run, and why."""
    more = done.faulty - len(done.faults)
    lines = (*done.faults, *((f"... and {more:,} more",) if more else ()))
    return Bullets("warn", f"{count(done.faulty, 'site')} could not be run; the column error says why", lines)


def assumptions() -> Iterator[str]:
    """What the comparison with no stores rests on."""
    yield "Without stores all that is asked for comes from the mains, and all that the roofs catch goes down the drain."
    yield "What is asked for is the same with stores and without."
    yield "A storm is a day; first flush and filter lose the same with stores and without."
    yield "Mains water is what the mains give and what is asked for but not given."


def amount(value_l: float) -> str:
    """Litres, or cubic metres where they are many: 940 L, 12 m³."""
    if value_l < M3_FROM_L:
        return f"{litres(value_l)} L"
    return f"{value_l / L_PER_M3:,.0f} m³"
