"""Shares of a few years and their intervals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from waterbudget.odds.chances import not_above, on_grid, wilson

PRINTED = [  # Newcombe 1998, Statistics in Medicine 17: 857, Table I, method 3 (from memory)
    (81, 263, "0.2553", "0.3662"),
    (15, 148, "0.0624", "0.1605"),
    (0, 20, "0.0000", "0.1611"),
    (1, 29, "0.0061", "0.1718"),
]
YEARS = st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.mark.parametrize(("happened", "years", "low", "high"), PRINTED)
def test_wilson_gives_the_printed_intervals(happened, years, low, high):
    chance = wilson(happened / years, years)
    for ours, printed in ((chance.low, low), (chance.high, high)):
        assert ours == pytest.approx(float(printed), rel=0, abs=0.5e-4)


@given(YEARS)
def test_wilson_is_that_of_scipy(case):
    happened, years = case
    chance, theirs = wilson(happened / years, years), binomtest(happened, years).proportion_ci(method="wilson")
    assert chance.low == pytest.approx(theirs.low, abs=1e-12)
    assert chance.high == pytest.approx(theirs.high, abs=1e-12)


@given(st.floats(0.0, 1.0), st.integers(1, 200))
def test_wilson_holds_the_share_and_stays_within_0_and_1(share, years):
    chance = wilson(share, years)
    assert 0.0 <= chance.low <= share <= chance.high <= 1.0
    assert wilson(1.0 - share, years).low == pytest.approx(1.0 - chance.high, abs=1e-12)


def test_more_years_narrow_the_interval():
    widths = [wilson(0.7, years).high - wilson(0.7, years).low for years in (5, 10, 30, 100)]
    assert widths == sorted(widths, reverse=True)


def test_wilson_takes_arrays():
    chance = wilson(np.array([0.0, 0.5, 1.0]), 10)
    assert chance.low[0] == 0.0
    assert chance.high[2] == 1.0
    assert chance.low[1] == pytest.approx(wilson(0.5, 10).low)


@pytest.mark.parametrize(
    ("share", "years", "shown"), [(0.734, 10, 0.7), (0.75, 10, 0.8), (0.049, 10, 0.0), (0.6, 7, 4 / 7)]
)
def test_a_share_is_told_in_whole_years(share, years, shown):
    assert on_grid(share, years) == pytest.approx(shown)


@given(YEARS)
def test_counted_years_are_told_as_counted(case):
    happened, years = case
    assert round(float(on_grid(happened / years, years)) * years) == happened


def test_not_above_is_a_value_that_some_year_had():
    litres = np.array([50.0, 10.0, 40.0, 20.0, 30.0, 100.0, 60.0, 70.0, 80.0, 90.0])
    assert not_above(litres, 1, 2) == 50.0  # five of ten have 50 or less
    assert not_above(litres, 4, 5) == 80.0  # eight of ten have 80 or less
    assert not_above(litres[:7], 4, 5) == 60.0  # six of 10 20 30 40 50 60 100, as five are fewer than 5.6
    assert not_above(litres[:1], 1, 2) == 50.0
    np.testing.assert_array_equal(not_above(np.stack([litres, -litres]), 1, 2), [50.0, -60.0])


@given(st.lists(st.integers(0, 20), min_size=1, max_size=40), st.sampled_from([(1, 2), (4, 5), (1, 10)]))
def test_not_above_is_the_least_that_enough_years_do_not_exceed(values, share):
    x, (part, of) = np.array(values), share
    found = not_above(x, part, of)
    assert (x <= found).sum() * of >= part * x.size
    assert (x < found).sum() * of < part * x.size
