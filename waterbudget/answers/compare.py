"""Which of several plans is better, in words: the one that needs least mains water, then all of them side by side."""

from collections.abc import Iterator

import numpy as np
from typing_extensions import TypedDict

from waterbudget.answers.care import AIR_GAP, PLUMBER
from waterbudget.answers.english import count, dated, litres, money, percent, span, weekly_work
from waterbudget.answers.events import Event
from waterbudget.answers.facts import Common, period
from waterbudget.answers.run import BedSums, StoreSums, TransferSums, ZoneSums
from waterbudget.blocks import Answer, Bullets, Column, Picture, Table
from waterbudget.change.paste import toml_lines
from waterbudget.change.variants import ALIKE_L, ALL, Comparison, Variant, told
from waterbudget.simulate.books import SHORT_L
from waterbudget.site.override import raw_site
from waterbudget.units import L_PER_M3, MIN_PER_HOUR


class PlanFacts(TypedDict):
    """A plan over all days. changes: keys of the site file that differ from the present plan, with their values."""

    letter: str
    name: str
    changes: dict[str, object]
    days_lasted: int
    first_short: str | None
    first_mains: str | None
    asked_l: float
    store_l: float
    rain_l: float
    mains_l: float
    mains_days: int
    unmet_l: float
    needed_l: float
    needed_money: float | None
    caught_l: float
    fed_l: float
    transferred_l: float
    spilled_l: float
    to_drain_l: float
    end_l: float
    volume_reliability: float | None
    day_reliability: float | None
    work_minutes_per_week: float
    minutes: float
    need_met: float | None
    need_met_if_given: float | None
    thirsty_days: int
    tanks: list[StoreSums]
    zones: list[ZoneSums]
    transfers: list[TransferSums]
    beds: list[BedSums]


class Facts(Common):
    """A comparison for machines. best: the letter of the best plan."""

    best: str
    plans: list[PlanFacts]


OF_SUMMARY = PlanFacts.__annotations__.keys() - {
    *("letter", "name", "changes", "needed_l", "needed_money", "to_drain_l", "end_l", "minutes"),
    *("work_minutes_per_week", "need_met", "need_met_if_given", "thirsty_days"),
}


def answer(compared: Comparison) -> Answer:
    """The comparison in words."""
    dates = compared.present.outcome.dates
    return Answer(
        "compare",
        f"{compared.opened.site.site.name}, {len(compared.variants)} plans, {span(dates[0], dates[-1])}",
        tuple(verdict(compared)),
        (
            Bullets("help", "", tuple(f"{one.letter}: {name_of(one)}" for one in compared.variants)),
            main_table(compared),
            water_table(compared),
            Picture("compare", f"The level of each store under every plan. {' '.join(verdict(compared))}"),
            to_paste(compared),
            Bullets("assume", "Assumed", tuple(assumptions(compared))),
            Bullets("caution", "Take care", tuple(cautions(compared))),
        ),
        facts(compared),
        compared.notes,
    )


def name_of(one: Variant) -> str:
    """What a plan is, in one line."""
    return f"{ALL}: {'; '.join(map(told, one.changes))}" if one.name == ALL else one.name


# ---- The verdict -----------------------------------------------------------------------------------------------------


def verdict(compared: Comparison) -> Iterator[str]:
    """Which plan needs least mains water, against the present one; and which need less at the plants' cost."""
    yield " ".join((least(compared), working(compared)))
    yield from (dearer for one in compared.variants if (dearer := at_the_plants_cost(one, compared)))


def least(compared: Comparison) -> str:
    """Which plan needs least mains water."""
    present, best = compared.present, compared.best
    all_l = [one.outcome.needed_l for one in compared.variants]
    if max(all_l) - min(all_l) <= ALIKE_L:
        return _alike(compared, max(all_l))
    if best is present:
        return (
            f"The present plan (A) is the best: it needs {litres(present.outcome.needed_l)} L of mains water, "
            "and none needs less without leaving the plants thirstier."
        )
    saved_l = present.outcome.needed_l - best.outcome.needed_l
    needs = f"{litres(best.outcome.needed_l)} L" if best.outcome.needed_l > ALIKE_L else "none at all"
    return (
        f"{best.letter} is the best ({name_of(best)}): it needs {needs} of mains water, {litres(saved_l)} L less than "
        f"the present plan (A); {lasting(best, present)}."
    ).replace("none at all of mains water", "no mains water at all")


def _alike(compared: Comparison, most_l: float) -> str:
    if most_l <= ALIKE_L:
        need = "None of them needs mains water."
    else:
        need = f"All of them need {litres(most_l)} L of mains water: none saves any."
    best = compared.best
    if best is compared.present:
        return need
    return (
        f"{need} {best.letter} has the valves open for the shortest time, {hours(best)}, now {hours(compared.present)}."
    )


def lasting(one: Variant, present: Variant) -> str:
    """How long the stored rain lasts, beside the present plan."""
    days, now = one.outcome.summary["days_lasted"], present.outcome.summary["days_lasted"]
    if days == one.outcome.summary["days"]:
        return f"the stored rain lasts all {count(days, 'day')}"
    return f"the stored rain lasts {count(days, 'day')}, {'as now' if days == now else f'now {now:,}'}"


def working(compared: Comparison) -> str:
    """What the best takes of your time, beside the present plan."""
    present, best = compared.present.outcome.week_minutes, compared.best.outcome.week_minutes
    if round(present) == round(best):
        return f"The watering takes {weekly_work(best)}, as now."
    return f"The watering then takes {weekly_work(best)}, now {present:,.0f}."


def at_the_plants_cost(one: Variant, compared: Comparison) -> str | None:
    """That a plan needs less than the best, but leaves the plants thirstier; None where it does not."""
    present, saved_l = compared.present, compared.best.outcome.needed_l - one.outcome.needed_l
    if saved_l <= ALIKE_L or not one.outcome.is_thirstier_than(present.outcome):
        return None
    met, now = percent(one.outcome.need_met_if_given), percent(present.outcome.need_met_if_given)
    return (
        f"{one.letter} would save {litres(saved_l)} L more, but at the plants' cost: it meets {met} of their need even "
        f"with all its water, not {now}."
    )


def hours(one: Variant) -> str:
    """How long valves are open."""
    return f"{one.outcome.minutes / MIN_PER_HOUR:,.1f} hours"


# ---- The tables ------------------------------------------------------------------------------------------------------


def main_table(compared: Comparison) -> Table:
    """A row for each plan: how long its rain lasts, what it needs, and how its plants fare."""
    price, currency = compared.opened.site.prices.water_per_m3, compared.opened.site.prices.currency
    first, last = compared.present.outcome.dates[0], compared.present.outcome.dates[-1]
    costs = (Column("needed_money", "costs", write=lambda paid: money(paid, currency), is_text=False),)
    columns = (
        Column("letter", "Plan"),
        Column("days_lasted", "rain lasts", "days", "{:,}".format),
        Column("first_short", "first short", write=lambda day: dated(day, first, last), none="never", is_text=False),
        Column("needed_l", "mains", "L", litres),
        *(costs if price else ()),
        Column("work_minutes_per_week", "your time", "min/week", "{:,.0f}".format),
        Column("need_met", "need met", "", percent),
        Column("thirsty_days", "thirsty", "days", "{:,}".format),
    )
    rows = tuple(
        (
            one.letter,
            one.outcome.summary["days_lasted"],
            one.outcome.summary["first_short"],
            one.outcome.needed_l,
            *((one.outcome.needed_l / L_PER_M3 * price,) if price else ()),
            one.outcome.week_minutes,
            one.outcome.need_met,
            one.outcome.thirsty_days,
        )
        for one in compared.variants
    )
    return Table("Plans side by side", columns, rows)


def water_table(compared: Comparison) -> Table:
    """A row for each plan: where its water came from, and where it went."""
    columns = (
        Column("letter", "Plan"),
        Column("asked_l", "asked", "L", litres),
        Column("rain_l", "rain", "L", litres),
        Column("given_mains_l", "mains", "L", litres),
        Column("unmet_l", "not given", "L", litres),
        Column("volume_reliability", "met by rain", "of asked", percent),
        Column("to_drain_l", "down the drain", "L", litres),
        Column("end_l", "left at the end", "L", litres),
        Column("minutes", "valves open", "hours", lambda minutes: f"{minutes / MIN_PER_HOUR:,.1f}"),
    )
    rows = []
    for one in compared.variants:
        summary = one.outcome.summary
        given_mains_l = summary["asked_l"] - summary["rain_l"] - summary["unmet_l"]  # by a hose, or by way of stores
        rows.append(
            (
                one.letter,
                summary["asked_l"],
                summary["rain_l"],
                given_mains_l,
                summary["unmet_l"],
                summary["volume_reliability"],
                one.outcome.to_drain_l,
                one.outcome.end_l,
                one.outcome.minutes,
            )
        )
    return Table("Water of the plans", columns, tuple(rows), full=True)


def to_paste(compared: Comparison) -> Bullets:
    """Lines for the site file, where a change of it is the best."""
    best = compared.best
    if not best.changes:
        return Bullets("paste", "", ())
    changes = [(change.place, change.now) for change in best.changes]
    lines = tuple(toml_lines(raw_site(compared.opened.path), changes))
    return Bullets("paste", f"To have {best.letter}, write into {compared.opened.path}:", lines)


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(compared: Comparison) -> Iterator[str]:
    """What the figures rest on."""
    weather = compared.opened.weather
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    if any(not one.changes for one in compared.variants[1:]):
        yield "All site files were run on the weather of the first, so that nothing but the gardens differs."
    yield "Mains water is what the mains gave and what was asked for but not given."
    yield "Every plan begins with what its site file says is in the stores on the first day."
    yield (
        "Hours and minutes are those that all the watering takes, with mains water where the store is short; your time "
        "is as the site file tells the effort. Thirsty days are of all beds together."
    )
    yield (
        "Thirstier means: half a per cent or more of the watered beds' need is met less with all their water given, by "
        "hose where a store has no mains (our mark, no source)."
    )


def cautions(compared: Comparison) -> Iterator[str]:
    """The cautions that the answer calls for."""
    if max(one.outcome.needed_l for one in compared.variants) > SHORT_L:
        yield from (AIR_GAP, PLUMBER)


# ---- For machines ----------------------------------------------------------------------------------------------------


def facts(compared: Comparison) -> Facts:
    """The comparison as plain values."""
    dates = compared.present.outcome.dates
    return {
        "site": compared.opened.site.site.name,
        "period": period(dates[0], dates[-1]),
        "best": compared.best.letter,
        "plans": [_plan(one, compared.opened.site.prices.water_per_m3) for one in compared.variants],
    }


def _plan(one: Variant, price: float | None) -> PlanFacts:
    outcome = one.outcome
    plan: PlanFacts = {
        "letter": one.letter,
        "name": one.name,
        "changes": {change.head: change.now for change in one.changes},
        "needed_l": outcome.needed_l,
        "needed_money": None if price is None else outcome.needed_l / L_PER_M3 * price,
        "to_drain_l": outcome.to_drain_l,
        "end_l": outcome.end_l,
        "work_minutes_per_week": outcome.week_minutes,
        "minutes": outcome.minutes,
        "need_met": outcome.need_met,
        "need_met_if_given": outcome.need_met_if_given,
        "thirsty_days": outcome.thirsty_days,
        **{key: outcome.summary[key] for key in OF_SUMMARY},  # type: ignore[typeddict-item]  # as a test sees
    }
    return plan


def events(compared: Comparison) -> Iterator[Event]:
    """An event for each stretch of days on which a plan needs mains water."""
    for one in compared.variants:
        needed_l = one.outcome.needed_l_by_day
        if needed_l is None:
            raise AssertionError("a comparison keeps what is needed on each day")
        turns = np.flatnonzero(np.diff(needed_l > SHORT_L, prepend=False, append=False)).reshape(-1, 2)
        for begins, after in turns:
            yield Event(
                one.outcome.dates[begins],
                f"{one.letter}: {litres(needed_l[begins:after].sum())} L of mains water",
                f"Plan {one.letter}: {name_of(one)}",
                int(after - begins),
            )
