import pytest

from waterbudget.tables.read import UnknownKeyError, read_rows
from waterbudget.tables.soils import find_soil, search_soils

# FAO-56 Table 19, p. 144: range of the water between field capacity and wilting point, m3/m3 as printed
PRINTED = {
    "Sand": ("0.05", "0.11"),
    "Loamy sand": ("0.06", "0.12"),
    "Sandy loam": ("0.11", "0.15"),
    "Loam": ("0.13", "0.18"),
    "Silt loam": ("0.13", "0.19"),
    "Silt": ("0.16", "0.20"),
    "Silt clay loam": ("0.13", "0.18"),
    "Silty clay": ("0.13", "0.19"),
    "Clay": ("0.12", "0.20"),
}


@pytest.mark.parametrize(("name", "printed"), PRINTED.items())
def test_available_water_is_the_middle_of_the_printed_range(name, printed):
    soil = find_soil(name)
    low, high = (1000.0 * float(content) for content in printed)
    assert (soil.low_mm_m, soil.high_mm_m) == pytest.approx((low, high))
    assert soil.available_water_mm_m == pytest.approx((low + high) / 2)
    assert soil.source.startswith("FAO-56 Table 19, p. 144; ours: midpoint")


# FAO-56 Table 19, p. 144: ranges of REW and TEW for an evaporating layer of 0.10 m, mm
EVAPORABLE = {
    "Sand": ((2, 7), (6, 12)),
    "Loamy sand": ((4, 8), (9, 14)),
    "Sandy loam": ((6, 10), (15, 20)),
    "Loam": ((8, 10), (16, 22)),
    "Silt loam": ((8, 11), (18, 25)),
    "Silt": ((8, 11), (22, 26)),
    "Silt clay loam": ((8, 11), (22, 27)),
    "Silty clay": ((8, 12), (22, 28)),
    "Clay": ((8, 12), (22, 29)),
}


@pytest.mark.parametrize(("name", "printed"), EVAPORABLE.items())
def test_evaporable_water_is_the_middle_of_the_printed_ranges(name, printed):
    soil = find_soil(name)
    assert (soil.rew_mm, soil.tew_mm) == tuple(sum(ends) / 2 for ends in printed)


def test_all_nine_soils_are_there_in_print_order():
    assert [soil.name for soil in search_soils()] == list(PRINTED)


@pytest.mark.parametrize("row", read_rows("soils"), ids=lambda row: row["soil"])
def test_ranges_are_ranges(row):
    for low, high in (
        ("theta_fc_lo", "theta_fc_hi"),
        ("theta_wp_lo", "theta_wp_hi"),
        ("theta_difference_lo", "theta_difference_hi"),
        ("available_water_lo_mm_m", "available_water_mm_m"),
        ("available_water_mm_m", "available_water_hi_mm_m"),
        ("rew_lo_mm", "rew_hi_mm"),
        ("tew_lo_mm", "tew_hi_mm"),
        ("rew_lo_mm", "tew_lo_mm"),
        ("rew_hi_mm", "tew_hi_mm"),
        ("theta_wp_hi", "theta_fc_lo"),
    ):
        assert 0 < float(row[low]) <= float(row[high]), (low, high)
    assert float(row["theta_fc_hi"]) < 0.5


@pytest.mark.parametrize(
    ("soil", "theta_fc", "theta_wp", "rew_mm", "tew_mm", "where"),
    [
        ("Loam", None, None, 9, 20, "Example 31, p. 146"),
        ("Sandy loam", 0.23, 0.10, 8, 18, "Example 35, p. 154"),
        ("Silt", 0.32, 0.12, None, None, "Example 37, p. 168"),
    ],
)
def test_the_handbooks_worked_examples_lie_in_the_ranges(soil, theta_fc, theta_wp, rew_mm, tew_mm, where):
    row = next(row for row in read_rows("soils") if row["soil"] == soil)
    ranges = (("theta_fc_{}", theta_fc), ("theta_wp_{}", theta_wp), ("rew_{}_mm", rew_mm), ("tew_{}_mm", tew_mm))
    for column, value in ranges:
        if value is not None:
            assert float(row[column.format("lo")]) <= value <= float(row[column.format("hi")]), where
    if theta_fc is not None:
        found = find_soil(soil)
        assert found.low_mm_m <= 1000 * (theta_fc - theta_wp) <= found.high_mm_m, where


def test_case_and_blanks_do_not_matter():
    assert find_soil("  SANDY loam ").name == "Sandy loam"


def test_an_unknown_soil_names_the_nearest():
    with pytest.raises(UnknownKeyError, match=r'^unknown soil "silt clay lome"; nearest: "silt clay loam"'):
        find_soil("silt clay lome")


def test_search_by_name_and_texture_class():
    assert [soil.name for soil in search_soils("clay")] == ["Silt clay loam", "Silty clay", "Clay"]
    assert [soil.name for soil in search_soils("coarse")] == ["Sand", "Loamy sand"]
    assert search_soils("peat") == []
