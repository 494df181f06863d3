"""The sequent peak against printed and remembered examples, and against a tank that is run day by day.

K(t) = max(0, K(t-1) + D - Q): Thomas & Burden 1963, as credited in a manual; the formula is the standard one.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import RangeError
from waterbudget.physics.tank import evening
from waterbudget.sizing.peak import no_shortage_l, sequent_peak
from waterbudget.units import NUMPY

# Loucks & van Beek, Water Resources Systems Planning and Management, nine flows and a release of 3.5: from memory.
FLOWS = [1.0, 3.0, 3.0, 5.0, 8.0, 6.0, 7.0, 2.0, 1.0]
MISSING = [2.5, 3.0, 3.5, 2.0, 0.0, 0.0, 0.0, 1.5, 4.0, 6.5, 7.0, 7.5, 6.0, 1.5, 0.0, 0.0, 1.5, 4.0]

WHOLE_L = st.integers(0, 400)


def column(values):
    return np.array(values, dtype=np.float64)[:, None]


def test_nine_flows_from_memory():
    course = sequent_peak(column(FLOWS), np.full((9, 1), 3.5))
    assert course[:, 0].tolist() == MISSING
    assert no_shortage_l(column(FLOWS), np.full((9, 1), 3.5)) == 7.5


def test_the_mass_curve_of_the_driest_year():
    """Encyclopaedia Britannica, 11th ed. (1911), vol. 28, Water Supply: a greatest excess of 11 % and a greatest
    deficiency of 19 % of the driest year's flow want a store of 30 % of it."""
    inflow_pct = column([25 + 11, 25 - 15, 25 - 15, 25 + 19])  # quarters; the curve rises to +11 and falls to -19
    assert inflow_pct.sum() == 100
    assert no_shortage_l(inflow_pct, np.full((4, 1), 25.0)) == 30


def test_a_dry_spell_goes_on_over_the_end_of_the_record():
    inflow_l, demand_l = column([0, 0, 50, 0, 0]), np.full((5, 1), 10.0)
    assert no_shortage_l(inflow_l, demand_l, rounds=1) == 20
    assert no_shortage_l(inflow_l, demand_l) == 40


def test_where_more_is_asked_than_comes_in_no_size_is_enough():
    assert no_shortage_l(column([5, 5]), np.full((2, 1), 6.0)) is None
    assert no_shortage_l(column([5, 5]), np.full((2, 1), 6.0), rounds=1) == 2  # full at first, it lasts the record


def test_the_worst_string_decides():
    inflow_l, demand_l = np.array([[20.0, 0.0], [0.0, 20.0]]), np.full((2, 2), 10.0)
    assert no_shortage_l(inflow_l, demand_l, rounds=1) == 10
    demand_l[0, 1] = 12
    assert no_shortage_l(inflow_l, demand_l, rounds=1) == 12


def shortage_l(capacity_l, inflow_l, demand_l):
    """What a tank is short of that is full at first and drawn from after the day's rain, the record run twice."""
    stored_l, short_l = np.array([capacity_l]), 0.0
    for came_l, asked_l in [*zip(inflow_l, demand_l, strict=True)] * 2:
        drawn_l = np.minimum(asked_l, stored_l + came_l)
        short_l += float(asked_l - drawn_l[0])
        stored_l = evening(NUMPY, stored_l, np.array([came_l]), drawn_l, capacity_l, 0.0, before_spill=True).level_l
    return short_l


@given(st.lists(st.tuples(WHOLE_L, WHOLE_L), min_size=1, max_size=40))
def test_the_peak_is_the_least_that_is_never_short(days):
    inflow_l, demand_l = (np.array(litres, dtype=np.float64) for litres in zip(*days, strict=True))
    peak_l = no_shortage_l(inflow_l[:, None], demand_l[:, None])
    if peak_l is None:
        assert demand_l.sum() > inflow_l.sum()
        return
    assert shortage_l(peak_l, inflow_l, demand_l) == 0
    if peak_l > 0:
        assert shortage_l(peak_l - 0.5, inflow_l, demand_l) > 0


@pytest.mark.parametrize(("demand_l", "rounds"), [(np.zeros((3, 1)), 2), (np.zeros((2, 1)), 0)])
def test_shapes_and_rounds_have_to_fit(demand_l, rounds):
    with pytest.raises(RangeError, match="give both one shape, and 1 round or more"):
        sequent_peak(np.zeros((2, 1)), demand_l, rounds=rounds)
