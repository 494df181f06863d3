"""What becomes of the water in one tank in one day; arrays (scenario,) unless said otherwise."""

from collections.abc import Sequence
from functools import reduce
from typing import NamedTuple

import numpy as np

from waterbudget.units import Array

TRACE_L = float(np.finfo(np.float64).smallest_subnormal)  # dividing by it, nothing served of nothing wanted is nothing


class FloatDay(NamedTuple):
    """What the float valve let in, and the level after it."""

    mains_l: Array
    stored_l: Array


class TankDay(NamedTuple):
    """stored + inflow = drawn + spilled + lost + level."""

    spilled_l: Array
    lost_l: Array
    level_l: Array


def float_valve(stored_l: Array, float_below_l: Array, float_to_l: Array) -> FloatDay:
    """Mains water through a float valve [L]: below float_below_l it fills up to float_to_l."""
    opens = stored_l < float_below_l
    return FloatDay(np.where(opens, float_to_l - stored_l, 0.0), np.where(opens, float_to_l, stored_l))


def available(stored_l: Array, inflow_l: Array, dead_l: Array, *, before_spill: bool) -> Array:
    """Water that can be drawn today [L]: the store's own, and with before_spill also the day's inflow.

    Source: yield after and yield before spillage, Jenkins et al. 1978.
    """
    offered_l = stored_l + inflow_l if before_spill else stored_l
    return np.maximum(offered_l - dead_l, 0.0)


def share_out(asked_l: Array, available_l: Array, ranks: Sequence[Sequence[int]]) -> dict[int, Array]:
    """What each taker is given [L], (scenario,), by its column of asked_l (scenario, taker); available_l (scenario,).

    ranks: columns of asked_l by ascending priority; takers of one rank share in proportion to what they ask.
    """
    given_l: dict[int, Array] = {}
    left_l = available_l
    for rank in ranks:
        wanted_l = total(asked_l, rank)
        served_l = np.minimum(wanted_l, left_l)
        left_l = left_l - served_l
        if len(rank) == 1:
            given_l[rank[0]] = served_l
            continue
        part = served_l / np.maximum(wanted_l, TRACE_L)
        for taker in rank:
            given_l[taker] = asked_l[:, taker] * part
    return given_l


def total(litres: Array, columns: Sequence[int]) -> Array:
    """Sum of some columns of (..., scenario, item), one by one: a scenario's sum never depends on its neighbours."""
    return reduce(np.add, [litres[..., column] for column in columns]) if columns else np.zeros(litres.shape[:-1])


def tank_day(
    stored_l: Array, inflow_l: Array, drawn_l: Array, capacity_l: Array, loss_l_per_day: Array, *, before_spill: bool
) -> TankDay:
    """Fill, spill, draw and leak [L]; drawn_l is at most what `available` gave.

    After-spill lets the full inflow meet the capacity before the draw, before-spill after it.
    Source: Jenkins et al. 1978; the leak comes last.
    """
    offered_l = stored_l + inflow_l
    if before_spill:
        rest_l = offered_l - drawn_l
        held_l = np.minimum(rest_l, capacity_l)
        spilled_l = rest_l - held_l
    else:
        full_l = np.minimum(offered_l, capacity_l)
        spilled_l = offered_l - full_l
        held_l = full_l - drawn_l
    lost_l = np.minimum(held_l, loss_l_per_day)
    return TankDay(spilled_l, lost_l, held_l - lost_l)
