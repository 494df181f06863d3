"""Water moved from one store to another in a spell: the rule that helps most, and the plans that go with it."""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from waterbudget.schedule.built import garden_of
from waterbudget.simulate.state import with_last
from waterbudget.site.model import LONGEST_NAME, Site, Tank, Transfer
from waterbudget.spell.carry import Eve
from waterbudget.spell.foreseen import Foreseen
from waterbudget.spell.plain import plain_plans
from waterbudget.spell.search import LEAST_HARM, Found, search
from waterbudget.spell.trial import try_plans
from waterbudget.units import Array

GAIN = 0.02  # of the yield that moving must be able to save, to be worth the carrying: ours
BELOW = (0.25, 0.5, 0.75)  # share of the store that takes, below which it is filled
KEPT = (0.0, 0.2, 0.4, 0.6)  # share of the water on the eve that stays in the store that gives
ROUND_L = 10.0  # a can; amounts are such as somebody would choose


@dataclass(frozen=True, eq=False)
class Moving:
    """The garden with one transfer more, its eve, and the plans that were tried with it."""

    transfer: Transfer
    site: Site
    eve: Eve
    found: Found


def move_water(site: Site, eve: Eve, ky: Array, foreseen: Foreseen, harm: float) -> Moving | None:
    """The best rule for moving water where that could save enough; None where it could not, or did not.

    harm: yield at risk of the best plan without it.
    """
    move = foreseen.move
    if move is None or harm - move.yield_at_risk < GAIN or not site.zone:
        return None
    giver, taker = site.tank[move.giver], site.tank[move.taker]
    rules = [
        Transfer(
            name=_name(site, taker),
            from_tank=giver.name,
            to_tank=taker.name,
            l_per_day=taker.all_l,
            below_l=max(_in_cans(share * taker.all_l), ROUND_L),
            keep_l=_in_cans(kept * float(eve.level_l[move.giver])),
        )
        for share, kept in product(BELOW, KEPT)
    ]
    best = _best_rule(site, eve, ky, rules, move.best.zone_l)
    moved_site = _with_transfer(site, best)
    moved_eve = replace(eve, garden=garden_of(moved_site))
    found = search(moved_site, moved_eve, ky, move.best.zone_l, (LEAST_HARM,))
    return Moving(best, moved_site, moved_eve, found) if harm - found.least_harm >= GAIN else None


def _best_rule(site: Site, eve: Eve, ky: Array, rules: list[Transfer], litres: Array | None) -> Transfer:
    """The rule that does best under plain plans: alike in all zones, or with the litres of foresight, (zone,)."""
    moved_site = _with_transfer(site, rules[0])
    moved_eve = replace(eve, garden=garden_of(moved_site))
    plans = plain_plans(moved_site, moved_eve, litres)
    numbers = np.repeat(np.arange(len(rules)), len(plans))
    changes = {
        name: with_last(
            getattr(moved_eve.garden.transfers, name), np.array([getattr(rules[number], name) for number in numbers])
        )
        for name in ("below_l", "keep_l")
    }
    side_by_side = replace(moved_eve, garden=moved_eve.garden.changed(transfers=changes))
    trial = try_plans(moved_site, side_by_side, plans * len(rules), ky)
    lasting = np.all(trial.tank_lasts[:, trial.tank_lasts[0]], axis=1)
    return rules[int(numbers[np.argmin(np.where(lasting, trial.harm, np.inf))])]


def _with_transfer(site: Site, transfer: Transfer) -> Site:
    return site.model_copy(update={"transfer": [*site.transfer, transfer]})


def _name(site: Site, taker: Tank) -> str:
    names, number = {one.name for one in site.transfer}, 1
    while (name := f"Move {number} to {taker.name}"[:LONGEST_NAME]) in names:
        number += 1
    return name


def _in_cans(litres: float) -> float:
    return round(litres / ROUND_L) * ROUND_L
