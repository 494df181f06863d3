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
