"""Which day a date means: by itself, by the others of its file, or not at all, and then nothing is guessed."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.rows.dates import (
    DAY_FIRST,
    MONTH_FIRST,
    ORDERS,
    YEAR_FIRST,
    date_in,
    dates_of,
    iso_dates,
    written_date,
)

DAY = dt.date(2031, 5, 1)
FORMS = {  # strftime
    DAY_FIRST: ["%d/%m/%Y", "%d-%m-%Y", "%d/%m/%y", "%d %m %Y", "%a %d/%m/%Y", "%d/%m/%Y %H:%M", "%d%m%Y"],
    MONTH_FIRST: ["%m/%d/%Y", "%m-%d-%Y", "%m/%d/%y", "%A, %m/%d/%Y"],
    YEAR_FIRST: ["%y-%m-%d", "%y/%m/%d"],
}


def where(number):
    return f"row {number + 2}: date"


def read(*cells, order=None):
    return dates_of(cells, where, order)


@pytest.mark.parametrize(
    "cell",
    [
        "2031-05-01", "2031/5/1", "2031.05.01", "2031 5 1", "20310501", "1.5.2031", "01.05.2031", "1. 5. 2031",
        "2031-05-01 00:00", "2031-05-01T09:00:00Z", "2031-05-01T09:00:00+01:00", "01.05.2031 9:00", "2031-05-01 9h30",
        "2031-05-01 09:00:00.000", "1.5.2031 11:59 pm", "Thu 1.5.2031", "Do., 01.05.2031", " 2031-05-01 ",
        "1 May 2031", "1st May 2031", "1-May-31", "01-May-2031", "May 1, 2031", "May 1st, 2031", "Thursday, 1 May 2031",
        "Thursday, May 1, 2031", "2031-May-01", "2031 May 1", "1 MAY 2031", "1. Mai 2031", "1er mai 2031",
        "1 de mayo de 2031", "1 mayo 2031", "jeudi 1 mai 2031", "1 May 2031 09:00",
    ],
)  # fmt: skip
def test_a_date_that_speaks_for_itself(cell):
    assert read(cell) == [DAY]


@pytest.mark.parametrize(
    ("number", "names"),
    [
        (1, "Jan January Januar Jänner janvier enero"),
        (2, "Feb February Februar février fevrier febrero"),
        (3, "Mar March März Mrz mars marzo"),
        (4, "Apr April avril abril"),
        (5, "May Mai mai mayo"),
        (6, "Jun June Juni juin junio"),
        (7, "Jul July Juli juillet julio"),
        (8, "Aug August août aout agosto"),
        (9, "Sep Sept September septembre septiembre"),
        (10, "Oct October Oktober octobre octubre"),
        (11, "Nov November novembre noviembre"),
        (12, "Dec December Dezember décembre diciembre"),
    ],
)
def test_the_months_of_four_languages(number, names):
    for name in names.split():
        assert read(f"7 {name} 2031", f"7. {name}. 31", f"7-{name.upper()}-2031") == [dt.date(2031, number, 7)] * 3


NO_DATES = ["", "x", "May 1st", "5/2031", "2031", "2031-W18-4", "1 foo 2031", "10:30", "1,5", "45000"]


@pytest.mark.parametrize("cell", NO_DATES)
def test_what_is_no_date(cell):
    assert written_date(cell) is None
    assert read(cell) == [None]
    assert iso_dates([cell], where) == [cell]


@pytest.mark.parametrize("cell", ["31.02.2031", "2031-13-01", "31/02/2031", "0 May 2031", "2031-00-00"])
def test_a_day_that_no_year_has(cell):
    assert read(cell) == [None]
    with pytest.raises(ValueError, match="a day that does not exist; correct it"):
        date_in(cell)


@pytest.mark.parametrize(
    ("cells", "dates"),
    [
        (["03/04/2026", "13/04/2026"], ["2026-04-03", "2026-04-13"]),  # a 13th month tells the others
        (["04/13/2026", "04/03/2026"], ["2026-04-13", "2026-04-03"]),
        (["03/04/2026", "04/04/2026", "05/04/2026"], ["2026-04-03", "2026-04-04", "2026-04-05"]),  # day by day
        (["03/04/2026", "03/05/2026", "03/06/2026"], ["2026-03-04", "2026-03-05", "2026-03-06"]),
        (["05/04/2026", "04/04/2026", "03/04/2026"], ["2026-04-05", "2026-04-04", "2026-04-03"]),  # the newest first
        (["02/04/2026", "11/04/2026", "01/05/2026"], ["2026-04-02", "2026-04-11", "2026-05-01"]),  # only so they rise
        (["05/05/2026"], ["2026-05-05"]),
        (["26/05/01", "26/05/02", "26/05/03"], ["2026-05-01", "2026-05-02", "2026-05-03"]),
        (["01/05/26", "02/05/26", "03/05/26"], ["2026-05-01", "2026-05-02", "2026-05-03"]),
        (["27/11/26"], ["2026-11-27"]),
        (["31/12/68", "31/12/69"], ["2068-12-31", "1969-12-31"]),  # as strptime has it
        (["2026-04-03", "03/04/2026", "13/04/2026", "nothing"], ["2026-04-03", "2026-04-03", "2026-04-13", "nothing"]),
        (["13/05/2031", "14/05/2031", "05/15/2031"], ["2031-05-13", "2031-05-14", "05/15/2031"]),
    ],
)  # fmt: skip
def test_the_others_of_a_file_tell(cells, dates):
    assert iso_dates(cells, where) == dates


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (["03/04/2026"], 'row 2: date is "03/04/2026", which may be 2026-04-03 or 2026-03-04, and no other date tells'),
        (["05/05/2026", "03/04/2026"] * 9, 'row 3: date is "03/04/2026", which may be 2026-04-03 or 2026-03-04'),
        (["02/04/2026", "05/04/2026", "09/04/2026"], 'row 2: date is "02/04/2026", which may be'),  # weekly or monthly
        (["02/04/2026", "11/03/2026", "01/05/2026"], 'row 2: date is "02/04/2026", which may be'),  # none rises
        (["2026-05-01", "3-4-2026"], 'row 3: date is "3-4-2026", which may be'),
        (["13/05/2031", "05/14/2031"],
         'row 2: date is "13/05/2031" and row 3: date is "05/14/2031", so day and month change places'),
    ],
)  # fmt: skip
def test_what_the_file_does_not_tell_is_refused(cells, said):
    with pytest.raises(ValueError, match=r"^row ") as error:
        read(*cells)
    assert str(error.value).startswith(said)
    assert "write YYYY-MM-DD" in str(error.value)


def test_an_order_that_is_known_goes_before_all():
    assert read("03/04/2026", order=DAY_FIRST) == [dt.date(2026, 4, 3)]
    assert read("03/04/2026", order=MONTH_FIRST) == [dt.date(2026, 3, 4)]
    assert read("13/04/2026", order=MONTH_FIRST) == [None]


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("", "is blank; write YYYY-MM-DD, such as 2031-05-01"),
        ("May 1st", 'is "May 1st"; write YYYY-MM-DD, such as 2031-05-01'),
        ("2031-02-29", 'is "2031-02-29", a day that does not exist; correct it'),
        ("0203-05-01", 'is "0203-05-01"; write a year from 1700 to 2200'),
        ("9999-12-31", 'is "9999-12-31"; write a year from 1700 to 2200'),
    ],
)
def test_a_cell_that_is_no_day_is_told(cell, said):
    with pytest.raises(ValueError, match=r"^is ") as error:
        date_in(cell)
    assert str(error.value) == said


@given(
    st.dates(dt.date(1970, 1, 1), dt.date(2060, 12, 31)),
    st.integers(3, 60),
    st.sampled_from(ORDERS).flatmap(lambda order: st.sampled_from(FORMS[order])),
    st.booleans(),
)
def test_days_in_a_row_are_read_in_any_form(first, count, form, is_newest_first):
    days = [first + dt.timedelta(days=number) for number in range(count)]
    days = days[::-1] if is_newest_first else days
    assert read(*[day.strftime(form) for day in days]) == days


@given(
    st.lists(st.dates(dt.date(1970, 1, 1), dt.date(2060, 12, 31)), min_size=1, max_size=9),
    st.dates(dt.date(1970, 1, 1), dt.date(2060, 12, 31)).filter(lambda day: day.day > 12),
    st.sampled_from(ORDERS[:2]),
    st.data(),
)
def test_a_13th_month_tells_all_other_dates(days, late, order, data):
    days.insert(data.draw(st.integers(0, len(days))), late)
    assert read(*[day.strftime(FORMS[order][0]) for day in days]) == days
