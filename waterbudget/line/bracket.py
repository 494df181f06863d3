"""Where falling functions cross zero, all scenarios at once."""

from collections.abc import Callable

import numpy as np

from waterbudget.units import Array, IntArray

MOST_STEPS = 200  # a third of them halve the bracket, which uses up the digits of a double


def falling_root(function: Callable[[Array, IntArray], Array], low: Array, high: Array, enough: float) -> Array:
    """The argument where a falling function crosses zero, between low and high; arrays (scenario,).

    function(argument, rows): the values of the scenarios listed in rows. Regula falsi that halves the value of an end
    which stays twice, every third step a bisection, on to the last digit of a double: with a bracket it cannot fail.
    Source: Illinois rule, Dowell and Jarratt 1971, BIT 11, 168-174 (from memory).
    """
    low, high = low.copy(), high.copy()
    rows = np.arange(low.size)
    low_value, high_value = function(low, rows), function(high, rows)
    nearer = np.abs(low_value) <= np.abs(high_value)
    root, root_value = np.where(nearer, low, high), np.where(nearer, low_value, high_value)
    last_side = np.zeros(low.size)
    for step in range(MOST_STEPS):
        width = high[rows] - low[rows]
        ends = np.maximum(np.abs(low[rows]), np.abs(high[rows]))
        rows = rows[(width > np.spacing(ends)) & (np.abs(root_value[rows]) > enough)]
        if rows.size == 0:
            break
        a, b, a_value, b_value = low[rows], high[rows], low_value[rows], high_value[rows]
        middle = a + (b - a) / 2.0
        falls = a_value > b_value
        share = np.divide(a_value, a_value - b_value, out=np.full_like(a, 0.5), where=falls)
        guess = middle if step % 3 == 2 else a + (b - a) * share  # noqa: PLR2004
        guess = np.where((guess > a) & (guess < b), guess, middle)
        value = function(guess, rows)

        better = np.abs(value) < np.abs(root_value[rows])
        root[rows], root_value[rows] = np.where(better, guess, root[rows]), np.where(better, value, root_value[rows])
        right = value > 0.0  # the root lies right of the guess, which becomes the low end
        side = np.where(right, 1.0, -1.0)
        stale = side == last_side[rows]
        low[rows], high[rows] = np.where(right, guess, a), np.where(right, b, guess)
        low_value[rows] = np.where(right, value, np.where(stale, a_value / 2.0, a_value))
        high_value[rows] = np.where(right, np.where(stale, b_value / 2.0, b_value), value)
        last_side[rows] = side
    return root
