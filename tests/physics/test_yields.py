"""Yield and water, against FAO-56 (Ky of beans as there: 1.15)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.physics.yields import ks_of_yield, yield_lost

HALF_LAST_DIGIT = 0.005


def test_stress_from_yield_as_printed():
    """FAO-56 Example 44, p. 194: dry beans gave 1100 of 1800 kg/ha, Ky 1.15; printed Ks 0.66."""
    lost = np.array(1.0 - 1100.0 / 1800.0)
    assert ks_of_yield(np.array(1.15), lost) == pytest.approx(0.66, abs=HALF_LAST_DIGIT)


def test_a_tenth_of_the_water_costs_ky_tenths_of_the_yield():
    """FAO-56 Eq. 90, by hand."""
    np.testing.assert_allclose(yield_lost(np.array([1.15, 0.85]), np.array([0.1, 0.4])), [0.115, 0.34], rtol=1e-15)


@given(st.floats(0.08, 1.75), st.floats(0.0, 1.0))
def test_one_is_the_other_the_other_way_round(ky, lack):
    lost = yield_lost(np.array(ky), np.array(lack))
    assert 1.0 - ks_of_yield(np.array(ky), lost) == pytest.approx(lack, abs=1e-12)
