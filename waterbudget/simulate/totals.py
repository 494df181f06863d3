"""What a run adds up to, kept as running sums so that no day needs to be remembered."""

from collections.abc import Iterable
from operator import attrgetter

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.simulate.days import Day
from waterbudget.simulate.shares import rain_of
from waterbudget.units import Array, BoolArray, IntArray

SHORT_L = 1e-6  # a shortage, a top-up or a demand below this is rounding
NEVER = np.inf
SUMMED = tuple(
    f"{book}.{name}"
    for book, names in {
        "roofs": ("on_roof_l", "caught_l", "flushed_l", "filter_l", "kept_l"),
        "tanks": ("inflow_l", "mains_l", "asked_l", "drawn_l", "short_l", "spilled_l", "lost_l"),
        "outlets": ("asked_l", "store_l", "mains_l", "unmet_l", "minutes_run"),
        "beds": ("etc_mm", "eta_mm", "rain_mm", "irrigation_mm", "drained_mm", "subsoil_mm"),
    }.items()
    for name in names
)


class Totals:
    """Sums, counts and first days of a run, for every scenario at once.

    days: how many were booked. sums: arrays (scenario, item) of what was booked, such as sums["tanks.mains_l"], and
    counts of days (scenario,): "days.mains", "days.demand" and "days.served". firsts: the day, counted from 0, on
    which something first happened, NEVER where it did not: "short" and "mains" (scenario,), "tanks.short"
    (scenario, tank), "beds.stress" (scenario, bed). level_l and lowest_l: (scenario, tank).
    """

    def __init__(self, garden: Garden, summed: Iterable[str] = SUMMED) -> None:
        """garden: tells which tanks mains water helps out. summed: what to add up; without beds their stress is not."""
        self._booked = {name: attrgetter(name) for name in summed}
        self._minds_beds = any(name.startswith("beds.") for name in self._booked)
        self.days = 0
        self.sums: dict[str, Array] = {}
        self.firsts: dict[str, Array] = {}
        self.level_l = garden.tanks.start_l
        self.lowest_l = garden.tanks.start_l
        self._on_rain_alone = np.array([kind == "none" for kind in garden.tanks.mains])
        self._floats = np.array([kind == "float" for kind in garden.tanks.mains])

    @property
    def days_lasted(self) -> IntArray:
        """Whole days before the first on which a store was short or a float valve opened, else all, (scenario,)."""
        ended = np.minimum(self.firsts["short"], self.firsts["mains"])
        lasted: IntArray = np.minimum(ended, self.days).astype(np.int64)
        return lasted

    @property
    def rain_l(self) -> Array:
        """Stored rain [L] that each store gave, (scenario, tank)."""
        return rain_of(self.sums["tanks.drawn_l"], self.sums["tanks.mains_l"] * self._floats)

    @property
    def needed_l(self) -> Array:
        """Mains water that all the watering takes [L], given or not, (scenario,)."""
        needed_l: Array = self.sums["tanks.mains_l"].sum(axis=1) + self.sums["outlets.unmet_l"].sum(axis=1)
        return needed_l

    def add(self, day: Day) -> None:
        """Book one more day."""
        for name, booked in self._booked.items():
            self._sum(name, booked(day))
        self._add_tanks(day)
        if self._minds_beds:
            self._add_beds(day)
        self.days += 1

    def _add_tanks(self, day: Day) -> None:
        short = day.tanks.short_l > SHORT_L
        topped_up = day.tanks.mains_l > SHORT_L
        any_short = np.any(short, axis=1)
        demand = np.any(day.tanks.asked_l > SHORT_L, axis=1)
        self._count("days.mains", np.any(topped_up, axis=1))
        self._count("days.demand", demand)
        self._count("days.served", demand & ~any_short)
        self._first("short", any_short)
        self._first("mains", np.any(topped_up | (short & self._on_rain_alone), axis=1))
        self._first("tanks.short", short)
        self.level_l = day.tanks.level_l
        self.lowest_l = np.minimum(self.lowest_l, day.tanks.level_l)

    def _add_beds(self, day: Day) -> None:
        stressed = (day.beds.ks < 1.0) & day.beds.planted
        self._count("beds.stress_days", stressed)
        self._count("beds.planted_days", day.beds.planted)
        self._sum("beds.overwatered_mm", np.minimum(day.beds.drained_mm, day.beds.irrigation_mm))
        self._first("beds.stress", stressed)

    def _count(self, name: str, happens: BoolArray) -> None:
        self._sum(name, happens.astype(np.float64))

    def _sum(self, name: str, amount: Array) -> None:
        before = self.sums.get(name)
        if before is None or before.shape != amount.shape:
            self.sums[name] = (0.0 if before is None else before) + amount
        else:
            before += amount

    def _first(self, name: str, happens: BoolArray) -> None:
        before = self.firsts.get(name)
        if before is None or before.shape != happens.shape:
            before = np.full(happens.shape, NEVER) if before is None else before + np.zeros(happens.shape)
            self.firsts[name] = before
        np.copyto(before, self.days, where=happens & (before == NEVER))


def add_up(garden: Garden, days: Iterable[Day], summed: Iterable[str] = SUMMED) -> Totals:
    """The totals of a run whose days nobody needs to see; summed: as in Totals."""
    totals = Totals(garden, summed)
    for day in days:
        totals.add(day)
    return totals
