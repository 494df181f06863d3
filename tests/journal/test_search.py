"""The descents of a fit against those of scipy, on smooth problems within bounds whose answers hang on no jump."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from waterbudget.journal.quantities import Quantity
from waterbudget.journal.search import FINE, _descents

TIMES = np.linspace(0.0, 3.0, 12)


def fading(values):
    """What is left of three amounts that fade at different speeds, and how that changes with each, a row a lane."""
    level, speed, rest = (column[:, None] for column in values.T)
    share = np.exp(-speed * TIMES)
    slopes = np.stack([share, -level * TIMES * share, np.ones_like(share)], axis=2)
    return level * share + rest, slopes


def straight(matrix):
    """Levels that are sums of the quantities."""

    def at(values):
        return values @ matrix.T, np.broadcast_to(matrix, (len(values), *matrix.shape))

    return at


def ours(at, measured, weight, start, low, high, free):
    """Values and half of the squares where our descent ends."""
    model = SimpleNamespace(measured_l=measured, weight=weight, slopes=lambda _, values: at(values))
    quantities = [
        Quantity("roof", n, "area_m2", "Roof", *map(float, (start[n], low[n], high[n], (high[n] - low[n]) / 20)))
        for n in range(len(start))
    ]
    found = _descents(model, quantities, start[None], free, FINE)
    return found.values[0], found.costs[0]


def scipys(at, measured, weight, start, low, high, free):
    """Half of the squares where scipy ends."""

    def whole(some):
        values = start.copy()
        values[free] = some
        return values[None]

    return least_squares(
        lambda some: ((at(whole(some))[0] - measured) * weight)[0],
        start[free],
        lambda some: (at(whole(some))[1][0] * weight[:, None])[:, free],
        bounds=(low[free], high[free]),
        x_scale=(high - low)[free],
        ftol=1e-15,
        xtol=1e-15,
        gtol=1e-15,
        max_nfev=10_000,
    ).cost


@settings(max_examples=100)
@given(st.integers(0, 10**6), st.floats(0.0, 0.05), st.booleans())
def test_scipy_gets_no_further_from_where_a_bent_problem_ends(seed, scatter, is_held):
    """It may have several ends: to begin from many places is the search's part."""
    random = np.random.default_rng(seed)
    low, high = np.array([0.0, 0.1, -1.0]), np.array([5.0, 3.0, 1.0])
    truth, start = random.uniform(low, high), random.uniform([1.0, 0.3, -0.5], [4.0, 2.0, 0.5])
    free = np.array([True, True, not is_held])
    measured = fading(truth[None])[0][0] + scatter * random.standard_normal(len(TIMES))
    weight = random.uniform(0.5, 2.0, len(TIMES))
    values, cost = ours(fading, measured, weight, start, low, high, free)
    assert np.all((low <= values) & (values <= high))
    assert np.all(values[~free] == start[~free])
    assert cost <= scipys(fading, measured, weight, values, low, high, free) * (1.0 + 1e-6) + 1e-9


@settings(max_examples=100)
@given(st.integers(0, 10**6), st.integers(1, 5))
def test_a_straight_problem_within_bounds_has_the_answer_of_scipy(seed, many):
    random = np.random.default_rng(seed)
    matrix = random.standard_normal((12, many)) * 10.0 ** random.uniform(-2, 2, many)
    low, high = np.full(many, -1.0), np.full(many, 1.0)
    measured = matrix @ random.uniform(-2.0, 2.0, many) + 0.1 * random.standard_normal(12)  # often beyond the bounds
    start, free = random.uniform(-0.9, 0.9, many), np.ones(many, dtype=np.bool_)
    given_ = straight(matrix), measured, np.ones(12), start, low, high, free
    values, cost = ours(*given_)
    assert np.all((low <= values) & (values <= high))
    assert cost == pytest.approx(scipys(*given_), rel=1e-5, abs=1e-9)


def test_descents_side_by_side_end_as_each_does_alone():
    starts = np.array([[1.0, 0.5, 0.0], [4.0, 2.5, 0.8], [0.1, 0.2, -0.9]])
    measured = fading(np.array([[2.0, 1.0, 0.3]]))[0][0] + 0.01 * np.cos(9.0 * TIMES)
    model = SimpleNamespace(measured_l=measured, weight=np.ones(12), slopes=lambda _, values: fading(values))
    quantities = [
        Quantity("roof", n, "area_m2", "Roof", 1.0, low, high, 0.1)
        for n, (low, high) in enumerate([(0.0, 5.0), (0.1, 3.0), (-1.0, 1.0)])
    ]
    free = np.ones(3, dtype=np.bool_)
    together = _descents(model, quantities, starts, free, FINE)
    for number, start in enumerate(starts):
        alone = _descents(model, quantities, start[None], free, FINE)
        np.testing.assert_allclose(together.values[number], alone.values[0], rtol=1e-9)
        np.testing.assert_allclose(together.costs[number], alone.costs[0], rtol=1e-9)
