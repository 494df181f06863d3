"""The flows of a zone, and whether they obey every law at once."""

from typing import NamedTuple

import numpy as np

from waterbudget.line.layout import Line
from waterbudget.physics.jet import jet_pressure
from waterbudget.units import Array


class Streams(NamedTuple):
    """Flows [m3/s]: through the feed and into the pipe's first piece, (scenario,), and of the jets (scenario, jet)."""

    total: Array
    first: Array
    jets: Array


class Residuals(NamedTuple):
    """By how much flows miss the laws, (scenario,): water lost or made [m3/s], heads that do not meet [m].

    head_m: the most by which a jet's head, followed from the source through the tee along the pipe, differs from what
    its flow asks for, or exceeds the height of a jet that is dry. ring_m: the same between both ends of a ring.
    """

    mass_m3_s: Array
    head_m: Array
    ring_m: Array


class Followed(NamedTuple):
    """Heads at the jets [m] and flows in the pieces of pipe [m3/s, positive away from the tee], (scenario, ...)."""

    head_m: Array
    pipe_m3_s: Array
    tee_head_m: Array
    residuals: Residuals


def flow_along(first: Array, jets: Array, *, ring: bool) -> Array:
    """Flow in each piece of pipe, away from the tee where positive; first (scenario,), jets (jet, scenario)."""
    flow = np.concatenate([first[np.newaxis], first - np.cumsum(jets, axis=0)])
    return flow if ring else flow[:-1]


def follow(line: Line, streams: Streams) -> Followed:
    """Follow the water from the source to every jet, by the laws of pump, hose and pipe alone."""
    jets = streams.jets.T
    flow = flow_along(streams.first, jets, ring=line.ring)
    tee_m = line.supply(streams.total).head_m
    head_m = tee_m - np.cumsum(line.pipe_loss(flow, line.segment_m.T).head_m, axis=0)
    back_m = head_m[-1] if line.ring else tee_m
    head_m = head_m[: jets.shape[0]]
    over_m = head_m - line.height_m.T
    is_open = line.is_open.T
    needed_m = jet_pressure(jets, line.k.T, line.x.T, np.where(is_open, line.opening.T, 1.0))
    missed_m = np.where(jets > 0.0, np.abs(over_m - needed_m), np.maximum(over_m, 0.0))
    residuals = Residuals(
        np.abs(streams.total - np.sum(jets, axis=0)),
        np.max(np.where(is_open, missed_m, 0.0), axis=0),
        np.abs(back_m - tee_m),
    )
    return Followed(head_m.T, flow.T, tee_m, residuals)
