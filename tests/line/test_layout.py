from dataclasses import replace

import numpy as np
import pytest
from line.zones import random_zones, zone

from waterbudget.errors import RangeError
from waterbudget.line.layout import even_jets, lay_line
from waterbudget.line.solve import solve

GOOD = {"ring": True, "length_m": 20.0, "bore_mm": 13.0, "jet_m": [5.0, 10.0, 15.0], "height_m": 0.5, "k_l_h": 8.0}


def test_even_jets_on_a_ring_keep_a_spacing_from_the_tee():
    places = even_jets(4, 20.0, ring=True, tee_m=1.0, far_m=3.0)
    np.testing.assert_allclose(places.jet_m, [[4.0, 8.0, 12.0, 16.0]])
    np.testing.assert_allclose(places.height_m, [[1.8, 2.6, 2.6, 1.8]])
    np.testing.assert_array_equal(places.there, 1.0)


def test_even_jets_on_a_line_end_at_its_end():
    places = even_jets(4, 20.0, ring=False, tee_m=1.0, far_m=3.0)
    np.testing.assert_allclose(places.jet_m, [[5.0, 10.0, 15.0, 20.0]])
    np.testing.assert_allclose(places.height_m, [[1.5, 2.0, 2.5, 3.0]])


@pytest.mark.parametrize("ring", [True, False])
def test_fewer_jets_than_others_leave_places_without_one(ring):
    counts = np.array([1, 2, 5, 6])
    places = even_jets(counts, 20.0, ring=ring, tee_m=1.0, far_m=3.0)
    assert places.jet_m.shape == (4, 6)
    for i, count in enumerate(counts):
        alone = even_jets(int(count), 20.0, ring=ring, tee_m=1.0, far_m=3.0)
        there = places.there[i] == 1.0
        np.testing.assert_allclose(places.jet_m[i][there], alone.jet_m[0])
        np.testing.assert_allclose(places.height_m[i][there], alone.height_m[0])
        np.testing.assert_allclose(places.jet_m[i][~there], 10.0 if ring else 20.0)
        np.testing.assert_allclose(places.height_m[i][~there], 3.0)
        assert np.all(np.diff(places.jet_m[i]) >= 0.0)


def test_numbers_of_a_garden_become_si_and_spread():
    line = lay_line(**GOOD | {"source_m": [0.0, 1.0], "opening": [1.0, 0.5, 0.0]}, feed_bore_mm=19.0, roughness_mm=0.01)
    assert line.source_m.shape == line.bore_m.shape == line.pump.shutoff_m.shape == (2,)
    assert line.height_m.shape == line.k.shape == (2, 3)
    np.testing.assert_allclose(line.bore_m, 0.013)
    np.testing.assert_allclose(line.feed_bore_m, 0.019)
    np.testing.assert_allclose(line.roughness_m, 1e-5)
    np.testing.assert_allclose(line.k * 3.6e6, 8.0)
    np.testing.assert_allclose(line.nu_m2_s, 1.004e-6)
    np.testing.assert_array_equal(line.is_open, [[True, True, False]] * 2)
    assert line.hazen_williams_c is None


def test_some_scenarios_can_be_taken_out():
    lines = random_zones(6, 1, ring=True, hazen_williams=True)
    some = lines.take(np.array([4, 1]))
    np.testing.assert_array_equal(some.hazen_williams_c, lines.hazen_williams_c[[4, 1]])
    np.testing.assert_array_equal(some.pump.droop, lines.pump.droop[[4, 1]])
    np.testing.assert_allclose(solve(some).total_m3_s, solve(lines).total_m3_s[[4, 1]], rtol=1e-9)


@pytest.mark.parametrize("ring", [True, False])
def test_a_barb_is_some_more_pipe_about_its_jet(ring):
    plain = zone(10, 20.0, ring=ring)
    barbed = replace(plain, barb_m=np.full_like(plain.barb_m, 0.2))
    spacing = plain.segment_m[0, 1]
    expected = np.full(plain.segment_m.shape[1], spacing + 0.2)
    expected[0] -= 0.1
    if ring:
        expected[-1] -= 0.1
    np.testing.assert_allclose(barbed.segment_m[0], expected)
    assert solve(barbed).total_l_h < solve(plain).total_l_h


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"length_m": 0.0}, "length_m of a watering line must be above 0"),
        ({"bore_mm": -1.0}, "bore_m"),
        ({"feed_bore_mm": 0.0}, "feed_bore_m"),
        ({"k_l_h": 0.0}, "k of"),
        ({"x": np.nan}, "x of"),
        ({"hazen_williams_c": 0.0}, "hazen_williams_c"),
        ({"feed_length_m": -1.0}, "feed_length_m"),
        ({"feed_k": -1.0}, "feed_k"),
        ({"barb_m": -0.1}, "barb_m"),
        ({"roughness_mm": -0.1}, "roughness_m"),
        ({"opening": -0.1}, "opening"),
        ({"opening": 1.1}, "from 0, shut, to 1"),
        ({"height_m": np.inf}, "height_m"),
        ({"tee_m": np.nan}, "tee_m"),
        ({"source_m": np.nan}, "source_m"),
        ({"water_c": 60.0}, "5 to 35 °C"),
        ({"jet_m": [5.0, 15.0, 10.0]}, "in the order"),
        ({"jet_m": [0.0, 10.0, 15.0]}, "in the order"),
        ({"jet_m": [5.0, 10.0, 20.0]}, "in the order"),
        ({"jet_m": [5.0, 10.0, 20.1], "ring": False}, "in the order"),
        ({"jet_m": [5.0, 10.0, np.nan]}, "in the order"),
    ],
)
def test_what_no_pipe_is_like_is_refused(change, words):
    with pytest.raises(RangeError, match=words):
        lay_line(**GOOD | change)


def test_a_line_may_have_a_jet_at_its_very_end():
    assert solve(lay_line(**GOOD | {"jet_m": [5.0, 10.0, 20.0], "ring": False, "source_m": 2.0})).total_l_h > 0.0
