"""The screen of a comparison: which of the plans needs least mains water, then all of them side by side."""

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from waterbudget.answers.events import Event
from waterbudget.change.paste import toml_lines
from waterbudget.change.variants import ALL, Comparison, Variant, compare, told
from waterbudget.output import refuse_outputs, write_files
from waterbudget.render.calendar import calendar_bytes, refuse_calendar
from waterbudget.report.answer import Answer
from waterbudget.report.words import (
    count,
    litres,
    percent,
    screen,
    section,
    span,
    table,
    weekly_work,
    wrapped,
)
from waterbudget.simulate.pages import SHORT_L
from waterbudget.site.override import raw_site
from waterbudget.tables.cautions import cautions
from waterbudget.units import L_PER_M3, MIN_PER_HOUR

ALIKE_L = 1.0  # of mains water: less is told as alike


def answer_compare(
    paths: Sequence[Path],
    withs: Sequence[str],
    first: "dt.date | None",
    last: "dt.date | None",
    plot: Path | None,
    ics: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
) -> Answer:
    """Compare a site with changes of it and with other sites; plot: picture file; ics: calendar of the short days.

    Raises InputError for what the user can mend.
    """
    refuse_calendar(ics, overwrite=overwrite)
    refuse_outputs(None, plot, overwrite=overwrite)
    compared = compare(paths, withs, first, last)
    contents = {}
    if plot is not None:
        from waterbudget.report.change_figures import compare_picture

        contents[plot] = compare_picture(compared, plot.suffix)
    if ics is not None:
        contents[ics] = calendar_bytes(events(compared))
    write_files(contents, overwrite=overwrite)
    text = compare_json(compared) if as_json else compare_screen(compared)
    return Answer(text, (*compared.notes, *(f"Written: {file}" for file in contents)))


def compare_screen(compared: Comparison) -> str:
    """Everything a gardener needs to know of the comparison, at most 100 columns wide."""
    return screen(
        [wrapped(heading(compared))],
        [wrapped(" ".join(verdict(compared)))],
        ["Compared", *(wrapped(name_of(one), lead=f"  {one.letter}  ") for one in compared.variants)],
        side_by_side(compared),
        to_paste(compared),
        section("Assumed", assumptions(compared)),
        section("Take care", cautions_shown(compared)),
    )


def heading(compared: Comparison) -> str:
    """The garden and the days."""
    dates = compared.variants[0].outcome.dates
    return f"{compared.opened.site.site.name}, {len(compared.variants)} plans compared: {span(dates[0], dates[-1])}"


def name_of(one: Variant) -> str:
    """What a variant is, in one line; the plan as it is also by its garden."""
    if one.name == ALL:
        return f"{ALL}: {'; '.join(map(told, one.changes))}"
    return one.name


# ---- The verdict ---------------------------------------------------------------------------------------------------


def best_of(compared: Comparison) -> Variant:
    """The one that needs least mains water without letting plants go thirstier than in the present plan.

    Of those that need as little, the one whose valves are open for the shortest time; else the first.
    """
    present, *_ = compared.variants
    sound = [one for one in compared.variants if not one.outcome.is_thirstier_than(present.outcome)]
    least_l = min(one.outcome.needed_l for one in sound)
    alike = [one for one in sound if one.outcome.needed_l <= least_l + ALIKE_L]
    return min(alike, key=lambda one: round(one.outcome.minutes, 6))


def verdict(compared: Comparison) -> Iterator[str]:
    """Which plan needs least mains water, against the present one; and which need less at the plants' cost."""
    present, *others = compared.variants
    best = best_of(compared)
    all_l = [one.outcome.needed_l for one in compared.variants]
    if max(all_l) - min(all_l) <= ALIKE_L:
        need = "None of them needs" if max(all_l) <= ALIKE_L else f"All of them need {litres(min(all_l))} L of"
        yield f"{need} mains water{'' if max(all_l) <= ALIKE_L else ': none saves any'}."
        if best is not present:
            yield f"{best.letter} has the valves open for the shortest time, {hours(best)}, now {hours(present)}."
    elif best is present:
        yield (
            f"The present plan (A) is the best of them: it needs {litres(present.outcome.needed_l)} L of mains water, "
            "and none needs less without leaving the plants thirstier."
        )
    else:
        saved_l = present.outcome.needed_l - best.outcome.needed_l
        mains = f"{litres(best.outcome.needed_l)} L" if best.outcome.needed_l > ALIKE_L else "none at all"
        yield (
            f"{best.letter} ({name_of(best)}) needs the least mains water: {mains}, "
            f"{litres(saved_l)} L less than the present plan (A); {lasting(best, present)}."
        )
    yield working(compared)
    for one in others:
        saved_l = best.outcome.needed_l - one.outcome.needed_l
        if one is not best and saved_l > ALIKE_L and one.outcome.is_thirstier_than(present.outcome):
            met, now = percent(one.outcome.need_met_if_given), percent(present.outcome.need_met_if_given)
            yield (
                f"{one.letter} would need {litres(saved_l)} L less still, but at the plants' cost: "
                f"with all their water given {met} of their need is met, not {now}."
            )


def lasting(one: Variant, present: Variant) -> str:
    """How long the stored rain lasts, beside the present plan."""
    days, now = one.outcome.summary["days_lasted"], present.outcome.summary["days_lasted"]
    if days == one.outcome.summary["days"]:
        return f"the stored rain lasts all {count(days, 'day')}"
    return f"the stored rain lasts {count(days, 'day')}, {'as now' if days == now else f'now {now:,}'}"


def working(compared: Comparison) -> str:
    """What the best takes of somebody's time, beside the present plan."""
    present, best = compared.variants[0].outcome.week_minutes, best_of(compared).outcome.week_minutes
    if round(present) == round(best):
        return f"The watering takes {weekly_work(best)}, as now."
    return f"The watering then takes {weekly_work(best)}, now {present:,.0f}."


def hours(one: Variant) -> str:
    """How long valves are open."""
    return f"{one.outcome.minutes / MIN_PER_HOUR:,.1f} hours"


# ---- The table -----------------------------------------------------------------------------------------------------


def side_by_side(compared: Comparison) -> list[str]:
    """A column for each variant."""
    variants = compared.variants
    rows = [(label, *(cell(one) for one in variants)) for label, cell in lines(compared).items()]
    return table(("Side by side", *(one.letter for one in variants)), rows)


def lines(compared: Comparison) -> dict[str, Any]:
    """What stands in each line of the table, by its label."""
    price = compared.opened.site.prices.water_per_m3

    def booked(key: str) -> Any:  # noqa: ANN401 - a number or a day
        return lambda one: litres(one.outcome.summary[key])

    told_lines = {
        "Stored rain lasts (days)": lambda one: f"{one.outcome.summary['days_lasted']:,}",
        "First short": lambda one: _day(one.outcome.summary),
        "Asked for (L)": booked("asked_l"),
        "Given by stored rain (L)": booked("rain_l"),
        "Given by the mains (L)": lambda one: litres(_from_mains_l(one.outcome.summary)),
        "Not given (L)": booked("unmet_l"),
        "Met by rain": lambda one: percent(one.outcome.summary["volume_reliability"]),
        "Mains water needed (L)": lambda one: litres(one.outcome.needed_l),
        "... in your money": lambda one: f"{one.outcome.needed_l / L_PER_M3 * (price or 0.0):,.2f}",
        "Down the drain (L)": lambda one: litres(one.outcome.to_drain_l),
        "In the stores at the end (L)": lambda one: litres(one.outcome.end_l),
        "Somebody's time (min/week)": lambda one: f"{one.outcome.week_minutes:,.0f}",
        "Valves open (hours)": lambda one: f"{one.outcome.minutes / MIN_PER_HOUR:,.1f}",
        "Need of watered beds met": lambda one: percent(one.outcome.need_met),
        "Thirsty days, all beds": lambda one: f"{one.outcome.thirsty_days:,}",
    }
    if price is None:
        del told_lines["... in your money"]
    return told_lines


def _from_mains_l(summary: dict[str, Any]) -> float:
    """Mains water among what was given [L]: by a hose, or by way of the stores."""
    return float(summary["asked_l"] - summary["rain_l"] - summary["unmet_l"])


def _day(summary: dict[str, Any]) -> str:
    """The first day short, with its year where the run touches more than one."""
    if summary["first_short"] is None:
        return "never"
    day = dt.date.fromisoformat(summary["first_short"])
    more_years = summary["start"][:4] != summary["end"][:4]
    return f"{day.day} {day:%b}{f' {day.year}' if more_years else ''}"


def to_paste(compared: Comparison) -> list[str]:
    """Lines for the site file, where a change of it is the best."""
    best = best_of(compared)
    if not best.changes:
        return []
    changes = [(change.place, change.now) for change in best.changes]
    lead = f"To have {best.letter}, write into {compared.opened.path}"
    return [lead, *(f"  {line}" for line in toml_lines(raw_site(compared.opened.path), changes))]


# ---- What it rests on ----------------------------------------------------------------------------------------------


def assumptions(compared: Comparison) -> Iterator[str]:
    """What the figures rest on."""
    weather = compared.opened.weather
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    if any(not one.changes for one in compared.variants[1:]):
        yield "All site files were run on the weather of the first, so that nothing but the gardens differs."
    yield "Mains water needed is what the mains gave and what was asked for but not given."
    yield "Every plan begins with what its site file says is in the stores on the first day."
    yield (
        "Hours and minutes are those that all the watering takes, with mains water where the store is short; "
        "somebody's time is by [effort] of the site file."
    )
    yield (
        "Thirstier means: half a per cent or more of the watered beds' need is met less with all their water given, by "
        "hose where a store has no mains (our mark, no source)."
    )


def cautions_shown(compared: Comparison) -> list[str]:
    """The cautions that the answer calls for."""
    if max(one.outcome.needed_l for one in compared.variants) <= SHORT_L:
        return []
    return [one.caution for one in cautions("mains top-up") if one.subject == "type"]


# ---- For machines --------------------------------------------------------------------------------------------------


def compare_json(compared: Comparison) -> str:
    """The comparison as JSON: the summary of each variant with what is reckoned from it."""
    price = compared.opened.site.prices.water_per_m3
    told_variants = [
        {
            "letter": one.letter,
            "name": one.name,
            "changes": {change.head: change.now for change in one.changes},
            "needed_l": one.outcome.needed_l,
            "needed_money": None if price is None else one.outcome.needed_l / L_PER_M3 * price,
            "to_drain_l": one.outcome.to_drain_l,
            "work_minutes_per_week": one.outcome.week_minutes,
            "valve_minutes": one.outcome.minutes,
            "need_met": one.outcome.need_met,
            "need_met_if_given": one.outcome.need_met_if_given,
            "thirsty_days": one.outcome.thirsty_days,
            **one.outcome.summary,
        }
        for one in compared.variants
    ]
    found = {"site": compared.opened.site.site.name, "best": best_of(compared).letter, "variants": told_variants}
    return json.dumps(found, indent=2, ensure_ascii=False, default=str)


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
