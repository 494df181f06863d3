"""How close the plans of a spell come to the best there can be, and what other pipes would be worth."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from waterbudget.plan.foresight import WORTH_PER_L, Foresight, foresight
from waterbudget.plan.prospect import Prospect, prospects
from waterbudget.plan.response import weights_of
from waterbudget.plan.what_if import a_valve_for_each_bed, rationed, with_a_move
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.units import Array

SECONDS = 5.0  # for the solver, which needs hundredths of one
HARM = 1e-6  # share of the yield below which nothing is at risk


class Move(NamedTuple):
    """Water moved at will from one store to another, by their numbers, and the best there can be with it."""

    giver: int
    taker: int
    best: Foresight

    @property
    def yield_at_risk(self) -> float:
        """The least yield at risk."""
        return self.best.yield_at_risk


@dataclass(frozen=True, eq=False)
class Foreseen:
    """The best that anybody could do in a spell who knew its weather.

    best: with the garden as it is. valves: least yield at risk with a valve for each bed, nan where time ran out.
    move: what moving water would be worth, from the store where a litre is worth least to that where it is worth most;
    None where it is worth nothing. fewer: with the draws that may get less rationed at will; None where there are none.
    both: with water moved and draws rationed; None where either is.
    """

    prospect: Prospect
    best: Foresight
    valves: float
    move: Move | None = None
    fewer: Foresight | None = None
    both: Foresight | None = None

    @property
    def rationed(self) -> float | None:
        """The least yield at risk with the draws that may get less rationed; None where there are none."""
        return None if self.fewer is None else self.fewer.yield_at_risk

    @property
    def room_l(self) -> Array:
        """Litres that would still fit into each store on the eve, (tank,)."""
        stores = self.prospect.stores
        room_l: Array = stores.capacity_l - stores.level_l
        return room_l


def foresee(site: Site, eve: Eve, ky: Array) -> Foreseen:
    """The best there can be in a spell. ky: the response of each bed's yield, (day, bed)."""
    (prospect,) = prospects(eve.garden, eve.season, eve.sky, eve.state, ky, weights_of(site))
    best = foresight(prospect, seconds=SECONDS)
    if not best.is_proven:
        return Foreseen(prospect, best, math.nan)
    if best.yield_at_risk < HARM:
        return Foreseen(prospect, best, best.yield_at_risk)
    valves = foresight(a_valve_for_each_bed(prospect), seconds=SECONDS).yield_at_risk
    fewer = tuple(number for number, draw in enumerate(site.draw) if draw.may_ration)
    with_less = foresight(rationed(prospect, fewer), seconds=SECONDS) if fewer else None
    way = _way(best)
    move = None if way is None else Move(*way, _moving(prospect, way))
    both = _moving(rationed(prospect, fewer), way) if fewer and way is not None else None
    return Foreseen(prospect, best, valves, move, with_less, both)


def _way(best: Foresight) -> tuple[int, int] | None:
    giver, taker = int(np.argmin(best.worth_per_l)), int(np.argmax(best.worth_per_l))
    return None if best.worth_per_l[taker] - best.worth_per_l[giver] < WORTH_PER_L else (giver, taker)


def _moving(prospect: Prospect, way: tuple[int, int]) -> Foresight:
    moved = with_a_move(prospect, *way, float(prospect.stores.capacity_l[way[1]]))
    return foresight(moved, seconds=SECONDS)
