from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line.zones import case_zone, cases, zone

from waterbudget.errors import RangeError
from waterbudget.line.fieldtest import bucket_test, cup_test, k_factor, pump_test
from waterbudget.line.layout import L_H_PER_M3_S
from waterbudget.line.solve import solve
from waterbudget.physics.pump import curve_end, pump_from_nameplate

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


def test_less_water_than_jets_a_hundred_times_as_narrow_would_give_has_no_k():
    with pytest.raises(RangeError, match=r"no jets explain 0\.036 L/h from this zone: jets a hundred times as narrow"):
        bucket_test(P3, 0.001, 100.0, mark_l=0.0001, stopwatch_s=0.3)


@pytest.mark.parametrize(
    ("volume_l", "seconds", "mark_l"), [(0.0, 30.0, 0.1), (10.0, 0.0, 0.1), (10.0, -1.0, 0.1), (10.0, 30.0, 10.0)]
)
def test_a_bucket_test_without_sense_is_refused(volume_l, seconds, mark_l):
    with pytest.raises(RangeError, match="litres and seconds"):
        bucket_test(P3, volume_l, seconds, mark_l=mark_l, stopwatch_s=0.3)


# ---- Two buckets ---------------------------------------------------------------------------------------------------

P3_L_H = {10: 339.2, 20: 630.9, 30: 858.1, 40: 1031.6}  # first n of its jets open, computed with a second program
NAMEPLATE = {"shutoff_m": 20.0, "greatest_l_h": 2000.0}
FINDS = tuple(NAMEPLATE)


def first_open(line, jets):
    return replace(line, opening=np.where(np.arange(line.jet_m.shape[1]) < jets, line.opening, 0.0))


def believing(line, **nameplate):
    """The zone as somebody lays it who has another pump in mind."""
    of = NAMEPLATE | nameplate
    return replace(
        line, pump=pump_from_nameplate(np.array([of["shutoff_m"]]), np.array([of["greatest_l_h"]]) / L_H_PER_M3_S)
    )


def two_buckets(line, jets, flows_l_h, find, **words):
    lines = tuple(first_open(line, number) for number in jets)
    seconds = tuple(36000.0 / flow_l_h for flow_l_h in flows_l_h)
    words = {"mark_l": 0.1, "stopwatch_s": 0.3, "same_bucket": True} | words
    return pump_test(lines, (10.0, 10.0), seconds, find=find, **words)


@pytest.mark.parametrize("find", FINDS)
@pytest.mark.parametrize("jets", [(40, 10), (20, 40), (30, 20)])
def test_two_buckets_tell_the_pump_and_the_jets_of_the_reference_ring(find, jets):
    """Case P3 was computed with a pump of 20 m and 2000 L/h and jets of k 8; its flows are given to 0.1 L/h."""
    wrong = believing(replace(P3, k=P3.k * 1.3), **{find: 0.8 * NAMEPLATE[find]})
    flows_l_h = np.array([P3_L_H[number] for number in jets])
    told, *ends = (
        two_buckets(wrong, jets, flows_l_h + off_l_h, find)
        for off_l_h in (np.zeros(2), *np.array([[0.05, -0.05], [-0.05, 0.05]]))  # half of the last digit
    )
    assert min(end.figure.value for end in ends) < NAMEPLATE[find] < max(end.figure.value for end in ends)
    assert min(end.factor.value for end in ends) < 1.0 / 1.3 < max(end.factor.value for end in ends)
    assert told.figure.value == pytest.approx(NAMEPLATE[find], rel=0.005)
    assert told.figure.least < NAMEPLATE[find] < told.figure.most
    assert told.flow_l_h == pytest.approx(flows_l_h)
    assert told.flow_error == pytest.approx(np.hypot(0.01, 0.3 * flows_l_h / 36000.0))


@settings(deadline=None, max_examples=10)
@given(
    st.floats(6.0, 25.0), st.floats(1.3, 4.0), st.floats(3.0, 12.0), st.booleans(), st.integers(8, 40),
    st.floats(0.2, 0.7), st.sampled_from(FINDS), st.floats(0.7, 1.6),
)  # fmt: skip
def test_pump_and_jets_are_found_again(shutoff_m, over, k_l_h, ring, jets, some, find, off):
    line = zone(jets, ring=ring, k_l_h=k_l_h, bed_m=1.0)
    greatest_l_h = over * solve(believing(line, shutoff_m=shutoff_m, greatest_l_h=9e3)).total_l_h[0]
    true = {"shutoff_m": shutoff_m, "greatest_l_h": greatest_l_h}
    real, open_jets = believing(line, **true), (jets, max(1, int(some * jets)))
    flows_l_h = [solve(first_open(real, number)).total_l_h[0] for number in open_jets]
    wrong = believing(replace(line, k=line.k * off), **true | {find: true[find] * 1.2})
    told = two_buckets(wrong, open_jets, flows_l_h, find, mark_l=0.0, stopwatch_s=0.0)
    assert told.figure.value == pytest.approx(true[find], rel=1e-4)
    assert told.factor.value == pytest.approx(1.0 / off, rel=1e-4)
    assert told.figure == pytest.approx([told.figure.value] * 3)


def test_each_error_widens_what_is_told():
    flows = [P3_L_H[40], P3_L_H[10]]
    marked, timed, both = (
        two_buckets(P3, (40, 10), flows, "greatest_l_h", mark_l=mark_l, stopwatch_s=watch_s, same_bucket=False).figure
        for mark_l, watch_s in ((0.1, 0.0), (0.0, 0.4), (0.1, 0.4))
    )
    for some, side in ((1, -1.0), (2, 1.0)):
        parts = [side * np.log(each[some] / each.value) for each in (marked, timed, both)]
        assert min(parts) > 0.0
        assert np.hypot(*parts[:2]) == pytest.approx(parts[2], rel=1e-3)
    same = two_buckets(P3, (40, 10), flows, "greatest_l_h", mark_l=0.1, stopwatch_s=0.0).figure
    assert same.most - same.least < 0.5 * (marked.most - marked.least)  # one mark is wrong by as much in both


def test_the_flow_without_lift_is_told_better_than_the_lift_without_flow():
    widths = {
        find: np.ptp(two_buckets(P3, (40, 10), [P3_L_H[40], P3_L_H[10]], find).figure[1:]) / NAMEPLATE[find]
        for find in FINDS
    }
    assert widths["greatest_l_h"] < widths["shutoff_m"] / 2.0


@pytest.mark.parametrize(
    ("jets", "flows_l_h", "find", "words"),
    [
        ((40, 20), (1031.6, 1150.0), "greatest_l_h", "no pump explains both: with more jets open .* too little"),
        ((20, 40), (300.0, 1031.6), "greatest_l_h", "no pump explains both: with more jets open .* too much"),
        ((40, 39), (1031.6, 1010.0), "greatest_l_h", "mark and watch are too coarse"),
        ((40, 39), (1031.6, 1013.0), "shutoff_m", "mark and watch are too coarse"),
        ((40, 20), (2100.0, 900.0), "shutoff_m", "2100 L/h, with its error, is all that greatest_l_h gives"),
        ((40, 20), (3600.0, 900.0), "greatest_l_h", "takes .* m, all that shutoff_m gives"),
        ((40, 20), (1995.0, 900.0), "shutoff_m", "is all that greatest_l_h gives"),
        ((40, 20), (0.0, 900.0), "shutoff_m", "litres and seconds above 0"),
        ((40, 20), (40000.0, 900.0), "shutoff_m", "errors of mark and watch must be smaller"),
    ],
)  # fmt: skip
def test_two_buckets_that_tell_no_pump_are_refused(jets, flows_l_h, find, words):
    lines = tuple(first_open(P3, number) for number in jets)
    seconds = tuple(36000.0 / flow_l_h if flow_l_h else 0.0 for flow_l_h in flows_l_h)
    with pytest.raises(RangeError, match=words):
        pump_test(lines, (10.0, 10.0), seconds, mark_l=0.1, stopwatch_s=1.0, same_bucket=True, find=find)


def test_the_pump_found_gives_the_flows():
    line = zone(30, pump=(12.0, 900.0), source_m=0.4)
    told = two_buckets(line, (30, 12), (480.0, 260.0), "greatest_l_h")
    found = believing(replace(line, k=line.k * told.factor.value), shutoff_m=12.0, greatest_l_h=told.figure.value)
    assert curve_end(found.pump)[0] * L_H_PER_M3_S == pytest.approx(told.figure.value)
    for jets, flow_l_h in ((30, 480.0), (12, 260.0)):
        assert solve(first_open(found, jets)).total_l_h[0] == pytest.approx(flow_l_h, rel=1e-7)


# ---- Cups ----------------------------------------------------------------------------------------------------------


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
