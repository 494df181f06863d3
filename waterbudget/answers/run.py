"""How long the stored rain lasts: a run in words, its stores, zones and beds, and its levels as a picture."""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import partial
from typing import assert_never

from typing_extensions import TypedDict

from waterbudget.answers.care import AIR_GAP, NO_MIST, NOT_TO_DRINK, PLUMBER
from waterbudget.answers.doubt import DoubtFacts, doubt_facts, doubt_sentence, range_sentence
from waterbudget.answers.english import capital, count, dated, in_words, listed, litres, percent, span, weekly_work
from waterbudget.answers.facts import Common, Period, period
from waterbudget.answers.pulse import run_off_sentence
from waterbudget.blocks import Answer, Bullets, Column, Lane, Marks, Picture, Strip, Table
from waterbudget.review.advice import Advice, DryBed, Overflowed, SunkPastRoots, TopUp, advice
from waterbudget.review.doubt import Doubt
from waterbudget.review.mains import Ending, Occasions, ending, given_by_mains, not_given
from waterbudget.review.run_off import RunsOff
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.simulate.shares import met_by_rain
from waterbudget.units import MIN_PER_HOUR

RELEASE = {
    "after_spill": "To be cautious, today's rain counts from tomorrow (yield after spillage).",
    "before_spill": "Today's rain counts today, on the hopeful side (yield before spillage).",
}


class StoreSums(TypedDict):
    """A store over all days."""

    name: str
    capacity_l: float
    start_l: float
    end_l: float
    lowest_l: float
    first_short: str | None
    inflow_l: float
    mains_l: float
    moved_in_l: float
    moved_out_l: float
    asked_l: float
    drawn_l: float
    drawn_mains_l: float
    short_l: float
    spilled_l: float
    lost_l: float


class ZoneSums(TypedDict):
    """A zone or another draw over all days."""

    name: str
    asked_l: float
    store_l: float
    rain_l: float
    mains_l: float
    unmet_l: float
    minutes_run: float


class TransferSums(TypedDict):
    """A transfer over all days; days: on which it moved something."""

    name: str
    moved_l: float
    days: int


class BedSums(TypedDict):
    """A bed over all days."""

    name: str
    planted_days: int
    stress_days: int
    first_stress: str | None
    eta_over_etc: float | None
    etc_mm: float
    eta_mm: float
    e_mm: float
    rain_mm: float
    irrigation_mm: float
    drained_mm: float
    overwatered_mm: float


class Facts(Common):
    """A run for machines: all of its summary.json, and the days with mains water and without enough."""

    start: str
    end: str
    days: int
    days_lasted: int
    first_short: str | None
    first_mains: str | None
    mains_l: float
    mains_days: int
    mains_period: Period | None
    ban_days: int
    asked_l: float
    store_l: float
    rain_l: float
    unmet_l: float
    unmet_days: int
    unmet_period: Period | None
    needed_l: float
    caught_l: float
    fed_l: float
    transferred_l: float
    spilled_l: float
    volume_reliability: float | None
    day_reliability: float | None
    work_minutes_per_week: float
    tanks: list[StoreSums]
    zones: list[ZoneSums]
    transfers: list[TransferSums]
    beds: list[BedSums]
    doubt: DoubtFacts | None


def answer(result: Result, notes: Sequence[str] = (), doubt: Doubt | None = None) -> Answer:
    """A run in words; notes: what else the reader should know of site and weather."""
    summary = result.summary
    return Answer(
        "run",
        f"{result.site.site.name}, {span(summary['start'], summary['end'])}",
        tuple(verdict(result, doubt)),
        (
            Bullets("help", "What would help", tuple(help_with(one, result) for one in advice(result))),
            stores(result),
            watering(result),
            beds(result),
            Bullets("tell", "Moved, fed and banned", tuple(also(result))),
            picture(result),
            Bullets("assume", "Assumed", (*assumptions(result), *(() if doubt is None else (doubt_sentence(doubt),)))),
            Bullets("caution", "Take care", tuple(cautions(result)), full=False),
            Bullets("caution", "Also", (PLUMBER,) if tops_up(result) else ()),
        ),
        facts(result, doubt),
        tuple(notes),
    )


def how_sure(doubt: Doubt | None) -> Iterator[str]:
    """Between which days the verdict may lie, in a line; nothing where it hangs on nothing."""
    line = None if doubt is None else range_sentence(doubt)
    if line is not None:
        yield line


def facts(result: Result, doubt: Doubt | None = None) -> Facts:
    """A run as plain values."""
    summary, given, lacking = result.summary, given_by_mains(result), not_given(result)
    told: Facts = {
        "site": result.site.site.name,
        "period": period(result.weather.first_day, result.weather.last_day),
        **summary,  # type: ignore[typeddict-item]  # the summary has the keys of Facts, as a test sees
        "mains_period": period(given.first, given.last) if given else None,
        "unmet_days": lacking.days if lacking else 0,
        "unmet_period": period(lacking.first, lacking.last) if lacking else None,
        "needed_l": summary["mains_l"] + summary["unmet_l"],
        "doubt": None if doubt is None else doubt_facts(doubt),
    }
    return told


# ---- The verdict -----------------------------------------------------------------------------------------------------


def verdict(result: Result, doubt: Doubt | None = None) -> Iterator[str]:
    """How long the store lasts, the mains water it takes, how sure that is, and the time."""
    end = ending(result)
    if end is None:
        yield f"The stored rain lasts all {count(result.summary['days'], 'day')}: no mains water is needed."
    else:
        yield " ".join((_lasts(result, end), *_top_up(result)))
    yield from how_sure(doubt)
    if result.site.zone:
        yield f"The plan takes {weekly_work(result.summary['work_minutes_per_week'])}."


def _lasts(result: Result, end: Ending) -> str:
    lasted = result.summary["days_lasted"]
    on = f"on {in_words(end.day, year=True)} {_what_ends(end)}"
    if lasted == 0:
        return f"The stored rain does not last the first day: {on}."
    return f"The stored rain lasts {count(lasted, 'day')} of {result.summary['days']:,}: {on}."


def _what_ends(end: Ending) -> str:
    told = [f"{listed(end.short)} {'runs' if len(end.short) == 1 else 'run'} short"] if end.short else []
    if end.opened:
        valves, let = ("valve", "lets") if len(end.opened) == 1 else ("valves", "let")
        told.append(f"the float {valves} of {listed(end.opened)} first {let} in mains water")
    return listed(told)


def _top_up(result: Result) -> Iterator[str]:
    """How much mains water it took, and how much more full watering would need."""
    summary, given, lacking = result.summary, given_by_mains(result), not_given(result)
    if given:
        yield f"The mains gave {litres(summary['mains_l'])} L on {count(given.days, 'day')}, {_from_to(result, given)}."
    if lacking:
        more = "another " if given else ""
        yield (
            f"Full watering would need {more}{litres(summary['unmet_l'])} L from the mains, on "
            f"{count(lacking.days, 'day')}, {_from_to(result, lacking)}."
        )


def _from_to(result: Result, one: Occasions) -> str:
    first, last = _day(result, one.first), _day(result, one.last)
    return f"on {first}" if one.days == 1 else f"{first} to {last}"


def _day(result: Result, day: dt.date | str) -> str:
    """A day of a run, with its year where the run touches more than one."""
    return dated(day, result.summary["start"], result.summary["end"])


# ---- What would help -------------------------------------------------------------------------------------------------


def help_with(one: Advice, result: Result) -> str:
    """What to do, in a sentence."""
    match one:
        case TopUp():
            return (
                f"Be ready to top up from {_day(result, one.first_day)}: "
                f"{litres(one.week_l)} L in the thirstiest week, "
                f"to {_day(result, one.week_end)}."
            )
        case RunsOff():
            return run_off_sentence(one)
        case SunkPastRoots():
            return (
                f'Run {one.zone} less, or set plan = "refill": {litres(one.sunk_l)} L ({percent(one.share)}) sank too '
                f"deep, most in {one.bed}."
            )
        case Overflowed():
            return (
                f"A larger store or another butt: {litres(one.spilled_l)} L ran down the drain before "
                f"{_day(result, one.first_short)}."
            )
        case DryBed():
            return f"Give {one.bed} more: thirsty on {count(one.days, 'day')} though {one.zone} gets all it asks."
        case _:
            assert_never(one)


# ---- Tables and the picture ------------------------------------------------------------------------------------------


def _whole(number: float) -> str:
    return f"{number:,.0f}"


def _hours(minutes: float) -> str:
    return f"{minutes / MIN_PER_HOUR:,.1f}"


def stores(result: Result) -> Table:
    """A row for each store."""
    heads = {
        "capacity_l": "holds",
        "start_l": "start",
        "lowest_l": "lowest",
        "end_l": "end",
        "inflow_l": "came in",
        "drawn_l": "drawn",
        "short_l": "short",
        "mains_l": "mains",
        "spilled_l": "spilled",
    }
    without_mains = {tank.name for tank in result.site.tank if tank.mains == "none"}
    rows = tuple(
        (
            tank["name"],
            *(None if name == "mains_l" and tank["name"] in without_mains else tank[name] for name in heads),
        )
        for tank in result.summary["tanks"]
    )
    spare = {"start_l", "inflow_l"}
    columns = (
        Column("tank", "Stores"),
        *(Column(name, head, "L", litres, spare=name in spare) for name, head in heads.items()),
    )
    return Table("Stores over all days", columns, rows)


def watering(result: Result) -> Table:
    """A row for each zone and each other draw."""
    zones = len(result.site.zone)
    rows = tuple(
        (
            outlet["name"],
            outlet["asked_l"],
            outlet["rain_l"],
            outlet["asked_l"] - outlet["rain_l"] - outlet["unmet_l"],  # by a hose, or by way of the store
            outlet["unmet_l"],
            float(met_by_rain(outlet["rain_l"], outlet["asked_l"])),
            outlet["minutes_run"] if number < zones else None,
        )
        for number, outlet in enumerate(result.summary["zones"])
    )
    columns = (
        Column("zone", "Watering"),
        Column("asked_l", "asked", "L", litres),
        Column("rain_l", "rain", "L", litres),
        Column("given_mains_l", "mains", "L", litres),
        Column("unmet_l", "not given", "L", litres),
        Column("volume_reliability", "met by rain", "of asked", percent),
        Column("minutes_run", "valve open", "hours", _hours),
    )
    return Table("Watering over all days", columns, rows, full=True)


def beds(result: Result) -> Table:
    """A row for each bed."""
    columns = (
        Column("bed", "Beds"),
        Column("etc_mm", "need", "mm", _whole),
        Column("rain_mm", "rain", "mm", _whole),
        Column("irrigation_mm", "watered", "mm", _whole),
        Column("drained_mm", "sank away", "mm", _whole),
        Column("eta_over_etc", "need met", "", percent),
        Column("stress_days", "thirsty", "days", _whole),
        Column("first_stress", "first thirsty", "", partial(_day, result), none="never"),
    )
    rows = tuple((bed["name"], *(bed[column.quantity] for column in columns[1:])) for bed in result.summary["beds"])
    return Table("Beds over all days", columns, rows, full=True)


def also(result: Result) -> Iterator[str]:
    """What was moved between stores and fed into them, and the days without mains water."""
    summary = result.summary
    for transfer in summary["transfers"]:
        yield f"{transfer['name']} moved {litres(transfer['moved_l'])} L on {count(transfer['days'], 'day')}."
    if result.site.inflow:
        yield f"{listed([feed.name for feed in result.site.inflow])} brought {litres(summary['fed_l'])} L."
    if result.site.ban:
        yield f"On {count(summary['ban_days'], 'day')} mains water was banned."


def picture(result: Result) -> Picture:
    """The level of each store, with a mark below each stretch in which it ran short."""
    return Picture("level", f"The level of each store from day to day, with rain. {_told(result)}", _strip(result))


def _told(result: Result) -> str:
    return " ".join(
        f"{row['name']} holds {litres(row['capacity_l'])} L, starts with {litres(row['start_l'])} L, is lowest with "
        f"{litres(row['lowest_l'])} L and ends with {litres(row['end_l'])} L."
        for row in result.summary["tanks"]
    )


def _strip(result: Result) -> Strip | None:
    if not result.each:
        return None
    rows: list[Lane | Marks] = []
    is_short = result.each["tanks.short_l"] > SHORT_L
    for number, tank in enumerate(result.summary["tanks"]):
        rows.append(Lane(tank["name"], result.each["tanks.level_l"][:, number] / tank["capacity_l"]))
        rows += [Marks(is_short[:, number])] if is_short[:, number].any() else []
    return Strip("Level", "█ full, ! short", tuple(rows), result.weather.days)


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(result: Result) -> Iterator[str]:
    """What the figures rest on."""
    et0 = result.weather.et0
    yield f"Weather: {result.weather.source}. Reference evapotranspiration ET0: {et0.method}."
    yield from (f"{capital(words)}." for words in et0.assumed)
    yield f"Likely error of ET0: {et0.likely_error}."
    starts = listed([f"{tank['name']} {litres(tank['start_l'])} L" for tank in result.summary["tanks"]])
    yield f"In the stores on the first day: {starts}."
    yield RELEASE[result.site.model.release]


def cautions(result: Result) -> Iterator[str]:
    """The cautions that watering, and topping up where that is needed, call for."""
    yield NOT_TO_DRINK
    if result.site.zone:
        yield NO_MIST
    if tops_up(result):
        yield AIR_GAP


def tops_up(result: Result) -> bool:
    """Whether mains water is needed."""
    return result.summary["first_mains"] is not None
