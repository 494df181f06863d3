"""How long water may fall before it runs off, by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.physics.intake import SURFACE_MM, longest_pulse_h, pulses, settling_h


def test_a_pulse_fills_the_surface():
    """By hand: 65 mm/h on a soil that takes 15 leaves 50 mm/h standing, and 5 mm of it stand after six minutes."""
    assert longest_pulse_h(65.0, 15.0) * 60 == pytest.approx(6.0)
    assert settling_h(15.0) * 60 == pytest.approx(20.0)
    assert longest_pulse_h(15.0, 15.0) == math.inf


@given(rate=st.floats(0.0, 500.0), intake=st.floats(0.5, 60.0))
def test_what_falls_in_a_pulse_sinks_in_or_stands_on_the_surface(rate, intake):
    hours = longest_pulse_h(rate, intake)
    if math.isfinite(hours):
        assert rate * hours == pytest.approx(intake * hours + SURFACE_MM, rel=1e-9)
    else:
        assert rate <= intake


@given(length=st.floats(0.0, 600.0), longest=st.floats(0.1, 100.0))
def test_no_part_of_a_run_is_too_long_and_one_part_less_would_be(length, longest):
    parts = pulses(length, longest)
    assert length / parts <= longest * (1.0 + 1e-6)
    assert parts == 1 or length / (parts - 1) > longest


def test_a_run_just_as_long_as_the_longest_stays_whole():
    assert pulses(3 * 0.1, 0.3) == 1
    assert pulses(0.0, 5.0) == 1
    assert pulses(60.0, math.inf) == 1
