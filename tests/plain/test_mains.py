"""Mains water, how it mixes, transfers and bans, by hand."""

from datetime import date

import pytest

from plain import plain_run
from plain.by_hand import can, column, days, line, store


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


def tanks_of(*tanks):
    """Stores of 1000 L, empty, with the keys given."""
    return [{"capacity_l": 1000, "start_l": 0} | tank for tank in tanks]


def hose(source, target, **keys):
    return {"name": f"{source} to {target}", "from_tank": source, "to_tank": target, "l_per_day": 50} | keys


def roof(tank, area_m2):
    """A litre from each square metre and millimetre."""
    return {"name": "roof", "tank": tank, "area_m2": area_m2, "runoff_coefficient": 1, "filter_efficiency": 1}


# How mains water mixes with rain


def test_what_is_drawn_has_the_share_of_the_days_mixture():
    tank = store(capacity_l=200, start_l=40, mains="float", float_below_l=50, float_to_l=90)
    result = plain_run({"tank": [tank], "draw": [can()], "roof": [roof("store", 1)]}, days([10, 0, 0]))
    # 50 L let in to 90, 10 of rain: half of 100 is mains, 15 of the 30 drawn, 35 of the 70 that stay.
    # 70 is above 50: half of 30 again, and 20 of 40 stay. Then 50 L to 90: 70 of 90 are mains.
    assert column(result, "tanks", "mains_l") == [50, 0, 50]
    assert column(result, "tanks", "level_l") == [70, 40, 60]
    assert column(result, "tanks", "drawn_mains_l") == pytest.approx([15, 15, 30 * 70 / 90])
    assert column(result, "zones", "rain_l") == pytest.approx([15, 15, 30 * 20 / 90])
    assert column(result, "held", "mains_l") == pytest.approx([35, 20, 60 * 70 / 90])
    summary = result["summary"]
    assert summary["rain_l"] == pytest.approx(30 + 30 * 20 / 90)
    assert summary["volume_reliability"] == pytest.approx((30 + 30 * 20 / 90) / 90)


def test_a_spill_takes_its_mains_water_along():
    upper = {"name": "upper", "capacity_l": 100, "start_l": 20, "mains": "float", "float_below_l": 50}
    lower = {"name": "lower", "start_l": 30}
    site = {
        "tank": tanks_of(lower, upper | {"float_to_l": 80, "overflow_to": "lower"}),
        "roof": [roof("upper", 4)],
        "draw": [can(tank="lower", l_per_day=10)],
    }
    result = plain_run(site, days([10]))
    # 60 L let in to 80 and 40 of rain: 60 of 120 are mains, 10 of the 20 that spill. Below, 10 of 30 + 20 are mains.
    assert column(result, "tanks", "spilled_l") == [0, 20]
    assert column(result, "tanks", "drawn_mains_l") == pytest.approx([2, 0])
    assert column(result, "held", "mains_l") == pytest.approx([8, 50])
    assert column(result, "tanks", "mains_l") == [0, 60]


def test_a_leak_takes_its_share_too():
    tank = store(start_l=20, mains="float", float_below_l=50, float_to_l=80, loss_l_per_day=40)
    result = plain_run({"tank": [tank]}, days([0]))
    assert column(result, "held", "mains_l") == pytest.approx([30])  # three quarters of the 40 L left


def test_a_transfer_takes_the_share_of_its_store():
    upper = {"name": "upper", "start_l": 20, "mains": "float", "float_below_l": 30, "float_to_l": 80}
    site = {
        "tank": tanks_of(upper, {"name": "lower", "start_l": 20}),
        "transfer": [hose("upper", "lower", l_per_day=40, weekdays=["fri"])],
    }
    result = plain_run(site, days([0, 0]))
    # On Thursday 60 L to 80: three quarters are mains. On Friday 40 L move, 30 of them mains.
    assert column(result, "tanks", "moved_out_l", tank="upper") == [0, 40]
    assert column(result, "tanks", "moved_in_l", tank="lower") == [0, 40]
    assert column(result, "held", "mains_l") == pytest.approx([60, 0, 30, 30])
    # 40 L are above 30: the valve stays shut; the lower store gives half of its 60 L as mains
    site["draw"] = [can(tank="lower", weekdays=["fri"])]
    assert column(plain_run(site, days([0, 0])), "zones", "rain_l") == [0, 15]


# Transfers


def test_transfers_in_a_row_see_what_the_one_before_left():
    tanks = tanks_of({"name": "a", "start_l": 100}, {"name": "b"}, {"name": "c"})
    down, on = hose("a", "b", l_per_day=60), hose("b", "c")
    result = plain_run({"tank": tanks, "transfer": [down, on]}, days([0]))
    assert column(result, "tanks", "level_l") == [40, 10, 50]
    assert column(result, "tanks", "moved_in_l") == [0, 60, 50]
    assert column(result, "tanks", "moved_out_l") == [60, 50, 0]
    # the other way round b is still empty when its turn comes
    result = plain_run({"tank": tanks, "transfer": [on, down]}, days([0]))
    assert column(result, "tanks", "level_l") == [40, 60, 0]
    assert result["summary"]["transfers"] == [
        {"name": "b to c", "moved_l": 0, "days": 0},
        {"name": "a to b", "moved_l": 60, "days": 1},
    ]
    assert result["summary"]["transferred_l"] == 60


def test_the_share_is_that_just_before_the_move():
    # a: 60 of 80 are mains since Thursday. On Friday c first brings 20 of rain to a: 60 of 100, so 30 of 50 move.
    a = {"name": "a", "start_l": 20, "mains": "float", "float_below_l": 30, "float_to_l": 80}
    fridays = {"weekdays": ["fri"]}
    site = {
        "tank": tanks_of(a, {"name": "b"}, {"name": "c", "start_l": 20}),
        "transfer": [hose("c", "a", **fridays), hose("a", "b", **fridays)],
    }
    held_l = column(plain_run(site, days([0, 0])), "held", "mains_l")
    assert held_l == pytest.approx([60, 0, 0, 30, 30, 0])


def test_a_transfer_fills_to_the_brim_and_not_merely_to_its_level():
    tanks = tanks_of({"name": "a", "start_l": 500}, {"name": "b", "capacity_l": 100, "start_l": 30})
    move = hose("a", "b", l_per_day=300, below_l=31)
    result = plain_run({"tank": tanks, "transfer": [move]}, days([0, 0]))
    assert column(result, "tanks", "level_l", tank="b") == [100, 100]
    # 30 is not below 30; and without a level it moves whenever there is room
    assert plain_run({"tank": tanks, "transfer": [move | {"below_l": 30}]}, days([0]))["summary"]["transferred_l"] == 0
    del move["below_l"]
    assert plain_run({"tank": tanks, "transfer": [move]}, days([0]))["summary"]["transferred_l"] == 70


def test_a_transfer_leaves_what_it_must_and_what_it_cannot_reach():
    tanks = tanks_of({"name": "a", "start_l": 100, "dead_l": 20}, {"name": "b"})
    for keep_l, moved_l in ((0, 80), (10, 80), (70, 30), (120, 0)):
        site = {"tank": tanks, "transfer": [hose("a", "b", l_per_day=300, keep_l=keep_l)]}
        assert plain_run(site, days([0]))["summary"]["transferred_l"] == moved_l


def test_a_transfer_comes_before_the_float_valve_and_the_draws():
    tank = store(start_l=100, mains="float", float_below_l=90, float_to_l=95)
    site = {
        "tank": [tank, {"name": "butt", "capacity_l": 200, "start_l": 0}],
        "transfer": [hose("store", "butt", l_per_day=20)],
        "draw": [can(tank="butt", l_per_day=20)],
    }
    result = plain_run(site, days([0]))
    assert column(result, "tanks", "mains_l") == [15, 0]  # 100 - 20 is below 90
    assert column(result, "tanks", "drawn_l") == [0, 20]


def test_a_transfer_has_its_season_and_a_move_too_small_to_see_is_none():
    tanks = tanks_of({"name": "a", "start_l": 100}, {"name": "b"})
    season = {"from": "05-02", "to": "05-02"}
    site = {"tank": tanks, "transfer": [hose("a", "b", **season), hose("a", "b", name="drop", l_per_day=1e-7)]}
    moved = plain_run(site, days([0] * 3))["summary"]["transfers"]
    assert [(row["moved_l"], row["days"]) for row in moved] == [(50, 1), (pytest.approx(3e-7), 0)]


def test_an_inflow_comes_whatever_the_weather_and_counts_as_rain():
    spring = {"name": "spring", "tank": "store", "l_per_day": 12, "weekdays": ["thu", "sat"], "from": "05-02"}
    site = {"tank": [store(start_l=0)], "inflow": [spring], "draw": [can(l_per_day=5)]}
    result = plain_run(site, days([0] * 4))  # Thursday is before its season: only on Saturday
    assert column(result, "tanks", "inflow_l") == [0, 0, 12, 0]
    assert column(result, "zones", "rain_l") == [0, 0, 0, 5]
    assert (result["summary"]["fed_l"], result["summary"]["caught_l"]) == (12, 0)


# Days without mains


def test_a_ban_shuts_the_hose_over_new_year():
    site = {
        "tank": [store(start_l=30, mains="direct")],
        "draw": [can()],
        "ban": [{"from": "12-31", "to": "01-01"}],
    }
    result = plain_run(site, days([0] * 4, first=date(2031, 12, 30)))
    assert column(result, "tanks", "mains_l") == [0, 0, 0, 30]
    assert column(result, "zones", "unmet_l") == [0, 30, 30, 0]
    summary = result["summary"]
    assert (summary["ban_days"], summary["mains_days"], summary["days_lasted"]) == (2, 1, 1)
    # on the first day of the ban it would have needed the mains
    assert (summary["first_short"], summary["first_mains"]) == ("2031-12-31", "2031-12-31")


def test_a_ban_of_one_summer_shuts_the_float_valve():
    tank = store(start_l=40, mains="float", float_below_l=50, float_to_l=90)
    site = {"tank": [tank], "draw": [can()], "ban": [{"from": date(2031, 4, 1), "to": "2031-05-02"}]}
    result = plain_run(site, days([0] * 3))
    # 40 - 30; then 10 of 30 without the valve; then 90 - 30
    assert column(result, "tanks", "mains_l") == [0, 0, 90]
    assert column(result, "tanks", "short_l") == [0, 20, 0]
    assert column(result, "tanks", "level_l") == [10, 0, 60]
    summary = result["summary"]
    assert (summary["ban_days"], summary["first_mains"], summary["days_lasted"]) == (2, "2031-05-02", 1)


# Joined stores


def test_joined_stores_are_one_store_so_many_times_as_large():
    tank = store(joined=3, capacity_l=100, start_l=50, dead_l=10, loss_l_per_day=1)
    result = plain_run({"tank": [tank], "draw": [can(l_per_day=200)]}, days([0]))
    # 150 - 3 x 10 at hand; 30 stay, less 3
    assert column(result, "tanks", "drawn_l") == [120]
    assert column(result, "tanks", "level_l") == [27]
    row = result["summary"]["tanks"][0]
    assert (row["capacity_l"], row["start_l"], row["end_l"], row["lowest_l"]) == (300, 150, 27, 27)


def test_a_float_valve_of_joined_stores_fills_them_all():
    tank = store(joined=2, capacity_l=100, start_l=20, mains="float", float_below_l=30, float_to_l=45)
    assert column(plain_run({"tank": [tank]}, days([0])), "tanks", "mains_l") == [50]
