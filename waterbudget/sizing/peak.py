"""The sequent peak: the least store that never runs short, were it full at first and drawn from after the rain."""

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import Array


def sequent_peak(inflow_l: Array, demand_l: Array, *, rounds: int = 2) -> Array:
    """What is missing from a full store after each day, K(t) = max(0, K(t-1) + D - Q), from K(0) = 0.

    inflow_l Q, demand_l D: one shape, days first. The record is run through `rounds` times, twice where a dry spell
    may go on from its end to its beginning; returns all the rounds, one after the other. The largest K is the capacity.
    Raises RangeError where the shapes differ or rounds is below 1. Source: Thomas & Burden 1963, as credited in a
    manual; the formula is the standard one.
    """
    if inflow_l.shape != demand_l.shape or rounds < 1:
        shapes = f"inflow {inflow_l.shape}, demand {demand_l.shape}"
        raise RangeError(f"{shapes}, {rounds} rounds: give both one shape, and 1 round or more")
    missing_l = np.zeros(inflow_l.shape[1:])
    course = []
    for lacks_l in np.concatenate([demand_l - inflow_l] * rounds):
        missing_l = np.maximum(0.0, missing_l + lacks_l)
        course.append(missing_l)
    return np.array(course)


def no_shortage_l(inflow_l: Array, demand_l: Array, *, rounds: int = 2) -> float | None:
    """The capacity [L] of the sequent peak, the largest of all strings; None where more is asked than comes in.

    inflow_l, demand_l: (day, string). rounds: as for `sequent_peak`.
    """
    if rounds > 1 and (demand_l.sum(axis=0) > inflow_l.sum(axis=0)).any():
        return None
    return float(sequent_peak(inflow_l, demand_l, rounds=rounds).max())
