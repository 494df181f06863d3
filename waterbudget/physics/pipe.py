"""Head lost by water in a round pipe, and the slope of that loss against the flow.

Heads in metres of water, flows in m3/s with a sign. Every array broadcasts.
"""

from typing import NamedTuple

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import Array

G_M_S2 = 9.81
LAMINAR_RE, TURBULENT_RE = 2000.0, 4000.0
H_W_LINEAR_M3_S = 1e-8  # 0.04 L/h; below it Hazen-Williams goes on in a straight line, as its slope at rest is zero

_WATER_C = np.array([5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
_NU_M2_S = np.array([1.519e-6, 1.307e-6, 1.139e-6, 1.004e-6, 0.893e-6, 0.801e-6, 0.724e-6])


class Loss(NamedTuple):
    """Head lost in the direction of the flow [m], with the flow's sign, and its slope against the flow [s/m2]."""

    head_m: Array
    slope_s_m2: Array


class Friction(NamedTuple):
    """Darcy friction factor f [-], and Re df/dRe [-]."""

    f: Array
    re_slope: Array


def viscosity_m2_s(water_c: Array) -> Array:
    """Kinematic viscosity of water [m2/s] at 5 to 35 degrees C; any shape.

    Raises RangeError outside. Source: table every 5 degrees from memory, its logarithm interpolated.
    """
    coldest, warmest = _WATER_C[0], _WATER_C[-1]
    if not np.all((water_c >= coldest) & (water_c <= warmest)):
        raise RangeError(f"water of {coldest:g} to {warmest:g} °C is covered, not {water_c}")
    nu_m2_s: Array = np.exp(np.interp(water_c, _WATER_C, np.log(_NU_M2_S)))
    return nu_m2_s


def velocity_m_s(flow_m3_s: Array, bore_m: Array) -> Array:
    """Mean velocity [m/s]. Source: continuity."""
    return flow_m3_s / (np.pi / 4.0 * bore_m**2)


def reynolds(flow_m3_s: Array, bore_m: Array, nu_m2_s: Array) -> Array:
    """Reynolds number Re [-] of a flow in either direction. Source: definition, Re = V D / nu."""
    return 4.0 * np.abs(flow_m3_s) / (np.pi * bore_m * nu_m2_s)


def friction(re: Array, relative_roughness: Array) -> Friction:
    """Darcy friction factor at a Reynolds number above zero; relative_roughness: height of the roughness over bore [-].

    Laminar 64/Re below 2000, Swamee-Jain above 4000, Dunlop's cubic between them, which joins both.
    Source: EPANET 2.2 user manual, Analysis algorithms; Swamee and Jain 1976; Dunlop 1991.
    """
    rough = relative_roughness / 3.7
    smooth = 5.74 / np.maximum(re, TURBULENT_RE) ** 0.9
    log = np.log10(rough + smooth)
    turbulent = 0.25 / log**2
    turbulent_slope = 1.8 / np.log(10.0) * turbulent / log * smooth / (rough + smooth)

    y2 = rough + 5.74 / TURBULENT_RE**0.9
    y3 = -0.86859 * np.log(y2)
    fa = y3**-2
    fb = fa * (2.0 - 0.00514215 / (y2 * y3))
    x1 = 7.0 * fa - fb
    x2 = 0.128 - 17.0 * fa + 2.5 * fb
    x3 = -0.128 + 13.0 * fa - 2.0 * fb
    x4 = 0.032 - 3.0 * fa + 0.5 * fb
    r = re / LAMINAR_RE
    between = x1 + r * (x2 + r * (x3 + r * x4))
    between_slope = r * (x2 + r * (2.0 * x3 + r * 3.0 * x4))

    laminar = 64.0 / re
    is_laminar, is_turbulent = re < LAMINAR_RE, re > TURBULENT_RE
    return Friction(
        np.where(is_laminar, laminar, np.where(is_turbulent, turbulent, between)),
        np.where(is_laminar, -laminar, np.where(is_turbulent, turbulent_slope, between_slope)),
    )


def darcy_weisbach(
    flow_m3_s: Array, length_m: Array, bore_m: Array, roughness_m: Array, nu_m2_s: Array, g_m_s2: Array
) -> Loss:
    """Friction loss of a full pipe, h = f L/D V2/2g, with the friction factor of `friction`.

    Source: Darcy-Weisbach and Hagen-Poiseuille as in the EPANET 2.2 user manual, Analysis algorithms.
    """
    # Below Re 1 the loss is a straight line through zero whatever Re, so that water at rest divides nothing by zero.
    re = np.maximum(reynolds(flow_m3_s, bore_m, nu_m2_s), 1.0)
    factor, re_slope = friction(re, roughness_m / bore_m)
    size = re * (np.pi * bore_m * nu_m2_s / 4.0)
    per_flow = 8.0 * length_m / (np.pi**2 * g_m_s2 * bore_m**5) * size
    return Loss(per_flow * factor * flow_m3_s, per_flow * (2.0 * factor + re_slope))


def hazen_williams(flow_m3_s: Array, length_m: Array, bore_m: Array, c: Array) -> Loss:
    """Friction loss of a full pipe by Hazen-Williams, SI form; c: its coefficient [-], 150 for plastic pipe.

    For turbulent water only: it is wrong in laminar flow. Source: EPANET 2.2 user manual, Analysis algorithms.
    """
    size = np.abs(flow_m3_s)
    per_flow = 10.667 * length_m / (c**1.852 * bore_m**4.871) * np.maximum(size, H_W_LINEAR_M3_S) ** 0.852
    return Loss(per_flow * flow_m3_s, per_flow * np.where(size > H_W_LINEAR_M3_S, 1.852, 1.0))


def fittings(flow_m3_s: Array, bore_m: Array, k: Array, g_m_s2: Array) -> Loss:
    """Loss of valves, elbows and filter, h = K V2/2g; k: their summed loss coefficient K [-], any flow.

    Source: EPANET 2.2 user manual, Minor losses.
    """
    per_flow = 8.0 * k / (np.pi**2 * g_m_s2 * bore_m**4) * np.abs(flow_m3_s)
    return Loss(per_flow * flow_m3_s, 2.0 * per_flow)
