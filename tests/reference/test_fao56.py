"""The root zone against worked examples of FAO-56, through its functions and through whole runs.

FAO-56 is Allen et al. (1998), FAO Irrigation and Drainage Paper 56; pages are printed pages. Reference
evapotranspiration has its examples in tests/weather/test_et0.py.
"""

import datetime as dt

import numpy as np
import pytest
from gardens import site_of, weather_of
from reference.prints import printed, table

import waterbudget
from waterbudget.physics.crop import kc_curve, root_depth
from waterbudget.physics.soil import ks, raw, soil_day, taw

FIRST_DAY = dt.date(2031, 7, 1)  # the examples give no dates


def one_bed(planting, **bed):
    """A bed on rain alone, planted on the first day; the store is there because a site has one."""
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "model": {"adjust_p": False},
            "tank": [{"name": "store", "capacity_l": 1, "start_l": 0}],
            "bed": [{"name": "bed", "area_m2": 1, **bed, "planting": [{"planted": FIRST_DAY, **planting}]}],
        }
    )


def dry_days(length, et0_mm):
    return weather_of([{"date": FIRST_DAY + dt.timedelta(n), "rain_mm": 0, "et0_mm": et0_mm} for n in range(length)])


@pytest.mark.parametrize(
    ("found", "figure", "source"),
    [
        (taw(1000 * (0.32 - 0.12), 0.8), "160", "Example 37, p. 168: silt, tomato roots of 0.8 m, Eq. 82"),
        (raw(160.0, 0.40), "64", "Example 37, p. 168, Eq. 83"),
        (taw(1000 * (0.23 - 0.10), 1.0), "130", "Example 38, p. 172: sandy loam, for each metre of roots"),
    ],
)
def test_available_water(found, figure, source):
    assert found == printed(figure), source


def test_example_37_ten_days_of_drying_by_the_functions():
    taw_mm = taw(1000 * (0.32 - 0.12), 0.8)
    raw_mm = raw(taw_mm, 0.40)
    depletion_mm = 55.0
    for row in table("fao56_example37"):
        assert depletion_mm == printed(row["dr_start_mm"])
        etc_mm = float(row["kc"]) * float(row["et0_mm"])
        assert etc_mm == printed(row["etc_mm"])
        ks_now = ks(taw_mm, raw_mm, depletion_mm)
        assert ks_now == printed(row["ks"])
        day = soil_day(depletion_mm, taw_mm, ks_now, etc_mm, 0.0)
        assert day.eta_mm == printed(row["eta_mm"])
        assert day.drained_mm == 0.0
        depletion_mm = day.depletion_mm
        assert depletion_mm == printed(row["dr_end_mm"])


def test_example_37_in_a_whole_run():
    rows = table("fao56_example37")
    site = one_bed(
        {"days": [0, 0, 10, 0], "kc": [1.2, 1.2, 1.2], "p": 0.40, "root_m": [0.8, 0.8]},
        available_water_mm_m=1000 * (0.32 - 0.12),
        start_depleted=55 / 160,
    )
    beds = waterbudget.run(site, dry_days(len(rows), 5.0)).beds
    for day, row in zip(beds.itertuples(), rows, strict=True):
        assert day.taw_mm == printed("160")
        assert day.raw_mm == printed("64")
        for name in ("kc", "etc_mm", "ks", "eta_mm"):
            assert getattr(day, name) == printed(row[name]), name
        assert day.depletion_mm == printed(row["dr_end_mm"])


def test_example_38_root_depth_and_raw():
    # p. 172-173: 0.30 m on day 1, 0.35 m on day 10, sandy loam with 130 mm/m and p 0.6. Its balance drains before the
    # day's evapotranspiration, against Eq. 85 and 88, so it is no check of soil_day.
    for row in table("fao56_example38"):
        zr_m = root_depth(float(row["day"]) - 1.0, 9.0, 0.30, 0.35)
        assert zr_m == printed(row["zr_m"]), row["day"]
        assert raw(taw(130.0, zr_m), 0.6) == printed(row["raw_mm"]), row["day"]


# Example 31, p. 146: a bare loam dries for ten days. The surface layer follows the equations of the root zone: Kr of
# Eq. 74 is Ks of Eq. 84, with TEW 20 mm for TAW, REW 9 mm for RAW and De for Dr; it loses at most (Kc max - Kcb) ET0.
TEW_MM, REW_MM, KC_MAX, KCB, EXAMPLE_31_ET0_MM = 20.0, 9.0, 1.20, 0.15, 4.5


def test_example_31_drying_of_the_surface_by_the_functions():
    depletion_mm = 0.0
    for row in table("fao56_example31"):
        assert depletion_mm == printed(row["de_start_mm"])
        kr = ks(TEW_MM, REW_MM, depletion_mm)
        assert kr == printed(row["kr"])
        day = soil_day(depletion_mm, TEW_MM, kr, (KC_MAX - KCB) * EXAMPLE_31_ET0_MM, 0.0)
        assert day.eta_mm == printed(row["evaporation_mm"])
        assert day.eta_mm / EXAMPLE_31_ET0_MM == printed(row["ke"])
        assert day.eta_mm + KCB * EXAMPLE_31_ET0_MM == printed(row["etc_mm"])
        depletion_mm = day.depletion_mm
        assert depletion_mm == printed(row["de_end_mm"])


def test_example_31_in_a_whole_run():
    rows = table("fao56_example31")
    site = one_bed(
        {"days": [0, 0, 10, 0], "kc": [KC_MAX - KCB] * 3, "p": REW_MM / TEW_MM, "root_m": [0.1, 0.1]},
        available_water_mm_m=TEW_MM / 0.1,
    )
    beds = waterbudget.run(site, dry_days(len(rows), EXAMPLE_31_ET0_MM)).beds
    for day, row in zip(beds.itertuples(), rows, strict=True):
        assert day.ks == printed(row["kr"])
        assert day.eta_mm == printed(row["evaporation_mm"])
        assert day.depletion_mm == printed(row["de_end_mm"])


def test_example_39_stress_without_salt():
    for row in table("fao56_example39"):  # p. 182: TAW 110 mm, p 0.4
        assert ks(110.0, raw(110.0, 0.4), float(row["dr_mm"])) == printed(row["ks"]), row["dr_mm"]


BEAN_DAYS, BEAN_KCB = [25, 25, 30, 20], [0.15, 1.14, 0.25]  # Examples 29 and 30, p. 136 and 141


def test_example_30_dry_bean_on_four_days_by_eq_66():
    for row in table("fao56_example30"):
        kc = kc_curve(np.array(float(row["day"])), np.array(BEAN_DAYS), np.array(BEAN_KCB))
        assert kc == printed(row["kcb"]), row["day"]


def test_example_30_in_a_whole_run():
    site = one_bed(
        {"days": BEAN_DAYS, "kc": BEAN_KCB, "p": 0.45, "root_m": [0.2, 0.6]}, available_water_mm_m=150, rain_share=0
    )
    kc = waterbudget.run(site, dry_days(sum(BEAN_DAYS), 4.0)).beds["kc"]
    for row in table("fao56_example30"):
        assert kc[int(row["day"]) - 1] == printed(row["kcb"]), row["day"]
