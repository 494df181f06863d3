import tomllib
from collections import defaultdict
from copy import deepcopy
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from plain import NOTICED_L, PlainTables, plain_run
from strategies import cases, lean, one_tank_timer_cases, sites, to_toml

FIRST = date(2031, 5, 1)  # a Thursday
MANY = settings(max_examples=60, deadline=None)


def days(rain_mm, et0_mm=0.0, tmax_c=None, first=FIRST):
    """A day for each depth of rain."""
    extra = [{} if tmax_c is None else {"tmax_c": tmax} for tmax in (tmax_c or rain_mm)]
    return [
        {"date": first + timedelta(n), "rain_mm": rain, "et0_mm": et0_mm} | more
        for n, (rain, more) in enumerate(zip(rain_mm, extra, strict=True))
    ]


def store(**keys):
    return {"name": "store", "capacity_l": 1000, "start_l": 1000} | keys


def line(**keys):
    return {"name": "line", "tank": "store", "flow_l_min": 10, "minutes": 5} | keys


def can(**keys):
    return {"name": "can", "tank": "store", "l_per_day": 30} | keys


def plot(*plantings, **keys):
    """A bed of 6 m2 on soil with 100 mm a metre."""
    return {"name": "bed", "area_m2": 6, "available_water_mm_m": 100, "planting": list(plantings)} | keys


def beans(**keys):
    """Kc and root depth level, so that only the asked-for thing moves."""
    return {"planted": "05-01", "days": [10, 10, 10, 10], "kc": [1, 1, 1], "p": 0.5, "root_m": [0.5, 0.5]} | keys


def column(result, table, name, **where):
    return [row[name] for row in result[table] if all(row[key] == value for key, value in where.items())]


def printed(value):
    """A printed number, to half of its last digit."""
    return pytest.approx(float(value), rel=0, abs=0.5 * 10.0 ** int(Decimal(value).as_tuple().exponent))


# Roofs


def test_roof_by_hand():
    roof = {"name": "roof", "tank": "store", "area_m2": 20, "runoff_coefficient": 0.9}
    roof |= {"loss_mm": 0.5, "first_flush_l": 11, "filter_efficiency": 0.8}
    rows = plain_run({"roof": [roof], "tank": [store()]}, days([10, 0.4]))["roofs"]
    # 10 mm on 20 m2: 200 L; (10 - 0.5) x 20 x 0.9 = 171 run off, 11 flushed, 160 x 0.8 = 128 caught
    assert rows[0] == {
        "date": FIRST,
        "roof": "roof",
        "on_roof_l": 200,
        "caught_l": pytest.approx(128),
        "flushed_l": 11,
        "filter_l": pytest.approx(32),
        "kept_l": pytest.approx(29),
    }
    # 0.4 mm is less than the wetting loss: the roof keeps 8 L
    assert (rows[1]["kept_l"], rows[1]["caught_l"], rows[1]["flushed_l"]) == (8, 0, 0)


def test_roof_of_a_farm_shed():
    """400 mm on a shed of 15 x 9 m at 0.95: 51300 L. Victoria DPI, Managing Farm Water Supplies (2011), as
    reproduced on a stored page.
    """
    roof = {"name": "shed", "tank": "store", "area_m2": 135, "covering": "steel", "filter_efficiency": 1}
    result = plain_run(
        {"roof": [roof], "tank": [store(capacity_l=1e6)]},
        days([400]),
        PlainTables(coverings={"steel": {"runoff_coefficient": 0.95, "loss_mm": 0}}),
    )
    assert result["summary"]["caught_l"] == printed("51300")


# Tanks


def test_tank_with_a_leak_runs_dry():
    site = {"tank": [store(capacity_l=200, start_l=100, dead_l=10, loss_l_per_day=2)], "draw": [can()]}
    result = plain_run(site, days([0] * 7))
    # 100 - 30 - 2 = 68; 68 - 30 - 2 = 36; 36 - 26 - 2 = 8: below dead_l there is only the leak
    assert column(result, "tanks", "level_l") == [68, 36, 8, 6, 4, 2, 0]
    assert column(result, "tanks", "drawn_l") == [30, 30, 26, 0, 0, 0, 0]
    assert column(result, "tanks", "lost_l") == [2] * 7
    assert column(result, "zones", "unmet_l") == [0, 0, 4, 30, 30, 30, 30]
    summary = result["summary"]
    assert (summary["days"], summary["days_lasted"]) == (7, 2)
    assert (summary["first_short"], summary["first_mains"]) == ("2031-05-03", "2031-05-03")
    assert (summary["mains_l"], summary["mains_days"]) == (0, 0)
    assert (summary["volume_reliability"], summary["day_reliability"]) == (86 / 210, 2 / 7)


@pytest.mark.parametrize(
    ("release", "spilled_l", "upper_l"),
    [
        ("after_spill", 40, 80),  # 90 + 50 - 100 = 40 spill, then 20 drawn
        ("before_spill", 20, 100),  # 20 drawn, then 90 + 50 - 20 - 100 = 20 spill
    ],
)
def test_spill_runs_down_the_chain_on_the_same_day(release, spilled_l, upper_l):
    roof = {"name": "roof", "tank": "store", "area_m2": 5, "runoff_coefficient": 1, "filter_efficiency": 1}
    butt = {"name": "butt", "capacity_l": 30, "start_l": 5}  # listed before the store that feeds it
    site = {
        "model": {"release": release},
        "roof": [roof],
        "tank": [butt, store(capacity_l=100, start_l=90, overflow_to="butt")],
        "draw": [can(l_per_day=20)],
    }
    result = plain_run(site, days([10]))
    assert column(result, "tanks", "tank") == ["butt", "store"]
    assert column(result, "tanks", "inflow_l") == [spilled_l, 50]
    assert column(result, "tanks", "spilled_l") == [max(0, 5 + spilled_l - 30), spilled_l]
    assert column(result, "tanks", "level_l") == [min(30, 5 + spilled_l), upper_l]


def test_only_before_spill_gives_today_what_came_today():
    roof = {"name": "roof", "tank": "store", "area_m2": 2, "runoff_coefficient": 1, "filter_efficiency": 1}
    site = {"roof": [roof], "tank": [store(start_l=5)], "draw": [can()]}
    assert column(plain_run(site, days([10])), "tanks", "drawn_l") == [5]
    site["model"] = {"release": "before_spill"}
    assert column(plain_run(site, days([10])), "tanks", "drawn_l") == [25]


def test_year_of_a_textbook_store():
    """Twelve months of rain and evaporation on a store of 90 mm, yield before spillage, empty in September.

    M. E. Ritter, The Physical Environment, Table 10.3 (Rockford). Months stand as days, millimetres as litres.
    """
    rain = [86, 73, 56, 45, 50, 49, 66, 78, 100, 106, 88, 84]  # September to August
    asked = [85, 44, 8, 0, 0, 0, 5, 40, 84, 123, 145, 126]
    level = [1, 30, 78, 90, 90, 90, 90, 90, 90, 73, 16, 0]
    drawn = [85, 44, 8, 0, 0, 0, 5, 40, 84, 123, 145, 100]
    spilled = [0, 0, 0, 33, 50, 49, 61, 38, 16, 0, 0, 0]
    month_days = [f"05-{n + 1:02}" for n in range(12)]
    site = {
        "model": {"release": "before_spill"},
        "roof": [{"name": "roof", "tank": "store", "area_m2": 1, "runoff_coefficient": 1, "filter_efficiency": 1}],
        "tank": [store(capacity_l=90, start_l=0)],
        "draw": [
            can(name=day, l_per_day=depth) | {"from": day, "to": day}
            for day, depth in zip(month_days, asked, strict=True)
        ],
    }
    result = plain_run(site, days(rain))
    assert column(result, "tanks", "level_l") == level
    assert column(result, "tanks", "drawn_l") == drawn
    assert column(result, "tanks", "spilled_l") == spilled
    assert column(result, "tanks", "short_l") == [0] * 11 + [26]


def test_hose_serves_what_is_short():
    result = plain_run({"tank": [store(start_l=20, mains="direct")], "zone": [line()]}, days([0, 0]))
    # 50 asked: 20 from the store and 30 from the hose, then all from the hose; the store sees none of it
    assert column(result, "tanks", "mains_l") == [30, 50]
    assert column(result, "tanks", "short_l") == [30, 50]
    assert column(result, "tanks", "level_l") == [0, 0]
    assert column(result, "zones", "store_l") == [20, 0]
    assert column(result, "zones", "unmet_l") == [0, 0]
    assert column(result, "zones", "minutes_run") == [5, 5]
    summary = result["summary"]
    assert (summary["days_lasted"], summary["first_mains"], summary["mains_days"]) == (0, "2031-05-01", 2)
    assert (summary["volume_reliability"], summary["day_reliability"]) == (0.2, 0)


def test_float_valve_opens_below_its_level_and_not_at_it():
    tank = store(start_l=100, mains="float", float_below_l=100, float_to_l=120)
    result = plain_run({"tank": [tank], "draw": [can()]}, days([0, 0, 0]))
    # 100 is not below 100: 70 left; then 50 L to 120, less 30; then 30 L to 120, less 30
    assert column(result, "tanks", "mains_l") == [0, 50, 30]
    assert column(result, "tanks", "level_l") == [70, 90, 90]
    assert column(result, "zones", "mains_l") == [0, 0, 0]
    summary = result["summary"]
    assert (summary["first_mains"], summary["first_short"], summary["days_lasted"]) == ("2031-05-02", None, 1)


def test_float_valve_runs_on_while_water_is_drawn():
    tank = store(start_l=100, mains="float", float_below_l=50, float_to_l=120)
    result = plain_run({"tank": [tank], "draw": [can(l_per_day=110)]}, days([0, 0]))
    # 100 stand above 50: all of it is drawn and the last 10 come through the valve; then 120 L to 120, less 110
    assert column(result, "tanks", "mains_l") == [10, 120]
    assert column(result, "tanks", "drawn_l") == [110, 110]
    assert column(result, "tanks", "drawn_mains_l") == [10, 110]
    assert column(result, "tanks", "short_l") == [0, 0]
    assert column(result, "tanks", "level_l") == [0, 10]
    assert column(result, "zones", "store_l") == [110, 110]
    assert column(result, "zones", "rain_l") == [100, 0]
    summary = result["summary"]
    assert (summary["first_short"], summary["first_mains"], summary["days_lasted"]) == (None, "2031-05-01", 0)


def test_a_float_valve_below_the_outlet_does_not_run_on():
    # The valve opens below 10 L, but no draw takes the store below 20: 80 of 110, and nobody needed mains for it
    tank = store(start_l=100, dead_l=20, mains="float", float_below_l=10, float_to_l=15)
    result = plain_run({"tank": [tank], "draw": [can(l_per_day=110)]}, days([0]))
    assert column(result, "tanks", "mains_l") == [0]
    assert column(result, "tanks", "short_l") == [30]
    summary = result["summary"]
    assert (summary["first_short"], summary["first_mains"], summary["days_lasted"]) == ("2031-05-01", None, 0)


def test_lowest_priority_number_first_and_equal_ones_in_proportion():
    site = {
        "tank": [store(start_l=60, dead_l=10)],
        "zone": [line(name="east", minutes=4), line(name="west", minutes=2)],
        "draw": [can(name="hens", l_per_day=20)],
    }
    result = plain_run(site, days([0]))
    # 50 at hand: hens (0) 20; 30 left for east 40 and west 20 (both 1), half of each
    assert column(result, "zones", "zone") == ["east", "west", "hens"]
    assert column(result, "zones", "store_l") == [20, 10, 20]
    assert column(result, "zones", "minutes_run") == [2, 1, 0]


# When a zone or a draw asks


def asked(zone, weather, **parts):
    return column(plain_run({"tank": [store()], "zone": [zone]} | parts, weather), "zones", "asked_l")


def test_season_may_pass_new_year_with_both_ends():
    weather = days([0] * 5, first=date(2031, 12, 30))
    assert asked(line(**{"from": "12-31", "to": "01-02"}), weather) == [0, 50, 50, 50, 0]
    assert asked(line(**{"from": "01-01", "to": "01-01"}), weather) == [0, 0, 50, 0, 0]


def test_rhythm_counts_both_ways_from_its_day():
    weather = days([0] * 5)
    assert asked(line(every_days=2), weather) == [50, 0, 50, 0, 50]
    assert asked(line(every_days=3, every_from=date(2031, 5, 3)), weather) == [0, 0, 50, 0, 0]
    assert asked(line(every_days=3, every_from="2031-05-08"), weather) == [0, 50, 0, 0, 50]
    assert asked(line(weekdays=["fri", "mon"]), weather) == [0, 50, 0, 0, 50]


def test_draw_on_its_weekdays():
    result = plain_run({"tank": [store()], "draw": [can(weekdays=["sat"])]}, days([0] * 4))
    assert column(result, "zones", "asked_l") == [0, 0, 30, 0]


def test_rain_of_the_days_before_skips():
    # 4 + 4 = 8 mm reaches the threshold on the third day, 4 + 3.5 does not on the fourth; today's rain is not seen
    zone = line(skip_rain_mm=8, skip_rain_days=2)
    assert asked(zone, days([4, 4, 3.5, 9, 0])) == [50, 50, 0, 50, 0]


def test_rain_skip_looks_back_before_the_run_but_not_before_the_file():
    zone = line(skip_rain_mm=8, skip_rain_days=2)
    site = {"tank": [store()], "zone": [zone]}
    assert asked(zone, days([8, 0, 0])) == [50, 0, 0]
    result = plain_run(site, days([8, 0, 0, 0]), start="2031-05-02", end=date(2031, 5, 4))
    assert column(result, "zones", "asked_l") == [0, 0, 50]
    assert (result["summary"]["start"], result["summary"]["end"]) == ("2031-05-02", "2031-05-04")


def test_hot_day_takes_other_minutes():
    zone = line(runs_per_day=2, hot_above_c=25, hot_minutes=8)
    assert asked(zone, days([0] * 3, tmax_c=[24.5, 25, 31])) == [100, 160, 160]


def test_dry_plan_opens_at_its_share_of_raw():
    # TAW 50, p 0.5: RAW 25, and 0.8 of it 20. From 10 mm down at 4 mm a day: 10, 14, 18, 22 at the start of the day.
    bed = plot(beans(), zone="line", start_depleted=0.2)
    parts = {"model": {"adjust_p": False}, "bed": [bed], "tank": [store(start_l=0)]}
    assert asked(line(plan="dry", dry_at=0.8), days([0] * 4, et0_mm=4), **parts) == [0, 0, 0, 50]
    at_raw = parts | {"bed": [bed | {"start_depleted": 0.5}]}  # 25 mm, RAW to the bit
    assert asked(line(plan="dry"), days([0]), **at_raw) == [50]


def test_dry_and_refill_look_at_planted_beds_only():
    bare = plot(zone="line", start_depleted=1)
    elsewhere = plot(beans(), start_depleted=1) | {"name": "other"}
    for plan in ("dry", "refill"):
        assert asked(line(plan=plan), days([0] * 2, et0_mm=4), bed=[bare, elsewhere]) == [0, 0]


def test_refill_brings_the_beds_back_to_what_is_left_for_rain():
    # TAW 50, 12.5 mm down, 2.5 left for rain: 10 mm x 6 m2 / 0.8 = 75 L, under the 100 L of the longest run
    bed = plot(beans(), zone="line", start_depleted=0.25)
    zone = line(plan="refill", minutes=10, leave_mm=2.5)
    result = plain_run({"tank": [store()], "zone": [zone], "bed": [bed]}, days([0, 0]))
    assert column(result, "zones", "asked_l") == [75, 0]
    assert column(result, "zones", "minutes_run") == [7.5, 0]
    assert column(result, "beds", "irrigation_mm") == [10, 0]
    assert column(result, "beds", "depletion_mm") == [2.5, 2.5]
    assert asked(zone | {"minutes": 6}, days([0]), bed=[bed]) == [60]


def test_zone_shares_among_its_beds_by_weight():
    beds = [plot(zone="line", share=2), plot(zone="line", area_m2=3) | {"name": "small"}]
    result = plain_run({"tank": [store()], "zone": [line(efficiency=0.9)], "bed": beds}, days([0]))
    # 50 L x 0.9 = 45, shared 2 : 3 (the small bed's own area): 18 L on 6 m2, 27 L on 3 m2; all of it drains
    assert column(result, "beds", "irrigation_mm") == pytest.approx([3, 9])
    assert [bed["overwatered_mm"] for bed in result["summary"]["beds"]] == pytest.approx([3, 9])


# Beds


def test_crop_curve_of_dry_beans():
    """Kc on four days of a curve: FAO-56 Examples 29 and 30, p. 136 and 141 (day 90 is printed 0.70, a tie)."""
    crop = {"days": [25, 25, 30, 20], "kc": [0.15, 1.14, 0.25], "p": 0.45, "root_full_m": 0.6}
    bed = {"name": "bed", "area_m2": 6, "soil": "loam", "planting": [{"crop": "beans", "planted": "2031-05-01"}]}
    tables = PlainTables(crops={"beans": crop}, soils={"loam": {"available_water_mm_m": 150}})
    kc = column(plain_run({"bed": [bed]}, days([0] * 101), tables), "beds", "kc")
    assert kc[12 - 1] == printed("0.15")
    assert kc[37 - 1] == printed("0.63")
    assert kc[65 - 1] == printed("1.14")
    assert kc[90 - 1] == pytest.approx(0.695)
    assert kc[100 - 1] == pytest.approx(0.25)  # the end value on the last day
    assert kc[101 - 1] == 0.3  # bare again


def test_stress_of_ten_dry_days():
    """Tomato on silt without rain or watering, p not adjusted: FAO-56 Example 37, p. 168."""
    bed = plot(beans(kc=[1.2, 1.2, 1.2], p=0.4, root_m=[0.8, 0.8]), available_water_mm_m=200, start_depleted=55 / 160)
    result = plain_run({"model": {"adjust_p": False}, "bed": [bed]}, days([0] * 10, et0_mm=5))
    assert column(result, "beds", "taw_mm")[0] == printed("160")
    assert column(result, "beds", "raw_mm")[0] == printed("64")
    ks = ["1.00", "1.00", "0.97", "0.91", "0.85", "0.80", "0.75", "0.70", "0.66", "0.62"]
    eta = ["6.0", "6.0", "5.8", "5.4", "5.1", "4.8", "4.5", "4.2", "3.9", "3.7"]
    end = ["61.0", "67.0", "72.8", "78.3", "83.4", "88.2", "92.6", "96.9", "100.8", "104.5"]
    assert column(result, "beds", "ks") == [printed(value) for value in ks]
    assert column(result, "beds", "eta_mm") == [printed(value) for value in eta]
    assert column(result, "beds", "depletion_mm") == [printed(value) for value in end]
    assert result["summary"]["beds"][0]["stress_days"] == 8


def test_p_moves_with_the_demand():
    # 0.5 + 0.04 x (5 - 1.0 x 3 x 0.5) = 0.64; at 20 mm a day 0.5 - 0.6 stops at 0.1; bare 0.5 + 0.04 x (5 - 0)
    bed = plot(beans(), et_factor=0.5)
    assert column(plain_run({"bed": [bed]}, days([0], et0_mm=3)), "beds", "raw_mm") == pytest.approx([32])
    bed["et_factor"] = 1.0
    assert column(plain_run({"bed": [bed]}, days([0], et0_mm=20)), "beds", "raw_mm") == pytest.approx([5])
    assert column(plain_run({"bed": [plot()]}, days([0])), "beds", "raw_mm") == pytest.approx([0.7 * 15])


def test_roots_grow_until_mid_season_and_stop_at_the_limit():
    grow = beans(days=[2, 3, 5, 5], root_m=[0.2, 0.7])
    # 0.2 + 0.5 x i/5 on days 1 to 5, then 0.7; on soil with 100 mm a metre
    weather = days([0] * 6)
    assert column(plain_run({"bed": [plot(grow)]}, weather), "beds", "taw_mm") == pytest.approx(
        [30, 40, 50, 60, 70, 70]
    )
    limited = plot(grow, root_limit_m=0.45)
    assert column(plain_run({"bed": [limited]}, weather), "beds", "taw_mm") == pytest.approx([30, 40, 45, 45, 45, 45])
    crop = {"days": [2, 3, 5, 5], "kc": [1, 1, 1], "p": 0.5, "root_full_m": 0.7, "perennial": True}
    perennial = plot({"crop": "mint", "planted": "05-01"})
    assert column(plain_run({"bed": [perennial]}, weather, PlainTables({"mint": crop})), "beds", "taw_mm") == (
        pytest.approx([70] * 6)
    )


def test_depletion_goes_over_in_proportion():
    # Bare at 0.15 m: TAW 15, 6 mm down. Sown on day 2, TAW 50: 6 x 50/15 = 20. Lifted after day 3: 20 x 15/50 = 6.
    short = beans(planted="2031-05-02", days=[1, 0, 1, 0])
    result = plain_run({"bed": [plot(short, start_depleted=0.4)]}, days([0] * 5))
    assert column(result, "beds", "depletion_mm") == pytest.approx([6, 20, 20, 6, 6])
    assert column(result, "beds", "subsoil_mm") == pytest.approx([0, -14, 0, 14, 0])


def test_back_to_back_changes_over_once():
    # TAW 50, 20 mm down on day 2; the next crop on day 3 has 0.2 m and TAW 20: 20 x 20/50 = 8, no bare day between
    first = beans(days=[1, 0, 1, 0])
    second = beans(planted="05-03", root_m=[0.2, 0.2])
    result = plain_run({"bed": [plot(second, first, start_depleted=0.4)]}, days([0] * 3))
    assert column(result, "beds", "depletion_mm") == pytest.approx([20, 20, 8])
    assert column(result, "beds", "subsoil_mm") == pytest.approx([0, 0, 12])


def test_changeover_comes_before_the_valve_looks():
    # 6 mm of 15 bare become 20 mm of 50 on the sowing day, and refill asks for 20 mm x 6 m2 / 0.8 = 150 L
    bed = plot(beans(planted="05-02"), zone="line", start_depleted=0.4)
    assert asked(line(plan="refill", minutes=60), days([0, 0]), bed=[bed]) == pytest.approx([0, 150])


def test_planting_begun_before_the_run_is_in_progress():
    # Sown on 20 December, four stages of 10 days: 1 January is day 13, three tenths of the way from 0.4 to 1.0
    bed = plot(beans(planted="12-20", kc=[0.4, 1.0, 1.0], root_m=[0.1, 0.5]))
    row = plain_run({"bed": [bed]}, days([0], first=date(2032, 1, 1)))["beds"][0]
    assert row["kc"] == pytest.approx(0.58)
    assert row["taw_mm"] == pytest.approx(100 * (0.1 + 0.4 * 13 / 20))


def test_rain_beyond_the_gap_drains_after_the_days_use():
    # TAW 50, 5 mm down; 8 mm under a half roof is 4, used 3: 5 - 4 + 3 = 4. Then 20 mm: 4 - 10 + 3 = -3 drains.
    bed = plot(beans(), rain_share=0.5, start_depleted=0.1)
    result = plain_run({"bed": [bed]}, days([8, 20], et0_mm=3))
    assert column(result, "beds", "rain_mm") == [4, 10]
    assert column(result, "beds", "depletion_mm") == pytest.approx([4, 0])
    assert column(result, "beds", "drained_mm") == pytest.approx([0, 3])
    assert result["summary"]["beds"][0]["overwatered_mm"] == 0


def test_dry_soil_gives_no_more_than_it_holds():
    # At the wilting point only the rain of the day can be used, and Ks is 0: it stays in the soil
    bed = plot(beans(), start_depleted=1)
    row = plain_run({"bed": [bed]}, days([2], et0_mm=5))["beds"][0]
    assert (row["ks"], row["eta_mm"], row["depletion_mm"]) == (0, 0, 48)


# What always holds


def test_nothing_asked_has_no_reliability():
    summary = plain_run({"tank": [store()], "draw": [can(weekdays=["mon"])]}, days([0]))["summary"]
    assert (summary["volume_reliability"], summary["day_reliability"], summary["days_lasted"]) == (None, None, 1)


def test_days_without_demand_count_for_nothing():
    site = {"tank": [store(start_l=40)], "draw": [can(weekdays=["fri", "sat"])]}
    assert plain_run(site, days([0] * 4))["summary"]["day_reliability"] == 0.5  # of Thursday to Sunday


def assert_closes(change, *terms):
    assert change == pytest.approx(sum(terms), rel=0, abs=1e-9 * max(1.0, abs(change), *map(abs, terms)))


@MANY
@given(cases())
def test_every_litre_and_millimetre_is_booked(case):
    site, weather = case
    result = plain_run(site, weather)
    for row in result["roofs"]:
        assert_closes(row["on_roof_l"], row["caught_l"], row["flushed_l"], row["filter_l"], row["kept_l"])
    for row in result["zones"]:
        assert_closes(row["asked_l"], row["store_l"], row["mains_l"], row["unmet_l"])
    for tank in site["tank"]:
        assert_tank_closes(tank, [row for row in result["tanks"] if row["tank"] == tank["name"]])
    for bed in site["bed"]:
        assert_bed_closes(bed, [row for row in result["beds"] if row["bed"] == bed["name"]])


def assert_tank_closes(tank, rows):
    level_l, net_l = tank["start_l"], 0.0
    for row in rows:
        into_store_l = row["mains_l"] if tank["mains"] == "float" else 0.0
        parts = (row["inflow_l"], into_store_l, -row["drawn_l"], -row["spilled_l"], -row["lost_l"])
        assert_closes(row["level_l"] - level_l, *parts)
        assert_closes(row["asked_l"], row["drawn_l"], row["short_l"])
        level_l, net_l = row["level_l"], net_l + sum(parts)
    assert level_l - tank["start_l"] == pytest.approx(net_l, rel=1e-9, abs=1e-9 * tank["capacity_l"])


def assert_bed_closes(bed, rows):
    depletion_mm = start_mm = bed["start_depleted"] * rows[0]["taw_mm"]
    net_mm = 0.0
    for row in rows:
        parts = (row["eta_mm"], -row["rain_mm"], -row["irrigation_mm"], row["drained_mm"], -row["subsoil_mm"])
        assert_closes(row["depletion_mm"] - depletion_mm, *parts)
        depletion_mm, net_mm = row["depletion_mm"], net_mm + sum(parts)
    assert depletion_mm - start_mm == pytest.approx(net_mm, rel=1e-9, abs=1e-7)


@MANY
@given(cases())
def test_stores_and_soils_stay_within_their_walls(case):
    site, weather = case
    result = plain_run(site, weather)
    tanks = {tank["name"]: tank for tank in site["tank"]}
    for row in result["tanks"]:
        assert -NOTICED_L <= row["level_l"] <= tanks[row["tank"]]["capacity_l"] + NOTICED_L
        assert min(row[key] for key in row if key.endswith("_l")) >= -NOTICED_L
    for row in result["beds"]:
        assert -1e-9 <= row["depletion_mm"] <= row["taw_mm"] + 1e-9
        assert 0 <= row["ks"] <= 1
        assert 0 <= row["eta_mm"] <= row["etc_mm"] + 1e-9


@MANY
@given(cases())
def test_the_tables_agree_with_one_another(case):
    site, weather = case
    result = plain_run(site, weather)
    tank_of = {outlet["name"]: outlet["tank"] for outlet in (*site["zone"], *site["draw"])}
    booked = defaultdict(float)
    for row in result["zones"]:
        for key in ("asked_l", "store_l", "mains_l"):
            booked[row["date"], tank_of[row["zone"]], key] += row[key]
    feeds = {tank["name"]: tank.get("overflow_to") for tank in site["tank"]}
    tank_of_roof = {roof["name"]: roof["tank"] for roof in site["roof"]}
    for row in result["roofs"]:
        booked[row["date"], tank_of_roof[row["roof"]], "inflow_l"] += row["caught_l"]
    for row in result["tanks"]:
        booked[row["date"], feeds[row["tank"]], "inflow_l"] += row["spilled_l"]
    direct = {tank["name"] for tank in site["tank"] if tank["mains"] == "direct"}
    for row in result["tanks"]:
        here = (row["date"], row["tank"])
        assert_closes(row["asked_l"], booked[*here, "asked_l"])
        assert_closes(row["drawn_l"], booked[*here, "store_l"])
        assert_closes(row["inflow_l"], booked[*here, "inflow_l"])
        assert_closes(row["mains_l"] if row["tank"] in direct else 0.0, booked[*here, "mains_l"])


@MANY
@given(one_tank_timer_cases())
def test_more_water_at_the_start_never_leaves_more_unmet(case):
    site, weather = case
    fuller = deepcopy(site)
    fuller["tank"][0]["start_l"] = fuller["tank"][0]["capacity_l"]
    less, more = (plain_run(each, weather)["summary"] for each in (site, fuller))
    assert more["unmet_l"] <= less["unmet_l"] + 1e-9 * max(1.0, less["asked_l"])
    assert more["days_lasted"] >= less["days_lasted"]


@MANY
@given(cases())
def test_what_is_left_out_stands_at_its_default(case):
    site, weather = case
    assert plain_run(lean(site), weather) == plain_run(site, weather)


@MANY
@given(sites())
def test_a_site_survives_being_written(site):
    assert tomllib.loads(to_toml(site)) == site


def test_one_row_a_day_in_the_order_of_the_site():
    site = {"tank": [store(), store(name="butt")], "draw": [can(), can(name="hens")]}
    result = plain_run(site, days([0, 0]))
    assert [(row["date"].day, row["tank"]) for row in result["tanks"]] == [
        (1, "store"),
        (1, "butt"),
        (2, "store"),
        (2, "butt"),
    ]
    assert column(result, "zones", "zone") == ["can", "hens", "can", "hens"]
