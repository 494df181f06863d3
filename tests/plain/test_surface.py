"""The surface of the soil, and pots, by hand: FAO-56 ch. 7. TEW is 19 mm and REW 9 mm unless said otherwise."""

from math import pi

import pytest

from plain import PlainTables, plain_run
from plain.by_hand import beans, column, days, line, plot, store

DUAL = {"crop_coefficient": "dual"}


def dual(bed, weather, zone=None, site=None, **tables):
    bed = {"rew_mm": 9, "tew_mm": 19} | bed
    parts = {"zone": [zone], "tank": [store(capacity_l=1e6, start_l=1e6)]} if zone else {}
    return plain_run({"model": DUAL, "site": site or {}, "bed": [bed], **parts}, weather, PlainTables(**tables))


def bean_stand(**keys):
    return beans(kcb=[1, 1, 1], height_m=2) | keys


def test_bare_ground_evaporates_from_all_of_it():
    # Kc max 1.2 (no wetting before): 1.2 x 5 = 6 mm; then 6 <= 9: 6 more; then Kr = (19 - 12)/(19 - 9) = 0.7: 4.2 mm
    result = dual(plot(), days([0] * 3, et0_mm=5))
    assert column(result, "beds", "ke") == pytest.approx([1.2, 1.2, 0.84])
    assert column(result, "beds", "e_mm") == pytest.approx([6, 6, 3])  # the 15 mm of the root zone are soon gone
    assert column(result, "beds", "kcb") == [0, 0, 0]
    result = dual(plot(available_water_mm_m=1000), days([0] * 3, et0_mm=5))
    assert column(result, "beds", "e_mm") == pytest.approx([6, 6, 4.2])
    assert column(result, "beds", "de_mm") == pytest.approx([6, 12, 16.2])
    assert column(result, "beds", "depletion_mm") == pytest.approx([6, 12, 16.2])
    assert column(result, "beds", "eta_mm") == column(result, "beds", "e_mm")


def test_a_dry_layer_gives_nothing():
    result = dual(plot(start_depleted=1), days([0, 0], et0_mm=5))
    assert column(result, "beds", "ke") == [0, 0]
    assert column(result, "beds", "de_mm") == [19, 19]


def test_what_wets_the_layer_says_how_much_of_it():
    zone = line(minutes=1, jets="drip", weekdays=["thu", "sat"])  # 10 L x 0.9 on 6 m2: 1.5 mm on Thursday and Saturday
    result = dual(plot(zone="line"), days([5, 2.5, 5, 3, 2], et0_mm=0.1), zone)
    # rain and irrigation: the zone's 0.35, rain or not; 2.5 mm of rain keep it; again; 3 mm of rain wet all; kept.
    # Kc max 1.2 on Thursday and Friday; on Saturday the wetting before was two days ago: 1.1; on Sunday yesterday; kept
    assert column(result, "beds", "irrigation_mm") == pytest.approx([1.5, 0, 1.5, 0, 0])
    assert column(result, "beds", "ke") == pytest.approx([0.35 * 1.2, 0.35 * 1.2, 0.35 * 1.1, 1.1, 1.1])


def test_wettings_three_days_apart_are_seldom():
    result = dual(plot(), days([9, 0, 9, 0, 0, 9, 9], et0_mm=0.1))
    assert column(result, "beds", "ke") == pytest.approx([1.2, 1.2, 1.1, 1.1, 1.1, 1.2, 1.1])


def test_a_drop_of_irrigation_wets_over_the_share_that_was_wet():
    # 1.2 mm out of 19 are gone all over; then 0.01 L x 0.9 / 6 m2 are too little to say what is wet
    zone = line(minutes=0.001, jets="drip", weekdays=["fri"])
    result = dual(plot(zone="line"), days([0, 0], et0_mm=1), zone)
    assert column(result, "beds", "irrigation_mm") == pytest.approx([0, 0.0015])
    assert column(result, "beds", "ke") == pytest.approx([1.2, 1.2])
    assert column(result, "beds", "de_mm") == pytest.approx([1.2, 2.4 - 0.0015])


def test_irrigation_is_deeper_where_it_falls_and_the_rest_sinks():
    # 12 mm down; 3.5 mm on 0.35 of the ground are 10 mm there; 2 mm down, and 0.35 x 1.2 x 1 / 0.35 are 1.2 more
    zone = line(minutes=1, jets="drip", efficiency=1.0, flow_l_min=21)
    result = dual(plot(zone="line", start_depleted=12 / 19), days([0], et0_mm=1), zone)
    assert column(result, "beds", "de_mm") == pytest.approx([2 + 1.2])
    # 14 mm of rain are more than the 12: the layer is full before it evaporates
    result = dual(plot(start_depleted=12 / 19), days([14], et0_mm=1))
    assert column(result, "beds", "de_mm") == pytest.approx([1.2])


def test_leaves_shade_and_drippers_wet_the_shade():
    # Kcb 1, 2 m: fc = ((1 - 0.15)/(1.2 - 0.15))^2 = 0.655329; 1 - fc = 0.344671
    covered = (0.85 / 1.05) ** 2
    bed = plot(bean_stand(), zone="line")
    weather = days([0], et0_mm=1)
    for jets, fw, few in (
        ("spray", 1.0, 1 - covered),
        ("spray", 0.2, 0.2),
        ("drip", 0.5, 0.5 * (1 - covered * 2 / 3)),
        ("drip", 0.12, 0.12 * (1 - covered * 2 / 3)),
    ):
        result = dual(bed, weather, line(jets=jets, wetted_fraction=fw))
        ke = min(0.2, few * 1.2)  # Eq. 71: what is left below Kc max, or what the wet bare share can give
        assert column(result, "beds", "ke") == pytest.approx([ke])
        assert column(result, "beds", "de_mm") == pytest.approx([ke / few])
        assert column(result, "beds", "kc") == pytest.approx([1 + ke])


def test_the_drip_of_a_zone_counts_on_days_of_rain_too():
    # rain wets all of the ground: few = min(1 - fc, 1 - fc x 2/3) = 1 - fc
    covered = (0.85 / 1.05) ** 2
    zone = line(jets="drip", weekdays=["mon"])
    result = dual(plot(bean_stand(), zone="line"), days([5], et0_mm=1), zone)
    assert column(result, "beds", "de_mm") == pytest.approx([0.2 / (1 - covered)])


def test_the_smallest_bare_share_and_no_more_than_it_holds():
    # Kcb 10 on a low stand: fc would be 0.995 and is 0.99; Ke = min(10.05 - 10, 0.01 x 10.05) = 0.05, of 4 mm 0.2 mm;
    # but 0.01 of the ground holds 0.01 x 19 mm. The layer is at TEW, and on the next day it gives nothing.
    low = bean_stand(kcb=[10, 10, 10], height_m=0.02)
    result = dual(plot(low, available_water_mm_m=1000), days([0, 0], et0_mm=4))
    assert column(result, "beds", "e_mm") == pytest.approx([0.19, 0])
    assert column(result, "beds", "ke") == pytest.approx([0.19 / 4, 0])
    assert column(result, "beds", "de_mm") == pytest.approx([19, 19])


def test_a_wet_surface_adds_at_least_a_little_to_any_crop():
    # Kc max is Kcb + 0.05 where that is more than 1.2
    low = bean_stand(kcb=[1.3, 1.3, 1.3], height_m=0.02)
    assert column(dual(plot(low), days([0], et0_mm=1)), "beds", "ke") == pytest.approx([0.05])


def test_mulch_halves_the_evaporation_and_no_more():
    for mulch_cover, ke in ((0.0, 1.2), (0.3, 1.02), (1.0, 0.6)):  # 5 % less for every 10 %, p. 197
        assert column(dual(plot(mulch_cover=mulch_cover), days([0], et0_mm=1)), "beds", "ke") == pytest.approx([ke])


def test_the_surface_takes_first_and_its_share_counts_in_the_root_zone():
    # 3 mm in reach of 50; Ke 0.2 x 10 = 2 mm first; Kcb 1 x 10 mm under Ks (50 - 47)/(50 - RAW) then
    bed = plot(bean_stand(p=0.5), start_depleted=47 / 50, tew_mm=1000, rew_mm=1000)
    result = plain_run({"model": DUAL | {"adjust_p": False}, "bed": [bed]}, days([0], et0_mm=10))
    ks = 3 / 25
    assert column(result, "beds", "ks") == pytest.approx([ks])
    assert column(result, "beds", "e_mm") == pytest.approx([2])
    assert column(result, "beds", "eta_mm") == pytest.approx([3])  # 2 + min(1.2, 3 - 2)
    assert column(result, "beds", "depletion_mm") == pytest.approx([50])


def test_p_moves_with_the_crops_need_alone():
    # dual: 0.5 + 0.04 x (5 - 1 x 4); the soil's evaporation is not yet known
    assert column(dual(plot(bean_stand()), days([0], et0_mm=4)), "beds", "raw_mm") == pytest.approx([0.54 * 50])


def test_wind_and_dry_air_move_the_coefficients():
    # 3 m/s, 35 %, 3 m: 0.04 + 0.04 on mid and end of 0.45 or more, and on Kc max
    dry = {"mean_wind_m_s": 3, "mean_rh_min_pct": 35}
    tall = beans(kcb=[0.3, 1.0, 0.44], height_m=3, days=[0, 0, 1, 1])
    result = dual(plot(tall), days([0, 0], et0_mm=1), site=dry)
    assert column(result, "beds", "kcb") == pytest.approx([1.08, 0.44])
    assert column(result, "beds", "ke")[0] == pytest.approx(0.2)  # 1.28 - 1.08
    early = beans(kcb=[0.5, 1.0, 0.45], height_m=3)
    assert column(dual(plot(early), days([0]), site=dry), "beds", "kcb") == [0.5]  # not on the first value
    tall["kcb"] = [0.3, 1.0, 0.45]
    assert column(dual(plot(tall), days([0, 0]), site=dry), "beds", "kcb") == pytest.approx([1.08, 0.53])
    exposed = plot(tall, exposed=True, width_m=3)  # 1.2 + 3/3 - 0.05
    assert column(dual(exposed, days([0, 0]), site=dry), "beds", "kcb") == pytest.approx([2.15, 0.53])


def test_heights_grow_with_the_coefficient():
    """Seen through fc: Ke x ETo / the rise of De is the bare share."""
    grows = beans(kcb=[0.2, 1.0, 1.0], height_m=2, days=[0, 4, 2, 0])
    result = dual(plot(grows, available_water_mm_m=1000), days([0] * 2, et0_mm=1))
    for number, row, before_mm in zip((1, 2), result["beds"], (0, result["beds"][0]["de_mm"]), strict=True):
        kcb = 0.2 + 0.8 * number / 4
        height_m = 2 * kcb / 1.0
        covered = ((kcb - 0.15) / (1.2 - 0.15)) ** (1 + 0.5 * height_m)
        assert row["e_mm"] / (row["de_mm"] - before_mm) == pytest.approx(1 - covered)


def test_side_by_side_the_tallest_says_how_high_the_stand_is():
    # h 2 m: exponent 2 in Eq. 76; the climate adds (0.04 x 1 + 0.004 x 10) x (2/3)^0.3 to Kc max
    low = beans(kcb=[0.4] * 3, height_m=0.5, ground_share=0.5)
    high = beans(kcb=[0.4] * 3, height_m=2, ground_share=0.5)
    place = {"mean_wind_m_s": 3, "mean_rh_min_pct": 35}
    row = dual(plot(low, high), days([0], et0_mm=1), site=place)["beds"][0]
    most = 1.2 + 0.08 * (2 / 3) ** 0.3
    few = 1 - ((0.4 - 0.15) / (most - 0.15)) ** 2
    assert row["ke"] == pytest.approx(most - 0.4)
    assert row["de_mm"] == pytest.approx((most - 0.4) / few)


@pytest.mark.parametrize(
    ("given", "kcb"),
    [
        ({"kcb": [0.2, 1.1, 0.7], "kc": [0.5, 1.2, 0.9]}, [0.2, 1.1, 0.7]),
        ({"kc": [0.5, 1.2, 0.9]}, [0.15, 1.15, 0.8]),
        ({"kc": [0.1, 0.04, 0.05]}, [0.1, 0, 0]),
        ({"kc": [0.5, 1.2, 0.9], "perennial": True}, [0.4, 1.15, 0.8]),
        ({"crop": "bean"}, [0.15, 1.05, 0.3]),
        ({"crop": "bean", "kc": [0.5, 1.2, 0.9]}, [0.15, 1.15, 0.8]),
        ({"crop": "mint"}, [0.5, 1.1, 1.05]),
        ({"crop": "mint", "perennial": False}, [0.15, 1.1, 1.05]),
    ],
)
def test_kcb_is_the_files_or_follows_from_kc(given, kcb):
    crops = {
        "bean": {"kc": [0.5, 1.15, 0.9], "kcb": [0.15, 1.05, 0.3]},
        "mint": {"kc": [0.6, 1.15, 1.15], "perennial": True},
    }
    planting = {"planted": "05-01", "days": [1, 0, 1, 1], "p": 0.5, "root_m": [0.5, 0.5], "height_m": 1} | given
    assert column(dual(plot(planting), days([0] * 3), crops=crops), "beds", "kcb") == pytest.approx(kcb)


def test_the_top_layer_of_a_soil_and_of_none():
    loam = {"available_water_mm_m": 155, "rew_mm": 9, "tew_mm": 19}

    def evaporated_mm(**keys):
        bed = {"name": "bed", "area_m2": 6} | keys
        return plain_run({"model": DUAL, "bed": [bed]}, days([0], et0_mm=30), PlainTables(soils={"loam": loam}))

    # 36 mm are more than the layer holds: TEW is what it gives, if the root zone of 0.15 m has as much
    deep = {"available_water_mm_m": 1000}
    assert column(evaporated_mm(soil="loam", **deep), "beds", "de_mm") == pytest.approx([19])
    assert column(evaporated_mm(**deep), "beds", "de_mm") == pytest.approx([29])
    assert column(evaporated_mm(available_water_mm_m=150), "beds", "de_mm") == pytest.approx([21])
    assert column(evaporated_mm(soil="loam", tew_mm=12, **deep), "beds", "de_mm") == pytest.approx([12])


# Pots


def test_pots_take_rain_by_their_openings_and_their_leaves_shed_half():
    # ten pots of 20 cm: openings 0.31416 m2, a third of the ground; TAW 0.3 x 10 x 8 L on 0.94248 m2
    opening_m2 = 10 * pi / 4 * 0.2**2
    bed = {"name": "pots", "pots": 10, "pot_litres": 8, "pot_diameter_cm": 20, "planting": [beans(root_m=[0.1, 0.9])]}
    row = plain_run({"bed": [bed]}, days([12]))["beds"][0]
    assert row["rain_mm"] == pytest.approx(12 * 0.5 / 3)
    assert row["taw_mm"] == pytest.approx(0.3 * 10 * 8 / (3 * opening_m2))
    wide = plain_run({"bed": [bed | {"area_m2": opening_m2 / 2, "rain_share": 1}]}, days([12]))["beds"][0]
    assert wide["rain_mm"] == pytest.approx(24)  # the openings are twice the ground that the leaves cover
    bare = plain_run({"bed": [bed | {"planting": []}]}, days([0]))["beds"][0]
    assert bare["taw_mm"] == row["taw_mm"]


def test_the_surface_of_pots_is_that_of_their_openings():
    bed = {"name": "pots", "pots": 10, "pot_litres": 8, "pot_diameter_cm": 20, "planting": []}
    row = plain_run({"model": DUAL, "bed": [bed]}, days([0], et0_mm=1))["beds"][0]
    assert row["ke"] == pytest.approx(1.2 / 3)  # few = 1/3
    assert row["de_mm"] == pytest.approx(1.2)
    # the layer gets 6 mm on its openings, the bed 2 mm; and 300 mm/m has REW 12, TEW 29
    row = plain_run({"model": DUAL, "bed": [bed | {"start_depleted": 20 / 29}]}, days([12], et0_mm=1))["beds"][0]
    kr = (29 - 14) / (29 - 12)
    assert row["ke"] == pytest.approx(min(kr * 1.2, 1.2 / 3))
    assert row["de_mm"] == pytest.approx(14 + 1.2)
    # 1.2 mm on the bed are 3.6 mm on the openings, a third of it: 20 - 3.6 down
    spray = {"tank": [store()], "zone": [line(flow_l_min=1.2 * pi / 10, minutes=3, efficiency=1)]}
    dry = bed | {"zone": "line", "start_depleted": 20 / 29}
    row = plain_run({"model": DUAL, "bed": [dry], **spray}, days([0], et0_mm=0))["beds"][0]
    assert row["irrigation_mm"] == pytest.approx(1.2)
    assert row["de_mm"] == pytest.approx(16.4)
    drip = {"tank": [store()], "zone": [line(jets="drip", minutes=0.1)]}
    stand = beans(kcb=[1, 1, 1], height_m=2)
    row = plain_run({"model": DUAL, "bed": [bed | {"zone": "line", "planting": [stand]}], **drip}, days([0], et0_mm=1))
    assert row["beds"][0]["ke"] == pytest.approx(min(0.2, 0.35 / 3 * 1.2))  # no drippers in the shade of a pot's leaves
