"""Crop coefficient and root depth along a planting: FAO-56 Eq. 66 and 8-3."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.physics.crop import kc_curve, root_depth

MANY = settings(max_examples=80, deadline=None)
STAGES = st.lists(st.integers(0, 60), min_size=4, max_size=4).filter(any)
KC = st.lists(st.floats(0.05, 1.4), min_size=3, max_size=3)


def curve(stage_days, kc):
    """Kc on every day of a planting."""
    days = np.arange(1, sum(stage_days) + 1)
    return kc_curve(days, np.array(stage_days), np.array(kc))


def test_a_season_by_hand():
    # 2, 4, 2 and 2 days at 0.4, 1.2 and 0.8: a rise of 0.2 a day from day 3 on, a fall of 0.2 a day from day 9 on
    expected = [0.4, 0.4, 0.6, 0.8, 1.0, 1.2, 1.2, 1.2, 1.0, 0.8]
    assert curve([2, 4, 2, 2], [0.4, 1.2, 0.8]) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("stage_days", "expected"),
    [
        ([2, 2, 2, 0], [0.4, 0.4, 0.8, 1.2, 1.2, 1.2]),  # picked green: it ends in its prime
        ([2, 0, 2, 2], [0.4, 0.4, 1.2, 1.2, 1.0, 0.8]),  # no development: a step
        ([0, 2, 2, 2], [0.8, 1.2, 1.2, 1.2, 1.0, 0.8]),  # planted out: it grows from the first day
        ([2, 2, 0, 2], [0.4, 0.4, 0.8, 1.2, 1.0, 0.8]),  # no mid-season: a peak
        ([0, 0, 3, 0], [1.2, 1.2, 1.2]),
        ([3, 0, 0, 0], [0.4, 0.4, 0.4]),
        ([0, 0, 0, 2], [1.0, 0.8]),
    ],
)
def test_stages_of_no_days(stage_days, expected):
    assert curve(stage_days, [0.4, 1.2, 0.8]) == pytest.approx(expected, rel=1e-12)


@MANY
@given(STAGES, KC)
def test_kc_stays_between_its_values(stage_days, kc):
    found = curve(stage_days, kc)
    assert np.all(found >= min(kc) - 1e-12)
    assert np.all(found <= max(kc) + 1e-12)


@MANY
@given(st.lists(st.integers(1, 60), min_size=4, max_size=4), KC)
def test_kc_at_the_corners_and_straight_between_them(stage_days, kc):
    initial, development, mid, late = np.cumsum(stage_days)
    found = np.concatenate([[np.nan], curve(stage_days, kc)])  # counted from 1
    assert found[1 : initial + 1] == pytest.approx(kc[0], rel=1e-12)
    assert found[development : mid + 1] == pytest.approx(kc[1], rel=1e-12)
    assert found[late] == pytest.approx(kc[2], rel=1e-12)
    for first, last in ((initial, development), (mid, late)):
        between = np.linspace(found[first], found[last], last - first + 1)
        np.testing.assert_allclose(found[first : last + 1], between, rtol=1e-12)


@MANY
@given(st.lists(st.tuples(STAGES, KC, st.integers(1, 240)), min_size=1, max_size=20))
def test_many_plantings_at_once_are_each_one_alone(plantings):
    stage_days, kc, day = (np.array(part) for part in zip(*plantings, strict=True))
    together = kc_curve(day, stage_days, kc)
    alone = [kc_curve(np.array(d), np.array(s), np.array(k)) for s, k, d in plantings]
    np.testing.assert_array_equal(together, alone)


def test_roots_by_hand():
    # from 0.15 m to 0.75 m in 60 days: 0.01 m a day, and no deeper
    days = np.array([1, 20, 59, 60, 61, 145])
    expected_m = [0.16, 0.35, 0.74, 0.75, 0.75, 0.75]
    assert root_depth(days, np.array(60), np.array(0.15), np.array(0.75)) == pytest.approx(expected_m, rel=1e-12)


def test_roots_of_a_planting_without_growing_days_are_full_at_once():
    assert root_depth(np.array([1, 2]), np.array(0), np.array(0.15), np.array(0.75)).tolist() == [0.75, 0.75]


@MANY
@given(st.integers(0, 200), st.floats(0.05, 0.5), st.floats(0.0, 1.5))
def test_roots_never_shrink_nor_pass_their_depth(days_to_full, start_m, growth_m):
    full_m = start_m + growth_m
    zr_m = root_depth(np.arange(1, 250), np.array(days_to_full), np.array(start_m), np.array(full_m))
    assert np.all(np.diff(zr_m) >= 0.0)
    assert zr_m[0] >= start_m
    assert zr_m[-1] == pytest.approx(full_m, rel=1e-12)
