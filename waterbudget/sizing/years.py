"""The years of some days, each of which begins as the one before ended, run one after the other or side by side."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive, pieces
from waterbudget.simulate.keep import NOTHING, Keep, Kept
from waterbudget.simulate.lanes import of_lanes, seasons_side_by_side, skies_side_by_side
from waterbudget.simulate.state import State, joined, lanes_of, start_of
from waterbudget.units import IntArray

LANES_AT_ONCE = 1500  # beyond it nothing is gained in speed and memory grows
RUN_UP_DAYS = 90  # after which most stores and soils have forgotten how they began: ours


class Days(NamedTuple):
    """A garden and all the days that it goes through; sky: of one lane, or of as many as the garden has."""

    garden: Garden
    season: Season
    sky: Sky

    @property
    def lanes(self) -> int:
        """How many gardens run side by side."""
        return lanes_of(*self)

    def of(self, some: slice, lanes: IntArray) -> "Days":
        """Some of the days for some of the lanes."""
        sky = self.sky.of(some)
        looked_back = int(self.garden.outlets.skip_rain_days.max(initial=0))
        sky = replace(sky, before_mm=sky.rain_before(0, looked_back))
        own = sky.each(lambda rows: rows if rows.shape[1] == 1 else rows[:, lanes])
        return Days(of_lanes(self.garden, lanes), self.season.of(some), own)


def in_a_row(days: Days, years: Sequence[slice], keep: Keep) -> list[Kept]:
    """What is kept of each year; the first begins with the first day, and each where the one before ended."""
    state, found = None, []
    for year in years:
        state, kept = drive(days.garden, days.season.of(year), days.sky.of(year), state, keep=keep, runs=len(years))
        found.append(kept)
    return found


def side_by_side(
    days: Days, years: Sequence[slice], keep: Keep, handed_on: Callable[[State], State] = lambda evening: evening
) -> list[Kept]:
    """The same of all years at once; the evenings are the same to the bit.

    How a year begins is guessed from the days before it. That is right where stores have been full or empty since, as
    most have; where the year before ends otherwise the year is run again from there, until none differs.
    handed_on: what a year takes over of the evening before.
    """
    every = np.arange(days.lanes)
    run_ups = {n: slice(max(0, year.start - RUN_UP_DAYS), year.start) for n, year in enumerate(years) if n}
    unknown = {n: start_of(*days.of(some, every)) for n, some in run_ups.items()}
    guessed = _ran(days, run_ups, unknown, dict.fromkeys(run_ups, every), NOTHING)
    begun = {0: start_of(*days)} | {n: handed_on(evening) for n, (evening, _) in guessed.items()}
    ended, found = dict(begun), dict[int, Kept]()
    due = dict.fromkeys(range(len(years)), every)
    while due:
        for n, (evening, kept) in _ran(days, dict(enumerate(years)), begun, due, keep).items():
            ended[n] = handed_on(ended[n].with_lanes(due[n], evening))
            found[n] = found[n].with_lanes(due[n], kept) if n in found else kept
        due = {}
        for n in range(1, len(years)):
            differs = np.flatnonzero(ended[n - 1].differs_from(begun[n]))
            if len(some := np.setdiff1d(differs, due.get(n - 1, ()))):  # which waits for the year before
                begun[n] = begun[n].with_lanes(some, ended[n - 1].of_lanes(some))
                due[n] = some
    return [found[n] for n in range(len(years))]


def _ran(
    days: Days, years: Mapping[int, slice], begun: Mapping[int, State], due: Mapping[int, IntArray], keep: Keep
) -> dict[int, tuple[State, Kept]]:
    """Those lanes of each year that are due, years of one length side by side: the evening and what is kept of each."""
    lengths: dict[int, list[int]] = {}
    for n in due:
        lengths.setdefault(years[n].stop - years[n].start, []).append(n)
    at_once = max(1, LANES_AT_ONCE // days.lanes)
    groups = [numbers[some] for numbers in lengths.values() for some in pieces(len(numbers), at_once)]
    ran = {}
    for group in groups:
        lanes = [len(due[n]) for n in group]
        parts = [days.of(years[n], due[n]) for n in group]
        season = seasons_side_by_side([part.season for part in parts], lanes)
        sky = skies_side_by_side([part.sky for part in parts], lanes if days.sky.lanes == 1 else 1)
        state = joined([begun[n].of_lanes(due[n]) for n in group])
        garden = of_lanes(days.garden, np.concatenate([due[n] for n in group]))
        evening, kept = drive(garden, season, sky, state, keep=keep)
        ends = np.cumsum(lanes).tolist()
        for n, many, end in zip(group, lanes, ends, strict=True):
            place = slice(end - many, end)
            ran[n] = evening.of_lanes(place), kept.of_lanes(place)
    return ran
