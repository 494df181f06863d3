"""What is taken for granted of a table, what is left out, and what is refused because nobody could tell."""
# ruff: noqa: E501, ISC004 -- a case on a line

import datetime as dt
import io
import zipfile

import numpy as np
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import WeatherError
from waterbudget.rows.dates import DAY_FIRST, MONTH_FIRST
from waterbudget.weather.table import grid
from waterbudget.weather.table.columns import column_said
from waterbudget.weather.table.faults import TableError
from waterbudget.weather.table.understand import Hints, understand

HEAD = "Date,Rain (mm),Tmin (°C),Tmax (°C)"


def ask(*lines, name="sheet.csv", **hints):
    content = lines[0] if isinstance(lines[0], bytes) else "\n".join(lines).encode()
    return understand(content, name, Hints(**hints))


def refused(*lines, **hints):
    with pytest.raises(WeatherError) as error:
        ask(*lines, **hints)
    assert all("\n" not in fault for fault in error.value.faults)
    return list(error.value.faults)


def column(understood, name):
    return understood.daily[name].tolist()


# ---- Dates ----


def test_dates_that_cannot_be_told_apart_are_refused_until_somebody_says():
    lines = ("Date,Rain", "03/04/2026,5", "05/04/2026,1")
    assert refused(*lines) == [
        'sheet.csv: row 2: Date is "03/04/2026", which may be 2026-04-03 or 2026-03-04, and no other date tells; '
        "add --day-first or --month-first"
    ]
    assert ask(*lines, order=DAY_FIRST).first == dt.date(2026, 4, 3)
    assert ask(*lines, order=MONTH_FIRST).first == dt.date(2026, 3, 4)


@pytest.mark.parametrize("dates", [["03/04/2026"] * 4, ["02/04/2026", "02/05/2026", "02/07/2026"]])
def test_days_up_to_the_twelfth_alone_tell_nothing(dates):
    (fault,) = refused("Date,Rain", *[f"{date},1" for date in dates])
    assert fault.endswith("add --day-first or --month-first")


def test_a_year_is_taken_from_the_title_alone_and_told():
    understood = ask("Rain 2031", "Day,Rain", "1 May,0", "2 May,4")
    assert (understood.first, understood.days.year) == (dt.date(2031, 5, 1), 2031)
    assert refused("Day,Rain", "1 May,0", "2 May,4") == [
        'sheet.csv: row 2: "1 May" is no date, and so on in 1 more rows; write dates with their year, such as 2031-05-01'
    ]
    assert "write dates with their year" in refused("Rain 2030 and 2031", "Day,Rain", "1 May,0", "2 May,4")[0]


def test_rows_without_a_date_are_left_out_and_told():
    understood = ask(HEAD, "2031-05-01,0,5,15", "Sum,0,,", "2031-05-02,1,6,16", ",9,9,9")
    assert understood.dateless == ((3, "Sum"), (5, "9"))
    assert column(understood, "rain_mm") == [0, 1]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            ("Rain,Note", "1,wet", "2,dry"),
            'no column of dates among "Rain", "Note"; if one is, say so, as in --columns "Rain=date"',
        ),
        (("Month,Rain", "2031-01-01,50", "2031-02-01,40", "2031-03-01,60"), "has one row a month; give one row a day"),
        (("When,Rain", "2031-05-01,50", "2031-06-01,40", "2031-07-01,60"), "has one row a month; give one row a day"),
        (("Date,Rain", "1066-10-14,1", "1066-10-15,0"), "has days of 1066; write years from 1700 to 2200"),
        (
            ("Date,Rain", *["nonsense,1"] * 9),
            'row 2: "nonsense" is no date, and so on in 8 more rows; write dates with',
        ),
    ],
)
def test_tables_without_days_are_refused(lines, said):
    (fault,) = refused(*lines)
    assert fault.startswith(f"sheet.csv: {said}")


def test_the_day_of_the_week_tells_the_order():
    """The third of April 2026 is a Friday, the fourth of March a Wednesday."""
    assert ask("Date,Rain", "Fri 03/04/2026,5").first == dt.date(2026, 4, 3)
    assert ask("Date,Rain", "Wed 03/04/2026,5").first == dt.date(2026, 3, 4)
    assert refused("Date,Rain", "Sun 03/04/2026,5")[0].endswith("add --day-first or --month-first")


@pytest.mark.parametrize(
    ("heading", "first"), [("dd/mm/yyyy", dt.date(2026, 4, 3)), ("Date (MM/DD/YYYY)", dt.date(2026, 3, 4))]
)
def test_a_heading_tells_the_order(heading, first):
    assert ask(f"{heading},Rain", "03/04/2026,5").first == first


MONTHS = (
    "Day,Jan,Feb,Mar,Apr",
    *[f"{day},{day},{'' if day > 28 else 0},{day / 10},{'' if day > 30 else 2}" for day in range(1, 32)],
)


def test_months_side_by_side_are_a_year():
    understood = ask("Rainfall in mm 2031", *MONTHS)
    assert (understood.first, understood.last) == (dt.date(2031, 1, 1), dt.date(2031, 4, 30))
    assert understood.daily.loc["2031-01-31", "rain_mm"] == 31
    assert understood.daily.loc["2031-03-07", "rain_mm"] == 0.7
    assert (understood.readings[0].column.heading, understood.readings[0].unit.shown) == ("Rainfall in mm 2031", "mm")
    assert ask(*MONTHS, name="rain 2031.csv").last == dt.date(2031, 4, 30)
    with pytest.raises(WeatherError):
        ask(*MONTHS)


def test_the_days_of_a_month_take_it_from_the_title():
    rows = [f"{day},{day % 3}" for day in range(1, 32)]
    understood = ask("Rain in May 2031", "Day,mm", *rows)
    assert (understood.first, understood.last) == (dt.date(2031, 5, 1), dt.date(2031, 5, 31))
    assert ask("Day,Rain", *rows, name="Mai_2031.csv").first == dt.date(2031, 5, 1)
    with pytest.raises(WeatherError):
        ask("April and May 2031, June 2031", "Day,Rain", *rows)


def test_two_readings_a_day_are_put_together():
    understood = ask(
        "Date,Time,Rain,Min,Max",
        "2031-05-01,am,1,5,12",
        "2031-05-01,pm,2,9,16",
        "2031-05-02,am,0,4,11",
        "2031-05-02,pm,3,8,15",
    )
    assert understood.rhythm == "hour"
    assert understood.daily.to_numpy().tolist() == [[3, 5, 16], [3, 4, 15]]


# ---- Columns ----


def test_a_column_is_what_somebody_says_by_heading_or_number():
    lines = ("2031-05-01,3,0.5,48,60", "2031-05-02,0,0,50,62")
    said = {"2": "none", "3": "rain_in", "4": "tmin_f", "5": "tmax_f"}
    understood = ask(*lines, columns=said)
    np.testing.assert_allclose(understood.daily.to_numpy(), [[12.7, 80 / 9, 140 / 9], [0, 10, 150 / 9]])
    lines = ("Wann,Nass,Rain", "2031-05-01,3,7", "2031-05-02,4,8")
    assert column(ask(*lines, columns={"NASS": "rain_mm"}), "rain_mm") == [3, 4]
    assert refused(*lines, columns={"Regen": "rain_mm"}) == [
        '--columns: sheet.csv has no column "Regen"; it has "Wann", "Nass", "Rain"'
    ]


@pytest.mark.parametrize(
    ("words", "pair"),
    [
        ("Wet=rain_mm", ("Wet", "rain_mm")),
        ("a=b = tmin_f", ("a=b", "tmin_f")),
        ("3=none", ("3", "none")),
        ("Day=date", ("Day", "date")),
    ],
)
def test_what_is_said_of_a_column_is_taken_apart(words, pair):
    assert column_said(words) == pair


@pytest.mark.parametrize("words", ["rain_mm", "Wet=", "=rain_mm", "Wet=wet", ""])
def test_what_says_nothing_of_a_column_is_refused(words):
    with pytest.raises(WeatherError, match=r"write HEADING=NAME, with a name of: rain_mm, et0_mm, tmin_c"):
        column_said(words)


def test_two_columns_of_one_quantity_are_refused_unless_one_is_surer():
    assert refused("Date,Rain AM,Rain PM", "2031-05-01,1,2") == [
        'sheet.csv: "Rain AM" and "Rain PM" may both be rain_mm; say which, as in --columns "Rain AM=rain_mm" '
        '--columns "Rain PM=none"'
    ]
    assert '--columns "2=rain_mm"' in refused("Date,Rain,Rain", "2031-05-01,1,2")[0]
    assert column(ask("Date,Rain (mm),Rain (in)", "2031-05-01,25.4,9"), "rain_mm") == [25.4]
    assert column(ask("Date,Rain,Rain", "2031-05-01,1,2", columns={"3": "rain_mm"}), "rain_mm") == [2]


def test_columns_of_nothing_known_are_named():
    (fault,) = refused("Date,Foo,Bar", "2031-05-01,1,2")
    assert fault.startswith('sheet.csv: none of the columns "Date", "Foo", "Bar" is known for rain, temperature')


def test_the_lowest_above_the_highest_throughout_is_refused_and_on_one_day_left_out():
    swapped = refused("Date,Rain,Tmin,Tmax", "2031-05-01,0,15,5", "2031-05-02,0,16,6")
    assert swapped[0].endswith('--columns "Tmin=tmax_c" --columns "Tmax=tmin_c"')
    understood = ask(HEAD, "2031-05-01,0,5,15", "2031-05-02,0,16,6", "2031-05-03,0,7,17")
    assert understood.crossed == (dt.date(2031, 5, 2),)
    np.testing.assert_array_equal(column(understood, "tmin_c"), [5, np.nan, 7])


@pytest.mark.parametrize(
    ("values", "unit"),
    [
        ([68, 72, 80], "°F"),
        ([20.5, 21, 19], "°C"),
        ([205, 198, 215], "tenths of °C"),
        ([41, 44, 39], "°F"),
        ([-5, 2, 1], "°C"),
        ([291.4, 288.15, 290.0], "K"),
    ],
)
def test_a_unit_that_is_not_told_is_guessed_from_the_size_of_the_numbers(values, unit):
    understood = ask("Date,Tmax", *[f"2031-05-0{n},{value}" for n, value in enumerate(values, 1)])
    assert (understood.readings[0].unit.shown, understood.readings[0].is_assumed) == (unit, True)


@pytest.mark.parametrize(
    ("heading", "values", "unit"),
    [
        ("Humidity", [0.6, 0.9, 1.0], "fractions of 1"),
        ("Humidity", [60, 90, 100], "%"),
        ("Sun", [0, 400, 700], "minutes"),
        ("Sun", [0, 24_000, 50_000], "seconds"),
        ("Sun", [0, 4, 14], "hours"),
        ("Solar radiation", [2, 14, 28], "MJ/m²"),
        ("Solar radiation", [20, 140, 300], "W/m²"),
        ("Solar radiation", [200, 1400, 2800], "J/cm²"),
        ("Wind", [2, 3, 5], "m/s"),
        ("Wind", [8, 20, 15], "km/h"),
        ("Rain", [0, 12, 40], "mm"),
    ],
)
def test_other_units_are_guessed_alike(heading, values, unit):
    understood = ask(f"Date,{heading}", *[f"2031-05-0{n},{value}" for n, value in enumerate(values, 1)])
    assert (understood.readings[0].unit.shown, understood.readings[0].is_assumed) == (unit, True)


def test_rain_without_a_unit_beside_fahrenheit_is_in_inches():
    understood = ask("Date,Rain,Tmax (°F)", "2031-05-01,0.5,68", "2031-05-02,0,70")
    assert column(understood, "rain_mm") == [12.7, 0]
    assert understood.readings[0].is_assumed


# ---- Cells ----


@pytest.mark.parametrize("trace", ["tr", "T", "Trace", "0.0T", "Spur", "<0.1"])
def test_a_trace_counts_as_nothing_and_is_told(trace):
    understood = ask("Date,Rain", f"2031-05-01,{trace}", "2031-05-02,3", "2031-05-03,0")
    assert column(understood, "rain_mm") == [0, 3, 0]
    assert understood.readings[0].traces == 1


@pytest.mark.parametrize("code", ["9999", "-9999", "999.9", "-99.9", "-99"])
def test_a_code_is_no_reading(code):
    understood = ask(HEAD, "2031-05-01,0,5,15", f"2031-05-02,{code},{code},15", "2031-05-03,0,7,17")
    np.testing.assert_array_equal(understood.daily.iloc[1], [np.nan, np.nan, 15])
    assert [one.codes for one in understood.readings] == [1, 1, 0]


def test_a_code_that_weather_can_give_is_a_reading():
    assert column(ask("Date,Rain,RH", "2031-05-01,99,99", "2031-05-02,0,50"), "rain_mm") == [99, 0]


@pytest.mark.parametrize("blank", ["", "-", "--", "n/a", "NaN", "missing", "#N/A", "?"])
def test_a_blank_is_a_gap_where_dry_days_are_written_down(blank):
    understood = ask("Date,Rain", "2031-05-01,0", f"2031-05-02,{blank}", "2031-05-03,4")
    np.testing.assert_array_equal(column(understood, "rain_mm"), [0, np.nan, 4])
    assert understood.readings[0].dry_blanks == 0
    assert column(
        ask("Date,Rain", "2031-05-01,0", f"2031-05-02,{blank}", "2031-05-03,4", dry_blanks=True), "rain_mm"
    ) == [0, 0, 4]


@pytest.mark.parametrize("blank", ["", "-"])
def test_a_blank_is_a_dry_day_where_no_dry_day_is_written_down(blank):
    understood = ask(HEAD, "2031-05-01,2,5,15", f"2031-05-02,{blank},6,16", "2031-05-03,4,7,17")
    assert column(understood, "rain_mm") == [2, 0, 4]
    assert understood.readings[0].dry_blanks == 1


def test_a_list_of_wet_days_has_dry_days_between():
    understood = ask("Date,Rain", "2031-05-01,2", "2031-05-04,5")
    assert (column(understood, "rain_mm"), understood.dry_between) == ([2, 0, 0, 5], 2)
    understood = ask("Date,Rain", "2031-05-01,2", "2031-05-03,0", "2031-05-04,5")
    np.testing.assert_array_equal(column(understood, "rain_mm"), [2, np.nan, 0, 5])


def test_fractions_of_an_inch_are_read():
    understood = ask("Date,Rain (in)", "2031-05-01,1/4", "2031-05-02,1 1/2", "2031-05-03,0")
    assert column(understood, "rain_mm") == pytest.approx([6.35, 38.1, 0])


def test_a_header_with_one_known_word_is_still_a_header():
    lines = ("Date,9am reading (mm)", "2031-05-01,0", "2031-05-02,3")
    assert 'as in --columns "9am reading (mm)=rain_mm"' in refused(*lines)[0]
    assert column(ask(*lines, columns={"9am reading (mm)": "rain_mm"}), "rain_mm") == [0, 3]


def test_what_no_weather_gives_is_left_out_and_told():
    understood = ask(HEAD, "2031-05-01,0,5,15", "2031-05-02,lots,6,160", "2031-05-03,-3,7,17")
    assert [tuple(odd) for odd in understood.odd] == [
        (3, "rain_mm", "lots"),
        (3, "tmax_c", "160"),
        (4, "rain_mm", "-3"),
    ]


def test_rows_that_wait_to_be_filled_are_no_days():
    understood = ask(HEAD, "2031-05-01,2,5,15", "2031-05-02,1,6,16", "2031-05-03,,,", "2031-05-04,,,")
    assert (understood.last, understood.readings[0].dry_blanks) == (dt.date(2031, 5, 2), 0)


def test_a_day_twice_is_kept_once_where_both_agree_and_refused_where_not():
    assert ask("Date,Rain", "2031-05-01,1", "2031-05-01,1", "2031-05-02,0").repeated == 1
    assert refused("Date,Rain", "2031-05-01,1", "2031-05-02,0", "2031-05-01,2") == [
        "sheet.csv: row 4: 2031-05-01 stands in row 2 already, with other readings; keep one of them"
    ]


def test_a_number_that_may_be_thousands_is_a_reading_of_weather():
    """1,250 mm in a day cannot be; 1,250 J/cm2 can."""
    assert column(ask("Date;Rain", "2031-05-01;1.250", "2031-05-02;0"), "rain_mm") == [1.25, 0]
    (fault,) = refused("Date;Radiation (J/cm2)", "2031-05-01;1.250", "2031-05-02;900")
    assert "which may be 1250 or 1.250" in fault


# ---- Weeks and hours ----


def test_rain_of_a_week_is_spread_over_the_days_since_the_reading_before():
    understood = ask("Date,Rain", "2031-05-08,14", "2031-05-15,0", "2031-05-22,3.5", "2031-05-30,8")
    assert understood.rhythm == "week"
    assert understood.first == dt.date(2031, 5, 2)
    assert column(understood, "rain_mm") == [2.0] * 7 + [0.0] * 7 + [0.5] * 7 + [1.0] * 8
    assert understood.daily["rain_mm"].sum() == 25.5


def test_a_week_that_begins_on_its_date_is_spread_from_there():
    understood = ask("Week commencing,Rain", "2031-05-05,7", "2031-05-12,14")
    assert (understood.first, understood.last) == (dt.date(2031, 5, 5), dt.date(2031, 5, 18))
    assert column(understood, "rain_mm") == [1.0] * 7 + [2.0] * 7


def test_weekly_temperatures_are_refused():
    (fault,) = refused("Week ending,Rain,Tmax", "2031-05-08,14,20", "2031-05-15,0,21", "2031-05-22,3,22")
    assert fault.startswith("sheet.csv: has one row a week: only rain can be spread over its days")


def hourly(days=2, skipped=()):
    at = [(day, hour) for day in range(1, days + 1) for hour in range(24) if (day, hour) not in skipped]
    rows = [
        f"2031-05-{day:02d} {hour:02d}:00,{10 + hour / 2},{hour % 2 / 10},{50 + hour},{3.6},{100}" for day, hour in at
    ]
    return ("Time,Temp (°C),Rain (mm),RH (%),Wind (km/h),Solar (W/m2)", *rows)


def test_hours_are_put_together_by_day():
    understood = ask(*hourly())
    assert understood.rhythm == "hour"
    day = understood.daily.iloc[0]
    assert day[["tmin_c", "tmax_c", "tmean_c"]].tolist() == [10, 21.5, 15.75]
    assert day["rain_mm"] == pytest.approx(1.2)
    assert day[["rh_min_pct", "rh_max_pct", "rh_mean_pct"]].tolist() == [50, 73, 61.5]
    assert day["wind_m_s"] == pytest.approx(1.0)
    assert day["solar_mj_m2"] == pytest.approx(8.64)  # FAO-56 Table 3


def test_a_day_with_too_few_hours_is_a_gap():
    understood = ask(*hourly(3, skipped={(2, hour) for hour in range(5)}))
    assert understood.daily.isna().all(axis=1).tolist() == [False, True, False]
    assert not ask(*hourly(3, skipped={(2, hour) for hour in range(4)})).daily.isna().any(axis=None)


# ---- What is no table ----


def packed(**parts):
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        for name, text in parts.items():
            archive.writestr(name.replace("__", "/").replace("_xml", ".xml"), text)
    return content.getvalue()


def with_macros():
    book, content = openpyxl.Workbook(), io.BytesIO()
    book.save(content)
    with zipfile.ZipFile(content, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"Sub AutoOpen()")
    return content.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "holds no table; a table has a heading over each column and a row a day"),
        (b"\n \n", "holds no table; a table has a heading over each column and a row a day"),
        (b"\x89PNG\r\n\x1a\nIHDR", "is a picture, not a table in plain text; copy its table into a spreadsheet, and save that"),
        (b"\xff\xd8\xff\xe0JFIF", "is a picture, not a table in plain text; copy its table"),
        (b"%PDF-1.7", "is a PDF, not a table in plain text; copy its table"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "is a workbook of the old kind, not a table in plain text; copy its table"),
        (b"\0" * 99, "is no text; copy its table"),
        (b"<html><table></table></html>", "is a web page; copy its table into a spreadsheet, and save that as CSV or .xlsx"),
        (b'{"rain": 3}', "is no table, but JSON; copy its table"),
        (b"PK\x03\x04garbage", "is a packed file that is cut short or locked; save it anew as .xlsx"),
        (packed(mimetype="application/vnd.oasis.opendocument.spreadsheet"), "is a packed file, but no .xlsx workbook; save the"),
        (packed(xl__workbook_xml="<workbook/>"), "is no workbook that can be read; save it anew as .xlsx or CSV"),
        (packed(xl__workbook_xml="<!DOCTYPE lol [<!ENTITY a 'b'>]><workbook/>"), "is no workbook that can be read; save it"),
        (with_macros(), "is a workbook with macros; save it without them, as .xlsx or CSV"),
        (b'Date,Rain\n2031-05-01,"3\n', "row 2: is no CSV (unexpected end of data); check its quotation marks"),
        (b"just a letter\nfrom a friend\n", "no column of dates among"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused_in_one_line(content, said):
    (fault,) = refused(content)
    assert fault.startswith(f"sheet.csv: {said}")


def test_a_table_without_an_end_is_refused(monkeypatch):
    monkeypatch.setattr(grid, "MOST_ROWS", 5)
    rows = [f"2031-05-0{day},1" for day in range(1, 8)]
    assert refused("Date,Rain", *rows) == ["sheet.csv: has more than 5 rows; keep those of the days that are needed"]
    book = openpyxl.Workbook()
    for row in [("Date", "Rain"), *[(dt.date(2031, 5, day), 1) for day in range(1, 8)]]:
        book.active.append(row)
    content = io.BytesIO()
    book.save(content)
    assert refused(content.getvalue()) == ["sheet.csv: has more than 5 rows; keep those of the days that are needed"]


def test_the_sheet_with_the_weather_is_found_and_hidden_ones_are_not_looked_at():
    book = openpyxl.Workbook()
    book.active.append(["Seeds", "Price"])
    book.active.append(["Beans", 3])
    hidden = book.create_sheet("old")
    hidden.sheet_state = "hidden"
    for rows, sheet in ((9, hidden), (2, book.create_sheet("Rain"))):
        sheet.append(["Date", "Rain mm"])
        for day in range(1, rows + 1):
            sheet.append([dt.date(2031, 5, day), day])
    content = io.BytesIO()
    book.save(content)
    understood = ask(content.getvalue())
    assert (understood.layout.grid.title, column(understood, "rain_mm")) == ("Rain", [1, 2])


def test_a_formula_gives_the_value_that_was_saved_with_it():
    book = openpyxl.Workbook()
    for row in [("Date", "Rain"), (dt.date(2031, 5, 1), "=1+1"), (dt.date(2031, 5, 2), 3)]:
        book.active.append(row)
    content = io.BytesIO()
    book.save(content)  # no program has worked the formula out, so nothing is saved with it
    np.testing.assert_array_equal(column(ask(content.getvalue()), "rain_mm"), [3])


@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_any_content_is_understood_or_refused_in_words(content):
    try:
        understood = understand(content, "sheet.csv")
    except WeatherError as error:
        assert all(fault and "\n" not in fault for fault in error.faults)  # noqa: PT017 -- both ways out are right
    else:
        assert len(understood.daily) > 0


CELLS = st.sampled_from(
    ["2031-05-01", "2031-05-02", "03/04/2031", "0", "7.5", "1,5", "tr", "-", "", "Date", "Rain", "Tmin", "Tmax", "mm", "°F", "68", "9999", "x"]
)  # fmt: skip


@given(st.lists(st.lists(CELLS, min_size=1, max_size=6), max_size=7), st.sampled_from(",;\t"))
def test_any_table_is_understood_or_refused_in_words(rows, separator):
    test_any_content_is_understood_or_refused_in_words.hypothesis.inner_test(
        "\n".join(separator.join(row) for row in rows).encode()
    )


def test_a_unit_that_somebody_says_goes_before_heading_and_guess():
    rows = b"Date,Rain (mm),Tmin,Tmax\n2031-05-01,0.5,41,68\n2031-05-02,0,45,70\n"
    inches = understand(rows, "sheet.csv", Hints(units={"Rain (mm)": "inches", "3": "\u00b0F", "4": "mm"}))
    assert inches.daily["rain_mm"].iloc[0] == pytest.approx(12.7)  # an inch is 25.4 mm by definition
    assert inches.daily["tmin_c"].iloc[0] == pytest.approx(5.0)
    assert [one.is_assumed for one in inches.readings] == [False, False, True], "a unit of another kind says nothing"


@pytest.mark.parametrize(("decimals", "mm"), [(",", 1.234), (".", 1234.0), (None, None)])
def test_decimals_that_no_number_tells_are_said(decimals, mm):
    rows = b"Datum;Regen;Strahlung (J/cm2)\n2031-06-01;0;1,234\n2031-06-02;2;2,345\n"
    if mm is None:
        with pytest.raises(TableError) as caught:
            understand(rows, "sheet.csv")
        assert caught.value.kind == "decimals"
        return
    found = understand(rows, "sheet.csv", Hints(decimals=decimals))
    assert found.daily["solar_mj_m2"].iloc[0] == pytest.approx(mm / 100.0)  # 1 J/cm2 is 0.01 MJ/m2
