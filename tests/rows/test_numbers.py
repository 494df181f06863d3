"""Which number a cell means: with a point or a comma for decimals, by itself or by the others of its file."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.rows.numbers import decimal_marks, plain_numbers


def plain(*cells, point_is_usual=True):
    return plain_numbers(cells, lambda number: f"row {number + 2}: rain_mm", point_is_usual=point_is_usual)


@pytest.mark.parametrize("point_is_usual", [True, False])
@pytest.mark.parametrize(
    ("cells", "numbers"),
    [
        (["5", "-3", "1e3", ""], ["5", "-3", "1e3", ""]),
        (["1,5"], ["1.5"]),
        (["0,125", ",5", "-0,5", "5,"], ["0.125", ".5", "-0.5", "5."]),
        (["1.5", "0.125", "5."], ["1.5", "0.125", "5."]),
        (["1.250,5", "1,250.5", "1,234,567", "1.234.567"], ["1250.5", "1250.5", "1234567", "1234567"]),
        (["1.250", "0,5"], ["1250", "0.5"]),  # the others tell
        (["1,250", "0,5"], ["1.250", "0.5"]),
        (["1.250", "0.5"], ["1.250", "0.5"]),
        (["1,250", "0.5"], ["1250", "0.5"]),
        (["1,5", "2.5"], ["1.5", "2.5"]),
        (["\u22125", "1\u00a0250,5", "12\u202f000"], ["-5", "1250.5", "12000"]),
        (["five", "1,5 mm", "1.2.3", ".", ",", "1,23,456", "01.05.2031"],
         ["five", "1,5 mm", "1.2.3", ".", ",", "1,23,456", "01.05.2031"]),
    ],
)  # fmt: skip
def test_numbers_that_are_told(cells, numbers, point_is_usual):
    assert plain(*cells, point_is_usual=point_is_usual) == numbers


def test_a_point_is_usual_where_commas_separate_columns():
    assert plain("1.250") == ["1.250"]
    with pytest.raises(ValueError, match=r"^row 2: rain_mm is 1\.250, which may be 1250 or 1\.250, and no other"):
        plain("1.250", point_is_usual=False)


@pytest.mark.parametrize("cells", [["7", "1,250"], ["0.5", "1,250", "0,5"]])
@pytest.mark.parametrize("point_is_usual", [True, False])
def test_numbers_that_nothing_tells_are_refused(cells, point_is_usual):
    with pytest.raises(ValueError, match=r"^row 3: rain_mm is 1,250, which may be .*; write 1250 or 1\.2500$"):
        plain(*cells, point_is_usual=point_is_usual)


@given(st.floats(-1e6, 1e6), st.integers(0, 6), st.sampled_from(".,"), st.booleans())
def test_a_number_is_read_as_it_was_written(number, decimals, mark, is_grouped):
    cell = f"{number:{',' if is_grouped else ''}.{decimals}f}"
    cell = cell if mark == "." else cell.translate(str.maketrans(".,", ",."))
    (read,) = plain(cell, *(["0,5"] if mark == "," else ["0.5"]))[:1]
    assert float(read) == float(f"{number:.{decimals}f}")


@given(st.text("0123456789.,-+e", max_size=9))
def test_what_has_a_mark_for_decimals_becomes_a_number(cell):
    for mark in decimal_marks(cell):
        (read,) = plain(cell, f"0{mark}5")[:1]
        float(read)
