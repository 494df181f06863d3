"""Water is never lost: every book closes to 1e-9 on every day and over the run, whatever the garden."""

import datetime as dt

import numpy as np
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from plain import top_layer
from strategies import cases, one_tank_timer_cases, runs

import waterbudget

CLOSE = 1e-9  # relative to the largest amount in the balance


def assert_closes(left, right, *amounts):
    largest = np.maximum.reduce([np.abs(amount) for amount in (left, right, *amounts)])
    assert np.all(np.abs(left - right) <= CLOSE * np.maximum(largest, 1.0))


def by_item(frame, name):
    """Each quantity as an array (day, item), and the items."""
    items = list(dict.fromkeys(frame[name]))
    return {column: frame[column].to_numpy().reshape(-1, len(items)) for column in frame.columns[2:]}, items


def run_of(case):
    """The site as drawn and as checked, and its run from the day on which it begins."""
    table, rows, start = case
    site = site_of(table)
    return site, waterbudget.run(site, weather_of(rows).between(start, None))


@settings(max_examples=80, deadline=None)
@given(runs())
def test_every_book_closes(case):
    site, result = run_of(case)
    if len(result.roofs):
        roof, _ = by_item(result.roofs, "roof")
        assert_closes(roof["on_roof_l"], roof["caught_l"] + roof["flushed_l"] + roof["filter_l"] + roof["kept_l"])
        assert min(np.min(part) for part in roof.values()) >= 0.0
    tank, _ = by_item(result.tanks, "tank")
    floating = np.array([store.mains == "float" for store in site.tank])
    start_l = np.array([[store.start_l * store.joined for store in site.tank]])
    before_l = np.concatenate([start_l, tank["level_l"][:-1]])
    came_l = tank["inflow_l"] + tank["mains_l"] * floating + tank["moved_in_l"]
    went_l = tank["moved_out_l"] + tank["drawn_l"] + tank["spilled_l"] + tank["lost_l"]
    assert_closes(tank["level_l"] - before_l, came_l - went_l, before_l, came_l)
    if len(result.zones):
        zone, _ = by_item(result.zones, "zone")
        assert_closes(zone["asked_l"], zone["store_l"] + zone["mains_l"] + zone["unmet_l"])
        hose_l = (tank["mains_l"] * ~floating).sum(axis=1)
        assert_closes(zone["mains_l"].sum(axis=1), hose_l, tank["asked_l"].sum(axis=1))
        assert_closes(zone["store_l"].sum(axis=1), tank["drawn_l"].sum(axis=1))
        poured_l = (zone["store_l"] - zone["rain_l"]).sum(axis=1)
        assert_closes(poured_l, tank["drawn_mains_l"].sum(axis=1), tank["drawn_l"].sum(axis=1))
    if len(result.beds):
        bed, _ = by_item(result.beds, "bed")
        depleted = np.array([[row.start_depleted for row in site.bed]])
        before_mm = np.concatenate([depleted * bed["taw_mm"][:1], bed["depletion_mm"][:-1]])
        gained_mm = bed["rain_mm"] + bed["irrigation_mm"] + bed["subsoil_mm"]
        assert_closes(
            bed["depletion_mm"] - before_mm, bed["eta_mm"] + bed["drained_mm"] - gained_mm, before_mm, gained_mm
        )


@settings(max_examples=80, deadline=None)
@given(runs())
def test_a_transfer_never_loses_a_litre(case):
    site, result = run_of(case)
    tank, names = by_item(result.tanks, "tank")
    assert_closes(tank["moved_in_l"].sum(axis=1), tank["moved_out_l"].sum(axis=1))
    assert_closes(result.summary["transferred_l"], tank["moved_in_l"].sum(), tank["level_l"].max())
    moved_l = sum(row["moved_l"] for row in result.summary["transfers"])
    assert_closes(result.summary["transferred_l"], moved_l, tank["level_l"].max())
    never_from = [name not in {transfer.from_tank for transfer in site.transfer} for name in names]
    never_to = [name not in {transfer.to_tank for transfer in site.transfer} for name in names]
    assert not tank["moved_out_l"][:, never_from].any()
    assert not tank["moved_in_l"][:, never_to].any()


@settings(max_examples=80, deadline=None)
@given(runs())
def test_no_store_is_below_empty_or_above_full_and_no_soil_past_its_ends(case):
    site, result = run_of(case)
    tank, _ = by_item(result.tanks, "tank")
    capacity_l = np.array([store.capacity_l * store.joined for store in site.tank])
    assert np.all(tank["level_l"] >= 0.0)
    assert np.all(tank["level_l"] <= capacity_l * (1 + CLOSE))
    parts = ("mains_l", "moved_in_l", "moved_out_l", "drawn_l", "drawn_mains_l", "short_l", "spilled_l", "lost_l")
    assert all(np.all(tank[name] >= 0.0) for name in parts)
    assert np.all(tank["drawn_mains_l"] <= tank["drawn_l"] + CLOSE * capacity_l)
    if len(result.zones):
        zone, _ = by_item(result.zones, "zone")
        room_l = CLOSE * np.maximum(zone["store_l"], 1.0)
        assert np.all(zone["rain_l"] >= -room_l)
        assert np.all(zone["rain_l"] <= zone["store_l"] + room_l)
    if len(result.beds):
        bed, _ = by_item(result.beds, "bed")
        tew_mm = np.array([(top_layer(row["available_water_mm_m"]) | row)["tew_mm"] for row in case[0]["bed"]])
        assert np.all(bed["depletion_mm"] >= 0.0)
        assert np.all(bed["depletion_mm"] <= bed["taw_mm"] * (1 + CLOSE))
        assert np.all(bed["de_mm"] >= 0.0)
        assert np.all(bed["de_mm"] <= tew_mm * (1 + CLOSE))
        assert np.all(bed["e_mm"] <= bed["eta_mm"] * (1 + CLOSE))
        assert np.all(bed["eta_mm"] <= bed["etc_mm"] * (1 + CLOSE))
        assert all(np.all(bed[name] >= 0.0) for name in ("e_mm", "eta_mm", "drained_mm", "irrigation_mm", "ke"))


@settings(max_examples=80, deadline=None)
@given(one_tank_timer_cases(), st.floats(0.0, 2000.0))
def test_a_larger_tank_never_leaves_more_unmet(case, extra_l):
    table, rows = case
    larger = table | {"tank": [table["tank"][0] | {"capacity_l": table["tank"][0]["capacity_l"] + extra_l}]}
    small, large = (waterbudget.run(site_of(site), weather_of(rows)).summary for site in (table, larger))
    assert large["unmet_l"] <= small["unmet_l"] + CLOSE * max(small["asked_l"], 1.0)
    assert large["days_lasted"] >= small["days_lasted"]


@settings(max_examples=80, deadline=None)
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


# What more of something does


def with_every(table, kind, **keys):
    """The site with these keys in every table of a kind."""
    return table | {kind: [row | keys for row in table[kind]]}


def evaporated_mm(table, rows):
    """Evaporation from the surface of each bed under the dual coefficient, (day, bed)."""
    dual = table | {"model": table["model"] | {"crop_coefficient": "dual"}}
    bed, _ = by_item(waterbudget.run(site_of(dual), weather_of(rows)).beds, "bed")
    return bed["e_mm"]


@settings(max_examples=60, deadline=None)
@given(cases(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_mulch_never_lets_more_evaporate(case, one, other):
    """On the first day in every bed; later days find other soils. Through the whole run on bare ground under rain."""
    table, rows = case
    less, more = sorted((one, other))
    open_mm, covered_mm = (
        evaporated_mm(with_every(table, "bed", mulch_cover=cover), rows)[0] for cover in (less, more)
    )
    assert np.all(covered_mm <= open_mm + CLOSE)
    bare = with_every(table, "bed", planting=[])
    for bed in bare["bed"]:
        bed.pop("zone", None)
    open_mm, covered_mm = (
        evaporated_mm(with_every(bare, "bed", mulch_cover=cover), rows).cumsum(axis=0) for cover in (less, more)
    )
    assert np.all(covered_mm <= open_mm + CLOSE * np.maximum(open_mm, 1.0))


@settings(max_examples=80, deadline=None)
@given(one_tank_timer_cases(), st.sampled_from(("none", "direct", "float")), st.data())
def test_a_longer_ban_never_leaves_less_unmet(case, mains, data):
    """One store, whose valve covers what is short on all other days, and timers, which ask whatever happens."""
    table, rows = case
    store = table["tank"][0] | {"mains": mains}
    if mains == "float":
        store |= {"dead_l": 0.0, "float_below_l": store["capacity_l"] / 3, "float_to_l": store["capacity_l"] / 2}
    ends = st.integers(-3, len(rows) + 3)
    first, begins, ends, last = sorted(data.draw(st.tuples(ends, ends, ends, ends)))
    day = rows[0]["date"]
    unmet_l = []
    for start, end in ((begins, ends), (first, last)):
        ban = {"from": day + dt.timedelta(start), "to": day + dt.timedelta(end)}
        banned = table | {"tank": [store], "ban": [ban]}
        unmet_l.append(waterbudget.run(site_of(banned), weather_of(rows)).summary["unmet_l"])
    short, long = unmet_l
    assert long >= short - CLOSE * max(1.0, short)


@settings(max_examples=80, deadline=None)
@given(cases())
def test_where_hardly_anything_is_wetted_only_the_crop_uses_water(case):
    table, rows = case
    table = with_every(table, "zone", wetted_fraction=1e-12)
    table["model"] = table["model"] | {"crop_coefficient": "dual"}
    bed, _ = by_item(waterbudget.run(site_of(table), weather_of(rows)).beds, "bed")
    watered = bed["irrigation_mm"] > 0.01  # these days alone: rain of 3 mm wets the ground again
    assert np.all(bed["ke"][watered] <= CLOSE)
    np.testing.assert_allclose(bed["kc"][watered], bed["kcb"][watered], rtol=0, atol=CLOSE)
