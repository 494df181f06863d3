"""Newton on the whole zone at once: quick and nearly always right. Its user checks, and has `march` to fall back on.

Every piece of pipe, every jet and the source are replaced by straight lines at their present flows. What lies from a
jet onwards then draws a + b H + c Ht, H the head at that jet and Ht the one at the tee, so one sweep up the pipe and
one down solve the zone.
Source: global gradient method of the EPANET 2.2 user manual (Todini and Pilati 1988), its band matrix eliminated.
"""

from typing import NamedTuple

import numpy as np

from waterbudget.line.layout import Line
from waterbudget.line.streams import Streams, flow_along
from waterbudget.physics.jet import jet_flow, jet_pressure
from waterbudget.units import Array

SOFT_M = 1e-8  # below this pressure a jet's law goes on in a straight line to zero, as its own slope has no end there
SETTLED = 1e-9  # change of a jet's flow over the flow of the zone; the digits double at each step


class _Heads(NamedTuple):
    """Heads at the jets, rest_m + per_tee Ht (jet, scenario), and the first piece's flow, draw + draw_slope Ht."""

    rest_m: Array
    per_tee: Array
    draw: Array
    draw_slope: Array


def newton(line: Line, steps: int) -> Streams:
    """Flows of zones in which water flows, after so many of Newton's steps at most, and unchecked."""
    per_jet = (line.height_m, line.k, line.x, line.opening, line.segment_m)
    height_m, k, x, opening, segment_m = (np.ascontiguousarray(values.T) for values in per_jet)
    openable = np.where(opening > 0.0, opening, 1.0)
    soft = jet_flow(np.array(SOFT_M), k, x, opening)
    per_soft = SOFT_M / np.where(soft > 0.0, soft, 1.0)
    jets = jet_flow((line.source_m + line.pump.shutoff_m - height_m) / 2.0, k, x, opening)
    total = np.sum(jets, axis=0)
    first = total / 2.0 if line.ring else total
    for _ in range(steps):
        curved = jets > soft
        pressure_m = np.where(curved, jet_pressure(jets, k, x, openable), jets * per_soft)
        slope = np.where(curved, x * jets / np.where(curved, pressure_m, 1.0), soft / SOFT_M) * (jets > 0.0)
        base = jets - slope * (height_m + pressure_m)
        flow = flow_along(first, jets, ring=line.ring)
        pipe = line.pipe_loss(flow, segment_m)
        source = line.supply(total)

        heads = _sweep(base, slope, pipe.head_m - pipe.slope_s_m2 * flow, pipe.slope_s_m2, ring=line.ring)
        fixed, per_tee = np.sum(base + slope * heads.rest_m, axis=0), np.sum(slope * heads.per_tee, axis=0)
        tee_m = (source.head_m + source.slope_s_m2 * (fixed - total)) / (1.0 - source.slope_s_m2 * per_tee)
        head_m = heads.rest_m + heads.per_tee * tee_m

        over_m = head_m - height_m
        by_law = np.where(over_m > SOFT_M, jet_flow(over_m, k, x, opening), np.maximum(over_m, 0.0) / per_soft)
        before, jets = jets, np.where(jets > 0.0, np.maximum(base + slope * head_m, 0.0), by_law * (opening > 0.0))
        total = np.sum(jets, axis=0)
        first = heads.draw + heads.draw_slope * tee_m if line.ring else total
        if np.all(np.abs(jets - before) <= SETTLED * total):
            break
    return Streams(total, first, jets.T)


def _sweep(base: Array, slope: Array, lost_m: Array, lost_slope: Array, *, ring: bool) -> _Heads:
    """Eliminate the jets, each drawing base + slope H, from pipe that loses lost_m + lost_slope Q between them."""
    # Plain floats are ten times quicker than arrays of one.
    alone = base.shape[1] == 1
    jet_base, jet_slope, lost, resist = (
        values[:, 0].tolist() if alone else values for values in (base, slope, lost_m, lost_slope)
    )
    a = b = c = 0.0
    if ring:
        a, b, c = -lost[-1] / resist[-1], 1.0 / resist[-1], -1.0 / resist[-1]
    downstream = []
    for i in reversed(range(len(jet_base))):
        a, b = a + jet_base[i], b + jet_slope[i]
        share = 1.0 / (1.0 + resist[i] * b)
        downstream.append((share, lost[i] + resist[i] * a, resist[i] * c))
        a, b, c = share * (a - b * lost[i]), share * b, share * c
    rest, per_tee = [], []
    rest_here, per_tee_here = 0.0, 1.0
    for share, fixed, of_tee in reversed(downstream):
        rest_here, per_tee_here = share * (rest_here - fixed), share * (per_tee_here - of_tee)
        rest.append(rest_here)
        per_tee.append(per_tee_here)
    shape = base.shape
    return _Heads(np.reshape(rest, shape), np.reshape(per_tee, shape), np.asarray(a), np.asarray(b + c))
