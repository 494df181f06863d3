"""Roofs and stores by hand."""

import pytest

from plain import PlainTables, plain_run
from plain.by_hand import FIRST, can, column, days, line, printed, store


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


@pytest.mark.parametrize(
    ("given", "caught_l"),
    [
        ({}, 10 * (10 - 1.5) * 0.85),
        ({"loss_mm": 0.5}, 10 * (10 - 0.5) * 0.85),
        ({"runoff_coefficient": 0.7}, 10 * 10 * 0.7),  # then the covering's loss does not count
        ({"runoff_coefficient": 0.7, "loss_mm": 2}, 10 * (10 - 2) * 0.7),
    ],
)
def test_a_covering_gives_what_the_file_leaves_open(given, caught_l):
    roof = {"name": "roof", "tank": "store", "area_m2": 10, "covering": "gravel", "filter_efficiency": 1} | given
    gravel = PlainTables(coverings={"gravel": {"runoff_coefficient": 0.85, "loss_mm": 1.5}})
    result = plain_run({"roof": [roof], "tank": [store(start_l=0)]}, days([10]), gravel)
    assert result["summary"]["caught_l"] == pytest.approx(caught_l)


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


def test_nothing_asked_has_no_reliability():
    summary = plain_run({"tank": [store()], "draw": [can(weekdays=["mon"])]}, days([0]))["summary"]
    assert (summary["volume_reliability"], summary["day_reliability"], summary["days_lasted"]) == (None, None, 1)


def test_days_without_demand_count_for_nothing():
    site = {"tank": [store(start_l=40)], "draw": [can(weekdays=["fri", "sat"])]}
    assert plain_run(site, days([0] * 4))["summary"]["day_reliability"] == 0.5  # of Thursday to Sunday


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
