"""How a crop's coefficient and roots change from the day it is planted (FAO-56)."""

import numpy as np

from waterbudget.units import Array


def kc_curve(day: Array, stage_days: Array, kc: Array) -> Array:
    """Crop coefficient Kc [-] on a day of the planting, 1 on the planting day.

    day: any shape. stage_days: (..., 4) lengths of the initial, development, mid and late stage. kc: (..., 3) initial,
    mid and end value; both broadcast to day's shape before their last axis. Flat in the initial and mid stage, linear
    in between and on to the end value on the last day. A stage of no days is a step. Source: FAO-56 Eq. 66, p. 132.
    """
    initial, development, mid, late = np.moveaxis(stage_days, -1, 0)
    kc_ini, kc_mid, kc_end = np.moveaxis(kc, -1, 0)
    rise = _progress(day - initial, development)
    fall = _progress(day - initial - development - mid, late)
    kc_now: Array = kc_ini + rise * (kc_mid - kc_ini) + fall * (kc_end - kc_mid)
    return kc_now


def _progress(days_in: Array, length_days: Array) -> Array:
    """Share of a stage that is over, from 0 before it to 1 at its end."""
    over: Array = np.clip(days_in / np.maximum(length_days, 1.0), 0.0, 1.0)
    return np.where(length_days > 0.0, over, np.where(days_in > 0.0, 1.0, 0.0))


def root_depth(day: Array, days_to_full: Array, root_start_m: Array, root_full_m: Array) -> Array:
    """Root depth Zr [m] on a day of the planting; every array broadcasts to day's shape.

    Grows in a straight line to root_full_m at the end of the development stage. Source: FAO-56 Eq. 8-3, p. 279.
    """
    grown = np.minimum(day / np.maximum(days_to_full, 1), 1.0)
    return root_start_m + (root_full_m - root_start_m) * grown


def climate_kc(wind_m_s: float, rh_min_pct: float, height_m: Array) -> Array:
    """What climate adds to a crop coefficient of 0.45 or more [-], by the mean height of the crop [m].

    wind_m_s: at 2 m; rh_min_pct: mean of the days' lowest humidity. Source: FAO-56 Eq. 62, 70 and 72.
    """
    more: Array = (0.04 * (wind_m_s - 2.0) - 0.004 * (rh_min_pct - 45.0)) * (height_m / 3.0) ** 0.3
    return more


def exposed_kc_mid(height_m: float, width_m: float) -> float:
    """Kc mid of a stand taller or freer than all around it [-]; width_m: across the row.

    Source: FAO-56 Eq. 105 with a stomatal factor of 1, p. 202.
    """
    return min(1.2 + height_m / width_m, 2.5)


def height(day: Array, k: Array, k_mid: float, days_grown: float, height_m: float) -> Array:
    """Height of a crop [m] on a day of the planting: as its coefficient up to the mid stage, then in full.

    k: the coefficient of the day, k_mid of the mid stage. days_grown: until the mid stage. Source: FAO-56 p. 277.
    """
    grows = (day <= days_grown) & (k_mid > 0.0)
    share = np.minimum(k / (k_mid if k_mid > 0.0 else 1.0), 1.0)
    return np.where(grows, height_m * share, height_m)


def cover_fraction(kcb: Array, climate: Array, height_m: Array) -> Array:
    """Share fc of the ground that the leaves cover [-]; climate: as of climate_kc. Source: FAO-56 Eq. 76."""
    dense = np.maximum(1.2 + climate, kcb + 0.05)
    grown = np.maximum(0.01, kcb - 0.15) / (dense - 0.15)
    return np.minimum(0.99, grown ** (1.0 + 0.5 * height_m))
