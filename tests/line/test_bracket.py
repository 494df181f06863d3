import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.line.bracket import falling_root

ROOTS = st.lists(st.floats(-50.0, 50.0), min_size=1, max_size=8)


@pytest.mark.parametrize("curve", [np.cbrt, np.arctan, lambda x: x**5, lambda x: np.sign(x) * np.sqrt(np.abs(x))])
@given(ROOTS)
def test_roots_of_steep_and_flat_curves(curve, roots):
    at = np.array(roots)
    found = falling_root(lambda x, rows: curve(at[rows] - x), np.full(at.size, -60.0), np.full(at.size, 70.0), 0.0)
    # x^5 leaves less than the smallest double within 1e-65 of its root
    np.testing.assert_allclose(found, at, rtol=1e-14, atol=1e-15)


def test_only_the_scenarios_that_are_left_are_asked_for():
    asked = []

    def function(x, rows):
        asked.append(rows.size)
        return np.where(rows == 0, -x, np.cbrt(3.0 - x))

    found = falling_root(function, np.array([-1.0, -1.0]), np.array([1.0, 4.0]), 1e-12)
    np.testing.assert_allclose(found, [0.0, 3.0])
    assert asked[0] == 2
    assert asked[-1] == 1


def test_it_stops_where_the_value_is_small_enough():
    calls = []

    def function(x, rows):
        calls.append(rows.size)
        return -(x**3) - 0.1

    loose = falling_root(function, np.array([-2.0]), np.array([1.0]), 1e-2)
    few = len(calls)
    assert abs(-(loose[0] ** 3) - 0.1) <= 1e-2
    falling_root(function, np.array([-2.0]), np.array([1.0]), 0.0)
    assert few < len(calls) - few


def test_a_root_at_an_end_is_found():
    found = falling_root(lambda x, _rows: -x, np.array([0.0, -1.0]), np.array([1.0, 0.0]), 0.0)
    np.testing.assert_array_equal(found, [0.0, 0.0])
