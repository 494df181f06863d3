"""An answer as text fits its window, breaks no word, and loses no cell."""

import datetime as dt

import numpy as np
import pytest
import wcwidth
from hypothesis import example, given
from hypothesis import strategies as st

from waterbudget.blocks import Answer, Bullets, Column, Lane, Marks, Paragraph, Picture, Strip, Table
from waterbudget.render.text import NARROWEST, WIDEST, block, block_lines, date_row, strip, text, window

LETTERS = [*"abcdefgh", *"水桶畑", "🌾", "o\u0308"]  # two columns of a terminal for those of East Asia and emoji
WORDS = st.lists(st.sampled_from(LETTERS), min_size=1, max_size=6).map("".join)  # wider ones may be broken
NAMES = st.lists(WORDS, min_size=1, max_size=4).map(" ".join)


def numbers(count):
    return [Column(f"part_{n}_l", f"head {n}", "L", write="{:,.0f}".format) for n in range(count)]


@st.composite
def tables(draw):
    columns = [Column("name", draw(NAMES)), *numbers(draw(st.integers(1, 9)))]
    if draw(st.booleans()):
        columns.append(Column("remark", "remark", is_text=True))
    row = st.tuples(*(NAMES if column.quantity in {"name", "remark"} else st.floats(0.0, 1e6) for column in columns))
    return Table("Parts", tuple(columns), tuple(draw(st.lists(row, min_size=1, max_size=5))))


@given(tables(), st.integers(NARROWEST, WIDEST))
def test_a_table_fits_and_every_word_of_it_is_there(table, width):
    lines = block_lines(table, width)
    assert max(map(wcwidth.width, lines)) <= width
    words = " ".join(lines).split()
    for row in table.rows:
        for column, cell in zip(table.columns, row, strict=True):
            for word in column.cell(cell).split():
                assert word in words
    for column in table.columns[1:]:
        assert column.unit in ["", *words]


@given(st.lists(NAMES, min_size=1, max_size=20).map(" ".join), st.integers(NARROWEST, WIDEST))
def test_sentences_fit_and_no_word_is_broken(sentence, width):
    for shown in (Paragraph(sentence), Bullets("help", sentence, (sentence,))):
        lines = block_lines(shown, width)
        assert max(map(wcwidth.width, lines)) <= width
        times = 1 if isinstance(shown, Paragraph) else 2
        assert [word for word in " ".join(lines).split() if word != "*"] == sentence.split() * times


def test_a_long_name_without_spaces_is_broken_rather_than_wider_than_the_window():
    columns = (Column("bed", "Bed"), Column("etc_mm", "need", "mm", write="{:,.0f}".format))
    lines = block_lines(Table("", columns, (("畑" * 40, 7.0), ("Long" * 20, 1200.0))), NARROWEST)
    assert max(map(wcwidth.width, lines)) <= NARROWEST
    assert "".join(lines).count("畑") == 40
    assert lines[2].endswith(" 7")


def test_a_table_is_aligned_with_units_below_their_heads():
    columns = (Column("bed", "Bed"), Column("etc_mm", "need", "mm", write="{:,.0f}".format))
    lines = block_lines(Table("", columns, (("A", 7.0), ("Long name", 1200.0), ("B", None))), WIDEST)
    assert lines == [
        "Bed         need",
        "              mm",
        "A              7",
        "Long name  1,200",
        "B              –",
    ]


def test_a_row_of_one_cell_is_a_heading():
    lines = block_lines(Table("", (Column("crop", "Crop"), *numbers(1)), (("LEAVES",), ("Chard", 1.0))), WIDEST)
    assert [line.split() for line in lines[2:]] == [["LEAVES"], ["Chard", "1"]]


def test_columns_that_do_not_fit_stand_below_with_the_names_again():
    columns = (Column("tank", "Stores"), *numbers(9))
    lines = block_lines(Table("", columns, (("Shed butt", *map(float, range(9))),)), NARROWEST)
    assert [line.split()[:2] for line in lines if line.startswith("Shed")] == [["Shed", "butt"]] * lines.count("") + [
        ["Shed", "butt"]
    ]
    assert lines.count("") >= 1


def test_an_empty_table_and_empty_bullets_say_nothing():
    assert block_lines(Table("", (Column("a", "a"),), ()), WIDEST) == []
    assert block_lines(Bullets("warn", "Beware", ()), WIDEST) == []


def test_lines_to_paste_are_never_broken():
    long = "waterbudget fit " + "x" * 80
    assert block_lines(Bullets("paste", "To do it:", (long,)), NARROWEST) == ["To do it:", f"  {long}"]


def test_short_leaves_out_what_is_for_the_full_screen_and_says_so():
    answer = Answer(
        "run",
        "A garden",
        ("It lasts.",),
        (
            Bullets("help", "What would help", ("Wait.",)),
            Bullets("assume", "Assumed", ("Rain.",)),
            Bullets("caution", "Take care", ("Of that.",)),
            Bullets("caution", "Take care", ("Of this.",), full=False),
            Paragraph("More.", full=True),
        ),
        {},
    )
    assert text(answer, full=False).split("\n\n") == [
        "A garden",
        "It lasts.",
        "What would help\n  * Wait.",
        "Take care\n  Of this.\nMore with --full: what is assumed, cautions and details.",
    ]
    assert "Assumed\n  Rain." in text(answer)
    assert "--full" not in text(answer)


# ---- Strips ----

DATES = np.arange("2031-05-30", "2031-06-03", dtype="M8[D]")


def test_a_strip_has_a_block_a_day_marks_and_months():
    rows = (Lane("Butt", np.array([0.0, 0.5, 1.0, np.nan])), Marks(np.array([False, True, False, False])))
    assert strip(Strip("Level", "█ full", rows, DATES), WIDEST) == [
        "Level, one column a day; █ full",
        "Butt  | ▄█·|",
        "      | !  |",
        "       May",
    ]


@given(st.integers(1, 400), st.integers(NARROWEST, WIDEST), NAMES)
@example(400, NARROWEST, "a" * 40)
def test_a_strip_fits_its_window(days, width, name):
    dates = np.datetime64("2031-05-01") + np.arange(days)
    rows = (Lane(name, np.ones(days), None, "modelled"), Marks(np.ones(days, dtype=bool)))
    lines = strip(Strip("Level", "full", rows, dates), width)
    assert max(map(wcwidth.width, [line for line in lines if line != name])) <= width


def test_the_day_that_is_on_stands_for_its_column():
    """Of 120 days in 60 columns the second of each two is measured, so its share is shown."""
    days = np.arange(120)
    lane = Lane("Butt", (days % 2).astype(float), days % 2 == 1)
    (_, row, _) = strip(Strip("Level", "", (lane,), np.datetime64("2031-05-01") + days), WIDEST)
    assert row == f"Butt  |{'█' * 60}|"


def test_things_along_a_pipe_go_on_in_the_next_row():
    lane = Lane("tee", np.ones(80))
    assert strip(Strip("Flow", "█ the wettest", (lane,), None, "jet", "dead end"), WIDEST) == [
        "Flow, one column a jet; █ the wettest",
        f"  tee |{'█' * 72}|",
        f"      |{'█' * 8}| dead end",
    ]


@pytest.mark.parametrize(
    ("share", "shown"), [(0.0, " "), (0.125, "▁"), (0.13, "▂"), (1.0, "█"), (1.2, "█"), (-1.0, " ")]
)
def test_a_block_is_as_high_as_its_share(share, shown):
    assert block(share) == shown


@pytest.mark.parametrize(("columns", "width"), [("60", 60), ("20", NARROWEST), ("400", WIDEST)])
def test_the_window_is_what_the_terminal_says_within_limits(monkeypatch, columns, width):
    monkeypatch.setenv("COLUMNS", columns)
    assert window() == width


def test_a_picture_without_a_strip_says_nothing():
    assert block_lines(Picture("odds", "In words"), WIDEST) == []


def test_dates_in_cells_are_written_by_their_column():
    column = Column("date", "Day", write=lambda day: f"{day:%d %b}")
    assert block_lines(Table("", (column,), ((dt.date(2031, 5, 1),),)), WIDEST) == ["Day", "01 May"]


# ---- Dates below a strip ----


def columns_from(first, days, step):
    return [first + dt.timedelta(day) for day in range(0, days, step)]


@pytest.mark.parametrize(
    ("first", "days", "step", "row"),
    [
        (dt.date(2031, 5, 1), 153, 3, "May        Jun       Jul       Aug       Sep"),
        (dt.date(2031, 11, 1), 151, 3, "Nov 2031  Dec        Jan 2032  Feb       Mar"),
        (dt.date(2031, 1, 1), 730, 13, "2031 Mar  May Jul  Sep  Nov  2032   Apr Jun  Aug  Oct Dec"),
        (dt.date(2019, 1, 1), 4383, 74, "2019 2020 2021 2022 2023 2024 2025 2026 2027 2028 2029 2030"),
        (dt.date(2031, 12, 28), 10, 1, "2031"),
        (dt.date(2000, 1, 1), 3982, 362, "2000 2004"),
    ],
)
def test_months_and_years_stand_below_their_columns(first, days, step, row):
    assert date_row(columns_from(first, days, step)) == row


@given(st.dates(dt.date(1900, 1, 1), dt.date(2090, 1, 1)), st.integers(1, 60), st.integers(1, 700))
def test_each_word_below_a_strip_is_whole_and_true(first, columns, step):
    """By the calendar of Python's standard library: a word stands where its month or its year begins."""
    dates = columns_from(first, columns * step, step)
    row = date_row(dates)
    assert len(row) <= columns
    known = {f"{dt.date(2000, month, 1):%b}" for month in range(1, 13)} | {str(date.year) for date in dates}
    assert set(row.split()) <= known
    for at, (before, letter) in enumerate(zip(f" {row}", row, strict=False)):
        word = row[at:].split(" ")[0]
        if before == " " != letter and word.isdigit():
            assert word == str(dates[at].year)
        elif before == " " != letter:
            assert word == f"{dates[at]:%b}"
            assert at == 0 or f"{dates[at - 1]:%b %Y}" != f"{dates[at]:%b %Y}"
    if columns >= 4 and dates[0].year != dates[-1].year:
        assert str(dates[0].year) in row
