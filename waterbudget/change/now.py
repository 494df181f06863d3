"""A garden today: what is in its stores, which zones to open, how long the rain lasts, and whether to wait for more."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from waterbudget.change.ahead import Ahead, dry_from
from waterbudget.change.eve import Read, Readings, eve_of, read_on
from waterbudget.change.known import DAY, Known, with_days
from waterbudget.change.so_far import so_far_of
from waterbudget.change.to_do import ASKED_FOR, EXPECTED, ToDo, to_do_of
from waterbudget.change.wait import LOOKED_AT, WAIT_DAYS, Wait, worth_waiting
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.simulate.lanes import skies_side_by_side
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import State
from waterbudget.units import WEEK_DAYS, Array

DRY = 1  # the lane without any rain from today on
KEEP = Keep(firsts=("tanks.fails",), each=(*ASKED_FOR, *LOOKED_AT))


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
    """What is to be told about today. actions: what was logged, from the weather's first day on; fallen_mm: rain logged
    today. coming: today and six days more. looked: days ahead that were looked at.
    """

    known: Known
    ahead: Ahead
    actions: Actions
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


def now(known: Known, ahead: Ahead, readings: Readings, actions: Actions, fallen_mm: float = 0.0) -> Now:
    """Run the known weather, put right by each reading, then the days ahead: with the forecast rain, and dry.

    readings: levels of an evening [L] by tank and day; one of today is the level after what was logged of today and
    before the rest of its watering; one before the weather begins counts only on its eve. actions: what was done on
    each day from the weather's first to the last ahead, nothing after today. fallen_mm: rain that was logged of today,
    which fell even if it stays dry. Raises WeatherError where hot days cannot be told.
    """
    site, garden = known.site, garden_of(known.site)
    expected, stays_dry = (with_days(known.weather, one) for one in (ahead.weather, dry_from(ahead, known.today)))
    first: dt.date = expected.dates[0].date()
    season, sky = season_of(site, expected.date_column), sky_of(site, expected)
    past, rest = slice((known.today - first).days), slice((known.today - first).days, None)
    eve, seen = eve_of(garden, season.of(past), sky.of(past), actions.of(past), readings, first)
    today = replace(actions.of(rest), open_day=0)
    eve, level_l, seen_today = _put_right_today(garden, eve, today, readings, known.today, fallen_mm)
    skies = skies_side_by_side([_wetted(one.of(rest), fallen_mm) for one in (sky, sky_of(site, stays_dry))], 1)
    _, kept = drive(garden, season.of(rest), skies, eve, today, KEEP)
    to_do = to_do_of(garden, kept.each, today.minutes)
    beds = {name: kept.each[name][..., EXPECTED] for name in LOOKED_AT}
    rain_mm = skies.rain_mm[:, EXPECTED]
    return Now(
        known,
        ahead,
        actions,
        fallen_mm,
        tuple(_stores(garden, seen | seen_today, level_l, kept.firsts["tanks.fails"])),
        tuple(_openings(known, ahead, to_do, eve, beds, rain_mm, today.minutes[0], fallen_mm)),
        tuple(_coming(known, ahead, to_do, rain_mm)),
        kept.days,
    )


def _put_right_today(
    garden: Garden, eve: State, actions: Actions, readings: Readings, today: dt.date, fallen_mm: float
) -> tuple[State, Array, dict[str, Read]]:
    """Yesterday evening as today's readings have it, the levels now [L], (tank, 1), and these readings."""
    tanks = garden.names.tanks
    so_far = so_far_of(garden, eve.level_l, actions, fallen_mm)
    reckoned_l = so_far.level_l(garden, eve.level_l)
    read = read_on(today, readings, tanks, reckoned_l)
    level_l = np.array(
        [[read[tank].level_l] if tank in read else row for tank, row in zip(tanks, reckoned_l, strict=True)]
    )
    before_l = so_far.eve_l(garden, level_l)
    for number, tank in enumerate(tanks):
        if tank in read:
            eve = eve.dipped(number, before_l[number])
    return eve, level_l, read


def _wetted(sky: Sky, fallen_mm: float) -> Sky:
    """The weather with at least so much rain on its first day."""
    return replace(sky, rain_mm=np.concatenate([np.maximum(sky.rain_mm[:1], fallen_mm), sky.rain_mm[1:]]))


def _stores(garden: Garden, seen: Mapping[str, Read], level_l: Array, fails: Array) -> Iterator[Store]:
    """level_l: now, (tank, 1). fails: first day of each, (tank, lane)."""
    for tank, name in enumerate(garden.names.tanks):
        expected, dry = (None if fails[tank, lane] == NEVER else int(fails[tank, lane]) for lane in (EXPECTED, DRY))
        capacity_l = float(garden.tanks.capacity_l[tank, 0])
        yield Store(name, capacity_l, float(level_l[tank, 0]), seen.get(name), dry, expected)


def _openings(
    known: Known,
    ahead: Ahead,
    to_do: ToDo,
    eve: State,
    beds: Mapping[str, Array],
    rain_mm: Array,
    minutes: Array,
    fallen_mm: float,
) -> Iterator[Opening]:
    """eve: of yesterday. beds: LOOKED_AT, (day, bed), and rain_mm, (day,), as expected. minutes: logged today."""
    known_days = (known.last + ahead.forecast * DAY - known.today).days + 1  # from today on, of which rain is forecast
    looked = min(WAIT_DAYS, max(known_days, int(fallen_mm > 0.0)))
    soon = {name: values[:looked] for name, values in beds.items()}
    for number, zone in enumerate(known.site.zone):
        due = np.flatnonzero(to_do.asked_l[:, number] > 0.0)
        later = due[due > 0]
        ran, left = float(minutes[number]), float(to_do.minutes[0, number])
        wait = None
        if 0 in due:
            share_left = left / (left + np.nan_to_num(ran))
            wait = worth_waiting(known, zone.name, eve.depletion_mm[:, 0], soon, rain_mm[:looked], share_left)
        yield Opening(
            zone.name,
            None if np.isnan(ran) else ran,
            left,
            float(to_do.store_l[0, number]),
            float(to_do.mains_l[0, number]),
            float(to_do.unmet_l[0, number]),
            known.today + int(later[0]) * DAY if len(later) else None,
            wait,
        )


def _coming(known: Known, ahead: Ahead, to_do: ToDo, rain_mm: Array) -> Iterator[Coming]:
    """rain_mm: from today on, as expected."""
    forecast_to = known.last + ahead.forecast * DAY
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
            float(ahead.weather.daily["et0_mm"].loc[str(date)]),
            date <= forecast_to,
            opened,
            float(to_do.work_minutes[number]),
        )
