"""The response factors that crops are given."""

import pytest

from waterbudget.tables.crops import find_crop, search_crops
from waterbudget.tables.yield_response import find_response, find_stage_factors


@pytest.mark.parametrize(
    ("crop", "ky", "kind"),
    [
        ("runner bean", 1.15, "same crop"),  # FAO-33 Table 24 (from memory); FAO-56 Example 44 has the same
        ("potato", 1.1, "same crop"),
        ("tomato", 1.05, "same crop"),
        ("courgette", 1.1, "stand-in"),  # watermelon, though the row of crops without a factor names it too
        ("beetroot", 1.0, "stand-in"),
        ("lettuce", 1.0, "none"),
        ("strawberry", 1.0, "none"),
    ],
)
def test_a_crop_has_the_factor_of_its_row(crop, ky, kind):
    response = find_response(find_crop(crop).name)
    assert (response.ky, response.kind) == (ky, kind)


def test_a_crop_without_a_name_has_1_and_it_is_said():
    response = find_response(None)
    assert response.ky == 1.0
    assert "take 1.0 and say so" in response.note
    assert response.source == "common practice, no source"


def test_every_crop_has_one_within_the_spread_of_its_sources():
    """0.08 to 1.75 over the trials (Moutonnet, FAO Water Reports 22, summary); each says where it is from."""
    for crop in search_crops():
        response = find_response(crop.name)
        assert 0.08 <= response.ky <= 1.75
        assert response.source


@pytest.mark.parametrize(
    ("crop", "factors"),
    [  # FAO-33 Table 24 (from memory): vegetative, flowering, yield formation, ripening
        ("tomato", (0.4, 1.1, 0.8, 0.4)),
        ("runner bean", (0.2, 1.1, 0.75, 0.2)),
        ("cabbage", (0.2, 0.45, 0.45, 0.6)),  # nothing flowers: yield formation stands in
        ("potato", ((0.45 + 0.8) / 2, 0.7, 0.7, 0.2)),  # printed as a range for the vegetative stages
    ],
)
def test_stages_have_the_factors_of_their_rows(crop, factors):
    assert find_stage_factors(find_crop(crop).name) == pytest.approx(factors)


def test_a_crop_without_stages_has_none():
    assert find_stage_factors(find_crop("lettuce").name) is None
    assert find_stage_factors(None) is None
