"""March and bracket: the flows of a zone, found by walking its pipe from a guessed far end to the tee.

Whatever is guessed, a higher guess arrives higher, so a bracket closes on the answer: it cannot fail. On a dead end
the guess is the head at the last jet. A ring is cut in its middle, which leaves two arms and a second guess, the flow
through the cut.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from waterbudget.line.bracket import falling_root
from waterbudget.line.layout import Line
from waterbudget.line.streams import Streams
from waterbudget.physics.jet import jet_flow
from waterbudget.units import Array, IntArray

CLOSED_M = 1e-12
ABSURD_M = 1e4  # a guess that leads beyond it is wrong whatever follows; to stop there keeps its sign


class _Arms(NamedTuple):
    """The one arm of a dead end or the two of a ring, from the far end to the tee; arrays (step, arm, scenario)."""

    height_m: Array
    k: Array
    x: Array
    opening: Array
    segment_m: Array


class _Arrival(NamedTuple):
    """Head and flow at the tee (arm, scenario), and the jets passed on the way (step, arm, scenario)."""

    head_m: Array
    flow: Array
    jets: Array


def march(line: Line) -> Streams:
    """Flows of zones in which water flows: source and pump must reach above the lowest open jet."""
    line = replace(line, height_m=line.height_m - line.lowest_m[:, np.newaxis], source_m=line.source_m - line.lowest_m)
    return _ring(line) if line.ring else _dead_end(line)


def _dead_end(line: Line) -> Streams:
    order = np.arange(line.jet_m.shape[1])[::-1, np.newaxis]
    arms = _arms(line, order, order)

    def surplus_m(far_m: Array, rows: IntArray) -> Array:
        part = line.take(rows)
        at_tee = _walk(part, _take(arms, rows), far_m[np.newaxis], np.zeros((1, rows.size)))
        left_m: Array = part.supply(at_tee.flow[0]).head_m - at_tee.head_m[0]
        return left_m

    far_m = falling_root(surplus_m, line.lowest_m, line.source_m + line.pump.shutoff_m, CLOSED_M)
    at_tee = _walk(line, arms, far_m[np.newaxis], np.zeros((1, far_m.size)))
    return Streams(at_tee.flow[0], at_tee.flow[0], at_tee.jets[::-1, 0].T)


def _ring(line: Line) -> Streams:
    jets = line.jet_m.shape[1]
    cut = (jets + 1) // 2  # the piece of pipe before this jet; the first arm has a jet more where their number is odd
    second = np.concatenate([np.full(2 * cut - jets, jets), np.arange(cut, jets)])
    order = np.column_stack([np.arange(cut)[::-1], second])
    arms = _arms(line, order, order + np.array([0, 1]))
    cut_m = line.segment_m[:, cut]
    top_m = line.source_m + line.pump.shutoff_m
    most = np.sum(jet_flow(top_m[:, np.newaxis] - line.height_m, line.k, line.x, line.opening), axis=1)

    def walk(far_m: Array, across: Array, rows: IntArray) -> _Arrival:
        part = line.take(rows)
        beyond_m = far_m - part.pipe_loss(across, cut_m[rows]).head_m
        return _walk(part, _take(arms, rows), np.stack([far_m, beyond_m]), np.stack([across, -across]))

    def flow_across(far_m: Array, rows: IntArray) -> Array:
        def difference_m(across: Array, inner: IntArray) -> Array:
            at_tee = walk(far_m[inner], across, rows[inner])
            apart_m: Array = at_tee.head_m[1] - at_tee.head_m[0]
            return apart_m

        return falling_root(difference_m, -most[rows], most[rows], CLOSED_M)

    def surplus_m(far_m: Array, rows: IntArray) -> Array:
        at_tee = walk(far_m, flow_across(far_m, rows), rows)
        left_m: Array = line.take(rows).supply(np.sum(at_tee.flow, axis=0)).head_m - at_tee.head_m[0]
        return left_m

    everywhere = np.arange(top_m.size)
    far_m = falling_root(surplus_m, line.lowest_m, top_m, CLOSED_M)
    at_tee = walk(far_m, flow_across(far_m, everywhere), everywhere)
    passed = np.concatenate([at_tee.jets[::-1, 0], at_tee.jets[2 * cut - jets :, 1]])
    return Streams(np.sum(at_tee.flow, axis=0), at_tee.flow[0], passed.T)


def _arms(line: Line, jet_order: IntArray, segment_order: IntArray) -> _Arms:
    """Jets and pieces of pipe in the order of the walk (step, arm); one past the last stands for none."""
    per_jet = (line.height_m, line.k, line.x, line.opening)
    padded = (np.pad(values.T, ((0, 1), (0, 0))) for values in (*per_jet, line.segment_m))
    orders = (jet_order,) * len(per_jet) + (segment_order,)
    return _Arms(*(values[order] for values, order in zip(padded, orders, strict=True)))


def _take(arms: _Arms, rows: IntArray) -> _Arms:
    return _Arms(*(values[:, :, rows] for values in arms))


def _walk(line: Line, arms: _Arms, head_m: Array, flow: Array) -> _Arrival:
    """Walk to the tee from heads and flows at the far end of each arm, (arm, scenario)."""
    passed = []
    for height_m, k, x, opening, segment_m in zip(*arms, strict=True):
        jet = jet_flow(head_m - height_m, k, x, opening)
        passed.append(jet)
        flow = flow + jet
        head_m = np.clip(head_m + line.pipe_loss(flow, segment_m).head_m, -ABSURD_M, ABSURD_M)
    return _Arrival(head_m, flow, np.stack(passed))
