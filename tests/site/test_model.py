"""The keys of a site file, their defaults and what a site tells of itself.

Keys and defaults stand here as a gardener writes them; FAO-56 is Allen et al. (1998), by page of the print.
"""

import datetime as dt
import re
import tomllib

import pytest
from pydantic import BaseModel, ValidationError

from waterbudget.site.line import Jets, Line
from waterbudget.site.model import (
    WEEKDAYS,
    Ban,
    Bed,
    Model,
    MonthDay,
    Place,
    Planting,
    Prices,
    Roof,
    Site,
    Tank,
    WeatherSource,
    Zone,
)

# Each table's required keys, keys with a default, and keys that may be left out and then stand for nothing.
TABLES = """
[site]
required = ["name"]
optional = ["latitude_deg", "longitude_deg", "elevation_m"]
default = {mean_wind_m_s = 2, mean_rh_min_pct = 45}

[model]
required = []
optional = []
default = {crop_coefficient = "single", release = "after_spill", kc_bare = 0.30, root_start_m = 0.15, adjust_p = true}

[weather]
required = []
optional = ["file"]
default = {wind_height_m = 2}

[prices]
required = []
optional = ["water_per_m3"]
default = {}

[roof]
required = ["name", "tank", "area_m2"]
optional = ["covering", "runoff_coefficient", "loss_mm"]
default = {first_flush_l = 0, filter_efficiency = 0.9}

[tank]
required = ["name", "capacity_l", "start_l"]
optional = ["overflow_to", "float_below_l", "float_to_l"]
default = {joined = 1, dead_l = 0, loss_l_per_day = 0, mains = "none"}

[zone]
required = ["name", "tank", "minutes"]
optional = ["flow_l_min", "weekdays", "every_from", "from", "to", "skip_rain_mm", "skip_rain_days", "hot_above_c",
            "hot_minutes", "efficiency", "wetted_fraction"]
default = {runs_per_day = 1, every_days = 1, plan = "timer", dry_at = 1, leave_mm = 0, priority = 1, jets = "spray"}

[inflow]
required = ["name", "tank", "l_per_day"]
optional = ["weekdays", "from", "to"]
default = {}

[transfer]
required = ["name", "from_tank", "to_tank", "l_per_day"]
optional = ["below_l", "weekdays", "from", "to"]
default = {keep_l = 0}

[ban]
required = ["from", "to"]
optional = []
default = {}

[draw]
required = ["name", "tank", "l_per_day"]
optional = ["weekdays", "from", "to"]
default = {priority = 0}

[bed]
required = ["name"]
optional = ["area_m2", "zone", "share", "soil", "available_water_mm_m", "rew_mm", "tew_mm", "root_limit_m",
            "rain_share", "pots", "pot_litres", "pot_diameter_cm", "width_m"]
default = {et_factor = 1, mulch_cover = 0, start_depleted = 0, exposed = false, planting = []}

[planting]
required = ["planted"]
optional = ["crop", "days", "kc", "kcb", "p", "root_m", "height_m", "perennial"]
default = {ground_share = 1}
"""
KINDS = {kind: Site.model_fields[kind].annotation for kind in Site.model_fields} | {
    "planting": list[Planting],
    "line": list[Line],
    "jets": list[Jets],
}
SMALL = {"site": {"name": "Brackenfold"}, "tank": [{"name": "Butt", "capacity_l": 100, "start_l": 50}]}


def model_of(kind):
    annotation = KINDS[kind]
    return annotation if isinstance(annotation, type) and issubclass(annotation, BaseModel) else annotation.__args__[0]


@pytest.mark.parametrize("kind", tomllib.loads(TABLES))
def test_keys_and_defaults(kind):
    keys = tomllib.loads(TABLES)[kind]
    fields = {field.alias or name: field for name, field in model_of(kind).model_fields.items()}
    assert {key for key, field in fields.items() if field.is_required()} == set(keys["required"])
    left_out = {
        key: fields[key].get_default(call_default_factory=True) for key in [*keys["optional"], *keys["default"]]
    }
    assert left_out == dict.fromkeys(keys["optional"]) | keys["default"]


def test_the_tables_of_a_site():
    assert set(KINDS) >= set(tomllib.loads(TABLES))
    site = Site.model_validate(SMALL)
    assert site.model == Model()
    assert (site.weather, site.prices) == (WeatherSource(), Prices())
    assert (site.roof, site.zone, site.draw, site.bed) == ([], [], [], [])


def test_every_key_is_described_and_every_quantity_ends_with_its_unit():
    units = ("_deg", "_m", "_m2", "_mm", "_mm_m", "_l", "_l_min", "_l_per_day", "_c", "_days", "_minutes", "_per_day",
             "_per_m3", "_l_h", "_bar", "_w", "_m_s", "_pct", "_cm", "_litres")  # fmt: skip
    bare = {"kc_bare", "p", "kc", "days", "minutes", "dry_at", "share", "rain_share", "et_factor", "start_depleted",
            "efficiency", "filter_efficiency", "wetted_fraction", "mulch_cover", "ground_share", "kcb", "joined",
            "pots", "largest_loss", "runoff_coefficient", "priority", "count", "x", "opening", "feed_k",
            "maker_cv", "points", "volts", "amp_hours", "usable_share", "minutes_to_empty"}  # fmt: skip
    for kind in KINDS:
        for name, field in model_of(kind).model_fields.items():
            assert field.description, name
            if re.search(r"\b(float|int)\b(?!')", str(field.annotation)):
                assert name.endswith(units) or name in bare, name


@pytest.mark.parametrize("change", [{"site": {"name": "A", "colour": "green"}}, {"colour": "green"}])
def test_unknown_keys_are_refused(change):
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        Site.model_validate(SMALL | change)


def test_a_site_is_frozen():
    site = Site.model_validate(SMALL)
    with pytest.raises(ValidationError, match="frozen"):
        site.tank[0].start_l = 60


def test_a_site_tells_its_place():
    site = Site.model_validate(
        SMALL
        | {
            "site": {"name": "A", "latitude_deg": -37.8, "longitude_deg": 145, "elevation_m": 31},
            "weather": {"wind_height_m": 10},
        }
    )
    assert (site.latitude_deg, site.longitude_deg, site.elevation_m, site.wind_height_m) == (-37.8, 145, 31, 10)
    nowhere = Site.model_validate(SMALL)
    assert (nowhere.latitude_deg, nowhere.longitude_deg, nowhere.elevation_m) == (None, None, None)


@pytest.mark.parametrize(("latitude_deg", "south"), [(-0.1, True), (0, False), (53.1, False), (None, False)])
def test_south_is_below_the_equator(latitude_deg, south):
    place = {"name": "A"} | ({} if latitude_deg is None else {"latitude_deg": latitude_deg})
    assert Site.model_validate(SMALL | {"site": place}).is_south is south


@pytest.mark.parametrize("end", [-90, 90])
def test_the_poles_are_latitudes(end):
    assert Place(name="A", latitude_deg=end).latitude_deg == end


# ---- Numbers of its own before those of the tables ----

ROOF = {"name": "Roof", "tank": "Butt", "area_m2": 10}
BED = {"name": "Bed", "area_m2": 6}


def test_a_roof_s_own_runoff_goes_before_that_of_its_covering():
    """Clay tile 0.97 and 0.3 mm: the table's own row, which names its sources."""
    assert Roof(**ROOF, covering="clay tile").runoff == 0.97
    assert Roof(**ROOF, covering="clay tile", runoff_coefficient=0.0).runoff == 0
    assert Roof(**ROOF, runoff_coefficient=1).runoff == 1


@pytest.mark.parametrize(
    ("keys", "loss_mm"),
    [
        ({"covering": "clay tile"}, 0.3),
        ({"covering": "clay tile", "loss_mm": 0}, 0.0),
        ({"covering": "clay tile", "loss_mm": 1.2}, 1.2),
        ({"covering": "clay tile", "runoff_coefficient": 0.9}, 0.0),  # by hand, and then so is the loss
        ({"covering": "clay tile", "runoff_coefficient": 0.9, "loss_mm": 0.4}, 0.4),
        ({"runoff_coefficient": 0.9}, 0.0),
        ({"runoff_coefficient": 0.9, "loss_mm": 0.4}, 0.4),
    ],
)
def test_the_loss_is_that_of_the_covering_where_that_gives_the_runoff(keys, loss_mm):
    assert Roof(**ROOF, **keys).wetting_loss_mm == loss_mm


def test_a_bed_s_own_water_goes_before_that_of_its_soil():
    """Loam 130 to 180 mm/m, FAO-56 Table 19, p. 144; its middle."""
    assert Bed(**BED, soil="loam").available_mm_m == 155
    assert Bed(**BED, soil="loam", available_water_mm_m=170).available_mm_m == 170
    assert Bed(**BED, available_water_mm_m=60).available_mm_m == 60


def test_a_bed_weighs_its_area_unless_told():
    assert Bed(**BED, soil="loam").weight == 6
    assert Bed(**BED, soil="loam", share=0).weight == 0


POTS = {"name": "Pots", "pots": 12, "pot_litres": 10, "pot_diameter_cm": 25}


def test_pots_take_rain_by_their_openings_and_hold_their_compost():
    """By hand: twelve openings of pi/4·0.25² m² are 0.589 m², the leaves cover three times that; 300 mm/m of 10 L."""
    bed = Bed(**POTS)
    assert bed.openings_m2 == pytest.approx(0.58905, abs=5e-6)
    assert bed.ground_m2 == bed.weight == pytest.approx(1.76715, abs=5e-6)
    assert bed.opening == pytest.approx(1 / 3)
    assert bed.available_mm_m == 300
    assert bed.pots_taw_mm == pytest.approx(36 / 1.76715, rel=1e-5)  # 12 · 10 L · 0.3 = 36 L
    assert bed.rain_part == 0.5
    assert (bed.rew, bed.tew) == (12, 29)  # the largest of FAO-56 Table 19, p. 144


def test_pots_of_a_soil_on_a_ground_of_their_own():
    bed = Bed(**POTS, area_m2=0.5, soil="loam", rain_share=1, share=2)
    assert (bed.ground_m2, bed.weight, bed.rain_part) == (0.5, 2, 1)
    assert bed.opening == pytest.approx(0.58905 / 0.5, rel=1e-5)  # wide pots, narrow plants: above 1
    assert bed.pots_taw_mm == pytest.approx(0.155 * 120 / 0.5)  # loam 155 mm/m
    assert (bed.rew, bed.tew) == (9, 19)  # loam 8-10 and 16-22 mm, Table 19
    assert Bed(**POTS, available_water_mm_m=200, area_m2=1).pots_taw_mm == pytest.approx(24)


def test_a_bed_without_pots_is_open_and_has_no_water_of_pots():
    bed = Bed(**BED, soil="loam")
    assert (bed.opening, bed.pots_taw_mm, bed.rain_part, bed.ground_m2, bed.openings_m2) == (1, None, 1, 6, 0)
    assert Bed(**BED, soil="loam", rain_share=0).rain_part == 0


@pytest.mark.parametrize(
    ("keys", "rew", "tew"),
    [
        ({"soil": "sand"}, 4.5, 9),  # FAO-56 Table 19: 2-7 and 6-12 mm
        ({"soil": "heavy clay"}, 10, 25.5),  # 8-12 and 22-29 mm
        ({"soil": "loam", "available_water_mm_m": 60}, 9, 19),  # own available water leaves those of the soil
        ({"available_water_mm_m": 100}, 6, 14),  # 0.06 and 0.14 of the available water: ours
        ({"available_water_mm_m": 1000}, 12, 29),
        ({"soil": "loam", "rew_mm": 7}, 7, 19),
        ({"soil": "loam", "tew_mm": 21}, 9, 21),
        ({"available_water_mm_m": 100, "rew_mm": 0, "tew_mm": 2}, 0, 2),
    ],
)
def test_evaporable_water_is_the_bed_s_own_the_soil_s_or_after_the_available_water(keys, rew, tew):
    bed = Bed(**BED, **keys)
    assert (bed.rew, bed.tew) == pytest.approx((rew, tew))


@pytest.mark.parametrize(
    ("keys", "applied", "wetted"),
    [
        ({}, 0.8, 1.0),
        ({"jets": "mist"}, 0.7, 1.0),
        ({"jets": "drip"}, 0.9, 0.35),
        ({"jets": "can"}, 0.9, 0.5),
        ({"jets": "drip", "efficiency": 0.6}, 0.6, 0.35),
        ({"jets": "drip", "wetted_fraction": 0.2}, 0.9, 0.2),
    ],
)
def test_efficiency_and_wetted_fraction_are_the_zone_s_own_or_those_of_its_jets(keys, applied, wetted):
    zone = Zone(name="Line", tank="Butt", flow_l_min=3, minutes=5, **keys)
    assert (zone.applied, zone.wetted) == (applied, wetted)


def test_words_may_be_written_in_any_case_with_any_blanks_and_marks_and_in_the_plural():
    assert Tank(name="A", capacity_l=9, start_l=1, mains=" Direct").mains == "direct"
    assert Tank(name="A", capacity_l=9, start_l=1, shape="Box", **dict.fromkeys(BOX, 1)).shape == "box"
    zone = Zone(name="A", tank="B", flow_l_min=3, minutes=5, plan="RE-FILL", jets="Drips", weekdays=["Mon", "sun "])
    assert (zone.plan, zone.jets, zone.weekdays) == ("refill", "drip", ["mon", "sun"])
    model = Model(crop_coefficient="Dual", release="before spill")
    assert (model.crop_coefficient, model.release) == ("dual", "before_spill")
    assert Roof(**ROOF, covering="Clay-Tiles").runoff == Roof(**ROOF, covering="clay tile").runoff
    assert Bed(**BED, soil="SANDYLOAM").available_mm_m == 130
    assert Planting(crop="Runner  Beans", planted="05-20").stage_lengths(south=False) == (20, 30, 30, 10)


BOX = ("inner_length_m", "inner_width_m", "inner_height_m")


@pytest.mark.parametrize(
    ("first", "last"),
    [("07-15", "08-31"), ("11-01", "02-28"), (dt.date(2032, 2, 29), "2032-02-29"), ("05-01", "05-01")],
)
def test_a_ban_comes_every_year_or_once(first, last):
    ban = Ban.model_validate({"from": first, "to": last})
    assert isinstance(ban.first_day, MonthDay) == isinstance(ban.last_day, MonthDay)


def test_stage_lengths_are_the_planting_s_own_first():
    planting = Planting(crop="potato", planted="04-10", days=[20, 30, 40, 0])
    assert planting.stage_lengths(south=False) == (20, 30, 40, 0)
    assert planting.printed_stages(south=False) is None


def test_stage_lengths_are_those_printed_for_the_month():
    """FAO-56 Table 11, p. 105: potato, April, Europe; p. 104: crucifers, April, and October or November."""
    potato = Planting(crop="potato", planted="04-10")
    assert potato.stage_lengths(south=False) == (30, 35, 50, 30)
    assert potato.printed_stages(south=False).region == "Europe"
    sprouts = Planting(crop="Brussels sprouts", planted=dt.date(2031, 4, 1))
    assert sprouts.stage_lengths(south=False) == (20, 30, 20, 10)
    assert sprouts.stage_lengths(south=True) == (30, 35, 90, 40)


def test_without_a_crop_the_planting_s_own_numbers_stand():
    planting = Planting(planted="05-10", days=[30, 40, 40, 20], kc=[0.6, 1.15, 0.8], p=0.4, root_m=[0.15, 0.7])
    assert planting.stage_lengths(south=False) == (30, 40, 40, 20)
    assert planting.printed_stages(south=False) is None


# ---- Days ----


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("05-10", MonthDay(5, 10)),
        ("12-31", MonthDay(12, 31)),
        ("2031-05-10", dt.date(2031, 5, 10)),
        (dt.date(2032, 2, 29), dt.date(2032, 2, 29)),
        ("2032-02-29", dt.date(2032, 2, 29)),
        (dt.date(1700, 1, 1), dt.date(1700, 1, 1)),
        (dt.date(2200, 12, 31), dt.date(2200, 12, 31)),
        (MonthDay(5, 10), MonthDay(5, 10)),
    ],
)
def test_a_planting_comes_every_year_or_once(written, read):
    assert Planting(crop="tomato", planted=written).planted == read


@pytest.mark.parametrize(
    "written",
    ["1699-12-31", dt.date(2201, 1, 1), "02-29", "00-10", "5-10", "\u0660\u0665-\u0661\u0660", b"05-10", None],
)
def test_other_days_are_refused(written):
    with pytest.raises(ValidationError):
        Planting(crop="tomato", planted=written)


def test_a_month_and_day_is_shown_as_it_is_written():
    assert str(MonthDay(5, 1)) == "05-01"


def test_a_season_is_read_under_its_short_names():
    zone = Zone.model_validate(
        {
            "name": "A",
            "tank": "B",
            "flow_l_min": 3,
            "minutes": 5,
            "from": "10-01",
            "to": MonthDay(3, 31),
            "weekdays": list(WEEKDAYS),
        }
    )
    assert (zone.season_from, zone.season_to) == (MonthDay(10, 1), MonthDay(3, 31))
    assert zone.weekdays == ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


# ---- Levels of a tank: what may be equal ----


def test_the_levels_of_a_tank_may_all_be_its_capacity():
    tank = Tank(name="A", capacity_l=100, dead_l=100, start_l=100, mains="float", float_below_l=100, float_to_l=100)
    assert tank.float_to_l == tank.capacity_l


def test_the_levels_of_a_tank_may_all_be_0():
    assert Tank(name="A", capacity_l=0.1, start_l=0, mains="float", float_below_l=0, float_to_l=0).start_l == 0
