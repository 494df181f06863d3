"""The root zone's water in one day (FAO-56 chapter 8), arrays (bed, lane). xp: numpy or jax.numpy."""

from typing import NamedTuple

import numpy as np

from waterbudget.units import Array, Namespace


class Evening(NamedTuple):
    """Millimetres; depletion now = depletion before + eta - water + drained."""

    depletion_mm: Array
    drained_mm: Array


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


def ks(xp: Namespace, taw_mm: Array, raw_mm: Array, depletion_mm: Array) -> Array:
    """Water stress coefficient Ks [-], 1 down to RAW and 0 at TAW; raw_mm below taw_mm. Source: FAO-56 Eq. 84."""
    return xp.minimum(xp.maximum((taw_mm - depletion_mm) / (taw_mm - raw_mm), 0.0), 1.0)


def within_reach(xp: Namespace, taw_mm: Array, rewetted_mm: Array) -> Array:
    """What evapotranspiration can take on a day [mm]: what the root zone holds, with the day's rain and irrigation.

    rewetted_mm: depletion less that water, below 0 where there is more of it than the root zone lacked.
    """
    return xp.maximum(taw_mm - rewetted_mm, 0.0)


def evening(xp: Namespace, rewetted_mm: Array, eta_mm: Array) -> Evening:
    """The root zone after a day's evapotranspiration [mm]; eta_mm at most what was within reach.

    rewetted_mm: depletion less the day's water. What lifts it above field capacity drains the same day.
    Source: FAO-56 Eq. 85 and 88.
    """
    balance_mm = rewetted_mm + eta_mm
    depletion_now_mm = xp.maximum(balance_mm, 0.0)
    return Evening(depletion_now_mm, depletion_now_mm - balance_mm)
