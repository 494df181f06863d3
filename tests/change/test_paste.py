"""Lines to paste are TOML, and say where they belong."""

import datetime as dt
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.change.paste import toml_lines, toml_value

TABLE = {
    "model": {"kc_bare": 0.3},
    "zone": [{"name": "North line", "minutes": 10}],
    "bed": [{"name": "Salad bed", "planting": [{"crop": "lettuce"}, {"crop": "kale"}]}],
}


@given(
    st.one_of(
        st.integers(0, 10**6),
        st.floats(0, 1e6).map(lambda number: round(number, 4)),
        st.booleans(),
        st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=20),
        st.lists(st.sampled_from(["mon", "fri"]), max_size=3),
        st.dates(dt.date(1900, 1, 1), dt.date(2200, 1, 1)),
    )
)
def test_a_value_is_read_back(value):
    assert tomllib.loads(f"key = {toml_value(value)}")["key"] == value


def test_keys_of_one_table_stand_under_one_remark():
    changes = [
        (("zone", 0, "minutes"), 3),
        (("model", "kc_bare"), 0.2),
        (("zone", 0, "plan"), "dry"),
        (("bed", 0, "planting", 1, "kc"), [0.4, 1.0, 0.9]),
        (("roof", 0), {"name": "Shed roof", "area_m2": 8}),
    ]
    assert toml_lines(TABLE, changes) == [
        '# in [[zone]] "North line":',
        "minutes = 3",
        'plan = "dry"',
        "# in [model]:",
        "kc_bare = 0.2",
        '# in [[bed.planting]] "kale" of "Salad bed":',
        "kc = [0.4, 1, 0.9]",
        "[[roof]]",
        'name = "Shed roof"',
        "area_m2 = 8",
    ]


def test_a_table_that_is_not_there_yet_has_its_head():
    assert toml_lines({}, [(("prices", "water_per_m3"), 3.4)]) == ["# in [prices]:", "water_per_m3 = 3.4"]


@pytest.mark.parametrize("value", [0.1 + 0.2, 1e-7, 123456.789])
def test_floats_keep_what_a_garden_needs(value):
    assert tomllib.loads(f"key = {toml_value(value)}")["key"] == pytest.approx(value, rel=1e-14)
