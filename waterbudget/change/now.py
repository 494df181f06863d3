"""A garden today: what is in its stores, which zones to open and why, how its beds stand, how long the rain lasts."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from waterbudget.change.ahead import Ahead
from waterbudget.change.beds import BedToday, Sunk, beds_of, sunk_of
from waterbudget.change.eve import THIRST, Read, Readings
from waterbudget.change.known import DAY, Known
from waterbudget.change.move import Move, moves_of
from waterbudget.change.to_do import ASKED_FOR, MOVED, ToDo, to_do_of
from waterbudget.change.tonight import DRY, EXPECTED, USUAL, Tonight, tonight_of
from waterbudget.change.wait import LOOKED_AT, WAIT_DAYS, Wait, worth_waiting
from waterbudget.change.why import Why, clock_of, why_shut
from waterbudget.schedule.actions import Actions
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.units import WEEK_DAYS, Array

KEEP = Keep(
    firsts=("tanks.fails", THIRST),
    each=(*ASKED_FOR, *LOOKED_AT, "beds.overwatered_mm", MOVED),
)


class Store(NamedTuple):
    """A tank today. level_l: now, after what was logged of today. read: its last reading, None where the site's start_l
    stands in. lasts: whole days from today that it gives all it is asked for when it stays dry, None for longer than
    was looked; expected: the same with the forecast; usual: with the usual rain.
    """

    name: str
    capacity_l: float
    level_l: float
    read: Read | None
    lasts: int | None
    expected: int | None
    usual: int | None


class Opening(NamedTuple):
    """A zone today. ran: minutes of it that were logged, None for none. minutes: what its plan asks for beyond these,
    all runs together, 0 for shut; store_l, mains_l, unmet_l: where their litres come from. next_day: when it opens next
    after today, None for not in the weeks ahead. why: it is open or shut. wait: None for no reason to.
    """

    name: str
    ran: float | None
    minutes: float
    store_l: float
    mains_l: float
    unmet_l: float
    next_day: dt.date | None
    why: Why
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
    """What is to be told about today. readings, actions: what was logged, from the run's first day on; fallen_mm: rain
    logged today. coming: today and six days more. looked: days ahead that were looked at. tonight: to go on from.
    """

    known: Known
    ahead: Ahead
    readings: Readings
    actions: Actions
    fallen_mm: float
    stores: tuple[Store, ...]
    openings: tuple[Opening, ...]
    beds: tuple[BedToday, ...]
    sunk: tuple[Sunk, ...]
    moves: tuple[Move, ...]
    coming: tuple[Coming, ...]
    looked: int
    tonight: Tonight
    notes: tuple[str, ...] = ()

    @property
    def lasts(self) -> int | None:
        """Whole days from today on which no store is short when it stays dry; None for longer than was looked."""
        return _least([store.lasts for store in self.stores])

    @property
    def lasts_usual(self) -> int | None:
        """The same with the usual rain; None also where no rain is usual."""
        return _least([store.usual for store in self.stores])

    @property
    def lasts_expected(self) -> int | None:
        """The same with the forecast rain."""
        return _least([store.expected for store in self.stores])

    @property
    def week_minutes(self) -> float:
        """Minutes of a person that the watering of these seven days takes."""
        return sum(day.work_minutes for day in self.coming)

    @property
    def to_open(self) -> tuple[Opening, ...]:
        """The zones that are to be opened today: those that are due, have water, and cannot wait."""
        return tuple(one for one in self.openings if one.why.reason == "due")

    @property
    def waiting(self) -> tuple[Opening, ...]:
        """The zones that would be due today but can wait for rain."""
        return tuple(one for one in self.openings if one.why.reason == "wait")

    @property
    def without_water(self) -> tuple[Opening, ...]:
        """The zones that are due today, to which nothing flows."""
        return tuple(one for one in self.openings if one.why.reason in {"empty", "ban"})


def _least(days: list[int | None]) -> int | None:
    return min((number for number in days if number is not None), default=None)


def now(known: Known, ahead: Ahead, readings: Readings, actions: Actions, fallen_mm: float = 0.0) -> Now:
    """Run the known weather, put right by each reading, then the days ahead: with the forecast rain, dry, and usual.

    readings: levels of an evening [L] by tank and day; one of today is the level after what was logged of today and
    before the rest of its watering; one before the weather begins counts only on its eve. actions: what was done on
    each day from the weather's first to the last ahead, nothing after today. fallen_mm: rain that was logged of today,
    which fell even if it stays dry. Raises WeatherError where hot days cannot be told.
    """
    tonight = tonight_of(known, ahead, readings, actions, fallen_mm)
    kept = tonight.go_on(KEEP)
    to_do = to_do_of(tonight.garden, kept.each, tonight.actions.minutes)
    beds = {name: kept.each[name][..., EXPECTED] for name in LOOKED_AT}
    used = tonight.eve.depletion_mm[:, EXPECTED] / beds["beds.raw_mm"][0]
    stores = tuple(_stores(tonight, kept.firsts["tanks.fails"], knows_usual=ahead.usual is not None))
    return Now(
        known,
        ahead,
        readings,
        actions,
        fallen_mm,
        stores,
        tuple(_openings(known, ahead, tonight, to_do, beds, used, fallen_mm)),
        tuple(beds_of(known, tonight, kept, used, beds["beds.planted"][0] > 0.0)),
        tuple(sunk_of(known, kept, WEEK_DAYS)),
        moves_of(known, tonight, kept, _least([store.lasts for store in stores])),
        tuple(_coming(known, ahead, to_do, tonight.skies.rain_mm[:, EXPECTED])),
        kept.days,
        tonight,
    )


def _stores(tonight: Tonight, fails: Array, *, knows_usual: bool) -> Iterator[Store]:
    """fails: first day of each, (tank, lane)."""
    garden = tonight.garden
    for tank, name in enumerate(garden.names.tanks):
        expected, dry, usual = (
            None if fails[tank, lane] == NEVER else int(fails[tank, lane]) for lane in (EXPECTED, DRY, USUAL)
        )
        capacity_l = float(garden.tanks.capacity_l[tank, 0])
        level_l = float(tonight.level_l[tank, EXPECTED])
        yield Store(name, capacity_l, level_l, tonight.read.get(name), dry, expected, usual if knows_usual else None)


def _openings(
    known: Known,
    ahead: Ahead,
    tonight: Tonight,
    to_do: ToDo,
    beds: Mapping[str, Array],
    used: Array,
    fallen_mm: float,
) -> Iterator[Opening]:
    """beds: LOOKED_AT, (day, bed), as expected. used: share of each bed's easy water, (bed,)."""
    clock, rain_mm = clock_of(tonight), tonight.skies.rain_mm[:, EXPECTED]
    known_to = known.last if ahead.forecast is None else ahead.forecast.last  # so far rain is known or forecast
    looked = min(WAIT_DAYS, max((known_to - known.today).days + 1, int(fallen_mm > 0.0)))
    soon = {name: values[:looked] for name, values in beds.items()}
    for number, zone in enumerate(known.site.zone):
        due = np.flatnonzero(to_do.asked_l[:, number] > 0.0)
        later = due[due > 0]
        logged, left = float(tonight.actions.minutes[0, number]), float(to_do.minutes[0, number])
        ran = None if np.isnan(logged) else logged
        wait = None
        if 0 in due:
            share_left = left / (left + (ran or 0.0))
            eve_mm = tonight.eve.depletion_mm[:, EXPECTED]
            wait = worth_waiting(known, zone.name, eve_mm, soon, rain_mm[:looked], share_left)
        next_day = known.today + int(later[0]) * DAY if len(later) else None
        gives_l = float(to_do.store_l[0, number] + to_do.mains_l[0, number])
        if 0 not in due:
            why = why_shut(known, tonight, clock, number, ran, next_day)
        elif gives_l <= SHORT_L:
            why = Why("ban" if clock.is_banned else "empty")
        else:
            why = Why("wait" if wait else "due")
        yield Opening(
            zone.name,
            ran,
            left,
            float(to_do.store_l[0, number]),
            float(to_do.mains_l[0, number]),
            float(to_do.unmet_l[0, number]),
            next_day,
            why.of_bed(*_driest(known, zone.name, used, beds["beds.planted"][0])),
            wait,
        )


def _driest(known: Known, zone: str, used: Array, planted: Array) -> tuple[str | None, float | None]:
    """The planted bed of a zone that has used most of its easy water, and how much; None for none."""
    beds = [number for number, bed in enumerate(known.site.bed) if bed.zone == zone and planted[number]]
    if not beds:
        return None, None
    driest = max(beds, key=lambda number: float(used[number]))
    return known.site.bed[driest].name, float(used[driest])


def _coming(known: Known, ahead: Ahead, to_do: ToDo, rain_mm: Array) -> Iterator[Coming]:
    """rain_mm: from today on, as expected."""
    for number in range(WEEK_DAYS):
        date = known.today + number * DAY
        opened = {
            zone.name: float(to_do.minutes[number, column])
            for column, zone in enumerate(known.site.zone)
            if to_do.asked_l[number, column] > 0.0
        }
        yield Coming(
            date,
            float(rain_mm[number]),
            float(ahead.weather.readings["et0_mm"][(date - ahead.weather.first_day).days]),
            ahead.forecast is not None and ahead.forecast.first <= date <= ahead.forecast.last,
            opened,
            float(to_do.work_minutes[number]),
        )
