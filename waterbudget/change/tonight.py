"""A garden this evening as the day loop takes it on from there: in three skies, and with what was done today."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from waterbudget.change.ahead import Ahead, dry_from
from waterbudget.change.eve import Read, Readings, eve_of, read_on
from waterbudget.change.known import Known
from waterbudget.change.so_far import so_far_of
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.lanes import skies_side_by_side
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import State
from waterbudget.units import Array, BoolArray

EXPECTED, DRY, USUAL = 0, 1, 2  # lanes: with the forecast; without any rain from today on; with the usual rain
LANES = 3


@dataclass(frozen=True, eq=False)
class Tonight:
    """A garden and all that its days from today on are run with; lanes EXPECTED, DRY and USUAL.

    eve: yesterday evening, as today's readings have it. level_l: now, (tank, lane). actions: from today on, which is
    not over. read: the last reading of each store. thirsty: whether each bed was, on the days before, (day, bed, lane).
    """

    garden: Garden
    season: Season
    skies: Sky
    eve: State
    level_l: Array
    actions: Actions
    read: Mapping[str, Read]
    thirsty: BoolArray

    def go_on(self, keep: Keep, *, actions: Actions | None = None) -> Kept:
        """What is to be kept of the days from today on; actions: in place of what was done, and of the plan."""
        return drive(self.garden, self.season, self.skies, self.eve, actions or self.actions, keep)[1]

    def in_sky(self, lane: int) -> tuple[State, Sky]:
        """The eve and the weather of one of the lanes alone."""
        wide = self.skies.each(lambda rows: np.broadcast_to(rows, (len(rows), LANES)))
        return self.eve.each(lambda rows: rows[:, [lane]]), wide.each(lambda rows: rows[:, [lane]])


def tonight_of(known: Known, ahead: Ahead, readings: Readings, actions: Actions, fallen_mm: float) -> Tonight:
    """Run the days before today, put right by each reading; arguments as of `now`."""
    site, garden = known.site, garden_of(known.site)
    expected, dry = known.then(ahead.weather), known.then(dry_from(ahead, known.today))
    usual = expected if ahead.usual is None else known.then(ahead.usual)
    first = expected.first_day
    season = season_of(site, expected.date_column)
    skies = skies_side_by_side([sky_of(site, one) for one in (expected, dry, usual)], 1)
    past, rest = slice((known.today - first).days), slice((known.today - first).days, None)
    eve = eve_of(garden, season.of(past), skies.of(past), actions.of(past), readings, first)
    today = replace(actions.of(rest), open_day=0)
    state, level_l, read = _put_right_today(garden, eve.state, today, readings, known.today, fallen_mm)
    read = eve.read | read
    if known.weather is None:  # the run begins anywhere, so what was reckoned is no expectation
        read = {tank: one._replace(reckoned_l=None) for tank, one in read.items()}
    return Tonight(
        garden,
        season.of(rest),
        _wetted(skies.of(rest), fallen_mm),
        state,
        level_l,
        today,
        read,
        eve.thirsty,
    )


def _put_right_today(
    garden: Garden, eve: State, actions: Actions, readings: Readings, today: dt.date, fallen_mm: float
) -> tuple[State, Array, dict[str, Read]]:
    """Yesterday evening as today's readings have it, the levels now [L], (tank, lane), and these readings."""
    tanks = garden.names.tanks
    so_far = so_far_of(garden, eve.level_l, actions, fallen_mm)
    level_l = so_far.level_l(garden, eve.level_l).copy()
    read = read_on(today, readings, tanks, level_l)
    for tank, one in read.items():
        level_l[tanks.index(tank)] = one.level_l
    before_l = so_far.eve_l(garden, level_l)
    for tank in read:
        number = tanks.index(tank)
        eve = eve.dipped(number, before_l[number])
    return eve, level_l, read


def _wetted(sky: Sky, fallen_mm: float) -> Sky:
    """The weather with at least so much rain on its first day."""
    return replace(sky, rain_mm=np.concatenate([np.maximum(sky.rain_mm[:1], fallen_mm), sky.rain_mm[1:]]))
