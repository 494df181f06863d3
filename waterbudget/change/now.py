"""A garden today: what is in its stores, which zones to open, how long the rain lasts, and whether to wait for more."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from waterbudget.change.ahead import Ahead, dry_from
from waterbudget.change.known import DAY, Known, with_days
from waterbudget.schedule.garden import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import Day, days
from waterbudget.simulate.hands import WEEK_DAYS, Hands
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.totals import SHORT_L

Readings = Mapping[str, Mapping[dt.date, float]]  # litres by tank and day

EXPECTED, DRY = 0, 1  # the scenarios: forecast rain, and none
WAIT_DAYS = 3  # today among them


class Read(NamedTuple):
    """A level that was read, and what was reckoned for the same evening; None on the eve of the first day."""

    day: dt.date
    level_l: float
    reckoned_l: float | None


class Store(NamedTuple):
    """A tank today. read: its last reading, None where the site's start_l stands in. lasts: whole days from today that
    it gives all it is asked for when it stays dry, None for longer than was looked; expected: the same with the
    forecast.
    """

    name: str
    capacity_l: float
    level_l: float
    read: Read | None
    lasts: int | None
    expected: int | None


class Wait(NamedTuple):
    """Rain that is worth waiting for: so much by the evening of a day; driest: share of the easy water used up until
    then in the driest bed.
    """

    day: dt.date
    rain_mm: float
    bed: str
    driest: float


class Opening(NamedTuple):
    """A zone today by its plan. minutes of all its runs, 0 for shut; store_l, mains_l, unmet_l: where its litres come
    from. next_day: when it opens next after today, None for not in the weeks ahead. wait: None for no reason to.
    """

    name: str
    minutes: float
    store_l: float
    mains_l: float
    unmet_l: float
    next_day: dt.date | None
    wait: Wait | None


class Coming(NamedTuple):
    """A day from today on, as expected. minutes: by zone, of those that open; work_minutes: of a person for all."""

    day: dt.date
    rain_mm: float
    et0_mm: float
    is_forecast: bool
    minutes: Mapping[str, float]
    work_minutes: float


@dataclass(frozen=True, eq=False)
class Now:
    """What is to be told about today. coming: today and six days more. looked: days ahead that were looked at."""

    known: Known
    ahead: Ahead
    stores: tuple[Store, ...]
    openings: tuple[Opening, ...]
    coming: tuple[Coming, ...]
    looked: int

    @property
    def lasts(self) -> int | None:
        """Whole days from today on which no store is short when it stays dry; None for longer than was looked."""
        return min((store.lasts for store in self.stores if store.lasts is not None), default=None)

    @property
    def week_minutes(self) -> float:
        """Minutes of a person that the watering of these seven days takes."""
        return sum(day.work_minutes for day in self.coming)

    @property
    def to_open(self) -> tuple[Opening, ...]:
        """The zones that are to be opened today, without those that can wait."""
        return tuple(one for one in self.openings if one.minutes > 0.0 and one.wait is None)

    @property
    def waiting(self) -> tuple[Opening, ...]:
        """The zones that would be due today but can wait for rain."""
        return tuple(one for one in self.openings if one.minutes > 0.0 and one.wait is not None)


def now(known: Known, ahead: Ahead, readings: Readings) -> Now:
    """Run the known weather, put right by each reading, then the days ahead: with the forecast rain, and dry.

    readings: levels of an evening [L] by tank and day; one of today is the level now, before any watering; one before
    the weather begins counts only on its eve. Raises WeatherError where hot days cannot be told.
    """
    site, today = known.site, known.today
    garden = garden_of(site)
    expected, stays_dry = (with_days(known.weather, one) for one in (ahead.weather, dry_from(ahead, today)))
    sky = sky_of(site, expected)
    sky = replace(sky, rain_mm=np.hstack([sky.rain_mm, sky_of(site, stays_dry).rain_mm]))
    season = season_of(site, expected.dates.to_numpy().astype("M8[D]")[:, None])
    first: dt.date = expected.dates[0].date()
    names, seen = garden.tanks.name, dict[str, Read]()
    start_l = garden.tanks.start_l.copy()
    for column, name in enumerate(names):
        if (litres := readings.get(name, {}).get(first - DAY)) is not None:
            seen[name] = Read(first - DAY, litres, None)
            start_l[0, column] = litres
    garden = replace(garden, tanks=replace(garden.tanks, start_l=start_l))
    passed: list[Day] = []
    for number, day in enumerate(days(garden, season, sky)):
        evening = first + number * DAY
        for column, name in enumerate(names if evening < today else ()):
            if (read := _read(readings.get(name, {}), evening, today)) is not None:
                seen[name] = Read(*read, float(day.tanks.level_l[0, column]))
                day.tanks.level_l[:, column] = read[1]  # the array with which the next day begins
        passed.append(day)
    return Now(
        known,
        ahead,
        tuple(_stores(known, seen, passed, first)),
        tuple(_openings(known, ahead, passed, first)),
        tuple(_coming(known, ahead, passed, first, Hands(site, garden))),
        len(passed) - (today - first).days,
    )


def _read(levels: Mapping[dt.date, float], evening: dt.date, today: dt.date) -> tuple[dt.date, float] | None:
    """The reading that tells the level of an evening; one of today goes before that of last night."""
    if evening == today - DAY and today in levels:
        return today, levels[today]
    return (evening, levels[evening]) if evening in levels else None


def _stores(known: Known, seen: Mapping[str, Read], passed: list[Day], first: dt.date) -> Iterator[Store]:
    today = (known.today - first).days
    for column, tank in enumerate(known.site.tank):
        needs = [
            (day.tanks.short_l[:, column] > SHORT_L)
            | ((tank.mains == "float") & (day.tanks.mains_l[:, column] > SHORT_L))
            for day in passed[today:]
        ]
        lasts = [next((n for n, need in enumerate(needs) if need[lane]), None) for lane in (EXPECTED, DRY)]
        level_l = float(passed[today - 1].tanks.level_l[EXPECTED, column])
        yield Store(tank.name, tank.capacity_l, level_l, seen.get(tank.name), lasts[DRY], lasts[EXPECTED])


def _openings(known: Known, ahead: Ahead, passed: list[Day], first: dt.date) -> Iterator[Opening]:
    today = (known.today - first).days
    for column, zone in enumerate(known.site.zone):
        due = [float(day.outlets.asked_l[EXPECTED, column]) > SHORT_L for day in passed[today:]]
        outlets = passed[today].outlets
        following = next((number for number, opens in enumerate(due) if number and opens), None)
        yield Opening(
            zone.name,
            _minutes(passed[today], column),
            float(outlets.store_l[EXPECTED, column]),
            float(outlets.mains_l[EXPECTED, column]),
            float(outlets.unmet_l[EXPECTED, column]),
            None if following is None else known.today + following * DAY,
            _wait(known, ahead, passed, first, zone.name) if due[0] else None,
        )


def _minutes(day: Day, column: int) -> float:
    """Minutes that a zone's valve is open on a day for all that it asks for, as in a store that does not run short."""
    return float(day.outlets.asked_l[EXPECTED, column] / day.outlets.flow_l_min[EXPECTED, column])


def _coming(known: Known, ahead: Ahead, passed: list[Day], first: dt.date, hands: Hands) -> Iterator[Coming]:
    today = (known.today - first).days
    forecast_to = known.last + ahead.forecast * DAY
    for number, day in enumerate(passed[today : today + WEEK_DAYS]):
        date = known.today + number * DAY
        weather = ahead.weather.daily.loc[str(date)]
        opened = {
            zone.name: _minutes(day, column)
            for column, zone in enumerate(known.site.zone)
            if day.outlets.asked_l[EXPECTED, column] > SHORT_L
        }
        is_forecast, work = date <= forecast_to, float(hands.minutes(day)[EXPECTED])
        yield Coming(date, float(weather["rain_mm"]), float(weather["et0_mm"]), is_forecast, opened, work)


def _wait(known: Known, ahead: Ahead, passed: list[Day], first: dt.date, zone: str) -> Wait | None:
    """Forecast rain that brings the zone's beds what today's watering would, before any of them is thirsty.

    The beds are followed without water: each day's ETc dries them, rain wets them, and a bed is thirsty where more than
    its readily available water is used up at the start of a day (FAO-56 eq. 84).
    """
    today = (known.today - first).days
    forecast_days = (known.last + ahead.forecast * DAY - known.today).days + 1
    columns = [
        column
        for column, bed in enumerate(known.site.bed)
        if bed.zone == zone and passed[today].beds.planted[0, column]
    ]
    if not columns:
        return None
    depletion_mm = passed[today - 1].beds.depletion_mm[EXPECTED, columns]
    wanted_mm = passed[today].beds.irrigation_mm[EXPECTED, columns]
    fallen_mm, driest, bed = np.zeros(len(columns)), 0.0, ""
    for number in range(min(WAIT_DAYS, forecast_days)):
        beds = passed[today + number].beds
        used = depletion_mm / beds.raw_mm[EXPECTED, columns]
        if used.max() > driest:
            driest, bed = float(used.max()), known.site.bed[columns[int(np.argmax(used))]].name
        if driest > 1.0:
            return None
        rain_mm = beds.rain_mm[EXPECTED, columns]
        fallen_mm = fallen_mm + rain_mm
        depletion_mm = np.maximum(depletion_mm + beds.etc_mm[EXPECTED, columns] - rain_mm, 0.0)
        if rain_mm.max() > 0.0 and np.all(fallen_mm >= wanted_mm):
            forecast_mm = ahead.weather.daily["rain_mm"].loc[str(known.today) : str(known.today + number * DAY)].sum()
            return Wait(known.today + number * DAY, float(forecast_mm), bed, driest)
    return None
