import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.line.uniformity import (
    christiansen_f,
    coefficient_of_variation,
    cu_pct,
    du_low_quarter_pct,
    emission_uniformity_pct,
    low_quarter,
    mean,
)

CUPS = np.array([92.0, 105, 98, 110, 88, 101, 95, 103, 107, 84, 99, 118])

VALUES = st.lists(st.floats(0.5, 50.0), min_size=4, max_size=30).map(np.array)


def test_twelve_cups_by_hand():
    # by hand: mean 100; lowest three 84 88 92; deviations sum 88, their squares 1002
    assert mean(CUPS) == 100.0
    assert low_quarter(CUPS) == pytest.approx(88.0)
    assert du_low_quarter_pct(CUPS) == pytest.approx(88.0)
    assert cu_pct(CUPS) == pytest.approx(92.67, abs=5e-3)
    assert coefficient_of_variation(CUPS) == pytest.approx(0.0954, abs=5e-5)


def test_a_quarter_that_is_no_whole_number_takes_its_fraction():
    assert low_quarter(np.array([6.0, 2.0, 4.0, 9.0, 8.0, 7.0])) == pytest.approx((2.0 + 0.5 * 4.0) / 1.5)
    assert low_quarter(np.array([3.0])) == 3.0


@given(VALUES, st.integers(2, 4))
def test_the_low_quarter_of_copies_is_the_same(values, copies):
    assert low_quarter(np.tile(values, copies)) == pytest.approx(low_quarter(values))


@given(VALUES)
def test_uniformities_of_equal_and_of_other_values(values):
    equal = np.full(values.size, values[0])
    assert du_low_quarter_pct(equal) == pytest.approx(100.0)
    assert cu_pct(equal) == pytest.approx(100.0)
    assert values.min() - 1e-9 <= low_quarter(values) <= mean(values) + 1e-9
    assert du_low_quarter_pct(3.0 * values) == pytest.approx(du_low_quarter_pct(values))


@given(VALUES, st.data())
def test_jets_that_do_not_count_change_nothing(values, data):
    counted = np.array(data.draw(st.lists(st.booleans(), min_size=values.size, max_size=values.size)))
    counted[:2] = True
    both = np.stack([values, values])
    some = np.stack([counted, np.ones(values.size, dtype=bool)])
    for measure in (mean, low_quarter, du_low_quarter_pct, cu_pct, coefficient_of_variation):
        np.testing.assert_allclose(measure(both, some), [measure(values[counted]), measure(values)])
    np.testing.assert_allclose(
        emission_uniformity_pct(both, 2, 0.05, some)[0], emission_uniformity_pct(values[counted], 2, 0.05)
    )


# ASAE EP405's formula, worked by hand
@pytest.mark.parametrize(("least", "jets", "cv", "eu_pct"), [(0.95, 1, 0.05, 88.97), (0.90, 2, 0.07, 84.34)])
def test_emission_uniformity(least, jets, cv, eu_pct):
    assert emission_uniformity_pct(np.array([least, 2.0 - least]), jets, cv) == pytest.approx(eu_pct, abs=5e-3)


# F as printed: m 1.75 from Keller and Bliesner 1990, Table 8.3 (second hand); m 1.852 and 2 from the formula by hand
CHRISTIANSEN = [
    (1.75, {2: "0.650", 5: "0.469", 10: "0.415", 20: "0.389", 100: "0.369"}),
    (1.852, {1: "1.0045", 2: "0.6391", 5: "0.4568", 10: "0.4022", 20: "0.3760", 40: "0.3632"}),
    (2.0, {1: "1", 2: "0.625", 5: "0.440", 10: "0.385", 20: "0.35875", 40: "0.34594"}),
]
PRINTED_F = [(m, outlets, printed) for m, row in CHRISTIANSEN for outlets, printed in row.items()]


@pytest.mark.parametrize(("m", "outlets", "printed"), PRINTED_F)
def test_friction_of_a_pipe_with_outlets_as_printed(m, outlets, printed):
    digits = len(printed.partition(".")[2])
    assert christiansen_f(np.array(outlets), m) == pytest.approx(float(printed), rel=0, abs=0.5 * 10.0**-digits + 1e-12)


@given(st.integers(5, 200), st.floats(1.0, 2.0))
def test_the_formula_is_near_the_sum_over_the_outlets(outlets, m):
    # Alazba et al. 2020, Water 12(3) 844
    exact = np.sum(np.arange(1.0, outlets + 1) ** m) / outlets ** (m + 1.0)
    assert christiansen_f(np.array(outlets), m) == pytest.approx(exact, rel=6e-3)
