"""The curve of a small pump: head against flow; arrays (scenario,)."""

from typing import NamedTuple

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import Array


class Pump(NamedTuple):
    """H = H0 - r Q^n: shutoff head H0 [m], droop r [m per (m3/s)^n], exponent n [-]; H0 = r = 0 is no pump at all."""

    shutoff_m: Array
    droop: Array
    exponent: Array


class Lift(NamedTuple):
    """Head that the pump adds [m], and its slope against the flow [s/m2], never above zero."""

    head_m: Array
    slope_s_m2: Array


NO_PUMP = Pump(np.zeros(1), np.zeros(1), np.full(1, 2.0))


def pump_from_nameplate(shutoff_m: Array, greatest_m3_s: Array) -> Pump:
    """The parabola through shutoff head [m] and greatest flow at no head [m3/s], as a nameplate gives them.

    Raises RangeError unless both are above zero. Source: common practice, H = H0 (1 - (Q/Qm)^2).
    """
    shutoff_m, greatest_m3_s = _above_zero(shutoff_m, "shutoff head"), _above_zero(greatest_m3_s, "greatest flow")
    return Pump(shutoff_m, shutoff_m / greatest_m3_s**2, np.full_like(shutoff_m, 2.0))


def pump_from_duty_point(flow_m3_s: Array, head_m: Array) -> Pump:
    """The parabola through one duty point: shutoff at 4/3 of its head, no head at twice its flow.

    Raises RangeError unless both are above zero. Source: EPANET 2.2 user manual, single-point pump curve.
    """
    head_m, flow_m3_s = _above_zero(head_m, "head"), _above_zero(flow_m3_s, "flow")
    return pump_from_nameplate(4.0 / 3.0 * head_m, 2.0 * flow_m3_s)


def pump_from_three_points(
    shutoff_m: Array, flow_1_m3_s: Array, head_1_m: Array, flow_2_m3_s: Array, head_2_m: Array
) -> Pump:
    """The curve H0 - r Q^n through shutoff and two more points.

    Raises RangeError unless the curve falls strictly. Source: EPANET 2.2 user manual, three-point pump curve.
    """
    check_falling(
        np.stack(np.broadcast_arrays(0.0, flow_1_m3_s, flow_2_m3_s), axis=-1),
        np.stack(np.broadcast_arrays(shutoff_m, head_1_m, head_2_m), axis=-1),
    )
    n = np.log((shutoff_m - head_2_m) / (shutoff_m - head_1_m)) / np.log(flow_2_m3_s / flow_1_m3_s)
    return Pump(shutoff_m, (shutoff_m - head_1_m) / flow_1_m3_s**n, n)


def check_falling(flow_m3_s: Array, head_m: Array) -> None:
    """Raise RangeError unless the head falls strictly as the flow grows along the last axis, down to zero at least."""
    if not (np.all(np.diff(flow_m3_s) > 0.0) and np.all(np.diff(head_m) < 0.0) and np.all(head_m >= 0.0)):
        points = ", ".join(f"{head:g} m" for head in np.ravel(head_m))
        raise RangeError(f"a pump's head must fall from point to point as its flow grows, and not below 0: {points}")


def pump_head(flow_m3_s: Array, pump: Pump, *, free_spinning: bool) -> Lift:
    """Head of the pump at a flow not below zero.

    Beyond the end of its curve the pump brakes, by its own curve below zero; a free_spinning one neither lifts nor
    brakes there. Source: EPANET 2.2 user manual, power function of a pump.
    """
    drooped_m = pump.droop * flow_m3_s**pump.exponent
    at_rest = flow_m3_s == 0.0
    slope_s_m2 = -pump.exponent * drooped_m / np.where(at_rest, 1.0, flow_m3_s)
    head_m = pump.shutoff_m - drooped_m
    if free_spinning:
        return Lift(np.maximum(head_m, 0.0), np.where(head_m > 0.0, slope_s_m2, 0.0))
    return Lift(head_m, slope_s_m2)


def curve_end(pump: Pump) -> Array:
    """Flow at which the pump's head is used up [m3/s]; without a pump, and so without an end, infinite."""
    has_pump = pump.droop > 0.0
    ratio = np.divide(pump.shutoff_m, pump.droop, out=np.full_like(pump.droop, np.inf), where=has_pump)
    return ratio ** (1.0 / pump.exponent)


def _above_zero(quantity: Array, name: str) -> Array:
    quantity = np.asarray(quantity, dtype=np.float64)
    if not np.all(quantity > 0.0):
        raise RangeError(f"a pump's {name} must be above 0, not {quantity}")
    return quantity
