from dataclasses import replace

import pytest

from waterbudget.errors import RangeError
from waterbudget.tables.crops import StageLengths, find_crop, search_crops, stage_days
from waterbudget.tables.read import read_rows

ROWS = read_rows("stages")
LENGTHS = ("ini_days", "dev_days", "mid_days", "late_days")

# FAO-56 Table 11 as printed: crop, month, south, days, region of the print
CHOSEN = [
    ("Potato", 4, False, (30, 35, 50, 30), "Europe"),  # p. 105, before Idaho with the same month
    ("Potato", 5, False, (25, 30, 45, 30), "Continental Climate"),  # p. 105, before Idaho again
    ("Potato", 10, True, (30, 35, 50, 30), "Europe"),  # October in the south is April in the north
    ("Tomato", 5, False, (30, 40, 45, 30), "Mediterranean"),  # p. 104, before California
    ("Tomato", 11, True, (30, 40, 45, 30), "Mediterranean"),
    ("Tomato", 12, False, (30, 40, 40, 25), "Arid Region"),  # round New Year; first of three in print order
    ("courgette", 6, False, (20, 30, 25, 15), "Medit.; Europe"),  # p. 104
    ("broad bean", 3, False, (20, 30, 35, 15), "Mediterranean"),  # p. 105
    ("broad bean", 4, False, (20, 30, 35, 15), "Mediterranean"),  # the month comes before the region
    ("broad bean", 5, False, (15, 25, 35, 15), "Europe"),
    ("broad bean", 10, False, (90, 45, 40, 0), "Europe"),  # picked green in spring: no late stage
    ("pumpkin", 5, False, (25, 35, 35, 25), "Europe"),  # p. 104
    ("sweetcorn", 5, False, (20, 25, 25, 10), "Mediterranean"),  # p. 106
    ("Sprouts", 4, False, (20, 30, 20, 10), "Mediterranean"),  # p. 104, the row of the crucifers
    ("Cassava, year 1", 4, False, (20, 40, 90, 60), "Tropical regions"),  # p. 105, no month printed
]


@pytest.mark.parametrize(("key", "month", "south", "days", "region"), CHOSEN)
def test_the_printed_row_of_a_planting_month(key, month, south, days, region):
    stages = stage_days(find_crop(key), month, south=south)
    assert (stages.days, stages.region) == (days, region)
    assert stages.source.startswith("FAO-56 Table 11, p. 10")


def test_dry_beans_agree_with_a_worked_example():
    # FAO-56 Example 30, p. 141: dry beans at Kimberly, Idaho, 25, 25, 30 and 20 days
    idaho = next(stages for stages in find_crop("Beans, dry and pulses").stages if stages.region == "Idaho USA")
    assert idaho.days == (25, 25, 30, 20)


def test_of_two_lengths_with_one_total_those_that_make_the_total_come_first():
    # FAO-56 Table 11, p. 104: sweet peppers "25/30", 35, 40, 20, total 125; carrots 20, 30, "50/30", 20, total 100
    assert stage_days(find_crop("sweet pepper"), 4).days == (30, 35, 40, 20)
    assert stage_days(find_crop("carrot"), 10).days == (20, 30, 30, 20)


def _stages(region, *months):
    return StageLengths(days=(10, 10, 10, 10), region=region, months=months, source="made up")


@pytest.mark.parametrize(
    ("regions", "first"),
    [
        (("Idaho USA", "Continental Climates", "Mediterranean", "Europe"), "Europe"),
        (("Idaho USA", "Mediterranean", "High Latitudes"), "High Latitudes"),
        (("Idaho USA", "Medit.; Arid Reg.", "Europe and Medit."), "Europe and Medit."),
        (("Idaho USA", "Continental Climates", "Medit.; Arid Reg."), "Medit.; Arid Reg."),
        (("Idaho USA", "Continental Climates"), "Continental Climates"),
        (("Idaho USA", "Arid Region"), "Idaho USA"),
        (("High Latitudes", "Europe"), "High Latitudes"),
    ],
)
def test_regions_decide_between_equal_months(regions, first):
    crop = replace(find_crop("tomato"), stages=tuple(_stages(region, 5) for region in regions))
    assert stage_days(crop, 5).region == first


def test_a_row_with_a_month_comes_before_one_without():
    crop = replace(find_crop("tomato"), stages=(_stages("Europe"), _stages("Idaho USA", 11)))
    assert stage_days(crop, 5).region == "Idaho USA"


def test_months_are_counted_round_the_year():
    crop = replace(find_crop("tomato"), stages=(_stages("one", 10), _stages("two", 1)))
    assert [stage_days(crop, month).region for month in (11, 12, 1, 6)] == ["one", "two", "two", "one"]


def test_south_is_six_months_later_all_year():
    crop = find_crop("potato")
    for month in range(1, 13):
        assert stage_days(crop, month, south=True) == stage_days(crop, (month + 5) % 12 + 1)


@pytest.mark.parametrize("key", ["parsnip", "strawberries", "turnip", "lawn", "Berries (bushes)", "celeriac", "basil"])
def test_crops_without_printed_lengths_have_none(key):
    assert stage_days(find_crop(key), 4) is None


# Common practice, no source: what British kitchen gardens grow and FAO-56 Table 11 lacks
PRACTISED = [
    ("garlic", 10, (120, 60, 50, 25)),
    ("garlic", 3, (40, 50, 40, 20)),
    ("new potato", 4, (25, 30, 30, 10)),
    ("leek", 6, (30, 60, 110, 40)),
    ("chard", 5, (25, 35, 110, 20)),
    ("swede", 5, (35, 45, 60, 20)),
    ("kale", 7, (25, 40, 120, 40)),
    ("rhubarb", 3, (30, 40, 110, 50)),
    ("soft fruit", 4, (30, 40, 90, 50)),
    ("raspberries", 4, (30, 40, 90, 50)),
    ("herbs", 5, (25, 40, 90, 25)),
    ("flowers", 5, (25, 35, 75, 25)),
]


@pytest.mark.parametrize(("key", "month", "days"), PRACTISED)
def test_lengths_of_common_practice_say_so(key, month, days):
    stages = stage_days(find_crop(key), month)
    assert stages.days == days
    assert (stages.source, stages.basis) == ("common practice, no source", "of common practice, no source")
    assert sum(days) <= 365


def test_common_practice_stands_in_only_where_nothing_is_printed():
    printed = {row["crop"] for row in read_rows("crops") if row["stages_key"]}
    for row in read_rows("garden_stages"):
        for name in row["names"].split("; "):
            alias = next((alias for alias in read_rows("aliases") if alias["alias"] == name), None)
            assert alias["stages"] == "own" if alias else name.capitalize() not in printed, name
    assert {row["alias"] for row in read_rows("aliases") if row["stages"] == "own"} <= {
        name for row in read_rows("garden_stages") for name in row["names"].split("; ")
    }


def test_an_apple_tree_has_the_printed_row_of_an_orchard():
    # FAO-56 Table 11, p. 107: deciduous orchard, High Latitudes, March
    assert stage_days(find_crop("apple tree"), 3).days == (20, 70, 90, 30)


@pytest.mark.parametrize("key", ["Grazing pasture, rotated", "lucerne"])
def test_rows_without_four_lengths_are_kept_but_not_used(key):
    # FAO-56 Table 11, p. 107: mid and late of these are printed as "var." or left out
    printed = [row for row in ROWS if row["stages_key"] in {"Grass pasture", "Alfalfa, total season"}]
    assert [[row[length] for length in LENGTHS] for row in printed] == [["10", "30", "", ""], ["10", "20", "", ""]]
    assert stage_days(find_crop(key), 4) is None


@pytest.mark.parametrize("month", [0, 13, -1])
def test_a_month_that_is_none_is_refused(month):
    with pytest.raises(RangeError, match=f"month must be 1 to 12, not {month}$"):
        stage_days(find_crop("tomato"), month)


def test_every_printed_row_is_there():
    assert len({row["print_row"] for row in ROWS}) == 164
    assert len(ROWS) == 170


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['stages_key']} {row['print_row']}{row['variant']}")
def test_lengths_and_months_are_in_range(row):
    days = [int(row[length]) for length in LENGTHS if row[length]]
    assert len(days) in {2, 4}
    assert all(0 <= length <= 600 for length in days)  # pineapple in Hawaii: 600 days of mid-season
    assert all(1 <= int(month) <= 12 for month in row["months"].split(";") if month)
    assert row["region"]
    if len(days) == 4:
        assert abs(sum(days) - int(row["total_printed_days"])) <= 20  # the print's own slips, at most 20 days


def test_totals_differ_from_the_print_only_where_it_slips():
    slips = {
        (row["stages_key"], row["print_row"] + row["variant"])
        for row in ROWS
        if row["late_days"] and sum(int(row[length]) for length in LENGTHS) != int(row["total_printed_days"])
    }
    assert slips == {
        ("Carrots", "3a"),
        ("Sweet peppers (bell)", "29a"),
        ("Green gram, cowpeas", "77"),
        ("Soybeans", "87a"),
        ("Sesame", "104"),
        ("Maize (sweet)", "125a"),
        ("Maize (sweet)", "126"),
        ("Sorghum", "130"),
        ("Sorghum", "131"),
    }


def test_no_crop_carries_a_row_that_has_no_use():
    for crop in search_crops():
        assert all(len(stages.days) == 4 and sum(stages.days) > 0 for stages in crop.stages)
