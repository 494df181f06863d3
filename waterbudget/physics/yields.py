"""Yield and water: how much of a harvest a lack of water takes (FAO-33; FAO-56 Eq. 90)."""

from waterbudget.units import Array


def yield_lost(ky: Array, lack: Array) -> Array:
    """Share of the yield that is lost, 1 - Ya/Ym [-]; beyond 1 the straight line has left what it was fitted to.

    ky: yield response factor [-]. lack: share of the crop's water use that it lacked, 1 - ETa/ETc [-].
    Source: FAO-56 Eq. 90.
    """
    return ky * lack


def ks_of_yield(ky: Array, lost: Array) -> Array:
    """Mean water stress coefficient Ks over a season that lost this share of its yield [-].

    Source: FAO-56 Eq. 90 solved for Ks, as in its Example 44.
    """
    return 1.0 - lost / ky
