"""What a jet, dripper or hole gives at a pressure head; every array broadcasts."""

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import Array

M_PER_BAR = 10.197  # metres of water of 1000 kg/m3 at standard gravity


def jet_flow(pressure_m: Array, k: Array, x: Array, opening: Array) -> Array:
    """Flow of a jet [m3/s]: q = o k h^x; nothing at or below zero pressure, as air enters there and no water.

    pressure_m: head h above the jet [m]. k [m3/s per m^x], x [-] above zero: law of the jet. opening o: 0 shut to 1.
    Source: emitter equation, as in Keller and Bliesner 1990, Sprinkle and Trickle Irrigation (from memory).
    """
    return opening * k * np.maximum(pressure_m, 0.0) ** x


def jet_pressure(flow_m3_s: Array, k: Array, x: Array, opening: Array) -> Array:
    """Pressure head [m] at which an open jet gives a flow not below zero: `jet_flow` turned round."""
    return (flow_m3_s / (opening * k)) ** (1.0 / x)


def orifice_k(diameter_m: Array, cd: Array, g_m_s2: Array) -> Array:
    """Coefficient k [m3/s per m^0.5] of a round hole, for x = 0.5: k = Cd A sqrt(2g).

    cd: discharge coefficient [-], 0.62 for a sharp edge, 0.80 for a short tube. Source: orifice equation;
    Encyclopaedia Britannica, 11th ed., Hydraulics (0.97 x 0.64 = 0.62).
    """
    return cd * np.pi / 4.0 * diameter_m**2 * np.sqrt(2.0 * g_m_s2)


def rated_k(flow_m3_s: Array, pressure_m: Array, x: Array) -> Array:
    """Coefficient k [m3/s per m^x] of a jet from its rated flow at a pressure head, M_PER_BAR for "at 1 bar"."""
    return flow_m3_s / pressure_m**x


def exponent(flow_1_m3_s: Array, pressure_1_m: Array, flow_2_m3_s: Array, pressure_2_m: Array) -> Array:
    """Exponent x [-] of a jet from two tests: about 0.5 for a spray jet, 1 in laminar flow, below 0.1 if compensating.

    Raises RangeError unless all are above zero and the pressures differ. Source: ratio of the law at both tests.
    """
    measured = (flow_1_m3_s, pressure_1_m, flow_2_m3_s, pressure_2_m)
    if not all(np.all(np.asarray(value) > 0.0) for value in measured) or np.any(pressure_1_m == pressure_2_m):
        raise RangeError("two tests of a jet need flows and pressures above zero, at two pressures")
    return np.log(flow_1_m3_s / flow_2_m3_s) / np.log(pressure_1_m / pressure_2_m)
