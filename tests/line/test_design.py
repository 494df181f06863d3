from dataclasses import replace

import numpy as np
import pytest
from line.zones import zone

from waterbudget.errors import RangeError
from waterbudget.line.design import jets_that_fit, minutes_for_depth, opening_that_evens
from waterbudget.line.solve import solve

# Most jets of k 12 on 40 m, beds 1 m up, that all keep 2, 5 and 8 m; computed with a second program at 20 degrees C
MOST = {
    (20.0, 2000.0): {
        (13.0, True): (77, 46, 33),
        (13.0, False): (53, 34, 24),
        (16.0, True): (84, 49, 34),
        (16.0, False): (67, 42, 30),
    },
    (12.0, 1200.0): {
        (13.0, True): (49, 25, 14),
        (13.0, False): (36, 20, 11),
        (16.0, True): (51, 26, 14),
        (16.0, False): (44, 24, 13),
    },
    (6.0, 700.0): {
        (13.0, True): (24, 0, 0),
        (13.0, False): (19, 0, 0),
        (16.0, True): (25, 0, 0),
        (16.0, False): (23, 0, 0),
    },
}
ROWS = [(pump, *pipe, most) for pump, row in MOST.items() for pipe, most in row.items()]


@pytest.mark.parametrize(("pump", "bore_mm", "ring", "most"), ROWS)
def test_how_many_even_jets_a_pump_feeds(pump, bore_mm, ring, most):
    line = zone(10, bore_mm=bore_mm, ring=ring, k_l_h=12.0, pump=pump)
    for working_m, expected in zip((2.0, 5.0, 8.0), most, strict=True):
        fit = jets_that_fit(line, working_m, rule="respaced")
        assert fit.most == [expected]
        assert fit.more == [expected - 10]


@pytest.mark.parametrize("ring", [True, False])
def test_the_jet_after_the_last_that_fits_does_not(ring):
    line = zone(60, ring=ring, k_l_h=12.0, far_m=2.0, pump=(12.0, 1200.0), opening=np.arange(60) < 5)
    for working_m in (2.0, 5.0, 8.0):
        fit = jets_that_fit(line, working_m, rule="opened")
        assert 1 < fit.most < 60
        assert fit.more == fit.most - 5
        for jets, fits in ((fit.most, True), (fit.most + 1, False)):
            first_ones = np.arange(60) < jets
            flow = solve(replace(line, opening=first_ones[np.newaxis] * 1.0))
            assert (flow.pressure_m[0][first_ones].min() >= working_m) == fits


def test_all_places_may_fit_and_none():
    line = zone(6, source_m=np.array([0.0, 3.0, -30.0]))
    np.testing.assert_array_equal(jets_that_fit(line, 5.0, rule="opened").most, [6, 6, 0])
    np.testing.assert_array_equal(jets_that_fit(line, 5.0, rule="respaced", most=8).most, [8, 8, 0])


@pytest.mark.parametrize("ring", [True, False])
def test_respaced_jets_stand_on_the_same_ground(ring):
    sloping = {"ring": ring, "k_l_h": 12.0, "bed_m": 0.0, "far_m": 3.0}
    fits = [jets_that_fit(zone(jets, **sloping), 6.0, rule="respaced").most for jets in (7, 19)]
    assert fits[0] == fits[1]
    flow = solve(zone(int(fits[0][0]), **sloping))
    assert flow.pressure_m.min() >= 6.0
    assert solve(zone(int(fits[0][0]) + 1, **sloping)).pressure_m.min() < 6.0


def test_minutes_for_a_depth():
    # 5 mm on 6 m2 are 30 L at the roots, 37.5 L from the jets: 2.25 minutes of 1000 L/h
    assert minutes_for_depth(5.0, 6.0, 1000.0, 0.8) == pytest.approx(2.25)


BED_OF_JET = np.repeat([0, 1, 2], [10, 6, 4])
AREA_M2 = np.array([6.0, 4.0, 2.0])


@pytest.mark.parametrize("ring", [True, False])
def test_openings_even_the_beds_out(ring):
    line = zone(20, ring=ring, bed_m=0.5, far_m=2.0, source_m=np.array([0.0, 1.0]))
    before = solve(line).jets_l_h
    depth_before = np.stack([before[:, bed == BED_OF_JET].sum(axis=1) / AREA_M2[bed] for bed in range(3)], axis=1)
    assert np.all(np.ptp(depth_before, axis=1) > 0.1 * depth_before.mean(axis=1))
    evened = opening_that_evens(line, BED_OF_JET, AREA_M2)
    assert evened.opening.shape == (2, 3)
    np.testing.assert_allclose(evened.opening.max(axis=1), 1.0)
    after = solve(replace(line, opening=evened.opening[:, BED_OF_JET])).jets_l_h
    depth = np.stack([after[:, bed == BED_OF_JET].sum(axis=1) / AREA_M2[bed] for bed in range(3)], axis=1)
    np.testing.assert_allclose(depth, depth.mean(axis=1, keepdims=True) * np.ones(3), rtol=3e-6)
    np.testing.assert_array_equal(after, evened.flow.jets_l_h)


def test_a_bed_that_runs_dry_at_first_can_still_be_evened():
    # all open, the second bed lies above what the pump can hold up; with the first throttled it gets its share
    line = zone(12, ring=False, bed_m=0.0, pump=(5.0, 700.0), far_m=4.2, k_l_h=20.0)
    beds, area_m2 = np.repeat([0, 1], [10, 2]), np.array([5.0, 1.0])
    assert np.all(solve(line).jets_m3_s[0, 10:] == 0.0)
    depth = opening_that_evens(line, beds, area_m2).flow.jets_l_h[0]
    assert depth[:10].sum() / 5.0 == pytest.approx(depth[10:].sum(), rel=3e-6)
    assert depth[10:].sum() > 0.0


def test_shut_jets_stay_shut():
    line = zone(20, opening=np.arange(20) % 2)
    flow = opening_that_evens(line, BED_OF_JET, AREA_M2).flow
    assert np.all(flow.jets_l_h[0, ::2] == 0.0)


def test_a_bed_out_of_reach_is_told():
    line = zone(20, ring=False, far_m=30.0)
    with pytest.raises(RangeError, match="no opening gives all beds"):
        opening_that_evens(line, BED_OF_JET, AREA_M2)
