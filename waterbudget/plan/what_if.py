"""The same days in a garden with other pipes: what a valve for each bed, one large store or a pump would be worth."""

from dataclasses import replace

import numpy as np

from waterbudget.plan.prospect import Moves, Prospect
from waterbudget.simulate.books import SHORT_L
from waterbudget.units import Array

ROUNDING = 1e-9  # relative


def a_valve_for_each_bed(prospect: Prospect) -> Prospect:
    """Every bed gets a valve of its own, from the store of its zone, with the efficiency of its zone."""
    ground, takers = prospect.ground, prospect.takers
    return prospect.changed(
        ground={"zone": np.arange(len(ground.columns)), "mm_per_l": ground.aimed_mm_per_l},
        takers={"zone_tank": takers.zone_tank[ground.zone]},
    )


def one_store(prospect: Prospect) -> Prospect:
    """All stores hold their water together."""
    stores, takers = prospect.stores, prospect.takers

    def together(values: Array) -> Array:
        summed: Array = values.sum(axis=-1, keepdims=True)
        return summed

    return replace(
        prospect.changed(
            stores={
                "capacity_l": together(stores.capacity_l),
                "dead_l": together(stores.dead_l),
                "loss_l_per_day": together(stores.loss_l_per_day),
                "level_l": together(stores.level_l),
                "overflow_to": (None,),
                "caught_l": together(stores.caught_l),
                "helped": stores.helped.any(axis=-1, keepdims=True),
            },
            takers={"zone_tank": np.zeros_like(takers.zone_tank), "draw_tank": np.zeros_like(takers.draw_tank)},
        ),
        moves=Moves((), np.zeros((prospect.days, 0)), np.zeros(0)),
        drained=(0,) if prospect.drained else (),
    )


def with_a_move(prospect: Prospect, giver: int, taker: int, l_per_day: float) -> Prospect:
    """Up to so many litres a day can be moved from one store to another, on every day, besides what is moved now."""
    moves = prospect.moves
    more_l = np.full((prospect.days, 1), l_per_day)
    return replace(
        prospect,
        moves=Moves((*moves.ways, (giver, taker)), np.hstack([moves.most_l, more_l]), np.append(moves.keep_l, 0.0)),
    )


def serving_no_less(prospect: Prospect, given_l: Array) -> Prospect:
    """Other draws get on all days together at least so much, (draw,), whatever they ask for."""
    asked_l = prospect.takers.asked_l.sum(axis=0)
    least_l = np.minimum(given_l, asked_l) * (1.0 - ROUNDING)
    return prospect.changed(takers={"rations": given_l < asked_l - SHORT_L, "least_l": least_l})


def rationed(prospect: Prospect, draws: tuple[int, ...]) -> Prospect:
    """Some draws may get less than they ask for."""
    rations = prospect.takers.rations.copy()
    rations[list(draws)] = True
    return prospect.changed(takers={"rations": rations})
