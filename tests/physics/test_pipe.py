from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import RangeError
from waterbudget.physics.pipe import (
    darcy_weisbach,
    fittings,
    friction,
    hazen_williams,
    reynolds,
    velocity_m_s,
    viscosity_m2_s,
)

L_H = 1.0 / 3.6e6
G, NU_20 = 9.81, 1.004e-6
PLASTIC_M = 1.5e-6


def churchill(re, relative_roughness):
    """One friction factor for all Re. Source: Churchill 1977, Chemical Engineering 84(24), 91-92."""
    a = (2.457 * np.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * relative_roughness))) ** 16
    b = (37530.0 / re) ** 16
    return 8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)


def blasius(re, factor=0.316):
    """Smooth pipe, Re 4000 to 1e5; factor 0.3164 in Blasius 1913, mostly rounded to 0.316."""
    return factor / re**0.25


def half_last_digit(printed):
    return 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent)


@pytest.mark.parametrize(
    ("re", "relative_roughness", "printed", "source"),
    [
        (60000, 0.0023, "0.027", "example on the PyPI page of the package colebrook"),
        (4e5, 0.004, "0.0288", "Lindeburg, Civil Engineering Reference Manual, Ex. 17.2, inputs from memory"),
        (1e5, 1e-4, "0.018452", "Swamee-Jain of fluids 1.3.1"),
        (2e4, 1.15e-4, "0.026101", "Swamee-Jain of fluids 1.3.1"),
        (2000, 1.15e-4, "0.032", "64/Re"),
        (2500, 1.15e-4, "0.029155", "the cubic, agreeing with EPANET 2.2"),
        (3000, 1.15e-4, "0.033137", "the cubic, agreeing with EPANET 2.2"),
        (3500, 1.15e-4, "0.038722", "the cubic, agreeing with EPANET 2.2"),
        (4000, 1.15e-4, "0.040685", "the cubic, agreeing with EPANET 2.2"),
    ],
)
def test_friction_factor_as_printed(re, relative_roughness, printed, source):
    factor = friction(np.array(float(re)), np.array(relative_roughness)).f
    assert factor == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed)), source


@pytest.mark.parametrize(
    ("formula", "printed"),
    [(churchill(1e5, 1e-4), "0.018463"), (churchill(2e4, 1.15e-4), "0.026122"), (blasius(2e4, 0.3164), "0.026606")],
)
def test_the_formulas_to_compare_with_are_as_in_fluids(formula, printed):
    assert formula == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed))


def test_turbulent_friction_is_that_of_other_formulas():
    re = np.geomspace(5000.0, 1e5, 50)
    ours = friction(re, np.full_like(re, 1.15e-4)).f
    np.testing.assert_allclose(ours, churchill(re, 1.15e-4), rtol=0.025)  # they part near Re 4000
    np.testing.assert_allclose(friction(re, np.full_like(re, 1e-9)).f, blasius(re), rtol=0.03)
    assert friction(np.array(1e5), np.array(1e-4)).f == pytest.approx(0.018514, rel=0.005)  # Colebrook, fluids 1.3.1


def test_the_transition_is_where_formulas_disagree():
    # At Re 2500 Churchill's has risen to 0.0352 when the cubic is still at 0.0292.
    assert churchill(2500.0, 1.15e-4) == pytest.approx(0.0352, abs=5e-5)
    assert friction(np.array(2500.0), np.array(1.15e-4)).f == pytest.approx(0.0292, abs=5e-5)


@given(st.floats(0.0, 0.05), st.sampled_from([2000.0, 4000.0]))
def test_the_cubic_joins_its_neighbours(relative_roughness, join):
    sides = friction(np.array([join * (1 - 1e-9), join * (1 + 1e-9)]), np.array(relative_roughness)).f
    assert sides[0] == pytest.approx(sides[1], rel=1e-5)  # the manual prints the constants to six digits


# Loss of 100 m of pipe at 20 degrees C in m, computed with a second program; Blasius by hand from its formula
PER_100_M = [
    (0.013, 500, "12.35", "12.57", "10.99"),
    (0.013, 1000, "41.71", "42.29", "39.69"),
    (0.016, 1000, "15.47", "15.77", "14.43"),
]


@pytest.mark.parametrize(("bore_m", "l_h", "darcy", "smooth", "by_c"), PER_100_M)
def test_loss_per_100_m(bore_m, l_h, darcy, smooth, by_c):
    flow = l_h * L_H
    loss_m = darcy_weisbach(flow, 100.0, bore_m, PLASTIC_M, NU_20, G).head_m
    velocity = velocity_m_s(flow, bore_m)
    blasius_m = blasius(reynolds(flow, bore_m, NU_20)) * 100.0 / bore_m * velocity**2 / (2.0 * G)
    c_150_m = hazen_williams(flow, 100.0, bore_m, 150.0).head_m
    for computed, printed in ((loss_m, darcy), (blasius_m, smooth), (c_150_m, by_c)):
        assert computed == pytest.approx(float(printed), rel=0, abs=half_last_digit(printed))
    assert 0.04 < 1.0 - c_150_m / loss_m < 0.115  # the same pipe looks 5 to 11 per cent smoother by Hazen-Williams


def test_velocity_and_reynolds_number_in_13_mm():
    assert velocity_m_s(500 * L_H, 0.013) == pytest.approx(1.046, abs=5e-4)
    assert reynolds(500 * L_H, 0.013, NU_20) == pytest.approx(13549, abs=0.5)


def test_hazen_williams_in_american_units():
    # engineeringtoolbox.com, d_797: 200 US gallons a minute, 3.048 in, C 140: about 9 ft in 100 ft
    loss = hazen_williams(200 * 3.785411784e-3 / 60.0, 100.0, 3.048 * 0.0254, 140.0).head_m
    assert loss == pytest.approx(8.89, abs=5e-3)


def test_laminar_loss_is_hagen_poiseuille():
    flow = np.array([0.0, 1e-9, 1e-6, 2000 * np.pi * 0.013 * NU_20 / 4 * 0.999])
    loss = darcy_weisbach(flow, 20.0, 0.013, PLASTIC_M, NU_20, G)
    per_flow = 128.0 * NU_20 * 20.0 / (np.pi * G * 0.013**4)
    np.testing.assert_allclose(loss.head_m, per_flow * flow, rtol=1e-12)
    np.testing.assert_allclose(loss.slope_s_m2, per_flow, rtol=1e-12)


def test_fittings_lose_velocity_heads():
    velocity = velocity_m_s(3e-4, 0.013)
    assert fittings(3e-4, 0.013, 2.5, G).head_m == pytest.approx(2.5 * velocity**2 / (2.0 * G))


LAWS = {
    "darcy-weisbach": lambda flow: darcy_weisbach(flow, 30.0, 0.013, PLASTIC_M, NU_20, G),
    "hazen-williams": lambda flow: hazen_williams(flow, 30.0, 0.013, 150.0),
    "fittings": lambda flow: fittings(flow, 0.013, 3.0, G),
}


@given(st.floats(1e-7, 1e-3), st.sampled_from(sorted(LAWS)))
def test_slope_is_that_of_the_loss_and_both_ways_are_alike(flow, name):
    law, step = LAWS[name], 1e-4 * flow
    re = reynolds(np.array([flow - step, flow + step]), 0.013, NU_20)
    kink = [np.searchsorted(re, join) == 1 for join in (2000.0, 4000.0)]
    if not any(kink):
        measured = (law(flow + step).head_m - law(flow - step).head_m) / (2.0 * step)
        assert law(flow).slope_s_m2 == pytest.approx(measured, rel=1e-5)
    assert law(-flow).head_m == -law(flow).head_m
    assert law(-flow).slope_s_m2 == law(flow).slope_s_m2
    assert law(flow + step).head_m > law(flow).head_m


# IAPWS formulation of 2008 with the density of IAPWS-95 at 101.325 kPa, computed with chemicals 1.5.2
IAPWS = {5: 1.51822e-6, 10: 1.30629e-6, 15: 1.13859e-6, 20: 1.00340e-6, 25: 8.92658e-7, 30: 8.00705e-7, 35: 7.23442e-7}


@pytest.mark.parametrize(("water_c", "nu"), IAPWS.items())
def test_viscosity_is_that_of_the_release(water_c, nu):
    assert viscosity_m2_s(np.array(float(water_c))) == pytest.approx(nu, rel=1e-3)


def test_viscosity_falls_between_the_values_of_its_table():
    nu = viscosity_m2_s(np.linspace(5.0, 35.0, 301))
    assert np.all(np.diff(nu) < 0.0)
    assert np.all(np.abs(np.diff(np.log(nu), n=2)) < 1e-3)


@pytest.mark.parametrize("water_c", [4.9, 35.1, np.nan])
def test_water_outside_the_table_is_refused(water_c):
    with pytest.raises(RangeError, match="5 to 35 °C"):
        viscosity_m2_s(np.array([20.0, water_c]))
