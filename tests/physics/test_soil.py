"""A root zone's day: FAO-56 Eq. 82 to 88. No millimetre appears or goes missing."""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.physics import soil
from waterbudget.physics.soil import adjusted_p, raw, taw
from waterbudget.units import NUMPY

MANY = settings(max_examples=80, deadline=None)
MM, SHARE, P = st.floats(0.0, 300.0), st.floats(0.0, 1.0), st.floats(0.1, 0.8)
TAW_MM, ETC_MM = st.floats(0.5, 300.0), st.floats(0.0, 15.0)
ROUND_MM = 8 * np.spacing(1e3)  # a few roundings of a double at 1000 mm, above the largest sum here
ZONES = st.tuples(SHARE, TAW_MM, SHARE, ETC_MM, MM)  # depletion as a share of TAW, TAW, Ks, ETc, water


class SoilDay(NamedTuple):
    eta_mm: float
    drained_mm: float
    depletion_mm: float


def ks(taw_mm, raw_mm, depletion_mm):
    return soil.ks(NUMPY, taw_mm, raw_mm, depletion_mm)


def soil_day(depletion_mm, taw_mm, ks_now, etc_mm, water_mm):
    """A day's use under stress, as far as it is within reach, and the evening after it."""
    eta_mm = np.minimum(ks_now * etc_mm, soil.within_reach(NUMPY, taw_mm, depletion_mm - water_mm))
    evening = soil.evening(NUMPY, depletion_mm - water_mm, eta_mm)
    return SoilDay(eta_mm, evening.drained_mm, evening.depletion_mm)


def day_of(zone):
    depleted, taw_mm, ks_now, etc_mm, water_mm = zone
    return soil_day(depleted * taw_mm, taw_mm, ks_now, etc_mm, water_mm)


def test_a_dry_day_by_hand():
    assert soil_day(40.0, 100.0, 0.5, 6.0, 0.0) == (3.0, 0.0, 43.0)


def test_a_wet_day_by_hand():
    # 12 mm of depletion, 20 mm of water, 5 mm drunk the same day: 3 mm drain
    assert soil_day(12.0, 100.0, 1.0, 5.0, 20.0) == (5.0, 3.0, 0.0)


def test_water_that_just_fills_the_root_zone_does_not_drain():
    assert soil_day(12.0, 100.0, 1.0, 5.0, 17.0) == (5.0, 0.0, 0.0)


def test_no_more_is_drunk_than_is_there():
    assert soil_day(98.0, 100.0, 1.0, 6.0, 1.0) == (3.0, 0.0, 100.0)
    assert soil_day(100.0, 100.0, 1.0, 6.0, 0.0) == (0.0, 0.0, 100.0)


def test_a_shrunken_root_zone_drinks_nothing_until_it_holds_water():
    assert soil_day(100.0, 60.0, 1.0, 6.0, 30.0) == (0.0, 0.0, 70.0)


@MANY
@given(ZONES)
def test_every_millimetre_is_booked(zone):
    depleted, taw_mm, ks_now, etc_mm, water_mm = zone
    day = day_of(zone)
    change_mm = day.depletion_mm - depleted * taw_mm
    assert change_mm == pytest.approx(day.eta_mm + day.drained_mm - water_mm, rel=0, abs=ROUND_MM)
    assert min(day) >= 0.0
    assert day.eta_mm <= ks_now * etc_mm
    assert day.depletion_mm <= taw_mm + ROUND_MM
    assert day.drained_mm <= water_mm + ROUND_MM
    assert day.drained_mm == 0.0 or day.depletion_mm == 0.0


@MANY
@given(ZONES, MM)
def test_more_water_never_leaves_the_root_zone_drier(zone, extra_mm):
    *others, water_mm = zone
    day, wetter = day_of(zone), day_of((*others, water_mm + extra_mm))
    assert wetter.depletion_mm <= day.depletion_mm + ROUND_MM
    assert wetter.eta_mm >= day.eta_mm
    assert wetter.drained_mm >= day.drained_mm - ROUND_MM


def test_stress_by_hand():
    # TAW 100 mm, RAW 40 mm: none down to 40 mm, half of it at 70 mm, all at 100 mm
    found = ks(100.0, 40.0, np.array([0.0, 39.0, 40.0, 55.0, 70.0, 100.0, 130.0]))
    assert found == pytest.approx([1.0, 1.0, 1.0, 0.75, 0.5, 0.0, 0.0], rel=1e-12)


@MANY
@given(TAW_MM, P, st.lists(st.floats(0.0, 1.2), min_size=2, max_size=20))
def test_stress_only_grows_as_the_root_zone_dries(taw_mm, p, depleted):
    raw_mm = raw(taw_mm, p)
    found = ks(taw_mm, raw_mm, np.sort(depleted) * taw_mm)
    assert np.all(np.diff(found) <= 0.0)
    assert np.all((found >= 0.0) & (found <= 1.0))


@MANY
@given(TAW_MM, P)
def test_stress_at_its_ends(taw_mm, p):
    raw_mm = raw(taw_mm, p)
    assert ks(taw_mm, raw_mm, raw_mm) == 1.0
    assert ks(taw_mm, raw_mm, np.nextafter(raw_mm, 0.0)) == 1.0
    assert ks(taw_mm, raw_mm, raw_mm + 0.01 * (taw_mm - raw_mm)) == pytest.approx(0.99, rel=0, abs=1e-9)
    assert ks(taw_mm, raw_mm, taw_mm) == 0.0


def test_p_follows_the_days_demand():
    # FAO-56 Table 22, footnote 2: p + 0.04 (5 - ETc), within 0.1 and 0.8
    etc_mm = np.array([0.0, 3.0, 5.0, 8.0, 12.0, 13.0])
    assert adjusted_p(0.40, etc_mm) == pytest.approx([0.60, 0.48, 0.40, 0.28, 0.12, 0.10], rel=1e-12)
    assert adjusted_p(0.65, np.array([0.0, 1.25, 2.0])) == pytest.approx([0.80, 0.80, 0.77], rel=1e-12)


@MANY
@given(P, ETC_MM, ETC_MM)
def test_p_falls_as_demand_rises_and_keeps_its_limits(p, etc_mm, more_mm):
    found = adjusted_p(p, np.array([etc_mm, etc_mm + more_mm]))
    assert found[1] <= found[0]
    assert np.all((found >= 0.1) & (found <= 0.8))
    assert adjusted_p(p, 5.0) == p


@MANY
@given(st.floats(10.0, 400.0), st.floats(0.05, 2.0), P)
def test_available_water_grows_with_soil_and_roots(available_water_mm_m, zr_m, p):
    taw_mm = taw(available_water_mm_m, zr_m)
    assert taw_mm == pytest.approx(available_water_mm_m * zr_m, rel=1e-12)
    assert 0.0 < raw(taw_mm, p) < taw_mm


@MANY
@given(st.lists(st.lists(ZONES, min_size=2, max_size=2), min_size=2, max_size=25))
def test_a_root_zone_alone_is_as_in_a_batch(batch):
    columns = np.moveaxis(np.array(batch), -1, 0)  # five of (lane, bed)
    together = whole_day(*columns)
    for lane in range(len(batch)):
        alone = whole_day(*(column[lane : lane + 1] for column in columns))
        for both, one in zip(together, alone, strict=True):
            np.testing.assert_array_equal(both[lane : lane + 1], one)


def whole_day(depleted, taw_mm, p, etc_mm, water_mm):
    """Every function of a root zone's day, one after the other."""
    p_now = adjusted_p(p, etc_mm)
    raw_mm = raw(taw_mm, p_now)
    ks_now = ks(taw_mm, raw_mm, depleted * taw_mm)
    return [p_now, raw_mm, ks_now, *soil_day(depleted * taw_mm, taw_mm, ks_now, etc_mm, water_mm)]
