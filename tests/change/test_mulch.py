"""Mulch by the handbook's rule: 5 % less evaporation for each 10 % of the soil covered (FAO-56 chapter 10, p. 197)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.change.mulch import mulched, mulched_kc
from waterbudget.site.model import Planting
from waterbudget.tables.kcb import BasalKc

KC = st.floats(0.0, 1.3)


def test_half_of_the_soil_covered_by_hand():
    # 50 % covered: evaporation falls by 25 %. ini 0.7 x 0.75; mid 1.15 - 0.25 x (1.15 - 1.10); end 0.75 - 0.25 x 0.10
    assert mulched((0.7, 1.15, 0.75), BasalKc(0.15, 1.10, 0.65), 0.5) == pytest.approx((0.525, 1.1375, 0.725))


@given(st.tuples(KC, KC, KC), st.tuples(KC, KC, KC), st.floats(0.0, 1.0))
def test_it_never_raises_kc_nor_takes_it_below_kcb(kc, kcb, covered):
    under = mulched(kc, BasalKc(*kcb), covered)
    for after, before in zip(under, kc, strict=True):
        assert after <= before + 1e-12
    for after, before, basal in list(zip(under, kc, kcb, strict=True))[1:]:
        assert after >= min(before, basal) - 1e-12
    assert mulched(kc, BasalKc(*kcb), 0.0) == pytest.approx(kc)


def test_own_coefficients_go_before_those_of_the_crop():
    own = Planting.model_validate({"planted": "05-10", "crop": "potato", "kc": [0.5, 1.2, 0.7]})
    assert mulched_kc(own) == pytest.approx([0.3, 1.16, 0.68])  # 80 % covered cuts 40 %; Kcb of potato 1.10 and 0.65
    unknown = Planting.model_validate(
        {"planted": "05-10", "kc": [0.5, 1.2, 0.7], "days": [9, 9, 9, 9], "p": 0.4, "root_m": [0.1, 0.3]}
    )
    assert mulched_kc(unknown) == pytest.approx([0.3, 1.2, 0.7])  # nobody knows its Kcb
