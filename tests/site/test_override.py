"""A changed site has the checks of a site file, and its faults are told by names."""

from pathlib import Path

import pytest

from waterbudget.errors import InputError, SiteError
from waterbudget.site.keys import called, columns_of, put
from waterbudget.site.model import Site
from waterbudget.site.override import checked_site, override, raw_site, value_of
from waterbudget.site.read import load_site

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"


@pytest.fixture
def table():
    return raw_site(DEMO)


def test_an_unchanged_site_is_that_of_the_file(table):
    assert checked_site(table, "here") == load_site(DEMO)


def test_every_key_of_the_file_is_a_column(table):
    known = columns_of(Site, table)
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
    column = columns_of(Site, table)[head]
    assert value_of(column, written) == value
    override(table, column, written)
    *heads, key = column.place
    inner = table
    for part in heads:
        inner = inner[part]
    assert inner[key] == value


MORE = """
[[inflow]]
name = "Spring"
tank = "Shed butt"
l_per_day = 30

[[transfer]]
name = "Saturday pump"
from_tank = "Class-room tank"
to_tank = "Shed butt"
l_per_day = 300

[[ban]]
from = "07-15"
to = "08-31"
"""


@pytest.mark.parametrize(
    ("head", "written", "value"),
    [
        ("inflow.Spring.l_per_day", "12.5", 12.5),
        ("transfer.Saturday pump.below_l", "100", 100),
        ("transfer.Saturday pump.to_tank", "Shed butt", "Shed butt"),
        ("ban.1.to", "09-30", "09-30"),
        ("tank.Shed butt.joined", "2", 2),
        ("zone.South line.jets", "drip", "drip"),
        ("zone.South line.wetted_fraction", "0.3", 0.3),
        ("bed.Bean bed.mulch_cover", "0.5", 0.5),
        ("bed.Bean bed.planting.1.ground_share", "0.5", 0.5),
        ("bed.Bean bed.planting.1.kcb", "[0.15, 1.1, 0.8]", [0.15, 1.1, 0.8]),
        ("bed.Bean bed.planting.1.perennial", "TRUE", True),
        ("model.crop_coefficient", "dual", "dual"),
        ("site.mean_wind_m_s", "3", 3),
    ],
)
def test_each_new_key_can_be_changed(tmp_path, head, written, value):
    path = tmp_path / "site.toml"
    path.write_text(DEMO.read_text("utf-8") + MORE, "utf-8")
    table = raw_site(path)
    override(table, columns_of(Site, table)[head], written)
    inner = checked_site(table, "here")
    for part in columns_of(Site, table)[head].place:
        names = {"from": "first_day", "to": "last_day"} if head.startswith("ban") else {}
        inner = inner[part] if isinstance(part, int) else getattr(inner, names.get(part, part))
    assert (str(inner) if head.startswith("ban") else inner) == value


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


@pytest.mark.parametrize("name", ["site.toml", "hose/site.toml", "allotment/site.toml", "years/site.toml"])
def test_a_copy_without_changes_is_the_same(name):
    site = load_site(DEMO.parent / name)
    assert site.changed({}) == site


def test_a_copy_has_its_changes_and_the_site_stays(table):
    site = load_site(DEMO)
    cool = {"zone.North line.hot_minutes": None, "zone.North line.hot_above_c": None}
    copy = site.changed({"zone.North line.minutes": 8, "model.kc_bare": 0.2} | cool)
    put(table, ("zone", 0, "minutes"), 8)
    put(table, ("model", "kc_bare"), 0.2)
    del table["zone"][0]["hot_minutes"], table["zone"][0]["hot_above_c"]
    assert copy == checked_site(table, "here")
    assert site == load_site(DEMO)


def test_a_change_of_no_key_or_of_a_wrong_value_is_refused():
    site = load_site(DEMO)
    with pytest.raises(
        InputError, match=r'"zone\.Nort line\.minutes" is no key of this site; did you mean "zone\.North'
    ):
        site.changed({"zone.Nort line.minutes": 8})
    with pytest.raises(SiteError, match=r"^changed: zone.North line.minutes: is -1; write a number from 0 up"):
        site.changed({"zone.North line.minutes": -1})
