import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import RangeError
from waterbudget.physics.pump import (
    NO_PUMP,
    check_falling,
    curve_end,
    pump_from_duty_point,
    pump_from_nameplate,
    pump_from_three_points,
    pump_head,
)

L_H = 1.0 / 3.6e6
NAMEPLATE = pump_from_nameplate(np.array([20.0]), np.array([2000.0 * L_H]))


def head(pump, l_h, *, free_spinning=False):
    return pump_head(np.atleast_1d(l_h) * L_H, pump, free_spinning=free_spinning).head_m


def test_a_nameplate_gives_a_parabola():
    np.testing.assert_allclose(head(NAMEPLATE, [0.0, 1000.0, 2000.0]), [20.0, 15.0, 0.0], atol=1e-12)
    assert curve_end(NAMEPLATE) == pytest.approx(2000.0 * L_H)


def test_one_duty_point_means_four_thirds_and_twice():
    # EPANET 2.2 user manual, single-point pump curve: shutoff 133 % of the head, no head at twice the flow
    pump = pump_from_duty_point(np.array([1000.0 * L_H]), np.array([15.0]))
    np.testing.assert_allclose(np.concatenate(pump), np.concatenate(NAMEPLATE), rtol=1e-12)


@given(st.floats(3.0, 40.0), st.floats(0.05, 0.9), st.floats(0.05, 0.9), st.floats(1.2, 4.0))
def test_three_points_lie_on_their_curve(shutoff_m, first, second, ratio):
    heads = np.array([shutoff_m, shutoff_m * (1 - first * 0.5), shutoff_m * (1 - first * 0.5) * (1 - second)])
    flows = np.array([0.0, 300.0, 300.0 * ratio])
    pump = pump_from_three_points(
        *(np.array([v]) for v in (heads[0], flows[1] * L_H, heads[1], flows[2] * L_H, heads[2]))
    )
    np.testing.assert_allclose(head(pump, flows), heads, rtol=1e-9)
    assert head(pump, curve_end(pump) / L_H) == pytest.approx(0.0, abs=1e-9 * shutoff_m)


def test_the_parabola_is_one_of_the_three_point_curves():
    points = (20.0, 1000.0 * L_H, 15.0, 1500.0 * L_H, 8.75)
    pump = pump_from_three_points(*(np.array([value]) for value in points))
    np.testing.assert_allclose(np.concatenate(pump), np.concatenate(NAMEPLATE), rtol=1e-9)


@pytest.mark.parametrize(
    "points",
    [
        (20.0, 1e-4, 20.0, 2e-4, 5.0),
        (20.0, 1e-4, 12.0, 2e-4, 13.0),
        (20.0, 2e-4, 12.0, 1e-4, 5.0),
        (20.0, 0.0, 12.0, 1e-4, 5.0),
        (20.0, 1e-4, 12.0, 2e-4, -1.0),
    ],
)
def test_a_curve_that_does_not_fall_is_refused(points):
    with pytest.raises(RangeError, match="must fall"):
        pump_from_three_points(*(np.array([value]) for value in points))


def test_points_in_a_row_are_checked():
    check_falling(np.array([0.0, 1.0, 2.0, 3.0]), np.array([9.0, 8.0, 4.0, 0.0]))
    with pytest.raises(RangeError, match="must fall"):
        check_falling(np.array([0.0, 1.0, 2.0, 3.0]), np.array([9.0, 8.0, 8.0, 0.0]))


@pytest.mark.parametrize(("shutoff_m", "greatest"), [(0.0, 1e-4), (-5.0, 1e-4), (5.0, 0.0), (5.0, np.nan)])
def test_a_nameplate_has_numbers_above_zero(shutoff_m, greatest):
    with pytest.raises(RangeError, match="above 0"):
        pump_from_nameplate(np.array([shutoff_m]), np.array([greatest]))


def test_beyond_its_curve_a_pump_brakes_unless_it_spins_freely():
    assert head(NAMEPLATE, 3000.0) == pytest.approx(-25.0)
    free = pump_head(np.array([3000.0 * L_H]), NAMEPLATE, free_spinning=True)
    assert free.head_m == 0.0
    assert free.slope_s_m2 == 0.0
    assert head(NAMEPLATE, 1000.0, free_spinning=True) == pytest.approx(15.0)


def test_no_pump_adds_nothing_and_has_no_end():
    assert head(NO_PUMP, 500.0) == 0.0
    assert curve_end(NO_PUMP) == np.inf


@given(st.floats(1.0, 5000.0))
def test_the_slope_is_that_of_the_curve(l_h):
    flow, step = np.array([l_h * L_H]), 1e-4 * l_h * L_H
    low, high = (pump_head(flow + side * step, NAMEPLATE, free_spinning=False).head_m for side in (-1, 1))
    slope = pump_head(flow, NAMEPLATE, free_spinning=False).slope_s_m2
    assert slope == pytest.approx((high - low) / (2 * step), rel=1e-5)
    assert pump_head(np.zeros(1), NAMEPLATE, free_spinning=False).slope_s_m2 == 0.0
