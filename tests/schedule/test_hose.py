"""Lines of a site: laid as the file says, solved over the level, and read between the levels."""

import numpy as np
import pytest
from hose import BY_GRAVITY, site_of

from waterbudget.errors import SiteError
from waterbudget.line.layout import L_H_PER_M3_S
from waterbudget.physics.pump import curve_end, pump_head
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.hose import NODES, OverLevel, hose_of, minutes_to_fall, over_level, pump_of, store_depth_m
from waterbudget.simulate.watering import flow_at
from waterbudget.units import NUMPY

PUMP = r"^shutoff_m = .*\ngreatest_l_h = .*"


@pytest.mark.parametrize(("ring", "total_l_h", "least_l_h"), [(True, 1031.560, 25.5455), (False, 950.753, 22.2889)])
def test_a_line_of_a_site_file_flows_as_epanet_says(tmp_path, ring, total_l_h, least_l_h):
    """A pump of 20 m and 2000 L/h, 40 m of 13.6 mm, 40 jets of k 8 a metre up: EPANET 2.2 by wntr 1.5.0.

    EPANET has constants of its own for gravity and viscosity, which shift the total by less than a thousandth.
    """
    site = site_of(
        tmp_path,
        ("^ring = true", f"ring = {str(ring).lower()}"),
        ("^bore_mm = 13 ", "bore_mm = 13.6 "),
        ("^length_m = 32", "length_m = 40"),
        ("^rise_m = 0.6", "rise_m = 1"),
        ("^feed_length_m = 4", "feed_bore_mm = 13\nfeed_length_m = 5"),
        (r"^count = 9\nk_l_h = 3\b", "count = 10\nk_l_h = 8"),
        (PUMP, "shutoff_m = 20\ngreatest_l_h = 2000"),
    )
    hose = hose_of(site, site.zone[0], 0.0)
    assert hose.flow.total_l_h[0] == pytest.approx(total_l_h, rel=1e-3)
    assert hose.flow.jets_l_h.min() == pytest.approx(least_l_h, rel=1e-3)


def test_jets_stand_bed_by_bed(tmp_path):
    site = site_of(tmp_path, (r"^bed = \"Bean bed\"\ncount = 9", 'bed = "Bean bed"\nrise_m = 0.9\ncount = 4'))
    hose = hose_of(site, site.zone[0], [0.2, 0.8])
    assert [hose.beds[bed] for bed in hose.bed_of_jet] == (
        ["Tomato bed"] * 9 + ["Bean bed"] * 4 + ["Salad bed"] * 9 + ["Carrot bed"] * 9
    )
    np.testing.assert_allclose(hose.line.jet_m[0], np.arange(1, 32))
    np.testing.assert_array_equal(hose.line.height_m[0], np.repeat([0.6, 0.9, 0.6, 0.6], [9, 4, 9, 9]))
    np.testing.assert_allclose(hose.beds_l_min.sum(axis=1), hose.total_l_min, rtol=1e-12)


def test_the_depth_of_the_water(tmp_path):
    site = site_of(tmp_path)
    half = np.array([0.0, 0.5, 1.0])
    np.testing.assert_allclose(store_depth_m(site.tank[0], half), [0.0, 0.565, 1.13])
    lying = site.tank[0].model_copy(update={"shape": "lying-cylinder", "inner_diameter_m": 1.0, "inner_length_m": 1.9})
    np.testing.assert_allclose(store_depth_m(lying, half), [0.0, 0.5, 1.0], atol=1e-9)
    upright = site.tank[0].model_copy(update={"shape": None, "inner_height_m": 2.0})
    np.testing.assert_allclose(store_depth_m(upright, half), [0.0, 1.0, 2.0])


@pytest.mark.parametrize(
    ("points", "head_m", "end_l_h"),
    [
        ("[[400, 9]]", {0: 12.0, 400: 9.0}, 800.0),  # EPANET 2.2 user manual: shutoff at 4/3, no head at twice the flow
        ("[[0, 12], [400, 9]]", {0: 12.0, 400: 9.0}, 800.0),
        ("[[0, 12], [400, 9], [800, 4]]", {0: 12.0, 400: 9.0, 800: 4.0}, None),
    ],
)
def test_a_pump_goes_through_its_points(tmp_path, points, head_m, end_l_h):
    pump = pump_of(site_of(tmp_path, (PUMP, f"points = {points}")))
    for flow_l_h, head in head_m.items():
        found = pump_head(np.array([flow_l_h / L_H_PER_M3_S]), pump, free_spinning=False)
        assert found.head_m == pytest.approx([head], abs=1e-9)
    if end_l_h is not None:
        assert curve_end(pump) * L_H_PER_M3_S == pytest.approx([end_l_h])


@pytest.mark.parametrize("changes", [(), BY_GRAVITY])
def test_more_water_flows_from_a_fuller_store(tmp_path, changes):
    site = site_of(tmp_path, *changes)
    over = over_level(site, site.zone[0])
    assert np.all(np.diff(over.flow_l_min) >= 0.0)
    assert over.flow_l_min[-1] > over.flow_l_min[0]
    np.testing.assert_allclose(over.shares.sum(axis=1), 1.0, rtol=1e-12)
    assert np.all(over.shares[:, 4:] == 0.0)  # the beds of the other line


def test_by_gravity_nothing_flows_from_below_the_jets(tmp_path):
    site = site_of(tmp_path, *BY_GRAVITY)
    over = over_level(site, site.zone[0])
    depth_m = store_depth_m(site.tank[0], np.linspace(0.0, 1.0, NODES))
    np.testing.assert_array_equal(over.flow_l_min > 0.0, depth_m > 0.5)
    assert np.all(np.isfinite(over.shares))


@pytest.mark.parametrize(("changes", "most_off"), [((), 1e-5), (BY_GRAVITY, 0.01)])
def test_flows_between_the_levels_are_those_of_the_solver(tmp_path, changes, most_off):
    """Straight between levels; by gravity the flow bends most near the jets, so it is measured against a full store."""
    site = site_of(tmp_path, *changes)
    filled = np.random.default_rng(5).uniform(0.55, 1.0, 40)
    level_l = filled * np.array([[1500.0], [350.0]])
    found, solved = flow_at(NUMPY, garden_of(site), level_l), hose_of(site, site.zone[0], filled)
    full_l_min = hose_of(site, site.zone[0], 1.0).total_l_min[0]
    np.testing.assert_allclose(found.l_min[0], solved.total_l_min, rtol=0, atol=most_off * full_l_min)
    shares = solved.beds_l_min / solved.total_l_min[:, np.newaxis]
    to_mm = site.zone[0].applied / np.array([[bed.area_m2] for bed in site.bed])
    np.testing.assert_allclose((found.mm_per_l / to_mm)[:4], shares.T[:4], atol=0.002)
    np.testing.assert_array_equal(found.l_min[1], 5.0)
    np.testing.assert_array_equal(found.factor[1:], 1.0)


def test_a_store_of_no_size_is_empty(tmp_path):
    garden = garden_of(site_of(tmp_path))
    none = garden.changed(tanks={"capacity_l": np.array([[0.0], [350.0]])})
    flowing, empty = (flow_at(NUMPY, one, np.zeros((2, 1))) for one in (none, garden))
    np.testing.assert_array_equal(flowing.l_min, empty.l_min)


def test_a_garden_without_a_line_has_one_flow(tmp_path):
    site = site_of(tmp_path, (r"^\[\[zone.line\]\][^\0]*?\n\[\[zone\]\]", "flow_l_min = 4\n[[zone]]"))
    garden = garden_of(site)
    for level_l in ([[900.0], [100.0]], [[0.0], [0.0]]):
        flowing = flow_at(NUMPY, garden, np.array(level_l))
        assert flowing.factor is None
        assert flowing.l_min is garden.outlets.flow_l_min
        assert flowing.mm_per_l is garden.mm_per_l


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            ("^rise_m = 0.6", "rise_m = 30"),
            r"water and pump reach 11.1 m above its floor, the lowest open jet 30 m: check rise_m",
        ),
        ((r"^k_l_h = 3\b", "opening = 0\nk_l_h = 3"), r"all its jets are shut: write an opening above 0"),
    ],
)
def test_a_line_that_gives_nothing_is_refused(tmp_path, change, told):
    with pytest.raises(
        SiteError, match=r'zone\[1\].line, of "North line": gives nothing even from a full store; ' + told
    ):
        garden_of(site_of(tmp_path, change))


def test_minutes_to_fall_by_hand():
    steady, falling = np.full(NODES, 4.0), np.linspace(1.0, 5.0, NODES)  # [L/min] over the level
    shares = np.ones((NODES, 1))
    assert minutes_to_fall(OverLevel(steady, shares), 400.0, 300.0, 100.0) == pytest.approx(50.0, rel=1e-12)
    # flow = 1 + 4 V/400 = (100 + V)/100, and the minutes from 300 to 100 L are 100 ln(400/200)
    assert minutes_to_fall(OverLevel(falling, shares), 400.0, 300.0, 100.0) == pytest.approx(100 * np.log(2), rel=1e-12)
    assert minutes_to_fall(OverLevel(falling, shares), 400.0, 90.0, 100.0) == 0.0
    dies = np.linspace(-1.0, 5.0, NODES).clip(0.0)
    assert minutes_to_fall(OverLevel(dies, shares), 400.0, 300.0, 20.0) == np.inf
    assert np.isfinite(minutes_to_fall(OverLevel(dies, shares), 400.0, 300.0, 100.0))
