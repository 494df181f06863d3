"""What becomes of the water in one store in one day; rows (lane,). xp: numpy or jax.numpy."""

from collections.abc import Sequence
from functools import reduce
from operator import add
from typing import Any, NamedTuple

from waterbudget.units import Array, Namespace, Values

LEAST_L = 2.0**-1022  # the smallest number that no engine takes for 0: what is divided by, where nobody wants anything


class Evening(NamedTuple):
    """Litres: stored + inflow = drawn + spilled + lost + level."""

    spilled_l: Array
    lost_l: Values
    level_l: Array


def let_in(xp: Namespace, level_l: Array, float_below_l: Array, float_to_l: Array) -> Array:
    """Mains water through a float valve [L]: below float_below_l it fills the store up to float_to_l."""
    return xp.where(level_l < float_below_l, float_to_l - level_l, 0.0)


def within_reach(xp: Namespace, offered_l: Array, dead_l: Array) -> Array:
    """What can be drawn of the water offered [L]: all that stands above the outlet."""
    return xp.maximum(offered_l - dead_l, 0.0)


class Served(NamedTuple):
    """What the takers of a rank are given [L], shaped as what they want; all they want, and what is left, (lane,)."""

    given_l: Array
    wanted_l: Array
    left_l: Array


def share_out(xp: Namespace, wanted_l: Array, left_l: Array) -> Served:
    """Hand out what is left [L] to the takers of one rank, in proportion to what each wants [L].

    wanted_l: (taker, lane), or (lane,) of one that has the rank for itself.
    """
    if wanted_l.ndim == 1:
        given_l = xp.minimum(wanted_l, left_l)
        return Served(given_l, wanted_l, left_l - given_l)
    all_want_l = total(wanted_l)
    served_l = xp.minimum(all_want_l, left_l)
    part = served_l / xp.maximum(all_want_l, LEAST_L)
    return Served(wanted_l * part, all_want_l, left_l - served_l)


def total(rows: Sequence[Any] | Array) -> Any:  # noqa: ANN401 - rows, or a number where there are none
    """Sum of rows one by one, so that a lane's sum never depends on its neighbours; 0 of none."""
    return reduce(add, rows) if len(rows) else 0.0


def evening(
    xp: Namespace,
    stored_l: Array,
    inflow_l: Array,
    drawn_l: Array,
    capacity_l: Array,
    loss_l_per_day: Array | None,
    *,
    before_spill: bool,
) -> Evening:
    """Fill, spill, draw and leak [L]; drawn_l is at most what was within reach.

    After-spill lets the full inflow meet the capacity before the draw, before-spill after it. loss_l_per_day: None of a
    store that loses nothing.
    Source: Jenkins et al. 1978; the leak comes last.
    """
    offered_l = stored_l + inflow_l
    if before_spill:
        rest_l = offered_l - drawn_l
        held_l = xp.minimum(rest_l, capacity_l)
        spilled_l = rest_l - held_l
    else:
        full_l = xp.minimum(offered_l, capacity_l)
        spilled_l = offered_l - full_l
        held_l = full_l - drawn_l
    if loss_l_per_day is None:
        return Evening(spilled_l, 0.0, held_l)
    lost_l = xp.minimum(held_l, loss_l_per_day)
    return Evening(spilled_l, lost_l, held_l - lost_l)


def mains_share(xp: Namespace, mains_l: Array, all_l: Array) -> Array:
    """Share of mains water in a mixture [-], 0 where there is no water. Ours: it mixes at once."""
    return xp.minimum(mains_l / xp.where(all_l > 0.0, all_l, 1.0), 1.0)
