"""Basic intake by soil: FAO irrigation water management, training manual 5 (from memory)."""

import pytest

from waterbudget.tables.intake import find_intake
from waterbudget.tables.read import UnknownKeyError
from waterbudget.tables.soils import search_soils

PRINTED = {  # mm/h, from memory: sand more than 30
    "sand": (30, None),
    "sandy loam": (20, 30),
    "loam": (10, 20),
    "clay loam": (5, 10),
    "clay": (1, 5),
}


@pytest.mark.parametrize("soil", [soil.name for soil in search_soils()])
def test_every_soil_has_the_range_of_its_texture(soil):
    found = find_intake(soil)
    assert (found.low_mm_h, found.high_mm_h) == PRINTED[found.textured]
    middle = found.low_mm_h if found.high_mm_h is None else (found.low_mm_h + found.high_mm_h) / 2
    assert found.intake_mm_h == middle
    assert "from memory" in found.source


def test_everyday_words_name_a_soil():
    assert find_intake("heavy clay").textured == "clay"
    with pytest.raises(UnknownKeyError):
        find_intake("cheese")


def test_finer_soils_take_no_more():
    order = ["Sand", "Loamy sand", "Sandy loam", "Loam", "Silt clay loam", "Clay"]
    rates = [find_intake(soil).intake_mm_h for soil in order]
    assert rates == sorted(rates, reverse=True)
