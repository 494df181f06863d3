"""What a bucket, some cups and a watch tell about a zone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.errors import RangeError
from waterbudget.line.bracket import falling_root
from waterbudget.line.layout import L_H_PER_M3_S, Line
from waterbudget.line.solve import solve
from waterbudget.line.uniformity import coefficient_of_variation, cu_pct, du_low_quarter_pct, low_quarter
from waterbudget.units import Array, IntArray

SECONDS_PER_HOUR = 3600.0
MM_PER_ML_CM2 = 10.0
MOST_DOUBLINGS = 7
MATCHED = 1e-9  # of the flow


@dataclass(frozen=True)
class Bucket:
    """A zone's flow by bucket and watch, (scenario,), and the jets' k that explains it, (scenario, jet).

    flow_error: one standard error over the flow [-]. k_low_l_h, k_high_l_h: k [L/h per m^x] at the flow less and
    plus its error; infinite where pump and pipe cannot give as much.
    """

    flow_l_h: Array
    flow_error: Array
    k_l_h: Array
    k_low_l_h: Array
    k_high_l_h: Array


def bucket_test(
    line: Line, volume_l: ArrayLike, seconds: ArrayLike, *, mark_l: ArrayLike, stopwatch_s: ArrayLike
) -> Bucket:
    """All that a zone gives, caught in a bucket up to its mark; arrays (scenario,).

    mark_l, stopwatch_s: errors of the bucket's mark and of the time taken. The line's own k only sets how the jets
    compare with each other. As the pump gives less head at more flow, an error in the flow is a larger one in k.
    Raises RangeError where a quantity is not above zero, or no k explains the flow.
    Source: propagation of independent errors, dQ/Q = sqrt((dV/V)^2 + (dt/t)^2).
    """
    shape = line.tee_m.shape
    volume, time = (np.broadcast_to(np.asarray(value, dtype=np.float64), shape) for value in (volume_l, seconds))
    if not (np.all(volume > 0.0) and np.all(time > 0.0)):
        raise RangeError("a bucket test needs litres and seconds above 0")
    flow_l_h = volume / time * SECONDS_PER_HOUR
    error = np.hypot(np.asarray(mark_l) / volume, np.asarray(stopwatch_s) / time)
    if not np.all(error < 1.0):
        raise RangeError("the errors of mark and watch must be smaller than the litres and seconds themselves")
    factors = [k_factor(line, flow_l_h * share) for share in (1.0, 1.0 - error, 1.0 + error)]
    if not np.all(np.isfinite(factors[0])):
        raise RangeError(f"no jets explain {np.max(flow_l_h):.5g} L/h from this zone: pump and pipe give less")
    return Bucket(flow_l_h, error, *(line.k * factor[:, np.newaxis] * L_H_PER_M3_S for factor in factors))


def k_factor(line: Line, flow_l_h: Array) -> Array:
    """By what the k of all jets has to be multiplied for a zone to give a flow above zero [L/h]; (scenario,).

    Looked for from a hundredth to a hundred times the line's own k: infinite where even that gives less, 0 where more.
    """

    def missing(log_factor: Array, rows: IntArray) -> Array:
        part = line.take(rows)
        flow = solve(replace(part, k=part.k * np.exp(log_factor)[:, np.newaxis]))
        return 1.0 - flow.total_l_h / flow_l_h[rows]

    left = np.arange(flow_l_h.size)
    far = np.zeros(flow_l_h.size)
    step = np.where(missing(far, left) > 0.0, np.log(2.0), -np.log(2.0))
    for _ in range(MOST_DOUBLINGS):
        far[left] += step[left]
        left = left[~(missing(far[left], left) * step[left] <= 0.0)]
        if left.size == 0:
            break
    factor = np.where(step > 0.0, np.inf, 0.0)
    found = np.setdiff1d(np.arange(far.size), left)
    near = far - step

    def missing_of_found(log_factor: Array, rows: IntArray) -> Array:
        return missing(log_factor, found[rows])

    low, high = np.minimum(near, far)[found], np.maximum(near, far)[found]
    factor[found] = np.exp(falling_root(missing_of_found, low, high, MATCHED))
    return factor


@dataclass(frozen=True)
class Cups:
    """What equal cups caught [mL], and how evenly.

    du_pct: distribution uniformity of the lowest quarter, fractions of a cup counted (`low_quarter`). bed_factors:
    the mean of each bed's cups over the mean of all. mm_per_min, driest_mm_per_min: depth that all cups and the
    lowest quarter of them caught in a minute.
    """

    mean_ml: float
    du_pct: float
    cu_pct: float
    cv: float
    least_over_mean_pct: float
    bed_factors: dict[str, float]
    mm_per_min: float
    driest_mm_per_min: float

    def minutes_for_driest(self, depth_mm: float) -> float:
        """Minutes until the driest quarter has got a depth [mm]; an endless time if it gets nothing."""
        return depth_mm / self.driest_mm_per_min if self.driest_mm_per_min > 0.0 else np.inf


def cup_test(caught_ml: Sequence[float], *, beds: Sequence[str], minutes: float, mouth_cm2: float) -> Cups:
    """Cups set out evenly on the beds: what each caught, on which bed, in so many minutes, its mouth's area.

    Raises RangeError unless there are four cups at least, a bed for each, none below zero and not all empty, and
    minutes and area are above zero. Source: as the functions of `uniformity`.
    """
    caught = np.asarray(caught_ml, dtype=np.float64)
    if caught.size < 4 or len(beds) != caught.size:  # noqa: PLR2004 - a quarter of fewer is less than a cup
        raise RangeError(f"a cup test needs four cups at least and a bed for each, not {caught.size} and {len(beds)}")
    if not (np.all(caught >= 0.0) and np.any(caught > 0.0) and minutes > 0.0 and mouth_cm2 > 0.0):
        raise RangeError("a cup test needs catches not below 0, not all 0, and minutes and a mouth above 0")
    average = float(np.mean(caught))
    mm_per_ml_min = MM_PER_ML_CM2 / mouth_cm2 / minutes
    names = np.asarray(beds)
    return Cups(
        mean_ml=average,
        du_pct=float(du_low_quarter_pct(caught)),
        cu_pct=float(cu_pct(caught)),
        cv=float(coefficient_of_variation(caught)),
        least_over_mean_pct=float(100.0 * np.min(caught) / average),
        bed_factors={bed: float(np.mean(caught[names == bed]) / average) for bed in dict.fromkeys(beds)},
        mm_per_min=average * mm_per_ml_min,
        driest_mm_per_min=float(low_quarter(caught)) * mm_per_ml_min,
    )
