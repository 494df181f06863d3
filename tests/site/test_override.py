"""A changed site has the checks of a site file, and its faults are told by names."""

from pathlib import Path

import pytest

from waterbudget.errors import SiteError
from waterbudget.site.override import called, checked_site, columns_of, override, put, raw_site, value_of
from waterbudget.site.read import load_site

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"


@pytest.fixture
def table():
    return raw_site(DEMO)


def test_an_unchanged_site_is_that_of_the_file(table):
    assert checked_site(table, "here") == load_site(DEMO)


def test_every_key_of_the_file_is_a_column(table):
    known = columns_of(table)
    for kind in ("roof", "tank", "zone", "draw", "bed"):
        for one in table[kind]:
            for key in one.keys() - {"planting", "line"}:
                assert f"{kind}.{one['name']}.{key}" in known
    assert "bed.Salad bed.planting.2.crop" in known
    assert "bed.Salad bed.planting.3.crop" not in known


@pytest.mark.parametrize(
    ("head", "written", "value"),
    [
        ("tank.Shed butt.capacity_l", "500", 500),
        ("tank.Shed butt.mains", "none", "none"),
        ("zone.South line.from", "05-20", "05-20"),
        ("model.adjust_p", "FALSE", False),
        ("bed.Bean bed.planting.1.days", "[1, 2, 3, 4]", [1, 2, 3, 4]),
        ("tank.Shed butt.capacity_l", "a lot", "a lot"),  # for the checks to refuse
    ],
)
def test_a_value_is_read_as_in_a_site_file(table, head, written, value):
    column = columns_of(table)[head]
    assert value_of(column, written) == value
    override(table, column, written)
    *heads, key = column.place
    inner = table
    for part in heads:
        inner = inner[part]
    assert inner[key] == value


def test_a_table_that_is_left_out_is_added(table):
    del table["prices"]
    put(table, ("prices", "water_per_m3"), 2.5)
    assert checked_site(table, "here").prices.water_per_m3 == 2.5


def test_faults_are_told_by_names(table):
    put(table, ("tank", 1, "capacity_l"), "a lot")
    put(table, ("zone", 0, "tank"), "Shed bucket")
    with pytest.raises(SiteError) as told:
        checked_site(table, "row 3")
    assert told.value.faults == (
        'row 3: tank.Shed butt.capacity_l: is "a lot"; write a number (litres up to the overflow)',
        'row 3: zone.North line.tank: is "Shed bucket", but no tank has that name; write "Shed butt"',
    )
    assert called(("bed", 2, "planting", 1, "crop"), table) == "bed.Salad bed.planting.2.crop"
