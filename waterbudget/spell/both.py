"""Water moved and draws rationed at once in a spell: what the draws keep, the rule for moving, and the plans."""

from dataclasses import replace

from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.foreseen import Foreseen
from waterbudget.spell.moving import move_water
from waterbudget.spell.rationing import GAIN, LIKE, SHARES, Rationing, shared
from waterbudget.units import Array


def move_and_ration(site: Site, eve: Eve, ky: Array, foreseen: Foreseen, harm: float) -> Rationing | None:
    """The largest share that does as little harm as any with a rule of its own; None where both save too little.

    harm: yield at risk of the best plan with either alone, or without.
    """
    move, both = foreseen.move, foreseen.both
    if move is None or both is None or harm - both.yield_at_risk < GAIN:
        return None
    at_best = replace(foreseen, move=move._replace(best=both))
    tried = {share: move_water(*shared(site, eve, share), ky, at_best, harm) for share in SHARES}
    helping = {share: moving for share, moving in tried.items() if moving is not None}
    if not helping:
        return None
    least = min(moving.found.least_harm for moving in helping.values())
    share = max(share for share, moving in helping.items() if moving.found.least_harm <= least + LIKE)
    moving = helping[share]
    return Rationing(share, moving.site, moving.eve, moving.found)
