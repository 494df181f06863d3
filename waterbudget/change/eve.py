"""The evening before today: the days before run from their first, put right by each level that was read."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from waterbudget.change.known import DAY
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.state import State, start_of
from waterbudget.units import Array, BoolArray

Readings = Mapping[str, Mapping[dt.date, float]]  # litres by tank and day
THIRST = "beds.is_thirsty"


class Read(NamedTuple):
    """A level that was read, and what was reckoned for the same evening; None on the eve of the first day."""

    day: dt.date
    level_l: float
    reckoned_l: float | None


class Eve(NamedTuple):
    """An evening. read: the last reading of each store up to it. thirsty: whether each bed was, (day, bed, lane)."""

    state: State
    read: dict[str, Read]
    thirsty: BoolArray


def eve_of(garden: Garden, season: Season, sky: Sky, actions: Actions, readings: Readings, first: dt.date) -> Eve:
    """The evening of the last of some days.

    season, sky, actions: of these days, the first of which is named. A reading goes before what was reckoned for its
    evening; one of before the first day counts only on its eve.
    """
    state, seen, passed = start_of(garden, season, sky), dict[str, Read](), 0
    thirsty: list[Array] = []
    for evening in _evenings(readings, first, len(sky.rain_mm)):
        if evening > passed:
            some = slice(passed, evening)
            state, kept = drive(garden, season.of(some), sky.of(some), state, actions.of(some), Keep(each=(THIRST,)))
            thirsty.append(kept.each[THIRST])
            passed = evening
        day, tanks = first + (evening - 1) * DAY, garden.names.tanks
        read = read_on(day, readings, tanks, state.level_l if evening else None)
        for tank, level in read.items():
            state = state.dipped(tanks.index(tank), level.level_l)
        seen |= read
    return Eve(state, seen, np.concatenate(thirsty).astype(np.bool_))


def _evenings(readings: Readings, first: dt.date, days: int) -> list[int]:
    """How many days have passed by each evening that was read, and all of them by the last."""
    read = {(day - first + DAY).days for levels in readings.values() for day in levels}
    return sorted({evening for evening in read if 0 <= evening <= days} | {days})


def read_on(day: dt.date, readings: Readings, tanks: Sequence[str], reckoned_l: Array | None) -> dict[str, Read]:
    """The readings of a day by tank, beside what was reckoned for it [L], (tank, lane), None where nothing was."""
    return {
        tank: Read(day, readings[tank][day], None if reckoned_l is None else float(reckoned_l[number, 0]))
        for number, tank in enumerate(tanks)
        if day in readings.get(tank, {})
    }
