"""The search for the values with which the model comes closest to what was measured: least squares within bounds."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from waterbudget.journal.quantities import Quantity, bounds
from waterbudget.journal.replay import Replay
from waterbudget.units import Array, BoolArray

GUESSES, SEED = 1000, 1
ENOUGH, FINE = 1e-8, 1e-13  # tolerances of a descent: to compare ends, and of the one that counts
NEAR = 1.5  # notable changes: how far around the best end guesses are made


def search(model: Replay, quantities: Sequence[Quantity], values: Array, free: BoolArray) -> list[Array]:
    """Values, those that are not free as they are, with which the levels come closest to the readings.

    Lines that wait for a dry bed make the model jump, so the search begins several times, from the best of many guesses
    side by side. All ends are returned that fit as well as the best, for all that the scatter tells; that comes first
    which is nearest to what the site says.
    """
    notable = np.array([quantity.notable for quantity in quantities])
    ends, costs = [values], [np.inf]
    for guess in (np.atleast_2d, *_guesses(quantities)):
        best = ends[int(np.argmin(costs))]
        start = model.closest(quantities, np.where(free, guess(best), values))
        end, cost = _descent(Misfit(model, quantities, start, free), ENOUGH)
        ends.append(end)
        costs.append(cost)
    most = min(costs) * _as_good(len(model.measured_l), int(free.sum()))
    as_good = [end for end, cost in zip(ends, costs, strict=True) if cost <= most]
    nearest, *others = sorted(as_good, key=lambda end: float(np.abs((end - values) / notable).sum()))
    end, _ = _descent(Misfit(model, quantities, nearest, free), FINE)
    return [end, *others]


def _descent(misfit: "Misfit", tolerance: float) -> tuple[Array, float]:
    """From a misfit's values down to where it is least, and half of the squares that are left there."""
    from scipy.optimize import least_squares

    low, high = bounds(misfit.quantities)
    free = misfit.free
    end = least_squares(
        misfit.misses,
        misfit.values[free],
        misfit.slopes,
        bounds=(low[free], high[free]),
        x_scale=np.array([quantity.notable for quantity in misfit.quantities])[free],
        ftol=tolerance,
        xtol=tolerance,
        gtol=tolerance,
    )
    return misfit.whole(end.x), float(end.cost)


def _as_good(readings: int, quantities: int) -> float:
    """How many times the least sum of squares another may be, for all that 95 % of scatter tells; at least one spare.

    Source: likelihood region of one quantity in least squares, Beale 1960 and handbooks of regression, from memory.
    """
    from scipy.special import fdtri  # scipy.stats has it too, and takes as long to load as all the rest

    spare = readings - quantities
    return 1.0 + float(fdtri(1, spare, 0.95)) / spare


def _guesses(quantities: Sequence[Quantity]) -> Iterator[Callable[[Array], Array]]:
    """Ways to guess from the best so far, (lane, quantity): anywhere, or near it, all or one of them changed."""
    low, high = bounds(quantities)
    notable = np.array([quantity.notable for quantity in quantities])
    is_start = np.array([quantity.is_start for quantity in quantities])
    random = np.random.default_rng(SEED)
    shape = (GUESSES, len(quantities))
    one = np.arange(GUESSES)[:, None] % len(quantities) == np.arange(len(quantities))

    def anywhere(best: Array) -> Array:  # the first levels stay near what was read
        return np.where(is_start, best, random.uniform(low, high, shape))

    def one_changed(best: Array) -> Array:
        return np.where(one, random.uniform(low, high, shape), best)

    def near(best: Array) -> Array:
        return np.clip(best + NEAR * notable * random.standard_normal(shape), low, high)

    def one_near(best: Array) -> Array:
        return np.where(one, near(best), best)

    yield from (one_changed, near, one_near, anywhere, one_changed, near, one_near, one_near)


@dataclass(eq=False)
class Misfit:
    """Weighted misses at each reading as a function of the free values; the last run is remembered for their slopes."""

    model: Replay
    quantities: Sequence[Quantity]
    values: Array
    free: BoolArray
    last: tuple[bytes, Array, Array] = (b"", np.empty(0), np.empty(0))

    def whole(self, some: Array) -> Array:
        """All values, the free ones among them replaced."""
        values = self.values.copy()
        values[self.free] = some
        return values

    def misses(self, some: Array) -> Array:
        """Weighted misses (reading,)."""
        return self._run(some)[1]

    def slopes(self, some: Array) -> Array:
        """How they change with each free value (reading, free)."""
        return self._run(some)[2]

    def _run(self, some: Array) -> tuple[bytes, Array, Array]:
        if self.last[0] != some.tobytes():
            level_l, slopes = self.model.slopes(self.quantities, self.whole(some))
            weight = self.model.weight
            misses = (level_l - self.model.measured_l) * weight
            self.last = (some.tobytes(), misses, slopes[:, self.free] * weight[:, None])
        return self.last
