"""Depth and litres in tanks of four shapes, against solids known by heart and numeric integration."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from waterbudget.errors import RangeError
from waterbudget.physics.shape import SHAPES, Box, LyingCylinder, Tapered, UprightCylinder

MANY = settings(max_examples=60, deadline=None)
METRES, SHARE = st.floats(0.05, 20.0), st.floats(0.0, 1.0)
TANKS = [UprightCylinder(0.8, 1.1), Box(1.2, 0.8, 0.9), Tapered(0.62, 0.48, 0.9), LyingCylinder(1.4, 2.1)]
EACH = pytest.mark.parametrize("tank", TANKS, ids=lambda tank: type(tank).__name__)


def of(tank):
    """The tank with its sizes as arrays."""
    return type(tank)(*map(np.asarray, tank))


def surface_m2(tank, depth_m):
    """Area of the water's surface by elementary geometry: circle, rectangle, or chord times length."""
    match tank:
        case UprightCylinder(diameter_m, _):
            return np.pi * (diameter_m / 2) ** 2
        case Box(length_m, width_m, _):
            return length_m * width_m
        case Tapered(top_m, bottom_m, height_m):
            return np.pi * ((bottom_m + (top_m - bottom_m) * depth_m / height_m) / 2) ** 2
        case LyingCylinder(diameter_m, length_m):
            return length_m * 2 * np.sqrt(depth_m * (diameter_m - depth_m))  # chord theorem


@pytest.mark.parametrize(
    ("tank", "depth_m", "litres"),
    [  # closed forms known by heart
        (UprightCylinder(2.0, 3.0), 3.0, 3000 * np.pi),
        (Box(1.0, 1.0, 1.0), 1.0, 1000.0),  # a cubic metre is 1000 L, SI brochure
        (Box(1.2, 0.8, 0.9), 0.45, 432.0),
        (Tapered(2.0, 1e-9, 3.0), 3.0, 1000 * np.pi),  # a cone on its tip: a third of the cylinder
        (Tapered(2.0, 1e-9, 3.0), 1.5, 125 * np.pi),  # half as deep: an eighth
        (Tapered(1e-9, 2.0, 3.0), 1.5, 875 * np.pi),  # turned over: the rest
        (Tapered(2.0, 2.0, 3.0), 3.0, 3000 * np.pi),  # even sides
        (LyingCylinder(2.0, 3.0), 2.0, 3000 * np.pi),
        (LyingCylinder(2.0, 3.0), 1.0, 1500 * np.pi),  # half full
        (LyingCylinder(2.0, 3.0), 0.5, 3000 * (np.pi / 3 - np.sqrt(3) / 4)),  # segment of 120 degrees
        (LyingCylinder(2.0, 3.0), 1.5, 3000 * (2 * np.pi / 3 + np.sqrt(3) / 4)),
    ],
)
def test_solids_known_by_heart(tank, depth_m, litres):
    assert of(tank).litres(np.asarray(depth_m)) == pytest.approx(litres, rel=1e-8)
    assert of(tank).depth_m(np.asarray(litres * (1 - 1e-12))) == pytest.approx(depth_m, rel=1e-6)


@EACH
def test_litres_are_the_integral_of_the_surface(tank):
    for share in (0.01, 0.2, 0.5, 0.77, 1.0):
        depth_m = share * tank.height_m
        integral_m3, _ = quad(lambda h: surface_m2(tank, h), 0.0, depth_m, epsabs=1e-12)
        assert of(tank).litres(np.asarray(depth_m)) == pytest.approx(1000 * integral_m3, rel=1e-9)


@MANY
@given(st.sampled_from(sorted(SHAPES)), st.tuples(METRES, METRES, METRES), st.lists(SHARE, min_size=1, max_size=5))
def test_a_depth_comes_back(name, sizes_m, shares):
    tank = of(SHAPES[name](*sizes_m[: len(SHAPES[name]._fields)]))
    depth_m = np.sort(np.array(shares)) * tank.height_m
    litres = tank.litres(depth_m)
    assert np.all(np.diff(litres) >= 0.0)
    # a hundred-thousandth of the height is finer than any dipstick; at the ends of a lying one the surface vanishes
    np.testing.assert_allclose(tank.depth_m(litres), depth_m, rtol=0, atol=1e-5 * float(tank.height_m))
    np.testing.assert_allclose(tank.litres(tank.depth_m(litres)), litres, rtol=1e-9, atol=1e-9)


@EACH
def test_an_empty_and_a_full_tank(tank):
    full_l = of(tank).litres(np.asarray(tank.height_m))
    assert of(tank).litres(np.asarray(0.0)) == 0.0
    assert of(tank).depth_m(np.asarray(0.0)) == pytest.approx(0.0, abs=1e-15)
    assert of(tank).depth_m(full_l) == pytest.approx(tank.height_m, rel=1e-7)


@EACH
@pytest.mark.parametrize("factor", [-1e-9, 1 + 1e-9, np.nan])
def test_outside_the_tank_is_refused(tank, factor):
    with pytest.raises(RangeError, match=r"depth of .* lies outside the tank"):
        of(tank).litres(np.asarray(factor * tank.height_m))
    full_l = of(tank).litres(np.asarray(tank.height_m))
    with pytest.raises(RangeError, match=r"volume of .* lies outside the tank"):
        of(tank).depth_m(factor * full_l)
