from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line.zones import case_zone, cases, zone

from waterbudget.errors import RangeError
from waterbudget.line.fieldtest import bucket_test, cup_test, k_factor
from waterbudget.line.solve import solve

P3 = case_zone(next(row for row in cases() if row["case"] == "P3_loop40_lift1"))
CUPS = [92, 105, 98, 110, 88, 101, 95, 103, 107, 84, 99, 118]
BEDS = ["low bed"] * 4 + ["long bed"] * 5 + ["herbs"] * 3


# Case P3, 10 L in 34.9 s and a second later, computed with a second program on EPANET's constants
@pytest.mark.parametrize(("seconds", "k_l_h"), [(34.9, 7.999), (35.9, 7.612)])
def test_a_bucket_gives_the_k_of_the_jets(seconds, k_l_h):
    bucket = bucket_test(P3, 10.0, seconds, mark_l=0.1, stopwatch_s=0.3)
    assert bucket.flow_l_h[0] == pytest.approx(36000.0 / seconds)
    np.testing.assert_allclose(bucket.k_l_h, k_l_h, rtol=0, atol=5e-4)


def test_the_pump_makes_a_small_error_in_flow_a_larger_one_in_k():
    # the slope of ln flow against ln k is 0.557 at P3: a flow that is 1 % out puts k 1.8 % out
    more = solve(replace(P3, k=P3.k * 1.001)).total_l_h / solve(P3).total_l_h
    assert np.log(more[0]) / np.log(1.001) == pytest.approx(0.557, abs=5e-4)
    bucket = bucket_test(P3, 10.0, 34.9, mark_l=0.08, stopwatch_s=0.2094)
    assert bucket.flow_error[0] == pytest.approx(np.hypot(0.008, 0.006))
    assert (bucket.k_high_l_h / bucket.k_l_h)[0, 0] == pytest.approx(1.018, abs=1e-3)
    assert (bucket.k_low_l_h / bucket.k_l_h)[0, 0] == pytest.approx(1 - 0.018, abs=1e-3)


@settings(deadline=None, max_examples=30)
@given(st.floats(0.02, 30.0), st.booleans(), st.integers(1, 40))
def test_the_factor_is_found_again(factor, ring, jets):
    line = zone(jets, ring=ring, opening=np.linspace(1.0, 0.3, jets))
    flow_l_h = solve(replace(line, k=line.k * factor)).total_l_h
    found = solve(replace(line, k=line.k * k_factor(line, flow_l_h)[:, np.newaxis]))
    assert found.total_l_h == pytest.approx(flow_l_h, rel=1e-8)


def test_many_zones_are_inverted_at_once():
    line = zone(20, source_m=np.array([0.0, 0.5, 1.0]))
    bucket = bucket_test(line, 10.0, np.array([60.0, 60.0, 50.0]), mark_l=0.1, stopwatch_s=0.5)
    assert bucket.k_l_h.shape == (3, 20)
    for i in range(3):
        flow = solve(replace(line, k=bucket.k_l_h / 3.6e6))
        assert flow.total_l_h[i] == pytest.approx(bucket.flow_l_h[i], rel=1e-8)
    assert np.all(np.diff(bucket.k_l_h[:2, 0]) < 0.0)  # the same water from a fuller butt means smaller jets


def test_more_water_than_pump_and_pipe_can_give_has_no_k():
    with pytest.raises(RangeError, match="no jets explain 3600 L/h"):
        bucket_test(P3, 10.0, 10.0, mark_l=0.1, stopwatch_s=0.3)
    nearly_all = solve(replace(P3, k=P3.k * 64.0)).total_l_h
    bucket = bucket_test(P3, 10.0, 36000.0 / nearly_all, mark_l=0.2, stopwatch_s=0.3)
    assert np.all(np.isinf(bucket.k_high_l_h))
    assert np.all(np.isfinite(bucket.k_l_h))


@pytest.mark.parametrize(
    ("volume_l", "seconds", "mark_l"), [(0.0, 30.0, 0.1), (10.0, 0.0, 0.1), (10.0, -1.0, 0.1), (10.0, 30.0, 10.0)]
)
def test_a_bucket_test_without_sense_is_refused(volume_l, seconds, mark_l):
    with pytest.raises(RangeError, match="litres and seconds"):
        bucket_test(P3, volume_l, seconds, mark_l=mark_l, stopwatch_s=0.3)


def test_twelve_cups_by_hand():
    cups = cup_test(CUPS, beds=BEDS, minutes=10.0, mouth_cm2=50.0)
    assert cups.mean_ml == 100.0
    assert cups.du_pct == pytest.approx(88.0)
    assert cups.cu_pct == pytest.approx(92.67, abs=5e-3)
    assert cups.cv == pytest.approx(0.0954, abs=5e-5)
    assert cups.least_over_mean_pct == pytest.approx(84.0)
    assert cups.bed_factors == pytest.approx({"low bed": 1.0125, "long bed": 0.988, "herbs": 301 / 300})
    assert list(cups.bed_factors) == ["low bed", "long bed", "herbs"]
    assert cups.mm_per_min == pytest.approx(2.0)  # 100 mL on 50 cm2 are 20 mm, in 10 minutes
    assert cups.driest_mm_per_min == pytest.approx(1.76)
    assert cups.minutes_for_driest(8.8) == pytest.approx(5.0)


def test_a_quarter_without_water_waits_for_ever():
    cups = cup_test([0, 0, 50, 60, 70, 80, 90, 100], beds=["bed"] * 8, minutes=10.0, mouth_cm2=50.0)
    assert cups.minutes_for_driest(1.0) == np.inf


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"caught_ml": [1, 2, 3], "beds": ["bed"] * 3}, "four cups"),
        ({"beds": ["bed"] * 11}, "not 12 and 11"),
        ({"caught_ml": [-1.0, *CUPS[1:]]}, "not below 0"),
        ({"caught_ml": [np.nan, *CUPS[1:]]}, "not below 0"),
        ({"caught_ml": [0.0] * 12}, "not all 0"),
        ({"minutes": 0.0}, "minutes"),
        ({"mouth_cm2": 0.0}, "mouth"),
    ],
)
def test_cups_without_sense_are_refused(change, words):
    with pytest.raises(RangeError, match=words):
        cup_test(**{"caught_ml": CUPS, "beds": BEDS, "minutes": 10.0, "mouth_cm2": 50.0} | change)
