"""What somebody's CSV file may look like, and what is said where it cannot be read."""

import math
import os
from pathlib import Path

import pytest

from waterbudget.errors import InputError
from waterbudget.rows import Row, doubled_heads, missing_heads, number_in, ragged, read_content, read_rows, unfit


@pytest.fixture
def read(tmp_path):
    def rows_of(content):
        path = tmp_path / "caught.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_rows(path, "bed,caught_ml", "a cup")

    return rows_of


@pytest.mark.parametrize(
    ("content", "rows"),
    [
        ("bed,caught_ml\nBeans,5\n", [(1, ("bed", "caught_ml")), (2, ("Beans", "5"))]),
        ("bed,caught_ml\r\nBeans,5", [(1, ("bed", "caught_ml")), (2, ("Beans", "5"))]),
        ("\ufeffbed , caught_ml\n", [(1, ("bed", "caught_ml"))]),  # the mark that spreadsheets set
        ("\n\nbed\n,\n\nBeans\n", [(3, ("bed",)), (6, ("Beans",))]),  # blank rows count and are left out
        ('bed,note\n"Beans, dwarf","two\nlines"\nPeas,\n',
         [(1, ("bed", "note")), (2, ("Beans, dwarf", "two\nlines")), (4, ("Peas", ""))]),
        ("bed\nSalad béd\n", [(1, ("bed",)), (2, ("Salad béd",))]),
        ("a;b,c\n", [(1, ("a;b", "c"))]),
    ],
)  # fmt: skip
def test_rows_have_the_numbers_of_their_lines(read, content, rows):
    assert read(content) == [Row(*row) for row in rows]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "is empty; write the header bed,caught_ml and a cup a row"),
        ("\n , \n", "is empty; write the header bed,caught_ml and a cup a row"),
        (b"b\xe9d\n", "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        ("bed,caught_ml\n".encode("utf-16"), "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        ("bed,caught_ml\n".encode("utf-16-le"), "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        ('bed\n\n"Beans\nPeas\n', "row 3: is no CSV (unexpected end of data); check its quotation marks"),
        ("bed;caught_ml\nBeans;5\n", "row 1: the columns are separated by semicolons; separate them by commas, "),
        ("\nbed\tcaught_ml\n", "row 2: the columns are separated by tabs; separate them by commas, "),
        ("bed|caught_ml\n", "row 1: the columns are separated by bars; separate them by commas, "),
    ],
)
def test_a_file_that_is_no_csv_is_refused_in_one_line(read, tmp_path, content, said):
    with pytest.raises(InputError) as error:
        read(content)
    (fault,) = error.value.faults
    assert fault.startswith(f"{tmp_path / 'caught.csv'}: {said}")
    assert "\n" not in fault


def test_what_never_ends_is_refused_unread(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    for path in (tmp_path / "pipe.csv", "/dev/zero", "/dev/null"):
        with pytest.raises(InputError) as error:
            read_rows(Path(path), "bed", "a cup")
        assert error.value.faults == (f"{path}: is a pipe or a device; save what it holds as a file, and name that",)


def test_a_file_is_read_up_to_a_limit(tmp_path):
    path = tmp_path / "caught.csv"
    path.write_bytes(b"1234")
    assert read_content(path, "CSV file", "write one", most_bytes=4) == b"1234"
    os.truncate(path, 2_000_001)
    with pytest.raises(InputError, match=r"caught\.csv: is larger than 2 MB; name a CSV file"):
        read_content(path, "CSV file", "write one", most_bytes=2_000_000)


def test_a_file_that_cannot_be_opened_is_refused_in_one_line(tmp_path):
    cases = {
        tmp_path / "none.csv": "there is no such file; write one with the columns bed,caught_ml",
        tmp_path: "is a folder; name the CSV file in it",
        tmp_path / ("n" * 300): "cannot be read: File name too long; name a CSV file that can",
    }
    for path, said in cases.items():
        with pytest.raises(InputError) as error:
            read_rows(path, "bed,caught_ml", "a cup")
        assert error.value.faults == (f"{path}: {said}",)


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
        (["Beans", "1", "5"], "has 3 values under 2 column names; write decimals with a point, thousands with nothing"),
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
    assert unfit("caught_ml", "x" * 50, "millilitres") == f'caught_ml is "{"x" * 40}"; write millilitres'
