"""The search for the values with which the model comes closest to what was measured: least squares within bounds.

A run of many lanes takes hardly longer than of one, so all that need not wait for each other goes side by side: every
guess, every start of a descent, every damping of a step and every changed number of a slope.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from waterbudget.journal.quantities import Quantity, bounds
from waterbudget.journal.replay import Replay
from waterbudget.units import Array, BoolArray

GUESSES, ROUNDS, SEED = 1000, 3, 1
ENOUGH, FINE = 1e-3, 1e-12  # least gain of a step: to compare ends, and of the descent that counts
MOST_STEPS = 100
DAMPINGS = 10.0 ** np.array([-10, -4, -3, -2, -1, 0, 1, 2, 3])  # of a step, as shares of what the readings tell
LEAST_TOLD = 1e-12  # of the most that the readings tell of a quantity: as much counts as told of any
NEAR = 1.5  # notable changes: how far around the best end guesses are made


class Ends(NamedTuple):
    """Where descents ended, (end, quantity), and half of the squares that are left there, (end,)."""

    values: Array
    costs: Array

    @property
    def best(self) -> Array:
        """The values that are left with least."""
        best: Array = self.values[np.argmin(self.costs)]
        return best


def search(model: Replay, quantities: Sequence[Quantity], values: Array, free: BoolArray) -> list[Array]:
    """Values, those that are not free as they are, with which the levels come closest to the readings.

    Lines that wait for a dry bed make the model jump, so the search begins several times, from the best so far and from
    the best of many guesses of each kind. All ends are returned that fit as well as the best, for all that the scatter
    tells; that comes first which is nearest to what the site says.
    """
    notable = np.array([quantity.notable for quantity in quantities])
    ends = Ends(values[None], np.array([np.inf]))
    random = np.random.default_rng(SEED)
    for _ in range(ROUNDS):
        guesses = [np.where(free, guess, values) for guess in _guesses(quantities, ends.best, random)]
        starts = np.stack([ends.best, *model.closest(quantities, guesses)])
        found = _descents(model, quantities, starts, free, ENOUGH)
        ends = Ends(*(np.concatenate(both) for both in zip(ends, found, strict=True)))
    most = ends.costs.min() * _as_good(len(model.measured_l), int(free.sum()))
    as_good = ends.values[ends.costs <= most]
    nearest, *others = as_good[np.argsort(np.abs((as_good - values) / notable).sum(axis=1), kind="stable")]
    (end,) = _descents(model, quantities, nearest[None], free, FINE).values
    return [end, *others]


def _descents(model: Replay, quantities: Sequence[Quantity], starts: Array, free: BoolArray, tolerance: float) -> Ends:
    """From some values (start, quantity) down to where the misfit is least, side by side.

    Steps of Levenberg and Marquardt; all dampings are tried at once, and what is left with least is taken. Source:
    Marquardt 1963, from memory. A library's descent would go one step after the other, and each step is a run.
    """
    values, (misses, slopes) = np.array(starts), _misfit(model, quantities, starts)
    costs, going = _half_squares(misses), np.arange(len(starts))
    for _ in range(MOST_STEPS):
        tried = _steps(quantities, values[going], misses[going], slopes[going], free)
        tried_misses, tried_slopes = _misfit(model, quantities, np.concatenate(tried))
        tried_costs = _half_squares(tried_misses).reshape(tried.shape[:2])
        gains = costs[going] - tried_costs.min(axis=0)
        goes_on = gains > tolerance * costs[going]
        best = (tried_costs.argmin(axis=0) * len(going) + np.arange(len(going)))[goes_on]
        going = going[goes_on]
        if not len(going):
            break
        values[going], costs[going] = np.concatenate(tried)[best], tried_costs.ravel()[best]
        misses[going], slopes[going] = tried_misses[best], tried_slopes[best]
    return Ends(values, costs)


def _misfit(model: Replay, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array]:
    """Weighted misses (lane, reading) for values (lane, quantity), and their slopes (lane, reading, quantity)."""
    level_l, slopes = model.slopes(quantities, values)
    return (level_l - model.measured_l) * model.weight, slopes * model.weight[:, None]


def _half_squares(misses: Array) -> Array:
    costs: Array = 0.5 * (misses**2).sum(axis=1)
    return costs


def _steps(quantities: Sequence[Quantity], values: Array, misses: Array, slopes: Array, free: BoolArray) -> Array:
    """The values after a step of each damping, (damping, lane, quantity).

    What stands at a bound that the misfit pushes against stays there; a step beyond a bound ends at it.
    """
    low, high = bounds(quantities)
    notable = np.array([quantity.notable for quantity in quantities])
    push = np.einsum("lr,lrq->lq", misses, slopes)
    moves = free & ~((values <= low) & (push > 0.0)) & ~((values >= high) & (push < 0.0))
    jacobian = np.where(moves[:, None], slopes * notable, 0.0)
    normal = jacobian.swapaxes(1, 2) @ jacobian
    told = np.diagonal(normal, axis1=1, axis2=2)
    length = np.sqrt(np.maximum(told, LEAST_TOLD * told.max(axis=1, initial=0.0, keepdims=True)))
    length = np.where(length > 0.0, length, 1.0)
    scaled = normal / (length[:, :, None] * length[:, None])
    damped = scaled + DAMPINGS[:, None, None, None] * np.eye(len(quantities))
    downhill = -np.where(moves, push * notable, 0.0) / length
    step = np.linalg.solve(damped, np.broadcast_to(downhill[..., None], (*damped.shape[:-1], 1)))[..., 0]
    stepped: Array = np.clip(values + step / length * notable, low, high)
    return stepped


def _as_good(readings: int, quantities: int) -> float:
    """How many times the least sum of squares another may be, for all that 95 % of scatter tells; at least one spare.

    Source: likelihood region of one quantity in least squares, Beale 1960 and handbooks of regression, from memory.
    """
    from scipy.special import fdtri  # scipy.stats has it too, and takes as long to load as all the rest

    spare = readings - quantities
    return 1.0 + float(fdtri(1, spare, 0.95)) / spare


def _guesses(quantities: Sequence[Quantity], best: Array, random: np.random.Generator) -> Iterator[Array]:
    """Guesses from the best so far, (guess, quantity): near it or anywhere, all or one of them changed."""
    low, high = bounds(quantities)
    notable = np.array([quantity.notable for quantity in quantities])
    is_start = np.array([quantity.is_start for quantity in quantities])
    shape = (GUESSES, len(quantities))
    one = np.arange(GUESSES)[:, None] % len(quantities) == np.arange(len(quantities))

    def anywhere() -> Array:
        return random.uniform(low, high, shape)

    def near() -> Array:
        return np.clip(best + NEAR * notable * random.standard_normal(shape), low, high)

    yield np.where(one, anywhere(), best)
    yield near()
    yield np.where(one, near(), best)
    yield np.where(is_start, best, anywhere())  # the first levels stay near what was read
