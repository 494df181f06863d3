"""What falls on a roof is caught, flushed, lost at the filter or kept: nothing else."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.physics.roof import RoofDay, roof_day

MANY = settings(max_examples=80, deadline=None)
RAIN_MM, AREA_M2, LITRES = st.floats(0.0, 300.0), st.floats(0.1, 500.0), st.floats(0.0, 500.0)
SHARE, LOSS_MM = st.floats(0.0, 1.0), st.floats(0.0, 10.0)
ROOFS = st.tuples(RAIN_MM, AREA_M2, SHARE, LOSS_MM, LITRES, SHARE)
ROUND_L = 8 * np.spacing(150_000.0)  # a few roundings of a double at 300 mm on 500 m2, the most that falls here


def test_a_wet_day_by_hand():
    # 10 mm on 38 m2 are 380 L; 9.5 mm x 38 m2 x 0.9 = 324.9 L run; 20 L are flushed; 0.9 of 304.9 L passes the filter
    day = roof_day(10.0, 38.0, 0.9, 0.5, 20.0, 0.9)
    assert day == pytest.approx((380.0, 274.41, 20.0, 30.49, 55.1), rel=1e-12)


def test_rain_that_only_wets_the_roof_stays_there():
    assert roof_day(0.5, 38.0, 0.9, 0.5, 20.0, 0.9) == (19.0, 0.0, 0.0, 0.0, 19.0)


def test_a_diverter_takes_no_more_than_runs_off():
    # 1 mm on 20 m2: all of the 20 L are flushed by a diverter of 25 L
    assert roof_day(1.0, 20.0, 1.0, 0.0, 25.0, 0.9) == (20.0, 0.0, 20.0, 0.0, 0.0)


def test_a_dry_day_brings_nothing():
    assert roof_day(0.0, 38.0, 0.9, 0.5, 20.0, 0.9) == (0.0, 0.0, 0.0, 0.0, 0.0)


@MANY
@given(ROOFS)
def test_every_litre_is_booked(roof):
    day = roof_day(*roof)
    assert sum(day[1:]) == pytest.approx(day.on_roof_l, rel=0, abs=ROUND_L)
    assert min(day) >= 0.0


@MANY
@given(ROOFS, st.floats(0.0, 100.0))
def test_more_rain_never_catches_less(roof, extra_mm):
    rain_mm, *others = roof
    assert roof_day(rain_mm + extra_mm, *others).caught_l >= roof_day(*roof).caught_l


@MANY
@given(ROOFS, st.floats(0.0, 100.0), st.floats(0.0, 10.0))
def test_a_thirstier_roof_or_a_larger_diverter_never_catches_more(roof, extra_l, extra_mm):
    rain_mm, area_m2, coefficient, loss_mm, first_flush_l, efficiency = roof
    caught_l = roof_day(*roof).caught_l
    assert roof_day(rain_mm, area_m2, coefficient, loss_mm, first_flush_l + extra_l, efficiency).caught_l <= caught_l
    assert roof_day(rain_mm, area_m2, coefficient, loss_mm + extra_mm, first_flush_l, efficiency).caught_l <= caught_l


@MANY
@given(ROOFS)
def test_a_perfect_roof_catches_what_falls(roof):
    rain_mm, area_m2, *_ = roof
    day = roof_day(rain_mm, area_m2, 1.0, 0.0, 0.0, 1.0)
    assert day.caught_l == day.on_roof_l


@MANY
@given(st.lists(st.lists(ROOFS, min_size=2, max_size=2), min_size=2, max_size=25))
def test_a_scenario_alone_is_its_lane_in_a_batch(batch):
    columns = [np.array(column) for column in np.moveaxis(np.array(batch), -1, 0)]  # each (scenario, roof)
    together = roof_day(*columns)
    assert isinstance(together, RoofDay)
    for lane in range(len(batch)):
        alone = roof_day(*(column[lane : lane + 1] for column in columns))
        for both, one in zip(together, alone, strict=True):
            np.testing.assert_array_equal(both[lane : lane + 1], one)
