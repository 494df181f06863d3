"""What the cells of somebody's CSV file hold, and what is said of those that hold something else."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.rows.cells import doubled_heads, guarded, missing_heads, number_in, quoted, ragged, unfit, unguarded


def test_a_header_is_told_what_it_lacks_and_what_it_has_twice():
    assert list(missing_heads(["note", "bed"], ["bed", "caught_ml"])) == [
        "the column caught_ml is missing; write the header bed,caught_ml"
    ]
    assert list(doubled_heads(["bed", "", "note", "bed", "", "bed"])) == [
        "the column bed stands there 3 times; keep one"
    ]


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (["Beans", "5"], ""),
        (["Beans"], "has 1 value under 2 column names; fill every column"),
        (["Beans", "1", "5"], "has 3 values under 2 column names; write decimals with a point (1.5, not 1,5)"),
    ],
)
def test_a_row_has_a_cell_for_each_column(cells, said):
    fault = ragged(cells, ["bed", "caught_ml"], "fill every column")
    assert fault.startswith(said)
    assert bool(fault) == bool(said)


@pytest.mark.parametrize(
    ("cell", "number"), [("5", 5.0), ("0.5", 0.5), (".5", 0.5), ("-3", -3.0), ("1e3", 1000.0), ("1e999", math.inf)]
)
def test_a_number_is_read(cell, number):
    assert number_in(cell) == number


@pytest.mark.parametrize("cell", ["", "five", "1,5", "5 L", "£5", "1_0", "\u0665", "\uff15", "nan", "0x5"])
def test_what_is_no_number_lies_within_no_limits(cell):
    assert math.isnan(number_in(cell))


def test_a_cell_that_does_not_fit_is_told_in_one_line():
    assert unfit("caught_ml", "", "millilitres, 0 for none") == "caught_ml is blank; write millilitres, 0 for none"
    assert unfit("caught_ml", "x" * 50, "millilitres") == f'caught_ml is "{"x" * 40}..."; write millilitres'


def test_letters_that_do_not_show_are_told_by_their_numbers():
    assert quoted("1\n2\x1b[31m\u202e\u00e9") == '"1\\n2\\x1b[31m\\u202e\u00e9"'


@given(st.text(max_size=6) | st.text("'=+-@\t\r1a", max_size=6))
def test_a_guarded_cell_begins_no_formula_and_comes_back(text):
    assert guarded(text)[:1] not in {*"=+-@\t\r"}
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("cell", ["'tis", "'", "''", "Bean bed", "", "2=3"])
def test_other_cells_are_left_alone(cell):
    assert guarded(cell) == unguarded(cell) == cell
