"""The root zone's water in one day (FAO-56 chapter 8), arrays (scenario, bed)."""

from typing import NamedTuple

import numpy as np

from waterbudget.units import Array


class SoilDay(NamedTuple):
    """Millimetres; depletion now = depletion before + eta - water + drained."""

    eta_mm: Array
    drained_mm: Array
    depletion_mm: Array


def taw(available_water_mm_m: Array, zr_m: Array) -> Array:
    """Total available water in the root zone, TAW [mm]. Source: FAO-56 Eq. 82, with 1000 (FC - WP) as mm/m."""
    return available_water_mm_m * zr_m


def raw(taw_mm: Array, p: Array) -> Array:
    """Readily available water, RAW [mm]; p: depletion fraction without stress [-]. Source: FAO-56 Eq. 83."""
    return p * taw_mm


def adjusted_p(p: Array, etc_mm: Array) -> Array:
    """Depletion fraction p [-] on a day of crop evapotranspiration etc_mm [mm/day], kept within 0.1 to 0.8.

    p: the table's value at 5 mm/day. Source: FAO-56 Table 22, footnote 2.
    """
    return np.minimum(np.maximum(p + 0.04 * (5.0 - etc_mm), 0.1), 0.8)


def ks(taw_mm: Array, raw_mm: Array, depletion_mm: Array) -> Array:
    """Water stress coefficient Ks [-], 1 down to RAW and 0 at TAW; raw_mm below taw_mm. Source: FAO-56 Eq. 84."""
    return np.minimum(np.maximum((taw_mm - depletion_mm) / (taw_mm - raw_mm), 0.0), 1.0)


def soil_day(depletion_mm: Array, taw_mm: Array, ks_now: Array, etc_mm: Array, water_mm: Array) -> SoilDay:
    """One day's balance of the root zone [mm]; water_mm: rain and irrigation that reach it.

    Evapotranspiration takes no more than the root zone holds with the day's water; what lifts the depletion above
    field capacity drains the same day. Source: FAO-56 Eq. 81, 85 and 88.
    """
    within_reach_mm = np.maximum(taw_mm - depletion_mm + water_mm, 0.0)
    eta_mm = np.minimum(ks_now * etc_mm, within_reach_mm)
    balance_mm = depletion_mm - water_mm + eta_mm
    depletion_now_mm = np.maximum(balance_mm, 0.0)
    return SoilDay(eta_mm, depletion_now_mm - balance_mm, depletion_now_mm)
