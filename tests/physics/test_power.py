import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import RangeError
from waterbudget.physics.power import (
    RHO_KG_M3,
    USABLE_SHARE,
    battery_power_w,
    energy_wh,
    measured_efficiency,
    runs_per_charge,
    usable_wh,
    water_power_w,
)

L_H = 1.0 / 3.6e6
G = 9.81


def test_power_of_a_large_pump():
    # konvertibly.com, pump power guide: 0.05 m3/s to 40 m is 19.62 kW, at an efficiency of 0.75 it takes 26.2 kW
    water_w = water_power_w(0.05, 40.0, 1000.0, G)
    assert water_w / 1000.0 == pytest.approx(19.62, abs=5e-3)
    assert battery_power_w(water_w, np.array(0.75), np.inf) / 1000.0 == pytest.approx(26.2, abs=0.05)


def test_power_of_a_small_pump():
    # superglobalcalculator.com, pump power: 500 L/h, 3 m, 0.60 takes 6.8 W
    assert battery_power_w(water_power_w(500 * L_H, 3.0, 1000.0, G), np.array(0.6), np.inf) == pytest.approx(
        6.8, abs=0.05
    )


# Zones P3 and P7 of the table of solved cases (line/wntr_cases.csv), 36 Wh, efficiency 0.25, worked by hand: 3.954 Wh
# for the second, where 4.35 W rounded first would make it 3.96
@pytest.mark.parametrize(
    ("l_h", "head_m", "water_w", "wh_per_100_l", "runs"),
    [
        (1031.56, 14.6794, (41.2, 0.05), (16.0, 0.05), (2.25, 0.005)),
        (439.534, 3.6344, (4.35, 0.005), (3.954, 0.0005), (9.10, 0.005)),
    ],
)
def test_what_a_charge_does_for_two_zones(l_h, head_m, water_w, wh_per_100_l, runs):
    charge_wh = usable_wh(18.0, 2.5, USABLE_SHARE)
    assert charge_wh == pytest.approx(36.0)
    assert water_power_w(l_h * L_H, head_m, RHO_KG_M3, G) == pytest.approx(water_w[0], abs=water_w[1])
    run_wh = energy_wh(0.1, head_m, np.array(0.25), RHO_KG_M3, G)
    assert run_wh == pytest.approx(wh_per_100_l[0], abs=wh_per_100_l[1])
    assert charge_wh / run_wh == pytest.approx(runs[0], abs=runs[1])
    assert runs_per_charge(charge_wh, run_wh) == int(runs[0])


def test_a_motor_cannot_take_more_than_its_nameplate():
    water_w = water_power_w(1031.56 * L_H, 14.6794, RHO_KG_M3, G)
    electric_w = battery_power_w(water_w, np.array(0.25), np.array(180.0))
    assert electric_w == pytest.approx(165.0, abs=0.5)
    assert electric_w / 18.0 == pytest.approx(9.2, abs=0.05)  # ampere
    assert 36.0 / electric_w * 60.0 == pytest.approx(13.1, abs=0.05)  # minutes
    with pytest.raises(RangeError, match="nameplate"):
        battery_power_w(water_w, np.array(0.25), np.array(120.0))


def test_the_rule_of_thumb_for_energy():
    # 2.72 H V / eta in Wh, V in m3: rho g / 3600
    assert energy_wh(1.0, 10.0, np.array(0.5), RHO_KG_M3, G) == pytest.approx(2.72 * 10.0 / 0.5, abs=0.5 * 0.01 * 20)


@given(st.floats(0.05, 0.9), st.floats(100.0, 2000.0), st.floats(1.0, 30.0))
def test_a_measured_run_gives_the_efficiency_back(efficiency, l_h, head_m):
    electric_w = battery_power_w(water_power_w(l_h * L_H, head_m, RHO_KG_M3, G), np.array(efficiency), np.inf)
    minutes = 36.0 / electric_w * 60.0
    assert measured_efficiency(36.0, minutes, l_h * L_H, head_m, RHO_KG_M3, G) == pytest.approx(efficiency)


@pytest.mark.parametrize("efficiency", [0.0, -0.2, 1.2, np.nan])
def test_an_efficiency_is_a_share(efficiency):
    with pytest.raises(RangeError, match="above 0 and at most 1"):
        energy_wh(0.1, 10.0, np.array(efficiency), RHO_KG_M3, G)
    with pytest.raises(RangeError, match="above 0 and at most 1"):
        battery_power_w(10.0, np.array(efficiency), np.inf)


def test_a_run_cannot_lift_more_than_the_charge_holds():
    with pytest.raises(RangeError, match="above 0 and at most 1"):
        measured_efficiency(36.0, 600.0, 1000.0 * L_H, 20.0, RHO_KG_M3, G)
