"""What somebody's CSV file may look like, and what is said where it cannot be read."""

import csv
import io
import os
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from waterbudget.errors import InputError
from waterbudget.rows.cells import guarded
from waterbudget.rows.sheet import Row, read_sheet
from waterbudget.rows.text import read_content


@pytest.fixture
def read(tmp_path):
    def rows_of(content):
        path = tmp_path / "caught.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        sheet = read_sheet(path, "bed,caught_ml", "a cup")
        return [sheet.header, *sheet.rows]

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
        ("bed\nBeans\n", [(1, ("bed",)), (2, ("Beans",))]),
        ("a;b\nx;1,5\n", [(1, ("a", "b")), (2, ("x", "1,5"))]),
        ("a\tb\nx;y\tz\n", [(1, ("a", "b")), (2, ("x;y", "z"))]),
        ("a|b\nx|1,5\n", [(1, ("a", "b")), (2, ("x", "1,5"))]),
        ("a,b\nx;y,z\nu;v,w\n", [(1, ("a", "b")), (2, ("x;y", "z")), (3, ("u;v", "w"))]),
        ("a;b\nx, y;z, w\n", [(1, ("a", "b")), (2, ("x, y", "z, w"))]),
        ("# by class 3\n#;;\nbed;note\nBeans;# wet\n#2;dry\n",
         [(3, ("bed", "note")), (4, ("Beans", "# wet")), (5, ("#2", "dry"))]),
        ("bed,note,,\nBeans,,,,,,\n", [(1, ("bed", "note", "", "")), (2, ("Beans", "", "", ""))]),
        ("bed,note\nBeans,wet,,,\n", [(1, ("bed", "note")), (2, ("Beans", "wet"))]),  # cells past the last column
        ("bed\n'=Beans\n''=Beans\n'tis\n-3\n",
         [(1, ("bed",)), (2, ("=Beans",)), (3, ("'=Beans",)), (4, ("'tis",)), (5, ("-3",))]),
    ],
)  # fmt: skip
def test_rows_have_the_numbers_of_their_lines(read, content, rows):
    assert read(content) == [Row(*row) for row in rows]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-32"])
def test_any_encoding_is_read_alike(read, encoding):
    assert read("bed;note\nSaladé;7 \u00b0C\n".encode(encoding))[1].cells == ("Saladé", "7 \u00b0C")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "is empty; write the header bed,caught_ml and a cup a row"),
        ("\n , \n", "is empty; write the header bed,caught_ml and a cup a row"),
        ("# bed,caught_ml\n", "is empty; write the header bed,caught_ml and a cup a row"),
        (b"b\x81d\n", "is no text; save the sheet as CSV in UTF-8"),  # a place that the old code page leaves open
        (b"\xff\x00\xff\x01", "is no text; save the sheet as CSV in UTF-8"),
        ("bed,caught_ml\n".encode("utf-16-le"), "is no text; save the sheet as CSV in UTF-8"),
        (b"\x89PNG\r\n\x1a\n", "is a picture, not a table in plain text; save the sheet as CSV in UTF-8"),
        (b"PK\x03\x04", "is a workbook or another packed file, not a table in plain text; save the sheet as CSV"),
        ('bed\n\n"Beans\nPeas\n', "row 3: is no CSV (unexpected end of data); check its quotation marks"),
        ("bed\n" + "x" * 200_000, "row 2: is no CSV (field larger than field limit (131072)); check its quotation"),
    ],
)
def test_a_file_that_is_no_csv_is_refused_in_one_line(read, tmp_path, content, said):
    with pytest.raises(InputError) as error:
        read(content)
    (fault,) = error.value.faults
    assert fault.startswith(f"{tmp_path / 'caught.csv'}: {said}")
    assert "\n" not in fault


def test_a_file_that_cannot_be_opened_is_refused_in_one_line(tmp_path):
    cases = {
        tmp_path / "none.csv": "there is no such file; write one with the columns bed,caught_ml",
        tmp_path: "is a folder; name the CSV file in it",
        tmp_path / ("n" * 300): "cannot be read: File name too long; name a CSV file that can",
    }
    for path, said in cases.items():
        with pytest.raises(InputError) as error:
            read_sheet(path, "bed,caught_ml", "a cup")
        assert error.value.faults == (f"{path}: {said}",)


def test_what_never_ends_is_refused_unread(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    for path in (tmp_path / "pipe.csv", "/dev/zero", "/dev/null"):
        with pytest.raises(InputError) as error:
            read_sheet(Path(path), "bed", "a cup")
        assert error.value.faults == (f"{path}: is a pipe or a device; save what it holds as a file, and name that",)


def test_a_file_is_read_up_to_a_limit(tmp_path):
    path = tmp_path / "caught.csv"
    path.write_bytes(b"1234")
    assert read_content(path, "CSV file", "write one", most_bytes=4) == b"1234"
    os.truncate(path, 2_000_001)
    with pytest.raises(InputError, match=r"caught\.csv: is larger than 2 MB; name a CSV file"):
        read_content(path, "CSV file", "write one", most_bytes=2_000_000)


def test_columns_are_made_plain_and_the_others_stay(tmp_path):
    path = tmp_path / "levels.csv"
    path.write_text("day;level_l;note\n13.4.2031;1.438,5;1,5\n14.4.;empty;03/04/2031\n", "utf-8")
    sheet = read_sheet(path, "day,level_l", "a level").plain(numbers=["level_l", "absent"], dates=["day"])
    assert [row.cells for row in sheet.rows] == [("2031-04-13", "1438.5", "1,5"), ("14.4.", "empty", "03/04/2031")]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("day,level_l\n\n03/04/2031,5\n", 'row 3: day is "03/04/2031", which may be 2031-04-03 or 2031-03-04, and no'),
        ('day,level_l\n2031-04-03,"1,250"\n', "row 2: level_l is 1,250, which may be 1250 or 1.250, and no other"),
    ],
)
def test_what_a_file_does_not_tell_is_refused_loudly(tmp_path, text, said):
    path = tmp_path / "levels.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as error:
        read_sheet(path, "day,level_l", "a level").plain(numbers=["level_l"], dates=["day"])
    (fault,) = error.value.faults
    assert fault.startswith(f"{path}: {said}")


WORDS = st.text(st.characters(codec="cp1252", exclude_categories=["C"]), max_size=8).map(str.strip)
TABLES = st.lists(st.lists(WORDS, min_size=3, max_size=3), min_size=3, max_size=6)


@given(TABLES, st.sampled_from(",;\t|"), st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"]))
@example([["'=1", "+2", "-3"], ["@4", "''=5", "\u2019=6"], ["=", "", ""]], ",", "utf-8")
def test_what_was_written_is_read_back(tmp_path_factory, table, separator, encoding):
    """Whatever a spreadsheet's own writer, here the standard library's, makes of cells that are guarded."""
    text = io.StringIO()
    writer = csv.writer(text, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerow(["one", "two", "three"])
    writer.writerows([guarded(cell) for cell in row] for row in table)
    path = tmp_path_factory.mktemp("back") / "back.csv"
    path.write_bytes(text.getvalue().encode(encoding))
    sheet = read_sheet(path, "one,two,three", "a row")
    assert sheet.heads == ("one", "two", "three")
    assert [row.cells for row in sheet.rows] == [tuple(row) for row in table if any(row)]
