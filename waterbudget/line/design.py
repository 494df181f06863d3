"""Questions asked of a zone: how many jets it feeds, how long it runs, and how to even out its beds."""

from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.line.layout import Line, even_jets
from waterbudget.line.solve import ACCEPTED_M, Flow, solve
from waterbudget.units import L_PER_MM_M2, MIN_PER_HOUR, Array, IntArray

MOST_ROUNDS = 200
EVEN_ENOUGH = 1e-6  # of the depth
MOST_TURN = 2.0  # by how much one round opens or shuts a bed's jets at most


class JetsThatFit(NamedTuple):
    """The most jets that all keep their working pressure, and how many more than are open now; (scenario,)."""

    most: IntArray
    more: IntArray


class Evened(NamedTuple):
    """Opening of the jets of each bed (scenario, bed), and the flow that they make."""

    opening: Array
    flow: Flow


def jets_that_fit(line: Line, working_m: float, *, rule: Literal["opened", "respaced"], most: int = 100) -> JetsThatFit:
    """How many jets a zone can feed before the first falls below its working pressure [m].

    rule "opened": of the places on the pipe, counted along it from the tee, the first ones are open, as far as they
    are now or fully if now shut; every place may be used. "respaced": one to `most` jets at even spacing on the same
    pipe, all like the one at the first place; heights follow the tee and the present jets in straight lines.
    Where even the greatest number fits, that number is the answer.
    """
    zones = line.tee_m.size
    counts = np.arange(1, (line.jet_m.shape[1] if rule == "opened" else most) + 1)
    candidates = line.take(np.repeat(np.arange(zones), counts.size))
    tried = (_opened if rule == "opened" else _respaced)(candidates, np.tile(counts, zones))
    flow = solve(tried)
    least_m = np.min(np.where(tried.is_open, flow.pressure_m, np.inf), axis=1).reshape(zones, counts.size)
    fitting = np.sum(np.cumprod(least_m >= working_m - ACCEPTED_M, axis=1), axis=1)
    return JetsThatFit(fitting, fitting - np.sum(line.is_open, axis=1))


def _opened(line: Line, counts: IntArray) -> Line:
    first_ones = np.arange(1, line.jet_m.shape[1] + 1) <= counts[:, np.newaxis]
    return replace(line, opening=np.where(first_ones, np.where(line.is_open, line.opening, 1.0), 0.0))


def _respaced(line: Line, counts: IntArray) -> Line:
    even = even_jets(counts, line.length_m, ring=line.ring)
    known_m = np.column_stack([np.zeros_like(line.tee_m), line.jet_m, line.length_m])
    heights_m = np.column_stack([line.tee_m, line.height_m, line.tee_m if line.ring else line.height_m[:, -1]])
    first = line.opening[:, :1]
    return replace(
        line,
        jet_m=even.jet_m,
        height_m=np.stack([np.interp(*places) for places in zip(even.jet_m, known_m, heights_m, strict=True)]),
        k=np.broadcast_to(line.k[:, :1], even.jet_m.shape),
        x=np.broadcast_to(line.x[:, :1], even.jet_m.shape),
        opening=even.there * np.where(first > 0.0, first, 1.0),
        barb_m=even.there * line.barb_m[:, :1],
    )


def minutes_for_depth(depth_mm: Array, area_m2: Array, flow_l_h: Array, efficiency: Array) -> Array:
    """Minutes that a flow [L/h] takes to water an area to a depth; efficiency: share that reaches the roots [-]."""
    return MIN_PER_HOUR * depth_mm * area_m2 * L_PER_MM_M2 / (flow_l_h * efficiency)


def opening_that_evens(line: Line, bed_of_jet: IntArray, area_m2: Array) -> Evened:
    """How far to open the jets of each bed so that all beds get the same depth, at least one bed fully open.

    bed_of_jet: number of each jet's bed from 0 on (jet,). area_m2: (bed,). Shut jets stay shut, the others of a bed
    are all opened alike. An opening is a share of the jet's flow, not of its turns: set it by catching the jet's
    water. Raises RangeError where no opening does it, as when a bed lies too high.
    """
    in_bed = (np.asarray(bed_of_jet) == np.arange(area_m2.size)[:, np.newaxis]).astype(np.float64)
    opening = np.ones((line.tee_m.size, area_m2.size))
    for _ in range(MOST_ROUNDS):
        flow = solve(replace(line, opening=np.where(line.is_open, opening[:, bed_of_jet], 0.0)))
        depth = flow.jets_m3_s @ in_bed.T / area_m2
        mean = np.mean(depth, axis=1, keepdims=True)
        if np.all(np.abs(depth - mean) <= EVEN_ENOUGH * mean) and np.all(mean > 0.0):
            return Evened(opening, flow)
        wanted = np.divide(mean, depth, out=np.full_like(depth, MOST_TURN), where=depth > 0.0)
        opening = opening * np.clip(wanted, 1.0 / MOST_TURN, MOST_TURN)
        opening = opening / np.max(opening, axis=1, keepdims=True)
    raise RangeError("no opening gives all beds of the zone the same depth: the highest or farthest gets too little")
