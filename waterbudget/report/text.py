"""The screen of a run: the verdict first, then the stores, zones and beds, the level as a picture, what was assumed."""

import math
from typing import TYPE_CHECKING

import wcwidth

from waterbudget.render.text import date_row
from waterbudget.report.advice import advice
from waterbudget.report.words import (
    capital,
    count,
    dated,
    in_words,
    listed,
    litres,
    percent,
    screen,
    section,
    shortened,
    span,
    table,
    weekly_work,
    wrapped,
)
from waterbudget.simulate.pages import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.simulate.shares import met_by_rain

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    import pandas as pd

LEVELS = " ▁▂▃▄▅▆▇█"
PICTURE_COLUMNS = 60
LONGEST_NAME = 24
ROUNDING = 1e-9


def run_screen(result: Result) -> str:
    """Everything a gardener needs to know of a run, at most 100 columns wide."""
    summary = result.summary
    return screen(
        [f"{result.site.site.name}, {span(summary['start'], summary['end'])}"],
        [wrapped(f"{verdict(result)} {work(result)}".strip())],
        section("What would help", advice(result), lead="  * "),
        stores(result),
        watering(result),
        beds(result),
        level_picture(result),
        section("Assumed", assumptions(result)),
        section("Take care", cautions_shown(result)),
    )


def verdict(result: Result) -> str:
    """The answer in a sentence or two: how long the store lasts, and the mains water it takes."""
    summary = result.summary
    if summary["first_short"] is None and summary["first_mains"] is None:
        return f"The stored rain lasts all {count(summary['days'], 'day')}: no mains water is needed."
    return f"{_lasts(result)} {_top_up(result)}"


def work(result: Result) -> str:
    """What the plan takes of somebody's time; nothing where there is nothing to water."""
    if not result.site.zone:
        return ""
    return f"The plan takes {weekly_work(result.summary['work_minutes_per_week'])}."


def _lasts(result: Result) -> str:
    summary = result.summary
    first = min(day for day in (summary["first_short"], summary["first_mains"]) if day is not None)
    on = f"on {in_words(first, year=True)} {_what_ends(result, first)}"
    if summary["days_lasted"] == 0:
        return f"The stored rain does not last the first day: {on}."
    return f"The stored rain lasts {count(summary['days_lasted'], 'day')} of {summary['days']:,}: {on}."


def _what_ends(result: Result, first: str) -> str:
    """The stores that run short on a day, and those whose float valve lets in mains water."""
    today = result.tanks[result.tanks["date"] == first]
    floats = [tank.name for tank in result.site.tank if tank.mains == "float"]
    opened = list(today.loc[(today["mains_l"] > SHORT_L) & today["tank"].isin(floats), "tank"])
    short = list(today.loc[today["short_l"] > SHORT_L, "tank"])
    told = [f"{listed(short)} {'runs' if len(short) == 1 else 'run'} short"] if short else []
    valves = "the float valve" if len(opened) == 1 else "the float valves"
    told += (
        [f"{valves} of {listed(opened)} first {'lets' if len(opened) == 1 else 'let'} in mains water"] if opened else []
    )
    return listed(told)


def _top_up(result: Result) -> str:
    """How much mains water it took, or would have taken."""
    summary = result.summary
    sentences = []
    if days := _days_with(result.tanks, "mains_l"):
        sentences.append(
            f"The mains gave {litres(summary['mains_l'])} L on {count(len(days), 'day')}, {_from_to(result, days)}."
        )
    if days := _days_with(result.zones, "unmet_l"):
        more = "another " if sentences else ""
        sentences.append(
            f"It would have taken {more}{litres(summary['unmet_l'])} L of mains water on {count(len(days), 'day')}, "
            f"{_from_to(result, days)}, to do all the watering."
        )
    return " ".join(sentences)


def _from_to(result: Result, days: "Sequence[pd.Timestamp]") -> str:
    """The first and the last of some days of a run, or the only one."""
    first, last = (_day(result, day.date()) for day in (days[0], days[-1]))
    return f"on {first}" if len(days) == 1 else f"{first} to {last}"


def _day(result: Result, day: "dt.date | str") -> str:
    """A day of a run, with its year where the run touches more than one."""
    return dated(day, result.summary["start"], result.summary["end"])


def _days_with(frame: "pd.DataFrame", column: str) -> "list[pd.Timestamp]":
    return list(frame.loc[frame[column] > SHORT_L, "date"].unique())


def stores(result: Result) -> list[str]:
    """A line for each store."""
    rows = [
        (
            short_name(tank["name"]),
            *(litres(tank[key]) for key in ("capacity_l", "start_l", "lowest_l", "end_l", "inflow_l", "drawn_l")),
            litres(tank["short_l"]),
            litres(tank["mains_l"]) if site.mains != "none" else "–",
            litres(tank["spilled_l"]),
        )
        for tank, site in zip(result.summary["tanks"], result.site.tank, strict=True)
    ]
    head = ("Stores", "holds", "start", "lowest", "end", "came in", "drawn", "short", "mains", "spilled")
    return table(head, rows, units=("", *["L"] * 9))


def watering(result: Result) -> list[str]:
    """A line for each zone and each other draw."""
    zones = len(result.site.zone)
    rows = [
        (
            short_name(outlet["name"]),
            litres(outlet["asked_l"]),
            litres(outlet["rain_l"]),
            litres(outlet["asked_l"] - outlet["rain_l"] - outlet["unmet_l"]),  # by a hose, or by way of the store
            litres(outlet["unmet_l"]),
            percent(float(met_by_rain(outlet["rain_l"], outlet["asked_l"]))),
            f"{outlet['minutes_run'] / 60:,.1f}" if number < zones else "–",
        )
        for number, outlet in enumerate(result.summary["zones"])
    ]
    head = ("Watering", "asked", "rain", "mains", "not given", "met by rain", "valve open")
    return table(head, rows, units=("", "L", "L", "L", "L", "of asked", "hours")) if rows else []


def beds(result: Result) -> list[str]:
    """A line for each bed."""
    rows = [
        (
            short_name(bed["name"]),
            *(f"{bed[name]:,.0f}" for name in ("etc_mm", "rain_mm", "irrigation_mm", "drained_mm")),
            percent(bed["eta_over_etc"]),
            f"{bed['stress_days']:,}",
            _day(result, bed["first_stress"]) if bed["first_stress"] else "never",
        )
        for bed in result.summary["beds"]
    ]
    head = ("Beds", "need", "rain", "watered", "sank away", "need met", "thirsty", "first thirsty")
    return table(head, rows, units=("", "mm", "mm", "mm", "mm", "", "days", "")) if rows else []


def level_picture(result: Result) -> list[str]:
    """The level of each store as a row of blocks, with a mark below each stretch in which it ran short."""
    dates = list(result.tanks["date"].unique())
    per_column = math.ceil(len(dates) / PICTURE_COLUMNS)
    starts = range(0, len(dates), per_column)
    names = [short_name(tank.name) for tank in result.site.tank]
    width = max(map(wcwidth.width, names))
    step = "one column a day" if per_column == 1 else f"one column for {per_column} days"
    lines = [f"Level, {step}; █ full, ! short"]
    for tank, name in zip(result.site.tank, names, strict=True):
        frame = result.tanks[result.tanks["tank"] == tank.name]
        share = (frame["level_l"] / tank.all_l).to_numpy()
        short = (frame["short_l"] > SHORT_L).to_numpy()
        lines.append(f"{wcwidth.ljust(name, width)}  |{''.join(block(share[day]) for day in starts)}|")
        if short.any():
            marks = "".join("!" if short[day : day + per_column].any() else " " for day in starts)
            lines.append(f"{'':<{width}}  |{marks}|")
    return [*lines, f"{'':<{width}}   {date_row([dates[day].date() for day in starts])}"]


def block(share: float) -> str:
    """A block as high as a share of full."""
    return LEVELS[math.ceil(share * (len(LEVELS) - 1) - ROUNDING)]


def assumptions(result: Result) -> list[str]:
    """What the figures rest on."""
    site, et0 = result.site, result.weather.et0
    release = (
        "today's rain can be drawn only tomorrow (yield after spillage), on the safe side"
        if site.model.release == "after_spill"
        else "today's rain can be drawn today (yield before spillage), on the hopeful side"
    )
    starts = listed([f"{tank['name']} {litres(tank['start_l'])} L" for tank in result.summary["tanks"]])
    return [
        f"Weather: {result.weather.source}. Reference evapotranspiration ET0: {et0.method}.",
        *(f"{capital(words)}." for words in et0.assumed),
        f"Likely error of ET0: {et0.likely_error}.",
        f"In the stores on the first day: {starts}.",
        f"Order of the day: {release}.",
    ]


def cautions_shown(result: Result) -> list[str]:
    """The cautions that the screen's advice calls for."""
    lines = ["Stored rain is not drinking water. Water the soil, not leaves that are eaten raw."]
    if result.site.zone:
        lines.append(
            "No mist or fine spray from a store warmer than 20 °C: Legionella multiply in warm standing water."
        )
    if result.summary["first_mains"] is not None:
        lines.append(
            "Top up from the mains through an air gap only, never by joining pipes; "
            "local water rules come first, and a licensed plumber knows them."
        )
    return lines


def short_name(name: str) -> str:
    """A name, cut where it would push a table apart."""
    return shortened(name, LONGEST_NAME)
