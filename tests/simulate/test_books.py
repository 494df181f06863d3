"""Water is never lost: every book closes to 1e-9 on every day and over the run, whatever the garden."""

import numpy as np
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases, one_tank_timer_cases

import waterbudget

CLOSE = 1e-9  # relative to the largest amount in the balance


def assert_closes(left, right, *amounts):
    largest = np.maximum.reduce([np.abs(amount) for amount in (left, right, *amounts)])
    assert np.all(np.abs(left - right) <= CLOSE * np.maximum(largest, 1.0))


def by_item(frame, name):
    """Each quantity as an array (day, item), and the items."""
    items = list(dict.fromkeys(frame[name]))
    return {column: frame[column].to_numpy().reshape(-1, len(items)) for column in frame.columns[2:]}, items


@settings(max_examples=120, deadline=None)
@given(cases())
def test_every_book_closes(case):
    table, rows = case
    site, result = site_of(table), waterbudget.run(site_of(table), weather_of(rows))
    if len(result.roofs):
        roof, _ = by_item(result.roofs, "roof")
        assert_closes(roof["on_roof_l"], roof["caught_l"] + roof["flushed_l"] + roof["filter_l"] + roof["kept_l"])
        assert min(np.min(part) for part in roof.values()) >= 0.0
    tank, _ = by_item(result.tanks, "tank")
    floating = np.array([store.mains == "float" for store in site.tank])
    start_l = np.array([[store.start_l for store in site.tank]])
    before_l = np.concatenate([start_l, tank["level_l"][:-1]])
    assert_closes(
        tank["level_l"] - before_l,
        tank["inflow_l"] + tank["mains_l"] * floating - tank["drawn_l"] - tank["spilled_l"] - tank["lost_l"],
        before_l,
        tank["inflow_l"],
    )
    if len(result.zones):
        zone, _ = by_item(result.zones, "zone")
        assert_closes(zone["asked_l"], zone["store_l"] + zone["mains_l"] + zone["unmet_l"])
        hose_l = (tank["mains_l"] * ~floating).sum(axis=1)
        assert_closes(zone["mains_l"].sum(axis=1), hose_l, tank["asked_l"].sum(axis=1))
        assert_closes(zone["store_l"].sum(axis=1), tank["drawn_l"].sum(axis=1))
    if len(result.beds):
        bed, _ = by_item(result.beds, "bed")
        depleted = np.array([[row.start_depleted for row in site.bed]])
        before_mm = np.concatenate([depleted * bed["taw_mm"][:1], bed["depletion_mm"][:-1]])
        gained_mm = bed["rain_mm"] + bed["irrigation_mm"] + bed["subsoil_mm"]
        assert_closes(
            bed["depletion_mm"] - before_mm, bed["eta_mm"] + bed["drained_mm"] - gained_mm, before_mm, gained_mm
        )


@settings(max_examples=120, deadline=None)
@given(cases())
def test_no_store_is_below_empty_or_above_full_and_no_root_zone_past_its_ends(case):
    table, rows = case
    site, result = site_of(table), waterbudget.run(site_of(table), weather_of(rows))
    tank, _ = by_item(result.tanks, "tank")
    assert np.all(tank["level_l"] >= 0.0)
    assert np.all(tank["level_l"] <= np.array([store.capacity_l for store in site.tank]))
    assert all(np.all(tank[name] >= 0.0) for name in ("mains_l", "drawn_l", "spilled_l", "lost_l"))
    if len(result.beds):
        bed, _ = by_item(result.beds, "bed")
        assert np.all(bed["depletion_mm"] >= 0.0)
        assert np.all(bed["depletion_mm"] <= bed["taw_mm"] * (1 + CLOSE))
        assert all(np.all(bed[name] >= 0.0) for name in ("eta_mm", "drained_mm", "irrigation_mm"))


@settings(max_examples=100, deadline=None)
@given(one_tank_timer_cases(), st.floats(0.0, 2000.0))
def test_a_larger_tank_never_leaves_more_unmet(case, extra_l):
    table, rows = case
    larger = table | {"tank": [table["tank"][0] | {"capacity_l": table["tank"][0]["capacity_l"] + extra_l}]}
    small, large = (waterbudget.run(site_of(site), weather_of(rows)).summary for site in (table, larger))
    assert large["unmet_l"] <= small["unmet_l"] + CLOSE * max(small["asked_l"], 1.0)
    assert large["days_lasted"] >= small["days_lasted"]


@settings(max_examples=100, deadline=None)
@given(one_tank_timer_cases(), st.floats(0.0, 40.0), st.integers(0, 4))
def test_more_rain_never_lasts_fewer_days(case, extra_mm, day):
    table, rows = case
    wetter = [row | {"rain_mm": row["rain_mm"] + extra_mm * (n % 5 == day)} for n, row in enumerate(rows)]
    dry, wet = (waterbudget.run(site_of(table), weather_of(weather)).summary for weather in (rows, wetter))
    assert wet["days_lasted"] >= dry["days_lasted"]


@settings(max_examples=40, deadline=None)
@given(cases())
def test_the_summary_without_daily_tables_is_the_same(case):
    table, rows = case
    with_tables = waterbudget.run(site_of(table), weather_of(rows))
    without = waterbudget.run(site_of(table), weather_of(rows), daily=False)
    assert without.summary == with_tables.summary
    assert all(frame.empty for frame in (without.tanks, without.zones, without.beds, without.roofs))
