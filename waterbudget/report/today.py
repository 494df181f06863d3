"""The screen of today: which zones to open and for how long, what is in the stores, how long it lasts, and the rain."""

import datetime as dt
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from waterbudget.answers.events import Event
from waterbudget.change.ahead import days_ahead, read_forecast
from waterbudget.change.forecast import station_forecast
from waterbudget.change.known import DAY, Known, known_on
from waterbudget.change.now import Coming, Now, Opening, Store, now
from waterbudget.change.wait import Wait
from waterbudget.journal.book import Journal, journal_path, read_journal
from waterbudget.journal.diary import LET_IN, actions_of, diary_of, gauged
from waterbudget.journal.readings import levels_of
from waterbudget.output import write_files
from waterbudget.render.calendar import calendar_bytes, refuse_calendar
from waterbudget.report.answer import Answer
from waterbudget.report.words import (
    count,
    in_words,
    listed,
    litres,
    percent,
    screen,
    section,
    table,
    weekly_work,
    wrapped,
)
from waterbudget.simulate.pages import SHORT_L
from waterbudget.tables.cautions import cautions

if TYPE_CHECKING:
    from waterbudget.weather.files import Weather

OFF_L = 0.05  # of the capacity: a reading that misses the reckoned level by more is worth a line
LONG_MINUTES = 10.0
LEAST_RAIN_MM = 1.0  # of all forecast days
CAUTIONS = ("spray", "type")  # subjects in the table: how not to water, and how to top up


def answer_today(
    path: Path | None,
    forecast: Path | None,
    on: dt.date | None,
    ics: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
    progress: Callable[[str], None] | None = None,
) -> Answer:
    """What to do in a garden today; forecast: weather file of later days; on: another day; ics: calendar of the week.

    Raises InputError for what the user can mend, NetworkError where the weather of a station cannot be had.
    """
    refuse_calendar(ics, overwrite=overwrite)
    known = known_on(path, on, dt.datetime.now().astimezone().date(), progress=progress)
    told = ""
    weather: Weather | None = None
    if forecast is not None:
        weather = read_forecast(forecast, known)
    elif on is None:
        weather, told = station_forecast(known)
    journal = read_journal(journal_path(known.path))
    found, left_out = looked(known, weather, journal)
    contents = {} if ics is None else {ics: calendar_bytes(events(found))}
    write_files(contents, overwrite=overwrite)
    notes = (
        *known.notes,
        *journal.damaged,
        *left_out,
        *([told] if told else []),
        *(f"Written: {file}" for file in contents),
    )
    return Answer(today_json(found) if as_json else today_screen(found), notes)


def looked(known: Known, forecast: "Weather | None", journal: Journal) -> tuple[Now, tuple[str, ...]]:
    """A garden today as its journal up to today has it, and a note on each thing in there that does not count.

    The rain of the gauge goes before that of the weather on days that are over, and adds to what is forecast of today.
    """
    site, today = known.site, known.today
    notes: list[str] = []
    levels = levels_of(site, journal, notes)
    diary = diary_of(site, journal).until(today)
    over = diary.until(today - DAY)
    known = replace(known, weather=gauged(known.weather, over))
    ahead = days_ahead(known, forecast)
    ahead = replace(ahead, weather=gauged(ahead.weather, over))
    actions = actions_of(site, diary, known.weather.dates[0].date(), ahead.weather.dates[-1].date())
    for tank in site.tank:
        if tank.mains != LET_IN and diary.mains_l[tank.name]:
            own = "float valve" if tank.mains == "float" else "hose"
            notes.append(
                f"{tank.name}: logged mains water is not let in again, as the model opens its {own} by itself."
            )
    return now(known, ahead, levels, actions, diary.rain_mm.get(today, 0.0)), (*notes, *diary.notes)


def today_screen(found: Now) -> str:
    """Everything a gardener needs to know today, at most 100 columns wide."""
    return screen(
        [wrapped(f"{found.known.site.site.name}, {in_words(found.known.today, year=True)}")],
        [wrapped(" ".join(verdict(found)))],
        stores(found),
        zones(found),
        week(found),
        section("Assumed", assumptions(found)),
        section("Take care", cautions_shown(found)),
    )


# ---- The verdict ---------------------------------------------------------------------------------------------------


def verdict(found: Now) -> Iterator[str]:
    """What to open today, what to wait for, how long the stores last, and whether to have mains water ready."""
    if found.to_open:
        yield f"Open {listed([f'{one.name} for {opening(one)}' for one in found.to_open])} today."
    elif not found.waiting:
        yield f"Nothing {'more ' if any(one.ran for one in found.openings) else ''}is to be watered today."
    for one in found.waiting:
        if one.wait is not None:
            yield f"Leave {one.name} shut{waiting(one.wait, found)} of its easy water."
    yield lasting(found)
    if found.week_minutes:
        yield f"The next seven days take {weekly_work(found.week_minutes).removesuffix(' a week')}."
    if found.to_open:
        yield raining(found)


def lasting(found: Now) -> str:
    """How long the stores last when it stays dry."""
    lasts = found.lasts
    if lasts is None:
        return f"If it stays dry the stores last for all of the next {found.looked} days, or for the season."
    short = listed([store.name for store in found.stores if store.lasts == lasts])
    day = found.known.today + dt.timedelta(lasts)
    runs = "run" if " and " in short else "runs"
    if lasts == 0:
        return f"{short} {runs} short today already."
    with_rain = min((store.expected for store in found.stores if store.expected is not None), default=None)
    forecast = ""
    if found.ahead.forecast and with_rain != lasts:
        forecast = (
            " (with the forecast rain longer than was looked)"
            if with_rain is None
            else (f" ({with_rain:,} with the forecast rain)")
        )
    left = f"If it stays dry the stores last {count(lasts, 'more day')}{forecast}"
    return f"{left}: on {in_words(day)} {short} {runs} short."


def raining(found: Now) -> str:
    """Whether rain is a reason to wait."""
    coming = [day for day in found.coming if day.is_forecast]
    if coming:
        rain_mm = sum(day.rain_mm for day in coming)
        if rain_mm < LEAST_RAIN_MM:
            return f"No rain to speak of is forecast for {count(len(coming), 'day')}: waiting does not pay."
        which = f" with {listed([one.name for one in found.to_open])}" if found.waiting else ""
        return f"{rain_mm:.0f} mm are forecast for {count(len(coming), 'day')}, too little or too late to wait{which}."
    usual = found.ahead.usual_rain_mm
    if usual is None:
        return "Without a forecast (--forecast FILE) there is no telling whether waiting for rain would pay."
    return f"Without a forecast go by the season: {usual:.0f} mm of rain are usual in this week, on no certain day."


def waiting(wait: Wait, found: Now) -> str:
    """Which rain makes up for a watering, and how much its driest bed has used until then."""
    used = f"its driest bed, {wait.bed}, has used no more than {percent(wait.driest)}"
    if found.fallen_mm and not found.ahead.forecast:
        return f": {wait.rain_mm:.0f} mm of rain have fallen today, and {used}"
    come = "have fallen or are forecast" if found.fallen_mm else "are forecast"
    return f" and wait: {wait.rain_mm:.0f} mm of rain {come} by {day_name(wait.day, found)}, and until then {used}"


def opening(one: Opening) -> str:
    """How long a zone is to be opened, or opened again."""
    return minutes(one.minutes) + (" more" if one.ran else "")


def minutes(number: float) -> str:
    """Minutes, whole where they are long."""
    shown = f"{number:.0f}" if number >= LONG_MINUTES else f"{round(number, 1):g}"
    return f"{shown} minute{'' if shown == '1' else 's'}"


def day_name(day: dt.date, found: Now) -> str:
    """A day near by."""
    away = (day - found.known.today).days
    return {0: "this evening", 1: "tomorrow evening"}.get(away, f"the evening of {in_words(day)}")


# ---- The tables ----------------------------------------------------------------------------------------------------


def stores(found: Now) -> list[str]:
    """A line for each store."""
    rows = [
        (
            store.name,
            litres(store.level_l),
            percent(store.level_l / store.capacity_l),
            "–" if store.lasts is None else f"{store.lasts:,}",
            basis(store, found),
        )
        for store in found.stores
    ]
    return table(("Stores", "now", "full", "dry days left", "from"), rows, units=("", "L", "", "days", ""))


def basis(store: Store, found: Now) -> str:
    """Where a level comes from."""
    if store.read is None:
        return f"start_l of {in_words(found.known.weather.dates[0].date(), year=True)}"
    away = (found.known.today - store.read.day).days
    ago = {0: "today", 1: "yesterday"}.get(away, f"{away} days ago")
    return f"{litres(store.read.level_l)} L read {ago}"


def zones(found: Now) -> list[str]:
    """A line for each zone."""
    rows = [(one.name, *state(one)) for one in found.openings]
    head = ("Zones today", "ran", "open", "from store", "from mains", "not to be had", "next")
    return table(head, rows, units=("", "minutes", "minutes", "L", "L", "L", "")) if rows else []


def state(one: Opening) -> tuple[str, ...]:
    """What a zone does today."""
    following = "–" if one.next_day is None else f"{one.next_day.day} {one.next_day:%b}"
    ran = "–" if one.ran is None else f"{one.ran:.1f}"
    if one.minutes <= 0.0 or one.wait is not None:
        return (ran, "wait" if one.wait else "done" if one.ran else "shut", "–", "–", "–", following)
    return (ran, f"{one.minutes:.1f}", litres(one.store_l), litres(one.mains_l), litres(one.unmet_l), following)


def week(found: Now) -> list[str]:
    """A line for each of the next days: the weather that is counted with, and what the plan opens."""
    rows = [
        (
            f"{day.day:%a} {day.day.day} {day.day:%b}",
            _weather(day, found),
            f"{day.rain_mm:.1f}",
            f"{day.et0_mm:.1f}",
            "; ".join(f"{name} {number:.0f}" for name, number in day.minutes.items())[:40] or "–",
        )
        for day in found.coming
    ]
    head = ("Days ahead", "weather", "rain", "ET0", "by the plan")
    return table(head, rows, units=("", "", "mm", "mm", "minutes"))


def _weather(day: Coming, found: Now) -> str:
    if day.is_forecast:
        return "forecast"
    return "normal, your gauge" if found.fallen_mm and day.day == found.known.today else "normal, dry"


# ---- What it rests on ----------------------------------------------------------------------------------------------


def assumptions(found: Now) -> Iterator[str]:
    """What the figures rest on."""
    known, ahead = found.known, found.ahead
    started = [store.name for store in found.stores if store.read is None]
    if started:
        first = in_words(known.weather.dates[0].date(), year=True)
        yield (
            f"No level of {listed(started, 'or')} has been logged up to today: start_l, of {first}, stands in, and "
            "every day since adds to the error. Dip it: waterbudget log."
        )
    for store in found.stores:
        if store.read is not None:
            yield reading(store)
    yield f"Since then watered {watered(found)}, on this weather: {known.weather.source}, to {in_words(known.last)}."
    if any(store.read is not None and store.read.day == known.today for store in found.stores):
        yield "A level that was logged today counts as read after all else that was logged today."
    if known.bridged:
        yield (
            f"No weather is known yet of {count(known.bridged, 'day')} before today: "
            f"{'the forecast' if ahead.forecast else 'dry days with the usual ET0'} stands in, with the rain of the "
            "gauge where it was logged."
        )
    if ahead.forecast:
        yield f"Forecast, no measurement: {ahead.source}, {count(ahead.forecast, 'day')}; a forecast can be wrong."
    yield f"ET0 of the days {'after it' if ahead.forecast else 'ahead'}: {ahead.normal}; no rain is counted with there."
    yield (
        "Waiting pays where forecast rain of three days brings the beds what today's watering would, and none of them "
        "uses up its readily available water before (FAO-56 eq. 84)."
    )


def watered(found: Now) -> str:
    """How the garden was watered since the oldest of the last readings, or all the time where a store has none."""
    first = found.known.weather.dates[0].date()
    read = [first - DAY if store.read is None else store.read.day for store in found.stores]
    since = slice((min(read) - first).days + 1, _today(found) + 1)
    runs = int(np.count_nonzero(~np.isnan(found.actions.minutes[since])))
    let_in_l = float(found.actions.mains_added_l[since].sum())
    but_for = [
        *([count(runs, "logged run")] if runs else []),
        *([f"{litres(let_in_l)} L of mains water that were let in"] if let_in_l else []),
    ]
    return f"as planned{' but for ' if but_for else ''}{listed(but_for)}"


def _today(found: Now) -> int:
    """The number of today, counted from the weather's first day."""
    return (found.known.today - found.known.weather.dates[0].date()).days


def reading(store: Store) -> str:
    """What was read last, and how far the reckoning was off."""
    read = store.read
    if read is None:
        raise AssertionError("only for a store with a reading")
    said = f"{store.name}: {litres(read.level_l)} L were read on {in_words(read.day, year=True)}"
    if read.reckoned_l is None or abs(read.reckoned_l - read.level_l) <= OFF_L * store.capacity_l:
        return f"{said}, and the reckoning goes on from there."
    off = "more" if read.reckoned_l > read.level_l else "less"
    return (
        f"{said}, where {litres(abs(read.reckoned_l - read.level_l))} L {off} had been reckoned: "
        "the reading counts (waterbudget fit looks for the reason)."
    )


def cautions_shown(found: Now) -> list[str]:
    """The cautions that today's watering calls for."""
    if not found.to_open:
        return []
    mains = any(one.mains_l + one.unmet_l > SHORT_L for one in found.to_open)
    topics = ["legionella", *(["mains top-up"] if mains else [])]
    return [one.caution for one in cautions(*topics) if one.subject in CAUTIONS]


# ---- For machines --------------------------------------------------------------------------------------------------


def today_json(found: Now) -> str:
    """What is told, as JSON."""
    known, ahead = found.known, found.ahead
    told: dict[str, Any] = {
        "site": known.site.site.name,
        "today": known.today,
        "weather_to": known.last,
        "forecast_days": ahead.forecast,
        "forecast": ahead.source or None,
        "normal": ahead.normal,
        "usual_rain_mm_a_week": ahead.usual_rain_mm,
        "lasts_dry_days": found.lasts,
        "looked_days": found.looked,
        "rain_logged_today_mm": found.fallen_mm,
        "work_minutes_per_week": found.week_minutes,
        "stores": [
            {
                "name": store.name,
                "level_l": store.level_l,
                "capacity_l": store.capacity_l,
                "lasts_dry_days": store.lasts,
                "lasts_expected_days": store.expected,
                "read": None if store.read is None else store.read._asdict(),
            }
            for store in found.stores
        ],
        "zones": [one._asdict() | {"wait": one.wait and one.wait._asdict()} for one in found.openings],
        "coming": [day._asdict() for day in found.coming],
    }
    return json.dumps(told, indent=2, ensure_ascii=False, default=str)


def events(found: Now) -> Iterator[Event]:
    """An event for each of the next days on which a zone opens by the plan; today without those that can wait."""
    for day in found.coming:
        waiting = {one.name for one in found.waiting} if day.day == found.known.today else set()
        opened = {name: number for name, number in day.minutes.items() if name not in waiting}
        if opened:
            words = _listed_minutes(opened)
            weather = "forecast" if day.is_forecast else "the season's normal"
            yield Event(day.day, f"Water: {words}", f"{found.known.site.site.name}; by {weather}. Ask again that day.")


def _listed_minutes(opened: dict[str, float]) -> str:
    names: Sequence[str] = [f"{name} {minutes(number)}" for name, number in opened.items()]
    return listed(names)
