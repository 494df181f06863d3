"""A store as it is drawn, and the water in it by its depth."""

import math
import re

import pytest
from gardens import site_of

from waterbudget.serve.dip import POINTS, litres_by_depth, outline
from waterbudget.serve.entries import NewEntries, from_form

SHAPES = {
    "upright-cylinder": {"inner_diameter_m": 1.0, "inner_height_m": 2.0},
    "lying-cylinder": {"inner_diameter_m": 1.0, "inner_length_m": 2.0},
    "box": {"inner_length_m": 1.0, "inner_width_m": 0.5, "inner_height_m": 0.8},
    "tapered": {"inner_top_diameter_m": 0.6, "inner_bottom_diameter_m": 0.4, "inner_height_m": 0.9},
}
HALF_L = {  # handbooks of mathematics, from memory: the prism, the half circle, the frustum
    "upright-cylinder": 1000 * math.pi / 4 * 1.0,
    "lying-cylinder": 1000 * math.pi / 4 * 2.0 / 2,
    "box": 1000 * 0.5 * 0.4,
    "tapered": 1000 * math.pi / 12 * 0.45 * (0.5**2 + 0.5 * 0.4 + 0.4**2),
}


def tank(shape=None, **keys):
    sizes = {} if shape is None else {"shape": shape, **SHAPES[shape]}
    table = {"name": "Butt", "capacity_l": 10_000.0, "start_l": 0.0, **sizes, **keys}
    return site_of({"site": {"name": "G"}, "tank": [table]}).tank[0]


@pytest.mark.parametrize("shape", SHAPES)
def test_half_as_deep_is_so_many_litres(shape):
    assert litres_by_depth(tank(shape))[POINTS // 2] == pytest.approx(HALF_L[shape], abs=0.001)


def test_without_a_shape_half_full_is_half_the_litres():
    table = litres_by_depth(tank(capacity_l=350.0))
    assert (table[0], table[POINTS // 2], table[-1]) == (0.0, 175.0, 350.0)


def test_joined_stores_are_told_together():
    assert litres_by_depth(tank(capacity_l=350.0, joined=3))[-1] == 1050.0


@pytest.mark.parametrize("shape", [None, *SHAPES])
def test_every_outline_stands_in_the_picture(shape):
    path = outline(tank(shape))
    assert path.startswith("M")
    assert path.endswith("z")
    assert all(-180.0 <= float(number) <= 190.0 for number in re.findall(r"-?[\d.]+", path))


@pytest.mark.parametrize(
    ("form", "body"),
    [
        ({"store": "Butt", "value": " 38 ", "unit": "cm"}, {"levels": ("Butt=38cm",)}),
        ({"store": "A=B", "value": "5", "unit": "L"}, {"levels": ("A=B=5L",)}),
        ({"gauge_mm": "0"}, {"gauge_mm": 0.0}),
        ({"line": "North", "minutes": "12", "day": "yesterday"}, {"ran": ("North=12",), "day": "yesterday"}),
        ({"store": "Butt", "mains_l": "80", "day": ""}, {"mains": ("Butt=80",)}),
        ({"back": "/dip", "more": "x"}, {}),
    ],
)
def test_a_form_says_what_its_json_would(form, body):
    assert from_form({"key": "k", **form}) == NewEntries(key="k", **body)
