"""A garden today: what is in its stores, which zones to open, how long the rain lasts, and whether to wait for more."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from waterbudget.change.ahead import Ahead, dry_from
from waterbudget.change.known import DAY, Known, with_days
from waterbudget.schedule.done import Done, ran_l
from waterbudget.schedule.flows import Flows
from waterbudget.schedule.garden import Garden, garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import Day, catch, days
from waterbudget.simulate.hands import Hands
from waterbudget.simulate.lanes import skies_side_by_side
from waterbudget.simulate.pages import SHORT_L
from waterbudget.simulate.run import sky_of
from waterbudget.units import WEEK_DAYS, Array

Readings = Mapping[str, Mapping[dt.date, float]]  # litres by tank and day

EXPECTED, DRY = 0, 1  # the scenarios: forecast rain, and none
WAIT_DAYS = 3  # today among them


class Read(NamedTuple):
    """A level that was read, and what was reckoned for the same evening; None on the eve of the first day."""

    day: dt.date
    level_l: float
    reckoned_l: float | None


class Store(NamedTuple):
    """A tank today. level_l: now, after what was logged of today. read: its last reading, None where the site's start_l
    stands in. lasts: whole days from today that it gives all it is asked for when it stays dry, None for longer than
    was looked; expected: the same with the forecast.
    """

    name: str
    capacity_l: float
    level_l: float
    read: Read | None
    lasts: int | None
    expected: int | None


class Wait(NamedTuple):
    """Rain that is worth waiting for: so much by the evening of a day, what fell today included; driest: share of the
    easy water used up until then in the driest bed.
    """

    day: dt.date
    rain_mm: float
    bed: str
    driest: float


class Opening(NamedTuple):
    """A zone today. ran: minutes of it that were logged, None for none. minutes: what its plan asks for beyond these,
    all runs together, 0 for shut; store_l, mains_l, unmet_l: where their litres come from. next_day: when it opens next
    after today, None for not in the weeks ahead. wait: None for no reason to.
    """

    name: str
    ran: float | None
    minutes: float
    store_l: float
    mains_l: float
    unmet_l: float
    next_day: dt.date | None
    wait: Wait | None


class Coming(NamedTuple):
    """A day from today on, as expected; today without what was done already. minutes: by zone, of those that open;
    work_minutes: of a person for all.
    """

    day: dt.date
    rain_mm: float
    et0_mm: float
    is_forecast: bool
    minutes: Mapping[str, float]
    work_minutes: float


@dataclass(frozen=True, eq=False)
class Now:
    """What is to be told about today. done: what was logged, from the weather's first day on; fallen_mm: rain logged
    today. coming: today and six days more. looked: days ahead that were looked at.
    """

    known: Known
    ahead: Ahead
    done: Done
    fallen_mm: float
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


@dataclass(frozen=True, eq=False)
class Begun(Done):
    """Done, with a day that is not over: a run of it goes towards its plan, and a zone kept shut is not to be opened.

    day: its number.
    """

    day: int

    def on(self, day: int, planned_l: Array, flow_l_min: Array) -> tuple[Array, Array]:
        """As of any Done, but on the day that is not over no less than planned."""
        asked_l, poured_l = super().on(day, planned_l, flow_l_min)
        is_open = (day == self.day) & (self.minutes[day] != 0.0)
        return np.where(is_open, np.maximum(asked_l, planned_l), asked_l), poured_l


def now(known: Known, ahead: Ahead, readings: Readings, done: Done, fallen_mm: float = 0.0) -> Now:
    """Run the known weather, put right by each reading, then the days ahead: with the forecast rain, and dry.

    readings: levels of an evening [L] by tank and day; one of today is the level after what was logged of today and
    before the rest of its watering; one before the weather begins counts only on its eve. done: what was logged of each
    day from the weather's first to the last ahead, nothing after today. fallen_mm: rain that was logged of today, which
    fell even if it stays dry. Raises WeatherError where hot days cannot be told.
    """
    site, today = known.site, known.today
    garden = garden_of(site)
    expected, stays_dry = (with_days(known.weather, one) for one in (ahead.weather, dry_from(ahead, today)))
    first: dt.date = expected.dates[0].date()
    begun = (today - first).days
    sky = skies_side_by_side([sky_of(site, expected), sky_of(site, stays_dry)], 1)
    sky.rain_mm[begun] = np.maximum(sky.rain_mm[begun], fallen_mm)
    season = season_of(site, expected.date_column)
    names, seen = garden.tanks.name, dict[str, Read]()
    start_l, level_l = garden.tanks.start_l.copy(), np.zeros(len(names))
    for column, name in enumerate(names):
        if (litres := readings.get(name, {}).get(first - DAY)) is not None:
            seen[name] = Read(first - DAY, litres, None)
            start_l[0, column] = litres
    garden = replace(garden, tanks=replace(garden.tanks, start_l=start_l))
    passed: list[Day] = []
    for number, day in enumerate(days(garden, season, sky, Begun(done.minutes, done.poured_l, begun))):
        evening_l = day.tanks.level_l  # the array with which the next day begins
        for column, name in enumerate(names if number < begun else ()):
            if (litres := readings.get(name, {}).get(first + number * DAY)) is not None:
                seen[name] = Read(first + number * DAY, litres, float(evening_l[0, column]))
                evening_l[:, column] = litres
        if number == begun - 1:
            came_l = done.poured_l[begun] + np.ravel(catch(garden, np.full((1, 1), fallen_mm))[1])
            went_l = _drawn_l(garden, evening_l[:1], done.minutes[begun])
            within_reach_l = np.maximum(evening_l[0] - garden.tanks.dead_l[0], 0.0)
            level_l = np.minimum(evening_l[0] + came_l - np.minimum(went_l, within_reach_l), garden.tanks.capacity_l[0])
            for column, name in enumerate(names):
                if (litres := readings.get(name, {}).get(today)) is not None:
                    seen[name] = Read(today, litres, float(level_l[column]))
                    level_l[column] = litres
                    before_l = litres - came_l[column] + went_l[column]
                    evening_l[:, column] = np.clip(before_l, 0.0, garden.tanks.capacity_l[0, column])
        passed.append(day)
    passed[begun] = _still_to_do(passed[begun], done.minutes[begun])
    rain_mm = sky.rain_mm[:, EXPECTED]
    return Now(
        known,
        ahead,
        done,
        fallen_mm,
        tuple(_stores(known, seen, passed[begun:], level_l)),
        tuple(_openings(known, ahead, passed[begun - 1 :], rain_mm[begun:], done.minutes[begun], fallen_mm)),
        tuple(_coming(known, ahead, passed[begun:], rain_mm[begun:], Hands(site, garden))),
        len(passed) - begun,
    )


def _drawn_l(garden: Garden, level_l: Array, minutes: Array) -> Array:
    """What logged runs ask of each store [L], (tank,); level_l: (1, tank). minutes: (outlet,)."""
    went_l = np.zeros(len(garden.tanks.name))
    np.add.at(went_l, list(garden.outlets.tank), ran_l(minutes, Flows(garden).at(level_l).flow_l_min)[0])
    return went_l


def _still_to_do(day: Day, minutes: Array) -> Day:
    """A day with its outlets' litres less those of the runs that were logged; minutes: (outlet,)."""
    outlets = day.outlets
    done_l = ran_l(minutes, outlets.flow_l_min)
    beyond_store_l = np.maximum(done_l - outlets.store_l, 0.0)
    left_l = outlets.asked_l - done_l
    asked_l = np.where(left_l > SHORT_L, left_l, 0.0)
    store_l = np.clip(outlets.store_l - done_l, 0.0, asked_l)
    mains_l = np.clip(outlets.mains_l - beyond_store_l, 0.0, asked_l)
    return day._replace(
        outlets=outlets._replace(
            asked_l=asked_l,
            store_l=store_l,
            mains_l=mains_l,
            given_l=store_l + mains_l,
            due_l=np.where(np.isnan(minutes), outlets.due_l, asked_l),
        )
    )


def _stores(known: Known, seen: Mapping[str, Read], passed: list[Day], level_l: Array) -> Iterator[Store]:
    """passed: from today on. level_l: now, (tank,)."""
    for column, tank in enumerate(known.site.tank):
        needs = [
            (day.tanks.short_l[:, column] > SHORT_L)
            | ((tank.mains == "float") & (day.tanks.mains_l[:, column] > SHORT_L))
            for day in passed
        ]
        lasts = [next((n for n, need in enumerate(needs) if need[lane]), None) for lane in (EXPECTED, DRY)]
        yield Store(
            tank.name, tank.capacity_l, float(level_l[column]), seen.get(tank.name), lasts[DRY], lasts[EXPECTED]
        )


def _openings(
    known: Known, ahead: Ahead, passed: list[Day], rain_mm: Array, minutes: Array, fallen_mm: float
) -> Iterator[Opening]:
    """passed: from yesterday on. rain_mm: from today on, as expected. minutes: logged today, (outlet,)."""
    known_days = (known.last + ahead.forecast * DAY - known.today).days + 1  # from today on, of which rain is forecast
    looked = min(WAIT_DAYS, max(known_days, int(fallen_mm > 0.0)))
    for column, zone in enumerate(known.site.zone):
        due = [float(day.outlets.asked_l[EXPECTED, column]) > SHORT_L for day in passed[1:]]
        outlets = passed[1].outlets
        following = next((number for number, opens in enumerate(due) if number and opens), None)
        ran, left = float(minutes[column]), _minutes(passed[1], column)
        share_left = left / (left + np.nan_to_num(ran)) if due[0] else 0.0
        yield Opening(
            zone.name,
            None if np.isnan(ran) else ran,
            left,
            float(outlets.store_l[EXPECTED, column]),
            float(outlets.mains_l[EXPECTED, column]),
            float(outlets.unmet_l[EXPECTED, column]),
            None if following is None else known.today + following * DAY,
            _wait(known, passed[: looked + 1], rain_mm, zone.name, float(share_left)) if due[0] else None,
        )


def _minutes(day: Day, column: int) -> float:
    """Minutes that a zone's valve is open on a day for all that it asks for, as in a store that does not run short."""
    return float(day.outlets.asked_l[EXPECTED, column] / day.outlets.flow_l_min[EXPECTED, column])


def _coming(known: Known, ahead: Ahead, passed: list[Day], rain_mm: Array, hands: Hands) -> Iterator[Coming]:
    """passed, rain_mm: from today on."""
    forecast_to = known.last + ahead.forecast * DAY
    for number, day in enumerate(passed[:WEEK_DAYS]):
        date = known.today + number * DAY
        et0_mm = float(ahead.weather.daily["et0_mm"].loc[str(date)])
        opened = {
            zone.name: _minutes(day, column)
            for column, zone in enumerate(known.site.zone)
            if day.outlets.asked_l[EXPECTED, column] > SHORT_L
        }
        is_forecast, work = date <= forecast_to, float(hands.minutes(day)[EXPECTED])
        yield Coming(date, float(rain_mm[number]), et0_mm, is_forecast, opened, work)


def _wait(known: Known, passed: list[Day], rain_mm: Array, zone: str, share_left: float) -> Wait | None:
    """Rain that brings the zone's beds what the rest of today's watering would, before any of them is thirsty.

    The beds are followed without that: each day's ETc dries them, rain wets them, and a bed is thirsty where more than
    its readily available water is used up at the start of a day (FAO-56 eq. 84). passed: from yesterday on, as many
    days as rain is known or forecast of. rain_mm: from today on. share_left: of today's watering that is still to do.
    """
    yesterday, *coming = passed
    columns = [
        column
        for column, bed in enumerate(known.site.bed)
        if coming and bed.zone == zone and coming[0].beds.planted[0, column]
    ]
    if not columns:
        return None
    watered_mm = coming[0].beds.irrigation_mm[EXPECTED, columns]
    wanted_mm = share_left * watered_mm
    depletion_mm = np.maximum(yesterday.beds.depletion_mm[EXPECTED, columns] - (watered_mm - wanted_mm), 0.0)
    fallen_mm, driest, bed = np.zeros(len(columns)), 0.0, ""
    for number, day in enumerate(coming):
        used = depletion_mm / day.beds.raw_mm[EXPECTED, columns]
        if not bed or used.max() > driest:
            driest, bed = float(used.max()), known.site.bed[columns[int(np.argmax(used))]].name
        if driest > 1.0:
            return None
        fell_mm = day.beds.rain_mm[EXPECTED, columns]
        fallen_mm = fallen_mm + fell_mm
        depletion_mm = np.maximum(depletion_mm + day.beds.etc_mm[EXPECTED, columns] - fell_mm, 0.0)
        if fell_mm.max() > 0.0 and np.all(fallen_mm >= wanted_mm):
            return Wait(known.today + number * DAY, float(rain_mm[: number + 1].sum()), bed, driest)
    return None
