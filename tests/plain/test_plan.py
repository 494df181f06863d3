"""Who asks for water, when and for how much, by hand."""

from datetime import date

import pytest

from plain import plain_run
from plain.by_hand import beans, can, column, days, line, plot, store


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
    # a sum of decimals that equals it reaches it: in binary 0.7 + 0.1 is a little below 0.8
    assert asked(line(skip_rain_mm=0.8, skip_rain_days=2), days([0.7, 0.1, 0])) == [50, 50, 0]


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
