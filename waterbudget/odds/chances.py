"""Chances counted in a few years: the share of them, and how far off it may be for their number."""

from typing import NamedTuple

import numpy as np

from waterbudget.units import Array, IntArray

FEW_YEARS = 5  # with fewer there are counts and no chances; ours
Z = 1.959963984540054  # standard normal, 95 % within plus and minus it


class Chance(NamedTuple):
    """A share of years [-] and the ends of its 95 % interval, arrays of one shape."""

    share: Array
    low: Array
    high: Array


def wilson(share: Array | float, years: int) -> Chance:
    """The share with its 95 % interval for that many years, taken as independent and alike; never beyond 0 and 1.

    Source: Wilson 1927, Journal of the American Statistical Association 22: 209 (from memory); the formula as in
    Newcombe 1998, Statistics in Medicine 17: 857, method 3 (from memory).
    """
    share = np.asarray(share, dtype=np.float64)
    widened = 1.0 + Z**2 / years
    middle = (share + Z**2 / (2.0 * years)) / widened
    half = Z * np.sqrt(share * (1.0 - share) / years + (Z / (2.0 * years)) ** 2) / widened
    # held to what the algebra says, which rounding may miss by its last digit
    return Chance(share, np.clip(middle - half, 0.0, share), np.clip(middle + half, share, 1.0))


def on_grid(share: Array | float, years: int) -> Array:
    """The share [-] to the nearest whole year: with n years nothing finer than 1/n is known."""
    return np.floor(np.asarray(share, dtype=np.float64) * years + 0.5) / years


def not_above(x: Array | IntArray, part: int, of: int) -> Array:
    """The least value that at least `part` of `of` years do not exceed, along the last axis.

    Always a value that some year had, never one between two years.
    """
    years = x.shape[-1]
    in_order: Array = np.sort(x, axis=-1)
    return in_order[..., -(-years * part // of) - 1]
