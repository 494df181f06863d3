"""Depths and litres of a tank that the site gives a shape, and the keys that give it."""

import math

import pytest
from gardens import site_of

from waterbudget.errors import SiteError
from waterbudget.journal.book import Entry
from waterbudget.journal.dip import cm_of, full_cm, litres_of
from waterbudget.physics.shape import SHAPES
from waterbudget.site.model import Tank
from waterbudget.site.read import load_site

BUTT = {"name": "Butt", "capacity_l": 560, "start_l": 100}
ROUND = {"shape": "upright-cylinder", "inner_diameter_m": 0.8, "inner_height_m": 1.1}
SIZES = {
    "inner_diameter_m": 1.0,
    "inner_top_diameter_m": 1.0,
    "inner_bottom_diameter_m": 0.8,
    "inner_length_m": 1.2,
    "inner_width_m": 0.7,
    "inner_height_m": 1.0,
}


def level(value, unit):
    return Entry(None, "level", "Butt", value, unit)


def test_litres_of_a_depth_and_back():
    """A cylinder of 80 cm holds pi/4 x 8 x 8 = 50.265 L in each 10 cm, by elementary geometry."""
    tank = Tank(**BUTT, **ROUND)
    assert full_cm(tank) == pytest.approx(110.0)
    assert litres_of(tank, level(10.0, "cm")) == pytest.approx(16.0 * math.pi)
    assert cm_of(tank, level(16.0 * math.pi, "L")) == pytest.approx(10.0)
    assert litres_of(tank, level(420.0, "L")) == 420.0
    assert cm_of(tank, level(38.0, "cm")) == 38.0


def test_a_brimful_tank_holds_its_capacity_and_no_more():
    tank = Tank(**BUTT | {"capacity_l": 540}, **ROUND)  # the shape holds 553 L
    assert litres_of(tank, level(110.0, "cm")) == 540.0
    assert litres_of(tank, level(545.0, "L")) == 540.0


def test_joined_stores_stand_equally_high_and_hold_as_much_each():
    """Ten centimetres of two such cylinders are 2 x 50.265 L."""
    twins = Tank(**BUTT | {"joined": 2}, **ROUND)
    assert litres_of(twins, level(10.0, "cm")) == pytest.approx(32.0 * math.pi)
    assert cm_of(twins, level(32.0 * math.pi, "L")) == pytest.approx(10.0)
    assert litres_of(twins, level(1000.0, "L")) == 1000.0
    assert litres_of(twins, level(1200.0, "L")) == twins.all_l == 1120.0
    assert litres_of(twins, level(110.0, "cm")) == pytest.approx(2 * 552.92, abs=0.01)


def test_what_cannot_be_told_is_not():
    bare, small = Tank(**BUTT), Tank(**BUTT, **ROUND)
    assert full_cm(bare) is None
    assert litres_of(bare, level(38.0, "cm")) is None
    assert cm_of(bare, level(420.0, "L")) is None
    assert litres_of(small, level(110.1, "cm")) is None  # logged when the shape was another one
    assert cm_of(small, level(559.0, "L")) is None


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_of_the_site_file(shape):
    needed = {size: SIZES[size] for size in SHAPES[shape]._fields}
    tank = Tank(**BUTT, shape=shape, **needed)
    assert litres_of(tank, level(50.0, "cm")) == pytest.approx(float(tank.inside.litres(0.5)))
    assert isinstance(tank.inside, SHAPES[shape])
    assert Tank(**BUTT, shape=shape, **SIZES).inside == tank.inside  # sizes of other shapes have no effect


@pytest.mark.parametrize("shape", SHAPES)
def test_a_shape_needs_its_sizes(tmp_path, shape):
    path = tmp_path / "site.toml"
    path.write_text(
        '[site]\nname = "A"\n[[tank]]\nname = "Butt"\ncapacity_l = 560\nstart_l = 100\n'
        f'shape = "{shape}"\ninner_length_m = 0\n'
    )
    with pytest.raises(SiteError) as told:
        load_site(path)
    faults = {fault.split(": ")[1]: fault for fault in told.value.faults}
    for size in set(SHAPES[shape]._fields) - {"inner_length_m"}:
        assert faults.pop(f"tank[1].{size}").endswith(f'is missing; shape = "{shape}" needs it, in metres')
    assert "write a number above 0" in faults.pop("tank[1].inner_length_m")
    assert not faults


def test_a_tank_without_a_shape_has_no_inside():
    assert site_of({"site": {"name": "A"}, "tank": [BUTT]}).tank[0].inside is None
