"""What always holds, whatever the garden: every litre and millimetre is booked, to 1e-9."""

import tomllib
from collections import defaultdict
from copy import deepcopy

import pytest
from hypothesis import given, settings
from strategies import cases, lean, one_tank_timer_cases, runs, sites, to_toml

from plain import plain_run, top_layer

MANY = settings(max_examples=60, deadline=None)
CLOSE = 1e-9  # relative to the largest amount in the balance


def assert_closes(change, *terms):
    assert change == pytest.approx(sum(terms), rel=0, abs=CLOSE * max(1.0, abs(change), *map(abs, terms)))


def of(result, table, kind, item):
    return [row for row in result[table] if row[kind] == item["name"]]


@MANY
@given(runs())
def test_every_litre_and_millimetre_is_booked(case):
    site, weather, start = case
    result = plain_run(site, weather, start=start)
    for row in result["roofs"]:
        assert_closes(row["on_roof_l"], row["caught_l"], row["flushed_l"], row["filter_l"], row["kept_l"])
    for row in result["zones"]:
        assert_closes(row["asked_l"], row["store_l"], row["mains_l"], row["unmet_l"])
    for tank in site["tank"]:
        assert_tank_closes(tank, of(result, "tanks", "tank", tank))
    for bed in site["bed"]:
        assert_bed_closes(bed, of(result, "beds", "bed", bed))


def assert_tank_closes(tank, rows):
    level_l = start_l = tank["start_l"] * tank["joined"]
    net_l = 0.0
    for row in rows:
        into_store_l = row["mains_l"] if tank["mains"] == "float" else 0.0
        comes = (row["inflow_l"], into_store_l, row["moved_in_l"])
        goes = (row["moved_out_l"], row["drawn_l"], row["spilled_l"], row["lost_l"])
        parts = (*comes, *(-part for part in goes))
        assert_closes(row["level_l"] - level_l, *parts)
        assert_closes(row["asked_l"], row["drawn_l"], row["short_l"])
        level_l, net_l = row["level_l"], net_l + sum(parts)
    assert level_l - start_l == pytest.approx(net_l, rel=CLOSE, abs=CLOSE * tank["capacity_l"] * tank["joined"])


def assert_bed_closes(bed, rows):
    depletion_mm = start_mm = bed["start_depleted"] * rows[0]["taw_mm"]
    net_mm = 0.0
    for row in rows:
        parts = (row["eta_mm"], -row["rain_mm"], -row["irrigation_mm"], row["drained_mm"], -row["subsoil_mm"])
        assert_closes(row["depletion_mm"] - depletion_mm, *parts)
        depletion_mm, net_mm = row["depletion_mm"], net_mm + sum(parts)
    assert depletion_mm - start_mm == pytest.approx(net_mm, rel=CLOSE, abs=1e-7)


@MANY
@given(runs())
def test_stores_and_soils_stay_within_their_walls(case):
    site, weather, start = case
    result = plain_run(site, weather, start=start)
    for tank in site["tank"]:
        capacity_l = tank["capacity_l"] * tank["joined"]
        for row, held in zip(of(result, "tanks", "tank", tank), of(result, "held", "tank", tank), strict=True):
            assert -CLOSE <= row["level_l"] <= capacity_l * (1 + CLOSE)
            assert -CLOSE <= held["mains_l"] <= row["level_l"] + CLOSE
            assert -CLOSE <= row["drawn_mains_l"] <= row["drawn_l"] + CLOSE
            assert min(row[key] for key in row if key.endswith("_l")) >= -CLOSE * capacity_l
    for row in result["zones"]:
        assert -CLOSE <= row["rain_l"] <= row["store_l"] + CLOSE
    for bed in site["bed"]:
        tew_mm = bed.get("tew_mm", top_layer(bed["available_water_mm_m"])["tew_mm"])
        for row in of(result, "beds", "bed", bed):
            assert -CLOSE <= row["depletion_mm"] <= row["taw_mm"] + CLOSE
            assert 0 <= row["ks"] <= 1
            assert 0 <= row["e_mm"] <= row["eta_mm"] + CLOSE
            assert row["eta_mm"] <= row["etc_mm"] + CLOSE
            assert 0 <= row["de_mm"] <= tew_mm + CLOSE
            assert row["kc"] == pytest.approx(row["kcb"] + row["ke"])


@MANY
@given(runs())
def test_the_tables_agree_with_one_another(case):
    site, weather, start = case
    result = plain_run(site, weather, start=start)
    booked = defaultdict(float)
    tank_of = {outlet["name"]: outlet["tank"] for outlet in (*site["zone"], *site["draw"])}
    for row in result["zones"]:
        booked[row["date"], tank_of[row["zone"]], "drawn_mains_l"] += row["store_l"] - row["rain_l"]
        for key in ("asked_l", "store_l", "mains_l"):
            booked[row["date"], tank_of[row["zone"]], key] += row[key]
    below = {tank["name"]: tank.get("overflow_to") for tank in site["tank"]}
    tank_of_roof = {roof["name"]: roof["tank"] for roof in site["roof"]}
    for row in result["roofs"]:
        booked[row["date"], tank_of_roof[row["roof"]], "inflow_l"] += row["caught_l"]
    for row in result["tanks"]:
        booked[row["date"], below[row["tank"]], "inflow_l"] += row["spilled_l"]
    for row in result["moved"]:
        booked[row["date"], row["from_tank"], "moved_out_l"] += row["moved_l"]
        booked[row["date"], row["to_tank"], "moved_in_l"] += row["moved_l"]
    direct = {tank["name"] for tank in site["tank"] if tank["mains"] == "direct"}
    fed_l = 0.0
    for row in result["tanks"]:
        here = (row["date"], row["tank"])
        for key in ("asked_l", "drawn_mains_l", "moved_in_l", "moved_out_l"):
            assert_closes(row[key], booked[*here, key])
        assert_closes(row["drawn_l"], booked[*here, "store_l"])
        assert_closes(row["mains_l"] if row["tank"] in direct else 0.0, booked[*here, "mains_l"])
        fed_l += row["inflow_l"] - booked[*here, "inflow_l"]
    summary = result["summary"]
    assert_closes(
        summary["fed_l"], fed_l, summary["spilled_l"], summary["caught_l"], -summary["spilled_l"], -summary["caught_l"]
    )
    assert_closes(summary["rain_l"], *(row["rain_l"] for row in summary["zones"]))
    assert_closes(summary["transferred_l"], *(row["moved_l"] for row in summary["transfers"]))


@MANY
@given(cases())
def test_mains_water_is_neither_made_nor_lost_by_mixing(case):
    """All that came through float valves was drawn, spilled to the drain, lost, or is still held."""
    site, weather = case
    for tank in site["tank"]:
        tank["loss_l_per_day"] = 0
        tank.pop("overflow_to", None)
        tank["capacity_l"] = 1e7  # nothing spills
    result = plain_run(site, weather)
    floats = {tank["name"] for tank in site["tank"] if tank["mains"] == "float"}
    came_l = sum(row["mains_l"] for row in result["tanks"] if row["tank"] in floats)
    drawn_l = sum(row["drawn_mains_l"] for row in result["tanks"])
    held_l = sum(row["mains_l"] for row in result["held"] if row["date"] == weather[-1]["date"])
    assert_closes(came_l, drawn_l, held_l)


@MANY
@given(one_tank_timer_cases())
def test_more_water_at_the_start_never_leaves_more_unmet(case):
    site, weather = case
    fuller = deepcopy(site)
    fuller["tank"][0]["start_l"] = fuller["tank"][0]["capacity_l"]
    less, more = (plain_run(each, weather)["summary"] for each in (site, fuller))
    assert more["unmet_l"] <= less["unmet_l"] + CLOSE * max(1.0, less["asked_l"])
    assert more["days_lasted"] >= less["days_lasted"]


@MANY
@given(runs())
def test_what_is_left_out_stands_at_its_default(case):
    site, weather, start = case
    assert plain_run(lean(site), weather, start=start) == plain_run(site, weather, start=start)


@MANY
@given(sites())
def test_a_site_survives_being_written(site):
    assert tomllib.loads(to_toml(site)) == site
