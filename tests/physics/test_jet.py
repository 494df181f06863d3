import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import RangeError
from waterbudget.physics.jet import M_PER_BAR, exponent, jet_flow, jet_pressure, orifice_k, rated_k

L_H = 1.0 / 3.6e6
G = 9.81


def test_a_sharp_hole_of_a_millimetre():
    # k = Cd A sqrt(2g) with Cd 0.62: 7.765 L/h per m^0.5, computed by hand
    assert orifice_k(1e-3, 0.62, G) / L_H == pytest.approx(7.765, abs=5e-4)


def test_a_large_orifice():
    # ajdesigner.com, orifice flow: Cd 0.62, 50 mm, 3 m gives 9.34 L/s
    flow = jet_flow(np.array(3.0), orifice_k(0.05, 0.62, G), 0.5, 1.0)
    assert flow * 1000.0 == pytest.approx(9.34, abs=5e-3)


def test_k_from_the_flow_at_a_bar():
    k = rated_k(25.0 * L_H, M_PER_BAR, 0.5)
    assert k / L_H == pytest.approx(25.0 / np.sqrt(10.197), rel=1e-12)
    assert jet_flow(np.array(M_PER_BAR), k, 0.5, 1.0) == pytest.approx(25.0 * L_H)


@given(st.floats(0.05, 1.0), st.floats(1.0, 30.0), st.floats(0.1, 30.0), st.floats(1.1, 10.0), st.floats(0.01, 1.0))
def test_the_law_and_its_reverse_and_its_two_tests(x, k_l_h, pressure_m, ratio, opening):
    k = k_l_h * L_H
    flows = jet_flow(np.array([pressure_m, ratio * pressure_m]), k, x, opening)
    np.testing.assert_allclose(jet_pressure(flows, k, x, opening), [pressure_m, ratio * pressure_m], rtol=1e-9)
    assert exponent(flows[0], pressure_m, flows[1], ratio * pressure_m) == pytest.approx(x, rel=1e-6)


def test_a_jet_without_pressure_is_dry():
    assert np.all(jet_flow(np.array([-2.0, 0.0]), 1e-6, np.array([0.5, 1.0]), 1.0) == 0.0)


@pytest.mark.parametrize("tests", [(1.0, 5.0, 2.0, 5.0), (0.0, 5.0, 2.0, 9.0), (1.0, -5.0, 2.0, 9.0)])
def test_an_exponent_needs_two_proper_tests(tests):
    with pytest.raises(RangeError, match="two tests"):
        exponent(*tests)
