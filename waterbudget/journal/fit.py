"""Measured against simulated: the numbers of a garden with which its modelled levels come closest to the logged ones.

The model itself is what is fitted, by least squares within bounds. Every changed number of a step is a lane, so a
whole Jacobian is one run. Standard errors come from the Jacobian at the end and from each tank's own scatter.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np

from waterbudget.journal.book import GAUGE, MAINS, RAN, Journal, journal_path, read_journal
from waterbudget.journal.diary import ByDay, Diary, diary_of, gauged
from waterbudget.journal.quantities import Quantity, bounds, quantities_of
from waterbudget.journal.readings import Readings, usable
from waterbudget.journal.replay import Replay
from waterbudget.journal.search import search
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.opened import Opened, open_site, own_site
from waterbudget.site.edit import Change
from waterbudget.site.model import Site
from waterbudget.site.write import write_changes
from waterbudget.units import Array, BoolArray, DateArray, IntArray
from waterbudget.weather.days import Weather

LEAST_EFFECT_L = 1.0  # less cannot be read off any store
ALIKE = 0.95  # correlation beyond which two quantities cannot be told apart
FAR_ERRORS = 4.0  # standard errors from one answer to another one
MIXED = 1e4  # variance inflation of what three or more others together can stand in for
RIDGE = 1e-10  # keeps the inverse of two columns that are the same
AT_BOUND = 1e-6  # of the bounds' distance
DAY = dt.timedelta(days=1)
LOGGED = Keep(each=("outlets.minutes_run", "tanks.mains_l"))


class Estimate(NamedTuple):
    """What the readings tell of a quantity.

    fitted: its value, that of the site where they tell nothing. error: its standard error, None where they tell
    nothing. at_bound: whether the search ended at one of its bounds.
    """

    quantity: Quantity
    fitted: float
    error: float | None
    at_bound: bool


class Confounded(NamedTuple):
    """Quantities that the readings cannot tell apart, as places in `Fit.estimates`; of two, their correlation."""

    places: tuple[int, ...]
    correlation: float | None


class AlternativeOptimum(NamedTuple):
    """Another value of a quantity that fits as well, far from the fitted one; place in `Fit.estimates`."""

    place: int
    value: float


class Compared(NamedTuple):
    """A measured level [L] beside those of the model, with what the site says and with what fits best."""

    date: dt.date
    tank: str
    measured_l: float
    now_l: float
    fitted_l: float


class Logged(NamedTuple):
    """What was logged beside the levels on the days of the fit after the first reading, and what stands beside that.

    kind, name: "ran" of a zone in minutes, "mains" of a tank in litres, or "gauge" of no name in millimetres. days:
    with an entry, and logged: their sum. other_days, other: of a zone the days on which its plan opened it, as none was
    logged, and for how many minutes; of a tank what its float valve or hose gave in the fitted model by itself; of the
    gauge the rain of the weather that it stands in for.
    """

    kind: str
    name: str
    days: int
    logged: float
    other_days: int
    other: float


@dataclass(frozen=True, eq=False)
class Fit:
    """A garden's levels as logged, as modelled with what the site says, and with what fits best.

    opened: the site, and its weather with the rain of the logged gauge. diary: what else was logged. estimates: of
    every quantity. confounded: groups of those that cannot be told apart. alternatives: other answers. days: from the
    first reading to the last. now_l, fitted_l: levels of each evening, arrays (day, tank), the first begun at the
    readings. left_alone: of each estimate, the share of the present miss that is left where it alone is taken. logged:
    what of the diary went into the fit. notes: for people, on site, weather and journal.
    """

    opened: Opened
    diary: Diary
    readings: Readings
    estimates: tuple[Estimate, ...]
    confounded: tuple[Confounded, ...]
    alternatives: tuple[AlternativeOptimum, ...]
    days: DateArray
    now_l: Array
    fitted_l: Array
    left_alone: tuple[float, ...]
    logged: tuple[Logged, ...]
    notes: tuple[str, ...]

    @property
    def site(self) -> Site:
        """The garden as its file says."""
        return self.opened.site

    @property
    def changes(self) -> tuple[Estimate, ...]:
        """What could be written to the site file: all that the readings tell of, but for the levels to begin with."""
        return tuple(one for one in self.estimates if one.error is not None and not one.quantity.is_start)

    @property
    def period(self) -> tuple[dt.date, dt.date]:
        """Days of the first and the last reading."""
        return self.readings.first_day, self.readings.last_day

    def write(self) -> Path | None:
        """Write the changes into the site file; the copy of it as it was, None where there is nothing to write.

        Raises InputError where the file no longer is what was fitted.
        """
        return write_values(self.opened.path, self.site, [(of, value) for of, value, *_ in self.changes])

    @cached_property
    def compared(self) -> tuple[Compared, ...]:
        """Every reading beside the model's levels, by date."""
        column = {tank.name: number for number, tank in enumerate(self.site.tank)}
        rows = (
            Compared(
                day,
                tank,
                litres,
                float(self.now_l[self._row(day), column[tank]]),
                float(self.fitted_l[self._row(day), column[tank]]),
            )
            for tank, levels in self.readings.level_l.items()
            for day, litres in levels.items()
        )
        return tuple(sorted(rows, key=lambda row: row.date))

    def misses_l(self, tank: str) -> tuple[float, float]:
        """How far the site file and the fitted values are from the measured levels: roots of the mean squares [L]."""
        rows = np.array([row[2:] for row in self.compared if row.tank == tank])
        now_l, fitted_l = np.sqrt(((rows[:, 1:] - rows[:, :1]) ** 2).mean(axis=0))
        return float(now_l), float(fitted_l)

    def _row(self, day: dt.date) -> int:
        return (day - self.readings.first_day).days


def write_values(path: Path, site: Site, values: Sequence[tuple[Quantity, float]]) -> Path | None:
    """Write values of quantities into a site file; the copy of it as it was, None where there is nothing to write.

    site: as it was read. Raises SiteError where the file has become another one, OutputError without room for it.
    """
    changes = [Change((of.kind, of.number, of.key), value) for of, value in values]
    for of, _ in values:  # the covering's loss goes with the covering's coefficient only
        if of.key == "runoff_coefficient" and site.roof[of.number].loss_mm is None:
            changes.append(Change(("roof", of.number, "loss_mm"), site.roof[of.number].wetting_loss_mm))
    return write_changes(path, site, changes) if changes else None


def find_fit(path: str | Path | None = None) -> Fit:
    """Fit a site, by default that of this folder, to the journal beside it; as `fit`."""
    opened = open_site(own_site(path), every_year=True)
    return fit(opened, read_journal(journal_path(opened.path)))


def fit(opened: Opened, journal: Journal) -> Fit:
    """Fit a site to the levels in its journal, watered and rained upon as was logged there, else by plan and weather.

    Raises InputError where the readings are too few, or it never rained between them.
    """
    site, unread = opened.site, opened.weather
    diary = diary_of(site, journal)
    opened = replace(opened, weather=gauged(unread, diary))
    readings = usable(site, opened.weather, journal)
    model = Replay.of(site, opened.weather, readings, diary)
    quantities = quantities_of(site, readings.first_l)
    now = np.array([quantity.now for quantity in quantities])
    values, free = now, np.ones(len(quantities), dtype=np.bool_)
    others: list[Array] = []
    while free.any():
        values, *others = search(model, quantities, values, free)
        silent = free & ~_speaking(model, quantities, values)
        if not silent.any():
            break
        values, free = np.where(silent, now, values), free & ~silent
    values = np.where(free, _rounded(quantities, values), values)
    estimates, confounded = _errors(model, quantities, values, free)
    alternatives = tuple(one for other in others for one in _alternatives(estimates, other))
    alone = np.where(np.eye(len(now), dtype=np.bool_), values, now)
    level_l = model.levels(quantities, np.stack([now, values, *alone]))
    now_l, fitted_l = np.moveaxis(level_l[..., :2], -1, 0)
    return Fit(
        opened=opened,
        diary=diary,
        readings=readings,
        estimates=estimates,
        confounded=confounded,
        alternatives=alternatives,
        days=opened.weather.between(readings.first_day, readings.last_day).days,
        now_l=now_l,
        fitted_l=fitted_l,
        left_alone=_left_alone(model, np.delete(level_l, 1, axis=-1)),
        logged=tuple(_logged(site, diary, readings, unread, model.run(quantities, values[None], LOGGED).each)),
        notes=(*opened.notes, *journal.damaged, *readings.notes, *diary.notes),
    )


def _left_alone(model: Replay, level_l: Array) -> tuple[float, ...]:
    """The miss of all lanes but the first as shares of that of the first; level_l: (day, tank, lane)."""
    missed = (level_l[model.rows, model.tanks] - model.measured_l[:, None]) * model.weight[:, None]
    misses = np.sqrt((missed**2).sum(axis=0))
    return tuple((misses[1:] / max(misses[0], np.finfo(np.float64).tiny)).tolist())


# ---- What the readings tell ----------------------------------------------------------------------------------------


def _speaking(model: Replay, quantities: Sequence[Quantity], values: Array) -> BoolArray:
    """Whether a notable change of each quantity moves any reading by as much as can be read."""
    _, (slopes,) = model.slopes(quantities, values[None])
    notable = np.array([quantity.notable for quantity in quantities])
    speaks: BoolArray = np.abs(slopes * notable).max(axis=0) >= LEAST_EFFECT_L
    return speaks


def _rounded(quantities: Sequence[Quantity], values: Array) -> Array:
    """The values, those that a search left within a hair of a bound at the bound."""
    low, high = bounds(quantities)
    hair = AT_BOUND * (high - low)
    return np.where(values - low <= hair, low, np.where(high - values <= hair, high, values))


def _errors(
    model: Replay, quantities: Sequence[Quantity], values: Array, free: BoolArray
) -> tuple[tuple[Estimate, ...], tuple[Confounded, ...]]:
    """Every quantity with its standard error, and those that cannot be told apart.

    Least squares with a scatter of its own for each tank: the covariance is (J'J)^-1 J'SJ (J'J)^-1 with J weighted
    and S the tank's mean square over its readings less its quantities. Source: White 1980, from memory, with groups.
    """
    (level_l,), (slopes,) = model.gentle_slopes(quantities, values[None])
    missed = (level_l - model.measured_l) * model.weight
    jacobian = slopes[:, free] * model.weight[:, None]
    length = np.maximum(np.linalg.norm(jacobian, axis=0), np.finfo(np.float64).tiny)
    jacobian = jacobian / length
    ridge = RIDGE * np.eye(len(length))
    bread = np.linalg.inv(jacobian.T @ jacobian + ridge)
    scatter = np.zeros_like(missed)
    for tank in set(model.tanks.tolist()):
        here = model.tanks == tank
        moved = int((np.abs(jacobian[here]).max(axis=0) > np.sqrt(RIDGE)).sum())
        scatter[here] = (missed[here] ** 2).sum() / max(here.sum() - moved, 1)
    spread = bread @ ((jacobian.T * scatter) @ jacobian + scatter.mean() * ridge) @ bread
    errors = np.full(len(values), np.nan)
    errors[free] = np.sqrt(np.diag(spread)) / length
    at_bound = free & np.any(values == np.array(bounds(quantities)), axis=0)
    estimates = tuple(
        Estimate(quantity, float(values[n]), float(errors[n]) if free[n] else None, bool(at_bound[n]))
        for n, quantity in enumerate(quantities)
    )
    return estimates, tuple(_confounded(bread, np.flatnonzero(free)))


def _confounded(bread: Array, places: IntArray) -> Iterator[Confounded]:
    """Pairs whose estimates go together, and what no pair explains, from the inverse of the normal matrix."""
    inflation = np.diag(bread)
    correlation = bread / np.sqrt(np.outer(inflation, inflation))
    paired: set[int] = set()
    for one in range(len(places)):
        for other in range(one + 1, len(places)):
            if abs(correlation[one, other]) > ALIKE:
                paired |= {one, other}
                yield Confounded((int(places[one]), int(places[other])), float(correlation[one, other]))
    mixed = [n for n in range(len(places)) if inflation[n] > MIXED and n not in paired]
    if len(mixed) > 1:
        yield Confounded(tuple(int(places[n]) for n in mixed), None)


def _alternatives(estimates: Sequence[Estimate], other: Array) -> Iterator[AlternativeOptimum]:
    """The quantity of another end that lies farthest from the fitted one, where it lies far."""
    apart = [
        0.0 if one.error is None else abs(value - one.fitted) / max(FAR_ERRORS * one.error, one.quantity.notable)
        for one, value in zip(estimates, other, strict=True)
    ]
    place = int(np.argmax(apart))
    if apart[place] > 1.0 and not estimates[place].quantity.is_start:
        yield AlternativeOptimum(place, float(other[place]))


# ---- What was logged beside the levels -----------------------------------------------------------------------------


def _logged(
    site: Site, diary: Diary, readings: Readings, unread: Weather, fitted: Mapping[str, Array]
) -> Iterator[Logged]:
    """What of the diary went into the fit. unread: the weather without the gauge; fitted: the days, in one lane."""
    first = readings.first_day + DAY

    def inside(days: ByDay) -> ByDay:
        return {day: value for day, value in days.items() if first <= day <= readings.last_day}

    for number, zone in enumerate(site.zone):
        if minutes := inside(diary.ran[zone.name]):
            ran = np.delete(fitted["outlets.minutes_run"][:, number, 0], [(day - first).days for day in minutes])
            other_days, other = int(np.count_nonzero(ran)), float(ran.sum())
            yield Logged(RAN, zone.name, len(minutes), sum(minutes.values()), other_days, other)
    for number, tank in enumerate(site.tank):
        if litres := inside(diary.mains_l[tank.name]):
            own_l = fitted["tanks.mains_l"][:, number, 0]
            opened = int(np.count_nonzero(own_l > SHORT_L))
            yield Logged(MAINS, tank.name, len(litres), sum(litres.values()), opened, float(own_l.sum()))
    if rain_mm := inside(diary.rain_mm):
        instead_mm = unread.readings["rain_mm"][[(day - unread.first_day).days for day in rain_mm]]
        yield Logged(GAUGE, "", len(rain_mm), sum(rain_mm.values()), len(instead_mm), float(instead_mm.sum()))
