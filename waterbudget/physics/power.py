"""Power to push water, and how far a battery reaches; every array broadcasts.

The efficiency is that of the whole way from the battery to the water: driver, motor and pump. It falls to nothing at
both ends of a pump's curve, so one number holds near the best point only: a measured run time is better.
"""

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import S_PER_MIN, Array

RHO_KG_M3 = 998.2  # water at 20 degrees C, from memory
J_PER_WH = 3600.0
USABLE_SHARE = 0.8  # of a battery's nominal energy, new and warm; 0.6 to 0.7 cold or aged (from memory)
BATTERY_TO_WATER = 0.25  # small centrifugal garden pumps 0.15 to 0.35 (from memory)


def water_power_w(flow_m3_s: Array, head_m: Array, rho_kg_m3: Array, g_m_s2: Array) -> Array:
    """Power that the water takes up [W]: rho g Q H; head_m: the pump's head [m], friction included, not the lift."""
    return rho_kg_m3 * g_m_s2 * flow_m3_s * head_m


def battery_power_w(water_w: Array, efficiency: Array, motor_w: Array) -> Array:
    """Power that the battery gives [W]; motor_w: the nameplate's, infinite where there is none.

    Raises RangeError where the efficiency is not above 0 and up to 1, or so low that the motor would take more than
    its nameplate says.
    """
    _check_efficiency(efficiency)
    electric_w = water_w / efficiency
    if np.any(electric_w > motor_w):
        raise RangeError(
            f"an efficiency of {np.min(efficiency):g} asks for {np.max(electric_w):.3g} W,"
            f" more than the {np.min(motor_w):g} W on the motor's nameplate"
        )
    return electric_w


def energy_wh(volume_m3: Array, head_m: Array, efficiency: Array, rho_kg_m3: Array, g_m_s2: Array) -> Array:
    """Energy from the battery for a volume of water [Wh]: rho g H V / (3600 efficiency).

    Raises RangeError where the efficiency is not above 0 and up to 1.
    """
    _check_efficiency(efficiency)
    return rho_kg_m3 * g_m_s2 * head_m * volume_m3 / (J_PER_WH * efficiency)


def usable_wh(volts: Array, amp_hours: Array, usable_share: Array) -> Array:
    """Energy that a battery gives before it is recharged [Wh]; volts: nominal, not those of a full battery."""
    return volts * amp_hours * usable_share


def measured_efficiency(
    battery_wh: Array, minutes: Array, flow_m3_s: Array, head_m: Array, rho_kg_m3: Array, g_m_s2: Array
) -> Array:
    """Efficiency from battery to water [-], from the minutes that a charge of battery_wh ran at a flow and head.

    Raises RangeError where it is not above 0 and up to 1.
    """
    to_water_j = water_power_w(flow_m3_s, head_m, rho_kg_m3, g_m_s2) * minutes * S_PER_MIN
    efficiency = to_water_j / (battery_wh * J_PER_WH)
    _check_efficiency(efficiency)
    return efficiency


def runs_per_charge(battery_wh: Array, run_wh: Array) -> Array:
    """Whole runs on one charge [-], rounded down (common practice)."""
    return np.floor(battery_wh / run_wh)


def _check_efficiency(efficiency: Array) -> None:
    if not np.all((efficiency > 0.0) & (efficiency <= 1.0)):
        raise RangeError(f"an efficiency from battery to water is above 0 and at most 1, not {efficiency}")
