"""Draws that may get less in a spell: what share of their water they keep, and the plans that go with it."""

from dataclasses import dataclass, replace

import numpy as np

from waterbudget.plan.foresight import Foresight
from waterbudget.schedule.built import garden_of
from waterbudget.site.model import Draw, Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.plain import plain_plans
from waterbudget.spell.search import LEAST_HARM, Found, search
from waterbudget.spell.trial import try_plans
from waterbudget.units import Array

GAIN = 0.02  # of the yield that rationing must be able to save, to be worth the going without: ours
LIKE = 0.005  # of the yield: where shares are so near each other draws keep the larger
SHARES = (0.0, 1 / 4, 1 / 2, 3 / 4)  # of what a draw takes, as somebody would pour it


@dataclass(frozen=True, eq=False)
class Rationing:
    """The garden with less for the draws that may get less, its eve, and the plans that were tried so.

    share: of their litres that these draws keep.
    """

    share: float
    site: Site
    eve: Eve
    found: Found


def fewer_litres(site: Site) -> list[Draw]:
    """The draws that may get less than they ask for."""
    return [draw for draw in site.draw if draw.may_ration]


def ration_draws(site: Site, eve: Eve, ky: Array, fewer: Foresight | None, harm: float) -> Rationing | None:
    """The largest share that does as little harm as any, where rationing could save enough; None where it could not.

    fewer: the best there can be with these draws rationed at will. harm: yield at risk of the best plan without that.
    """
    if fewer is None or harm - fewer.yield_at_risk < GAIN or not site.zone:
        return None
    litres = fewer.zone_l
    with_less = {share: shared(site, eve, share) for share in SHARES}
    least = {share: _least_harm(*with_less[share], ky, litres) for share in SHARES}
    share = max(share for share in SHARES if least[share] <= min(least.values()) + LIKE)
    less_site, less_eve = with_less[share]
    found = search(less_site, less_eve, ky, litres, (LEAST_HARM,))
    return Rationing(share, less_site, less_eve, found) if harm - found.least_harm >= GAIN else None


def shared(site: Site, eve: Eve, share: float) -> tuple[Site, Eve]:
    """The site, and the eve with its garden, with so much of their litres for the draws that may get less."""
    draws = [
        draw.model_copy(update={"l_per_day": share * draw.l_per_day}) if draw.may_ration else draw for draw in site.draw
    ]
    less_site = site.model_copy(update={"draw": draws})
    return less_site, replace(eve, garden=garden_of(less_site))


def _least_harm(site: Site, eve: Eve, ky: Array, litres: Array | None) -> float:
    """Of the plain plans with which every store lasts that can."""
    trial = try_plans(site, eve, plain_plans(site, eve, litres), ky)
    lasting = np.all(trial.tank_lasts[:, trial.tank_lasts[0]], axis=1)
    return float(trial.harm[lasting].min())
