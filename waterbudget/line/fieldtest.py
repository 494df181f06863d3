"""What a bucket, some cups and a watch tell about a zone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.errors import RangeError
from waterbudget.line.bracket import falling_root
from waterbudget.line.layout import L_H_PER_M3_S, Line
from waterbudget.line.solve import solve
from waterbudget.line.uniformity import coefficient_of_variation, cu_pct, du_low_quarter_pct, low_quarter
from waterbudget.physics.pump import curve_end, pump_from_nameplate
from waterbudget.units import Array, BoolArray, IntArray

SECONDS_PER_HOUR = 3600.0
MM_PER_ML_CM2 = 10.0
MOST_DOUBLINGS = 7
MATCHED = 1e-9  # of the flow

PumpFigure: TypeAlias = Literal["greatest_l_h", "shutoff_m"]  # as the site file's [pump] calls them
TRIED, NEAREST = 33, 0.001  # figures of a pump, the first so near the least that can be [-]
PUMP_DOUBLINGS = 5  # wider jets lose all pressure in the pipe, and tell nothing of the pump
TOLD = 2.0  # a figure between limits farther apart than this is no better than that of a nameplate
TOO_COARSE = "mark and watch are too coarse to tell the pump from these two"
LEAST_SHUTOFF_M, MOST_SHUTOFF_M = 0.1, 200.0
MOST_OVER_LEAST = 60.0  # a pump of so much greater a flow gives nearly the same head at all of them


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
    if not np.all(factors[0] > 0.0):
        raise RangeError(
            f"no jets explain {np.min(flow_l_h):.5g} L/h from this zone: jets a hundred times as narrow give more"
        )
    return Bucket(flow_l_h, error, *(line.k * factor[:, np.newaxis] * L_H_PER_M3_S for factor in factors))


def k_factor(line: Line, flow_l_h: Array, doublings: int = MOST_DOUBLINGS) -> Array:
    """By what the k of all jets has to be multiplied for a zone to give a flow above zero [L/h]; (scenario,).

    doublings: how often the line's own k is doubled or halved, by default to a hundred times or a hundredth. Infinite
    where even that gives less, 0 where more.
    """

    def missing(log_factor: Array, rows: IntArray) -> Array:
        part = line.take(rows)
        flow = solve(replace(part, k=part.k * np.exp(log_factor)[:, np.newaxis]))
        return 1.0 - flow.total_l_h / flow_l_h[rows]

    left = np.arange(flow_l_h.size)
    far = np.zeros(flow_l_h.size)
    step = np.where(missing(far, left) > 0.0, np.log(2.0), -np.log(2.0))
    for _ in range(doublings):
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


class Found(NamedTuple):
    """A number, and the least and the most that it is by one standard error; infinite where nothing limits it."""

    value: float
    least: float
    most: float


class PumpTest(NamedTuple):
    """What two buckets tell: flows [L/h] and errors over them, the k of the jets, and a figure of the pump's nameplate.

    factor: by what the k of all jets has to be multiplied. figure: head at no flow [m] or flow at no head [L/h].
    """

    flow_l_h: tuple[float, float]
    flow_error: tuple[float, float]
    factor: Found
    figure: Found


def pump_test(
    lines: tuple[Line, Line],
    volume_l: tuple[float, float],
    seconds: tuple[float, float],
    *,
    mark_l: float,
    stopwatch_s: float,
    same_bucket: bool,
    find: PumpFigure,
) -> PumpTest:
    """Two buckets from one zone, with more jets open for one than for the other: they tell its jets and its pump.

    lines: the zone as it was opened for each, one scenario. Of its pump, a parabola, one figure is looked for and the
    other taken as known. same_bucket: both have the same error of the mark. All is found anew with each error by
    itself, to either side, and what comes of them is added up by its squares.
    Raises RangeError where a quantity is not above zero, no such pump explains both flows, or the errors leave more
    than a factor of TOLD between the pumps that do.
    Source: propagation of independent errors.
    """
    volume, time = np.array(volume_l), np.array(seconds)
    if not (np.all(volume > 0.0) and np.all(time > 0.0)):
        raise RangeError("a bucket test needs litres and seconds above 0")
    mark, watch = mark_l / volume, stopwatch_s / time
    errors = [*([mark] if same_bucket else np.diag(mark)), *np.diag(watch)]
    if not np.all(mark + watch < 1.0):
        raise RangeError("the errors of mark and watch must be smaller than the litres and seconds themselves")
    off = np.vstack([np.zeros(2), *([error, -error] for error in errors)])
    flow_l_h = volume / time * SECONDS_PER_HOUR * (1.0 + off)
    blur = float(np.linalg.norm([error[0] - error[1] for error in errors]))
    fewer_first = np.argsort([np.sum(line.is_open) for line in lines])
    figure, factor = _pumps([lines[test] for test in fewer_first], flow_l_h[:, fewer_first], blur, find)
    found = _give_or_take(figure)
    if found.most > TOLD * found.least:
        raise RangeError(TOO_COARSE)
    return PumpTest(tuple(flow_l_h[0].tolist()), tuple(np.hypot(mark, watch).tolist()), _give_or_take(factor), found)


def _pumps(lines: Sequence[Line], flow_l_h: Array, blur: float, find: PumpFigure) -> tuple[Array, Array]:
    """The figure and the factor that explain two flows, (scenario, test), that with fewer open jets first.

    The first scenario has to have them. Where no pump explains another, its figure is infinite or 0, whichever comes
    nearer to it. blur: error of the one flow over the other [-].
    """

    def gap_of(log_figure: Array, rows: IntArray) -> Array:
        figure = np.exp(log_figure)
        factor = k_factor(_driven(lines[0], find, figure), flow_l_h[rows, 0], PUMP_DOUBLINGS)
        is_known = np.isfinite(factor) & (factor > 0.0)
        other = _driven(lines[1], find, figure)
        flow = solve(replace(other, k=other.k * np.where(is_known, factor, 1.0)[:, np.newaxis]))
        return np.where(is_known, flow.total_l_h / flow_l_h[rows, 1] - 1.0, np.nan)

    least, most = _limits(lines, flow_l_h, find)
    tried = least[:, np.newaxis] * (1.0 + np.geomspace(NEAREST, most / least - 1.0, TRIED).T)
    gap = gap_of(np.log(tried).ravel(), np.repeat(np.arange(len(tried)), TRIED)).reshape(tried.shape)
    falls, rises = ((side * gap[:, :-1] >= 0.0) & (side * gap[:, 1:] < 0.0) for side in (1.0, -1.0))
    if np.sum(falls[0] | rises[0]) != 1:
        raise RangeError(_why_no_pump(gap, falls | rises))
    as_good = tried[0, np.abs(gap[0]) < blur]
    if as_good.size and as_good[-1] > TOLD * as_good[0]:
        raise RangeError(TOO_COARSE)
    side, crosses = (1.0, falls) if np.any(falls[0]) else (-1.0, rises)

    far = [row[np.isfinite(row)][-1:] for row in side * gap]
    figure = np.array([np.inf if np.any(end > 0.0) else 0.0 for end in far])
    found, place = np.flatnonzero(np.any(crosses, axis=1)), np.argmax(crosses[0])
    nearest = np.array([min(np.flatnonzero(crosses[row]), key=lambda one: abs(one - place)) for row in found])
    low, high = np.log(tried[found, nearest]), np.log(tried[found, nearest + 1])
    figure[found] = np.exp(falling_root(lambda log, rows: side * gap_of(log, found[rows]), low, high, MATCHED))

    factor = np.full(figure.size, np.inf)
    rows = np.flatnonzero(figure > 0.0)
    factor[rows] = k_factor(_driven(lines[0], find, np.minimum(figure, tried[:, -1])[rows]), flow_l_h[rows, 0])
    return figure, factor


def _why_no_pump(gap: Array, crosses: BoolArray) -> str:
    if np.any(crosses[0]):
        return "more than one pump explains both"
    known = gap[0, np.isfinite(gap[0])]
    if known.size == 0:
        return "no jets explain both"
    if np.any(crosses):
        return TOO_COARSE
    amount = "little" if known[-1] > 0.0 else "much"
    return f"no pump explains both: with more jets open the zone gave too {amount} beside the other"


def _limits(lines: Sequence[Line], flow_l_h: Array, find: PumpFigure) -> tuple[Array, Array]:
    """Between what a pump's figure is looked for; (scenario,).

    Below the least the flows do not even get through the hose to the height of the lowest jet.
    """
    flow = flow_l_h / L_H_PER_M3_S
    supplies = [line.without_pump().supply(flow[:, test]) for test, line in enumerate(lines)]
    needed_m = np.stack([line.lowest_m - supply.head_m for line, supply in zip(lines, supplies, strict=True)], axis=-1)
    shutoff_m, greatest = lines[0].pump.shutoff_m, curve_end(lines[0].pump)
    if find == "greatest_l_h":
        if np.any(needed_m >= shutoff_m):
            raise RangeError(f"getting so much to the jets takes {np.max(needed_m):.3g} m, all that shutoff_m gives")
        least = np.max(flow_l_h / np.sqrt(1.0 - np.maximum(needed_m, 0.0) / shutoff_m), axis=1)
        return least, least * MOST_OVER_LEAST
    left = 1.0 - (flow / greatest) ** 2
    if np.any(left <= 0.0):
        raise RangeError(f"{np.max(flow_l_h[0]):.4g} L/h, with its error, is all that greatest_l_h gives, or more")
    least = np.maximum(np.max(needed_m / left, axis=1), LEAST_SHUTOFF_M)
    if np.any(least >= MOST_SHUTOFF_M / 2.0):
        raise RangeError(f"getting so much to the jets takes a shutoff_m of {np.max(least):.3g} m")
    return least, np.full_like(least, MOST_SHUTOFF_M)


def _driven(line: Line, find: PumpFigure, figure: Array) -> Line:
    """The same zone driven by pumps of these figures, a scenario each."""
    shutoff_m, greatest = line.pump.shutoff_m, curve_end(line.pump)
    shutoff_m, greatest = (figure, greatest) if find == "shutoff_m" else (shutoff_m, figure / L_H_PER_M3_S)
    pump = pump_from_nameplate(*np.broadcast_arrays(shutoff_m, greatest))
    return replace(line.take(np.zeros(figure.size, dtype=np.intp)), pump=pump)


def _give_or_take(values: Array) -> Found:
    """A number, found first with no error and then with each of them to either side."""
    with np.errstate(divide="ignore"):
        log = np.log(values)
    off = (log[1:] - log[0]).reshape(-1, 2)
    more, less = (np.linalg.norm(np.max(np.maximum(side * off, 0.0), axis=1)) for side in (1.0, -1.0))
    return Found(float(values[0]), *(float(values[0] * np.exp(log_off)) for log_off in (-less, more)))


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
