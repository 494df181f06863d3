"""The functions of the root zone and of the surface above it against worked examples of FAO-56.

FAO-56 is Allen et al. (1998), FAO Irrigation and Drainage Paper 56; pages are printed pages. Whole runs of examples
stand in tests/reference/runs.py, reference evapotranspiration in tests/weather/test_et0.py.
"""

import numpy as np
import pytest
from reference.prints import printed, table

from waterbudget.physics.crop import climate_kc, cover_fraction, kc_curve, root_depth
from waterbudget.physics.soil import evening, ks, raw, taw, within_reach
from waterbudget.physics.surface import dried_depletion, exposed_share, kc_max, ke, kr, wetted_depletion
from waterbudget.units import NUMPY


def kc_mid(kc, wind_m_s, rh_min_pct, height_m):
    """Of the table, moved by the climate."""
    return kc + climate_kc(wind_m_s, rh_min_pct, height_m)


COTTON = climate_kc(3.0, 20.0, 1.0)  # Examples 32 to 34: 3 m/s, 20 %, 1 m
COTTON_KC_MAX, COTTON_COVER = kc_max(NUMPY, 1.2, COTTON, 0.9), cover_fraction(0.9, COTTON, 1.0)
SPRINKLER, FURROW, DRIP = (
    exposed_share(NUMPY, COTTON_COVER, fw, hidden) for fw, hidden in ((1.0, 0.0), (0.3, 0.0), (0.3, 2 / 3))
)
SANDY_LOAM_KC_MAX = kc_max(NUMPY, 1.2, climate_kc(1.6, 35.0, 0.30), 0.40)  # Example 35: 1.6 m/s, 35 %, 0.3 m

PRINTED = [  # function, inputs, the figure as printed, where
    (taw, (1000 * (0.32 - 0.12), 0.8), "160", "Example 37, p. 168: silt, tomato roots of 0.8 m, Eq. 82"),
    (raw, (160.0, 0.40), "64", "Example 37, p. 168, Eq. 83"),
    (taw, (1000 * (0.23 - 0.10), 1.0), "130", "Example 38, p. 172: sandy loam, for each metre of roots"),
    (kc_mid, (1.20, 1.3, 75.0, 2.0), "1.07", "Example 27, p. 125: maize at Taipei, Eq. 62"),
    (kc_mid, (1.20, 4.6, 44.0, 2.0), "1.30", "Example 27, p. 125: maize at Mocha, Eq. 62"),
    (kc_mid, (1.10, 2.2, 30.0, 0.4), "1.14", "Example 29, p. 136: dry bean, Eq. 70"),
    (kc_max, (NUMPY, 1.2, COTTON, 0.9), "1.30", "Example 32, p. 150: cotton, Eq. 72"),
    (cover_fraction, (0.9, COTTON, 1.0), "0.53", "Example 32, p. 150, Eq. 76"),
    (exposed_share, (NUMPY, COTTON_COVER, 1.0, 0.0), "0.47", "Example 32, p. 150: sprinkler, Eq. 75"),
    (exposed_share, (NUMPY, COTTON_COVER, 0.3, 0.0), "0.3", "Example 33, p. 150: furrow, Eq. 75"),
    (exposed_share, (NUMPY, COTTON_COVER, 0.3, 2 / 3), "0.19", "Example 34, p. 151: drip"),
    (ke, (NUMPY, 1.0, COTTON_KC_MAX, 0.9, SPRINKLER), "0.40", "Example 32, p. 150, Eq. 71"),
    (ke, (NUMPY, 1.0, COTTON_KC_MAX, 0.9, FURROW), "0.39", "Example 33, p. 150, Eq. 71"),
    (ke, (NUMPY, 1.0, COTTON_KC_MAX, 0.9, DRIP), "0.25", "Example 34, p. 151, Eq. 71"),
    (kc_max, (NUMPY, 1.2, climate_kc(1.6, 35.0, 0.30), 0.40), "1.21", "Example 35, p. 154, Eq. 72"),
    (
        wetted_depletion,
        (NUMPY, 18.0, 0.0, 40.0, 0.8),
        "0",
        "Example 35, p. 155, day 1: 50 mm on the wetted part, Eq. 79",
    ),
    (exposed_share, (NUMPY, 1 - 0.92, 0.8, 0.0), "0.8", "Example 35, p. 155, day 1, Eq. 75"),
    (ke, (NUMPY, 1.0, SANDY_LOAM_KC_MAX, 0.30, 0.8), "0.91", "Example 35, p. 155, day 1, Eq. 71"),
    (dried_depletion, (NUMPY, 0.0, 4.5 * 0.912, 0.8, 18.0), "5", "Example 35, p. 155, day 1, Eq. 77"),
    (kr, (NUMPY, 18.0, 8.0, 5.13), "1.00", "Example 35, p. 155, day 2, Eq. 74"),
    (ke, (NUMPY, 1.0, SANDY_LOAM_KC_MAX, 0.31, 0.8), "0.90", "Example 35, p. 155, day 2, Eq. 71"),
    (dried_depletion, (NUMPY, 5.13, 5.0 * 0.902, 0.8, 18.0), "11", "Example 35, p. 155, day 2, Eq. 77"),
]


@pytest.mark.parametrize(("function", "inputs", "figure", "source"), PRINTED)
def test_a_printed_figure(function, inputs, figure, source):
    assert function(*inputs) == printed(figure), source


def test_example_37_ten_days_of_drying():
    taw_mm = taw(1000 * (0.32 - 0.12), 0.8)
    raw_mm = raw(taw_mm, 0.40)
    depletion_mm = 55.0
    for row in table("fao56_example37"):
        assert depletion_mm == printed(row["dr_start_mm"])
        etc_mm = float(row["kc"]) * float(row["et0_mm"])
        assert etc_mm == printed(row["etc_mm"])
        ks_now = ks(NUMPY, taw_mm, raw_mm, depletion_mm)
        assert ks_now == printed(row["ks"])
        eta_mm = np.minimum(ks_now * etc_mm, within_reach(NUMPY, taw_mm, depletion_mm))
        assert eta_mm == printed(row["eta_mm"])
        depletion_mm, drained_mm = evening(NUMPY, depletion_mm, eta_mm)
        assert drained_mm == 0.0
        assert depletion_mm == printed(row["dr_end_mm"])


def test_example_38_root_depth_and_raw():
    # p. 172-173: 0.30 m on day 1, 0.35 m on day 10, sandy loam with 130 mm/m and p 0.6. Its balance drains before the
    # day's evapotranspiration, against Eq. 85 and 88, so it is no check of the evening.
    for row in table("fao56_example38"):
        zr_m = root_depth(float(row["day"]) - 1.0, 9.0, 0.30, 0.35)
        assert zr_m == printed(row["zr_m"]), row["day"]
        assert raw(taw(130.0, zr_m), 0.6) == printed(row["raw_mm"]), row["day"]


def test_example_31_drying_of_the_surface():
    """Bare loam, p. 146: TEW 20 mm, REW 9 mm, Kc max 1.20, a Kcb of 0.15, all of the ground wetted and bare."""
    tew_mm, rew_mm, kcb, et0_mm, few = 20.0, 9.0, 0.15, 4.5, 1.0
    depletion_mm = 0.0
    for row in table("fao56_example31"):
        assert depletion_mm == printed(row["de_start_mm"])
        kr_now = kr(NUMPY, tew_mm, rew_mm, depletion_mm)
        assert kr_now == printed(row["kr"])
        ke_now = ke(NUMPY, kr_now, 1.20, kcb, few)
        assert ke_now == printed(row["ke"])
        assert ke_now * et0_mm == printed(row["evaporation_mm"])
        assert (ke_now + kcb) * et0_mm == printed(row["etc_mm"])
        depletion_mm = dried_depletion(NUMPY, depletion_mm, ke_now * et0_mm, few, tew_mm)
        assert depletion_mm == printed(row["de_end_mm"])


def test_example_39_stress_without_salt():
    for row in table("fao56_example39"):  # p. 182: TAW 110 mm, p 0.4
        assert ks(NUMPY, 110.0, raw(110.0, 0.4), float(row["dr_mm"])) == printed(row["ks"]), row["dr_mm"]


def test_example_30_dry_bean_on_four_days_by_eq_66():
    stage_days, kcb = [25, 25, 30, 20], [0.15, 1.14, 0.25]  # Examples 29 and 30, p. 136 and 141
    for row in table("fao56_example30"):
        kc = kc_curve(np.array(float(row["day"])), np.array(stage_days), np.array(kcb))
        assert kc == printed(row["kcb"]), row["day"]
