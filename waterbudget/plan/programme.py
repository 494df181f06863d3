"""A linear programme, row by row, and its solution by HiGHS. The only file that calls highspy."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from waterbudget.units import Array, IntArray

TOLERANCE = 1e-9  # of rows, and of what a litre is worth, in the units of the programme
PRESOLVED = 0.5  # share of the time for a try that is quicker, and tells no bound where it does not end
Terms = Sequence[tuple[IntArray, Array | float]]


class Solution(NamedTuple):
    """The least of the objective, or the best proven bound of it where time ran out; nan where there is none.

    values: of each column. reduced: what the objective gains by one more of each column; row_duals: by a row's bound
    higher by one; all of them nan where nothing is proven. at_odds: rows that contradict each other, where some do.
    is_proven: whether nothing better exists.
    """

    least: float
    values: Array
    reduced: Array
    row_duals: Array
    at_odds: IntArray
    is_proven: bool


@dataclass(eq=False)
class Programme:
    """Columns and rows as they are added; the least of the sum of costs times columns is sought."""

    costs: list[Array] = field(default_factory=list)
    low: list[Array] = field(default_factory=list)
    high: list[Array] = field(default_factory=list)
    most: list[Array] = field(default_factory=list)
    whole: list[Array] = field(default_factory=list)
    rows: list[tuple[Array, Array, Terms]] = field(default_factory=list)
    width: int = 0
    height: int = 0

    def columns(
        self,
        shape: tuple[int, ...],
        low: Array | float = 0.0,
        high: Array | float = math.inf,
        cost: Array | float = 0.0,
        *,
        most: Array | float = math.inf,
        is_whole: bool = False,
    ) -> IntArray:
        """The numbers of new columns, in an array of this shape.

        most: what nobody needs more of, though the rows may leave it open; where the solver runs out of time its bound
        rests on it.
        """
        count = math.prod(shape)
        kinds = (self.low, self.high, self.most, self.costs, self.whole)
        for parts, values in zip(kinds, (low, high, most, cost, float(is_whole)), strict=True):
            parts.append(np.broadcast_to(np.asarray(values, dtype=np.float64), shape).ravel())
        first, self.width = self.width, self.width + count
        return np.arange(first, self.width).reshape(shape)

    def most_of(self, columns: IntArray) -> Array:
        """What nobody needs more of, of some columns."""
        most: Array = np.minimum(np.concatenate(self.high), np.concatenate(self.most))[columns]
        return most

    def add(self, terms: Terms, low: Array | float = -math.inf, high: Array | float = math.inf) -> None:
        """Rows low <= sum of factor times column <= high, one for each place of the columns' common shape."""
        shape = np.broadcast_shapes(*(columns.shape for columns, _ in terms))
        flat = [
            (np.broadcast_to(columns, shape).ravel(), np.broadcast_to(np.asarray(factor, float), shape).ravel())
            for columns, factor in terms
        ]
        lows, highs = (np.broadcast_to(np.asarray(bound, dtype=np.float64), shape).ravel() for bound in (low, high))
        self.rows.append((lows, highs, flat))
        self.height += math.prod(shape)

    def solve(self, seconds: float = math.inf) -> Solution:
        """The least there is, or the best bound after so many seconds."""
        import highspy

        problem, scale = self._problem()
        is_whole = bool(problem.integrality_)
        made: Any = highspy.Highs  # of which some versions tell types, and some do not
        solver = made()
        for name, value in (
            ("output_flag", False),
            ("primal_feasibility_tolerance", TOLERANCE),
            ("dual_feasibility_tolerance", TOLERANCE),
            ("mip_rel_gap", TOLERANCE),
            ("time_limit", seconds if is_whole else seconds * PRESOLVED),
        ):
            solver.setOptionValue(name, value)
        solver.passModel(problem)
        solver.run()
        status = highspy.HighsModelStatus
        ended, ran_out = solver.getModelStatus(), status.kTimeLimit
        if ended in (status.kInfeasible, status.kUnboundedOrInfeasible) or (ended == ran_out and not is_whole):
            # HiGHS 1.14 presolves some whole numbers into a contradiction, and leaves no bound where time runs out
            solver.setOptionValue("presolve", "off")
            solver.setOptionValue("time_limit", seconds)
            solver.run()
            ended = solver.getModelStatus()
        found, info = solver.getSolution(), solver.getInfo()
        least, at_odds = math.nan, np.zeros(0, dtype=np.int64)
        if ended == status.kOptimal:
            least = info.objective_function_value / scale
            values, reduced, row_duals = (np.array(part) for part in (found.col_value, found.col_dual, found.row_dual))
            return Solution(least, values, reduced / scale, row_duals / scale, at_odds, is_proven=True)
        if ended == status.kInfeasible:
            _, is_known, ray = solver.getDualRay()
            at_odds = np.flatnonzero(ray) if is_known else at_odds
        elif is_whole and math.isfinite(info.mip_dual_bound):
            least = info.mip_dual_bound / scale
        elif ended == ran_out:
            prices, none = np.array(found.row_dual) / scale, np.zeros(self.height)
            least = max(self.bound(prices if len(prices) == self.height else none), self.bound(none))
        columns, rows = np.full(self.width, math.nan), np.full(self.height, math.nan)
        return Solution(least, columns, columns, rows, at_odds, is_proven=False)

    def bound(self, prices: Array) -> float:
        """What the objective cannot be less than, by any prices of the rows; its own duals give the least itself.

        Source: weak duality, in any textbook of linear programming (from memory).
        """
        row, column, factor = self._entries()
        lows, highs = (np.concatenate([bounds[end] for bounds in self.rows]) for end in (0, 1))
        at = np.where(prices > 0.0, lows, highs)
        priced = np.isfinite(at) & (prices != 0.0)
        left = np.concatenate(self.costs) - np.bincount(column, np.where(priced, prices, 0.0)[row] * factor, self.width)
        ends = np.where(left > 0.0, np.concatenate(self.low), self.most_of(np.arange(self.width)))
        used = left != 0.0
        return float((prices[priced] * at[priced]).sum() + (left[used] * ends[used]).sum())

    def _problem(self) -> tuple[Any, float]:
        """The programme as HiGHS takes it, its costs multiplied so that the largest is 1."""
        import highspy

        row, column, factor = self._entries()
        costs, whole = np.concatenate(self.costs), np.concatenate(self.whole)
        scale = 1.0 / max(float(np.abs(costs).max(initial=0.0)), 1e-300)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = self.width, self.height
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = costs * scale, np.concatenate(self.low), np.concatenate(self.high)
        lp.row_lower_ = np.concatenate([low for low, _, _ in self.rows])
        lp.row_upper_ = np.concatenate([high for _, high, _ in self.rows])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(np.bincount(row, minlength=self.height))])
        lp.a_matrix_.index_, lp.a_matrix_.value_ = column, factor
        if whole.any():
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[int(is_whole)] for is_whole in whole]
        return lp, scale

    def _entries(self) -> tuple[IntArray, IntArray, Array]:
        """What is not 0, by rows: row, column and factor of each."""
        rows, columns, factors, first = [], [], [], 0
        for low, _, terms in self.rows:
            for column, factor in terms:
                rows.append(np.arange(first, first + len(low)))
                columns.append(column)
                factors.append(factor)
            first += len(low)
        row, column, factor = (np.concatenate(parts) for parts in (rows, columns, factors))
        order = np.argsort(row, kind="stable")
        order = order[factor[order] != 0.0]
        return row[order], column[order], factor[order]
