"""Evaporation from the top layer of the soil: the dual crop coefficient (FAO-56 chapter 7). xp: numpy or jax.numpy."""

from typing import NamedTuple

from waterbudget.units import Array, Namespace

WETS_MM, RAIN_WETS_MM = 0.01, 3.0  # of irrigation, and of rain: less leaves the wetted share as it was (p. 149)
KC_TOP, KC_TOP_OFTEN = 1.2, 1.1  # most of Kc over a wetted surface, and where wettings follow each other soon (p. 144)
OFTEN_DAYS = 2.0  # daily or every second day
LONG_AGO_DAYS = 3.0  # a wetting so long ago is not soon
MULCH_TAKES = 0.5  # of evaporation under a whole cover: 5 % for every 10 % (p. 197)
LEAST_TOP_MORE = 0.05  # of Kcmax over Kcb (Eq. 72)
LEAVES_SHADE_DRIP = 2.0 / 3.0  # of what they cover (p. 147)


class Wetting(NamedTuple):
    """How the surface has been wetted, arrays (bed, lane).

    wetted: share of it that the last wetting wetted, fw. top: most of Kc over it but for the climate, 1.1 or 1.2.
    dry_days: days since, 1 on the day after.
    """

    wetted: Array
    top: Array
    dry_days: Array


def wetting(xp: Namespace, before: Wetting, falls_mm: Array, irrigation_mm: Array, jets_wet: Array) -> Wetting:
    """The surface after the day's water [mm]; jets_wet: share that the zone's jets wet.

    Source: FAO-56 p. 149 (fw) and p. 144 (the top value of frequent wettings).
    """
    by_jets, by_rain = irrigation_mm > WETS_MM, falls_mm >= RAIN_WETS_MM
    is_wetted = by_jets | by_rain
    often = xp.where(before.dry_days <= OFTEN_DAYS, KC_TOP_OFTEN, KC_TOP)
    return Wetting(
        wetted=xp.where(by_jets, jets_wet, xp.where(by_rain, 1.0, before.wetted)),
        top=xp.where(is_wetted, often, before.top),
        dry_days=xp.where(is_wetted, 1.0, before.dry_days + 1.0),
    )


def wetted_depletion(
    xp: Namespace, depletion_mm: Array, falls_mm: Array, irrigation_mm: Array, wet_share: Array
) -> Array:
    """Depletion of the top layer after the day's water [mm], none beyond field capacity. Source: Eq. 77 and 79."""
    return xp.maximum(depletion_mm - falls_mm - irrigation_mm / wet_share, 0.0)


def exposed_share(xp: Namespace, cover: Array, wet_share: Array, hidden: Array) -> Array:
    """Share few of the soil that is both wetted and in the sun [-]. Source: Eq. 75; hidden: p. 147, of drip lines."""
    return xp.minimum(1.0 - cover, wet_share * (1.0 - cover * hidden))


def kc_max(xp: Namespace, top: Array, climate: Array, kcb: Array) -> Array:
    """Most of the crop coefficient Kc after a wetting [-]. Source: Eq. 72."""
    return xp.maximum(top + climate, kcb + LEAST_TOP_MORE)


def kr(xp: Namespace, tew_mm: Array, rew_mm: Array, depletion_mm: Array) -> Array:
    """Evaporation reduction coefficient Kr [-], 1 down to REW and 0 at TEW. Source: Eq. 74."""
    span_mm = xp.where(tew_mm > rew_mm, tew_mm - rew_mm, 1.0)
    falling = xp.maximum((tew_mm - depletion_mm) / span_mm, 0.0)
    return xp.where(depletion_mm <= rew_mm, 1.0, falling)


def ke(xp: Namespace, kr_now: Array, kc_max_now: Array, kcb: Array, few: Array) -> Array:
    """Evaporation coefficient Ke [-] of a surface without mulch. Source: Eq. 71."""
    return xp.minimum(kr_now * (kc_max_now - kcb), few * kc_max_now)


def within_layer(xp: Namespace, ke_now: Array, e0_mm: Array, held_mm: Array) -> Array:
    """Ke [-] such that no more evaporates than the layer holds [mm]: ours."""
    most = xp.where(e0_mm > 0.0, held_mm / xp.where(e0_mm > 0.0, e0_mm, 1.0), ke_now)
    return xp.minimum(ke_now, most)


def dried_depletion(xp: Namespace, wet_mm: Array, evaporated_mm: Array, few: Array, tew_mm: Array) -> Array:
    """Depletion of the top layer in the evening [mm]; evaporated_mm of the whole bed. Source: Eq. 77."""
    return xp.minimum(wet_mm + evaporated_mm / few, tew_mm)
