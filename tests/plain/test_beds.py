"""The root zone and what stands in it, by hand."""

from datetime import date

import pytest

from plain import PlainTables, plain_run
from plain.by_hand import beans, column, days, line, plot, printed, store


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
    result = plain_run({"tank": [store()], "zone": [line(plan="refill", minutes=60)], "bed": [bed]}, days([0, 0]))
    assert column(result, "zones", "asked_l") == pytest.approx([0, 150])


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


# Years, and what stands side by side


def test_a_planting_of_a_year_leaves_no_day_bare_and_repeats_28_february():
    # 1 November is day 1, 28 February day 120, and so is the 29th; Kc rises by 0.01 a day
    year = beans(planted="11-01", days=[0, 365, 0, 0], kc=[0, 3.65, 1])
    weather = days([0] * 140, first=date(2031, 10, 25))
    result = plain_run({"bed": [plot(year)]}, weather)
    kc = {row["date"]: row["kc"] for row in result["beds"]}
    leap = [kc[date(2032, 2, 28)], kc[date(2032, 2, 29)], kc[date(2032, 3, 1)]]
    assert leap == pytest.approx([1.20, 1.20, 1.21])
    assert kc[date(2031, 10, 31)] == pytest.approx(3.65)
    assert kc[date(2031, 11, 1)] == pytest.approx(0.01)
    assert result["summary"]["beds"][0]["planted_days"] == 140


def test_a_full_date_counts_every_day():
    once = beans(planted=date(2032, 2, 27), kc=[0, 1, 1], days=[0, 10, 0, 0])
    result = plain_run({"bed": [plot(once)]}, days([0] * 4, first=date(2032, 2, 27)))
    assert column(result, "beds", "kc") == pytest.approx([0.1, 0.2, 0.3, 0.4])
    yearly = beans(planted="02-27", kc=[0, 1, 1], days=[0, 10, 0, 0])
    result = plain_run({"bed": [plot(yearly)]}, days([0] * 4, first=date(2032, 2, 27)))
    assert column(result, "beds", "kc") == pytest.approx([0.1, 0.2, 0.2, 0.3])


def test_a_leap_day_alone_hands_nothing_over():
    # planted on 28 February, so that the 29th is day 1 once more
    yearly = beans(planted="02-28", root_m=[0.2, 0.6], days=[4, 0, 5, 0])
    result = plain_run({"bed": [plot(yearly, start_depleted=0.4)]}, days([0] * 4, first=date(2032, 2, 27)))
    # bare: TAW 15, 6 mm down; then TAW 30 (0.2 + 0.4/4): 12 mm; on 1 March TAW 40 and still 12 mm
    assert column(result, "beds", "taw_mm") == pytest.approx([15, 30, 30, 40])
    assert column(result, "beds", "depletion_mm") == pytest.approx([6, 12, 12, 12])


def test_a_planting_that_begins_anew_hands_over():
    # TAW 50 on the last day and 30 on the first, 0.1 + 0.4 x 1/2: 20 x 30/50 = 12
    year = beans(planted="11-01", days=[1, 1, 363, 0], root_m=[0.1, 0.5])
    result = plain_run({"bed": [plot(year, start_depleted=0.4)]}, days([0] * 3, first=date(2031, 10, 31)))
    assert column(result, "beds", "taw_mm") == pytest.approx([50, 30, 50])
    assert column(result, "beds", "depletion_mm") == pytest.approx([20, 12, 12])
    assert column(result, "beds", "subsoil_mm") == pytest.approx([0, 8, 0])


def test_side_by_side_the_deepest_roots_count_and_each_change_hands_over():
    # TAW 50, 20 mm down; a deeper neighbour comes on day 2, TAW 80: 32 mm; it goes after day 3: 20 mm.
    # A shallower one that comes on day 4 changes nothing.
    stays = beans(ground_share=0.4)
    deep = beans(planted="05-02", days=[0, 0, 2, 0], root_m=[0.8, 0.8], ground_share=0.3)
    shallow = beans(planted="05-04", root_m=[0.2, 0.2], ground_share=0.3)
    result = plain_run({"bed": [plot(stays, deep, shallow, start_depleted=0.4)]}, days([0] * 5))
    assert column(result, "beds", "taw_mm") == pytest.approx([50, 80, 80, 50, 50])
    assert column(result, "beds", "depletion_mm") == pytest.approx([20, 32, 32, 20, 20])
    assert column(result, "beds", "subsoil_mm") == pytest.approx([0, -12, 0, 12, 0])


def test_side_by_side_coefficients_are_weighted_by_ground_and_height():
    low = beans(kc=[0.6] * 3, p=0.3, height_m=0.4, ground_share=0.25)
    high = beans(kc=[1.0] * 3, p=0.5, height_m=0.8, ground_share=0.5)
    result = plain_run({"model": {"adjust_p": False}, "bed": [plot(low, high)]}, days([0]))
    # Eq. 104: weights 0.25 x 0.4 = 0.1 and 0.5 x 0.8 = 0.4, K 0.92, p 0.46; 0.75 x 0.92 + 0.25 x 0.3 of bare ground
    assert column(result, "beds", "kc") == pytest.approx([0.765])
    assert column(result, "beds", "raw_mm") == pytest.approx([0.46 * 50])


def test_side_by_side_without_height_the_ground_alone_counts():
    # Kc 0 at first: both are of no height. p = (0.25 x 0.3 + 0.5 x 0.6)/0.75 = 0.5
    none = {"kc": [0, 1, 1], "days": [10, 10, 10, 10]}
    plantings = (beans(**none, p=0.3, ground_share=0.25), beans(**none, p=0.6, ground_share=0.5))
    result = plain_run({"model": {"adjust_p": False}, "bed": [plot(*plantings)]}, days([0]))
    assert column(result, "beds", "raw_mm") == pytest.approx([25])
    assert column(result, "beds", "kc") == pytest.approx([0.25 * 0.3])


def test_half_a_bed_sown_is_half_a_bed_bare():
    result = plain_run({"bed": [plot(beans(ground_share=0.5))]}, days([0], et0_mm=4))
    assert column(result, "beds", "kc") == pytest.approx([0.5 * 1.0 + 0.5 * 0.3])
    assert column(result, "beds", "etc_mm") == pytest.approx([2.6])


def test_a_stand_freer_than_its_surroundings_uses_more():
    # Eq. 105: 1.2 + 0.4/0.8 = 1.7 in mid season, at most 2.5; the end stays
    row = beans(days=[0, 0, 1, 1], height_m=0.4)
    for width_m, mid in ((0.8, 1.7), (0.2, 2.5)):
        kc = column(plain_run({"bed": [plot(row, exposed=True, width_m=width_m)]}, days([0, 0])), "beds", "kc")
        assert kc == pytest.approx([mid, 1.0])
    kc = column(plain_run({"bed": [plot(row | {"kc": [1, 2, 1]}, exposed=True, width_m=0.8)]}, days([0])), "beds", "kc")
    assert kc == [2]


def test_a_stage_of_no_days_is_a_step():
    result = plain_run({"bed": [plot(beans(days=[2, 0, 0, 1], kc=[0.3, 1.1, 0.7], root_m=[0.2, 0.4]))]}, days([0] * 4))
    assert column(result, "beds", "kc") == pytest.approx([0.3, 0.3, 0.7, 0.3])
    assert column(result, "beds", "taw_mm") == pytest.approx([30, 40, 40, 15])
    at_once = beans(days=[0, 0, 2, 0], root_m=[0.2, 0.4])
    assert column(plain_run({"bed": [plot(at_once)]}, days([0] * 2)), "beds", "taw_mm") == pytest.approx([40, 40])


def test_a_new_sowing_of_a_shallow_crop_starts_no_deeper_than_it_ends():
    crop = {"days": [2, 2, 5, 5], "kc": [1, 1, 1], "p": 0.5, "root_full_m": 0.1}
    cress = plot({"crop": "cress", "planted": "05-01"})
    assert column(plain_run({"bed": [cress]}, days([0]), PlainTables({"cress": crop})), "beds", "taw_mm") == (
        pytest.approx([10])
    )


def test_thirsty_days_are_planted_days():
    # TAW 50, RAW 25 under p 0.5; 24, 28, 32 mm down at the start of three days; then bare, 0.6 of TAW missing
    bed = plot(beans(days=[0, 0, 3, 0]), start_depleted=24 / 50)
    result = plain_run({"model": {"adjust_p": False}, "bed": [bed]}, days([0] * 5, et0_mm=4))
    row = result["summary"]["beds"][0]
    assert (row["planted_days"], row["stress_days"], row["first_stress"]) == (3, 2, "2031-05-02")
    assert column(result, "beds", "ks")[3] < 1
    assert row["eta_over_etc"] == pytest.approx(row["eta_mm"] / row["etc_mm"])
