"""What the beds make of a day's water: stress, evaporation, use, drainage. xp: numpy or jax.numpy."""

from waterbudget.physics.soil import evening, ks, within_reach
from waterbudget.physics.surface import (
    MULCH_TAKES,
    dried_depletion,
    exposed_share,
    kc_max,
    ke,
    kr,
    wetted_depletion,
    wetting,
    within_layer,
)
from waterbudget.schedule.course import Ground
from waterbudget.schedule.garden import Beds, Garden
from waterbudget.schedule.today import Today
from waterbudget.simulate.books import BedBook
from waterbudget.simulate.state import State, Surface
from waterbudget.units import Array, Namespace


def soak(
    xp: Namespace, garden: Garden, today: Today, state: State, depletion_mm: Array, irrigation_mm: Array
) -> tuple[BedBook, Surface | None]:
    """The root zones, and the surface in the evening; depletion_mm: at the start of the day, after the handover."""
    rewetted_mm = depletion_mm - (today.rain_mm + irrigation_mm)
    reach_mm = within_reach(xp, today.taw_mm, rewetted_mm)
    ks_now = ks(xp, today.taw_mm, today.raw_mm, depletion_mm)
    if state.surface is None or today.ground is None:
        surface, ke_now, e_mm = None, None, None
        eta_mm = xp.minimum(ks_now * today.demand_mm, reach_mm)
    else:
        surface, ke_now, e_mm = evaporate(xp, garden.beds, today, today.ground, state.surface, irrigation_mm, reach_mm)
        eta_mm = e_mm + xp.minimum(ks_now * today.demand_mm, reach_mm - e_mm)
    now = evening(xp, rewetted_mm, eta_mm)
    de_mm = None if surface is None else surface.depletion_mm
    book = BedBook(
        ks_now, eta_mm, irrigation_mm, now.drained_mm, state.depletion_mm, now.depletion_mm, ke_now, e_mm, de_mm
    )
    return book, surface


def evaporate(
    xp: Namespace,
    beds: Beds,
    today: Today,
    ground: Ground,
    before: Surface,
    irrigation_mm: Array,
    reach_mm: Array,
) -> tuple[Surface, Array, Array]:
    """The top layer, wetted by the day's water, then dried by the air: its evening, Ke, and what evaporated [mm]."""
    wetted = wetting(xp, before.wetting, ground.falls_mm, irrigation_mm, beds.wetted_fraction)
    wet_share = wetted.wetted * xp.minimum(beds.opening, 1.0)
    wet_mm = wetted_depletion(xp, before.depletion_mm, ground.falls_mm, irrigation_mm, wet_share)
    few = exposed_share(xp, ground.cover, wet_share, beds.hidden)
    most = kc_max(xp, wetted.top, ground.climate, today.kc)
    as_wet = ke(xp, kr(xp, beds.tew_mm, beds.rew_mm, wet_mm), most, today.kc, few)
    under_mulch = as_wet * (1.0 - MULCH_TAKES * beds.mulch_cover)
    ke_now = within_layer(xp, under_mulch, today.e0_mm, few * (beds.tew_mm - wet_mm))
    e_mm = xp.minimum(ke_now * today.e0_mm, reach_mm)
    return Surface(dried_depletion(xp, wet_mm, e_mm, few, beds.tew_mm), wetted), ke_now, e_mm
