"""A good weather file is read to the digit; every bad one is refused in lines that say where and what to do."""

import datetime as dt
import itertools
import math
import os
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from vega_datasets import data as vega

from waterbudget.errors import WeatherError
from waterbudget.rows import sheet
from waterbudget.rows.text import MOST_BYTES
from waterbudget.weather.days import Weather
from waterbudget.weather.files import COLUMNS, read_daily, read_weather, weather_of

FIRST = dt.date(2031, 5, 1)
HEADER = "date,rain_mm,tmin_c,tmax_c"


@dataclass(frozen=True)
class Garden:
    latitude_deg: float | None = 53.1
    longitude_deg: float | None = -1.9
    elevation_m: float | None = 140.0
    wind_height_m: float = 2.0


def row(number, rain="0.4", rest="8.5,19.25"):
    return f"{FIRST + dt.timedelta(days=number)},{rain},{rest}"


def good_rows(count=20):
    return [row(n) for n in range(count)]


@pytest.fixture
def write(tmp_path):
    def write_csv(*lines, end="\n"):
        path = tmp_path / "weather.csv"
        path.write_bytes((end.join(lines) + end).encode())
        return path

    return write_csv


def faults_of(path, place=None):
    with pytest.raises(WeatherError) as caught:
        read_weather(path, place or Garden())
    assert all("\n" not in fault for fault in caught.value.faults)
    return list(caught.value.faults)


def test_a_good_file_is_read_to_the_digit(write):
    weather = read_weather(write(HEADER, *good_rows(3)), Garden())
    index = pd.date_range("2031-05-01", periods=3, freq="D", name="date")
    assert weather.daily.index.equals(index)
    assert (weather.daily.index.freq, weather.daily.index.name, weather.daily.index.tz) == (index.freq, "date", None)
    assert list(weather.daily) == ["rain_mm", "et0_mm", "tmin_c", "tmax_c"]
    assert (weather.daily.dtypes == "float64").all()
    assert weather.daily["tmax_c"].to_list() == [19.25] * 3
    assert (weather.daily["et0_mm"] > 0).all()
    assert weather.et0.method == "Hargreaves (FAO-56 Eq. 52)"
    assert weather.source == "weather.csv"


def test_every_column_is_read_in_any_order_and_others_are_ignored(write):
    values = {
        "sun_hours": 9.0,
        "note": "hens out",
        "wind_m_s": 1.5,
        "rain_mm": 2.5,
        "solar_mj_m2": 18.0,
        "date": FIRST,
        "tmax_c": 20.0,
        "tmin_c": 9.0,
        "": "",
        "tmean_c": 14.0,
        "rh_max_pct": 90.0,
        "rh_min_pct": 50.0,
        "rh_mean_pct": 72.0,
        "et0_mm": 3.25,
    }
    path = write(",".join(values), ",".join(str(value) for value in values.values()))
    read = read_weather(path, Garden(None, None, None)).daily
    assert list(read) == list(COLUMNS)
    assert read.iloc[0].to_dict() == {name: values[name] for name in COLUMNS}


def test_a_given_et0_needs_neither_temperatures_nor_place(write):
    weather = read_weather(write("date,rain_mm,et0_mm", "2031-05-01,0,2.75"), Garden(None, None, None))
    assert (weather.daily["et0_mm"].iloc[0], weather.et0.method) == (2.75, "as given")
    assert "et0_mm" not in read_daily(write(HEADER, row(0)))


def test_the_wind_height_of_the_place_is_used(write):
    path = write(f"{HEADER},wind_m_s,rh_mean_pct,solar_mj_m2", row(0, rest="8,19,3,70,18"))
    at_2m = read_weather(path, Garden()).daily["et0_mm"].iloc[0]
    from_10m = read_weather(path, Garden(wind_height_m=10.0)).daily["et0_mm"].iloc[0]
    calmer = write(
        f"{HEADER},wind_m_s,rh_mean_pct,solar_mj_m2", row(0, rest=f"8,19,{3 * 4.87 / math.log(672.58)},70,18")
    )
    assert from_10m < at_2m
    assert read_weather(calmer, Garden()).daily["et0_mm"].iloc[0] == pytest.approx(from_10m, rel=1e-12)  # Eq. 47


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_what_spreadsheets_write_is_read_alike(tmp_path, end, mark):
    plain = tmp_path / "plain.csv"
    plain.write_text("\n".join([HEADER, *good_rows()]), encoding="utf-8")
    path = tmp_path / "weather.csv"
    quoted = [f'"{line}"'.replace(",", '", "') for line in good_rows()]
    path.write_bytes(mark + end.join([HEADER, *quoted, "", ",,,", "", ""]).encode())
    pd.testing.assert_frame_equal(read_daily(path), read_daily(plain))


SAME = [  # what a spreadsheet makes of good_rows()
    ("semicolons and decimal commas", lambda line: line.replace(",", ";").replace(".", ","), "utf-8"),
    ("tabs, UTF-16", lambda line: line.replace(",", "\t"), "utf-16"),
    ("old code page", lambda line: f"{line},Kr\u00e4uter", "cp1252"),
    ("British dates", lambda line: re.sub("^2031-(..)-(..)", r"\2/\1/2031", line), "utf-8"),
    ("American dates", lambda line: re.sub("^2031-(..)-(..)", r"\1/\2/2031", line), "utf-8"),
    ("dotted dates", lambda line: re.sub("^2031-0(.)-0?(.*?),", r"\2.\1.2031,", line), "utf-8"),
    ("months in letters", lambda line: re.sub("^2031-05-(..)", r"\1-May-31", line), "utf-8"),
    ("packed dates", lambda line: line.replace("-", ""), "utf-8"),
    ("times of day", lambda line: re.sub("^(2031-05-..)", r"\1 00:00", line), "utf-8"),
    ("quoted decimal commas", lambda line: line.replace(".25", ".250").replace("19.250", '"19,25"'), "utf-8"),
    ("blank rows", lambda line: f"{line}\n,,,\n", "utf-8"),
    ("cells past the end", lambda line: re.sub("^(2.*)", r"\1,,,", line), "utf-8"),
]


@pytest.mark.parametrize(("spoilt", "encoding"), [case[1:] for case in SAME], ids=[case[0] for case in SAME])
def test_what_a_spreadsheet_made_of_a_file_is_read_alike(tmp_path, spoilt, encoding):
    plain = tmp_path / "plain.csv"
    plain.write_text("\n".join([HEADER, *good_rows()]), "utf-8")
    path = tmp_path / "weather.csv"
    path.write_bytes("\n".join(map(spoilt, [HEADER, *good_rows()])).encode(encoding))
    pd.testing.assert_frame_equal(read_daily(path), read_daily(plain))


def test_remarks_before_the_header_are_skipped_and_rows_still_counted(write):
    lines = ["# Brackenfold, school roof", "#,,", "", HEADER, row(0), row(1, "wet")]
    assert faults_of(write(*lines)) == [
        'weather.csv: row 6 (2031-05-02): rain_mm is "wet"; write a number of millimetres, 0 for none'
    ]


def test_neither_a_pipe_nor_a_device_nor_an_endless_file_is_read(tmp_path, monkeypatch):
    os.mkfifo(tmp_path / "pipe.csv")
    for path in (tmp_path / "pipe.csv", Path("/dev/zero")):
        assert faults_of(path) == [f"{path}: is a pipe or a device; save what it holds as a file, and name that"]
    with (tmp_path / "large.csv").open("wb") as handle:
        handle.truncate(MOST_BYTES + 1)  # takes no room on the disk
    assert faults_of(tmp_path / "large.csv") == [f"{tmp_path / 'large.csv'}: is larger than 100 MB; name a CSV file"]
    monkeypatch.setattr(sheet, "MOST_ROWS", 20)
    path = tmp_path / "long.csv"
    path.write_text("\n".join([HEADER, *good_rows(20)]), "utf-8")
    assert faults_of(path) == ["long.csv: has more than 20 rows; keep those that are needed"]


def test_a_real_record_of_four_years_is_read(write):
    """Seattle 2012-15 (NOAA, in vega_datasets): 1461 days; 1226.0 mm of rain in 2012, by pandas."""
    seattle = pd.read_csv(vega.seattle_weather.filepath)
    lines = [
        f"{record.date.replace('/', '-')},{record.precipitation},{record.temp_min},{record.temp_max},{record.wind}"
        for record in seattle.itertuples()
    ]
    weather = read_weather(write(f"{HEADER},wind_m_s", *lines), Garden(47.6, -122.3, 50.0))
    assert len(weather.daily) == 1461
    assert weather.daily.loc["2012", "rain_mm"].sum() == pytest.approx(1226.0)
    np.testing.assert_array_equal(weather.daily["wind_m_s"], seattle["wind"])


LINES = [  # what is wrong, lines of the file from row 2 on (the 1st of May), the fault
    ("blank", [row(0), row(1, "")], "row 3 (2031-05-02): rain_mm is blank; write a number of millimetres, 0 for none"),
    ("word", [row(0, "tr")], 'row 2 (2031-05-01): rain_mm is "tr"; write a number of millimetres, 0 for none'),
    ("nan", [row(0, "nan")], 'row 2 (2031-05-01): rain_mm is "nan"; write a number of millimetres, 0 for none'),
    ("inf", [row(0, "-inf")], 'row 2 (2031-05-01): rain_mm is "-inf"; write a number of millimetres, 0 for none'),
    (
        "too long",
        [row(0, "1e999")],
        'row 2 (2031-05-01): rain_mm is "1e999"; write a number of millimetres, 0 for none',
    ),
    ("grouped", [row(0, "1_0")], 'row 2 (2031-05-01): rain_mm is "1_0"; write a number of millimetres, 0 for none'),
    (
        "other digits",
        [row(0, "\N{ARABIC-INDIC DIGIT FIVE}")],
        'row 2 (2031-05-01): rain_mm is "\N{ARABIC-INDIC DIGIT FIVE}"; write a number of millimetres, 0 for none',
    ),
    (
        "decimal comma",
        [row(0, "1,5")],
        (
            "row 2 (2031-05-01): has 5 values under 4 column names; "
            "write decimals with a point (1.5, not 1,5), thousands with nothing, and text with a comma in quotes"
        ),
    ),
    (
        "short row",
        [row(0, rest="8")],
        "row 2 (2031-05-01): has 3 values under 4 column names; give every column a value",
    ),
    (
        "minimum above maximum",
        [row(0, rest="14.2,9.1")],
        "row 2 (2031-05-01): tmin_c 14.2 is above tmax_c 9.1; swap or correct them",
    ),
    (
        "British or American date",
        ["03/04/2031,0,8,19"],
        (
            'row 2: date is "03/04/2031", which may be 2031-04-03 or 2031-03-04, and no other date tells; '
            "write YYYY-MM-DD, such as 2031-05-01"
        ),
    ),
    ("no such day", ["2031-02-29,0,8,19"], 'row 2: date is "2031-02-29", a day that does not exist; correct it'),
    (
        "no such British day",
        ["31/02/2031,0,8,19"],
        'row 2: date is "31/02/2031", a day that does not exist; correct it',
    ),
    ("word as date", ["May 1st,0,8,19"], 'row 2: date is "May 1st"; write YYYY-MM-DD, such as 2031-05-01'),
    ("week date", ["2031-W18-4,0,8,19"], 'row 2: date is "2031-W18-4"; write YYYY-MM-DD, such as 2031-05-01'),
    ("no date", [",0,8,19"], "row 2: date is blank; write YYYY-MM-DD, such as 2031-05-01"),
    ("far year", ["9999-12-31,0,8,19"], 'row 2: date is "9999-12-31"; write a year from 1700 to 2200'),
    ("early year", ["0203-05-01,0,8,19"], 'row 2: date is "0203-05-01"; write a year from 1700 to 2200'),
    ("gap", [row(0), row(2)], "row 3 (2031-05-03): 2031-05-02 is missing before it; add a row for every day"),
    (
        "wide gap",
        [row(0), row(4)],
        "row 3 (2031-05-05): 3 days from 2031-05-02 to 2031-05-04 are missing before it; add a row for every day",
    ),
    (
        "day twice",
        [row(0), row(1), row(1), row(2)],
        "row 4 (2031-05-02): this day stands in row 3 already; keep one of them",
    ),
    ("out of order", [row(0), row(2), row(1)], "row 4 (2031-05-02): comes after 2031-05-03; sort the rows by date"),
    (
        "long nonsense",
        [row(0, "x" * 900)],
        f'row 2 (2031-05-01): rain_mm is "{"x" * 40}..."; write a number of millimetres, 0 for none',
    ),
    (
        "line break in a value",
        ['2031-05-01,"1\n2",8,19'],
        r'row 2 (2031-05-01): rain_mm is "1\n2"; write a number of millimetres, 0 for none',
    ),
    (
        "after a line break",
        ['2031-05-01,"0\n",8,19', row(1, "-")],
        'row 4 (2031-05-02): rain_mm is "-"; write a number of millimetres, 0 for none',
    ),
    (
        "open quotation mark",
        [row(0), '2031-05-02,"0,8,19', row(2)],
        "row 3: is no CSV (unexpected end of data); check its quotation marks",
    ),
]


@pytest.mark.parametrize(("lines", "fault"), [case[1:] for case in LINES], ids=[case[0] for case in LINES])
def test_a_bad_row_is_named_with_the_remedy(write, lines, fault):
    assert faults_of(write(HEADER, *lines)) == [f"weather.csv: {fault}"]


OUTSIDE = [
    (name, value, column)
    for name, column in COLUMNS.items()
    for value in (column.low - 0.1, column.high + 0.1, -9999.0)
]


@pytest.mark.parametrize(("name", "value", "column"), OUTSIDE)
def test_a_value_outside_its_range_is_refused(write, name, value, column):
    values = {"rain_mm": "0", "et0_mm": "2"} | {name: str(value)}
    path = write(",".join(["date", *values]), ",".join(["2031-05-01", *values.values()]))
    (line,) = faults_of(path)
    outside = f'is "{value}", outside {column.low:g} to {column.high:g}; write {column.write}'
    assert line == f"weather.csv: row 2 (2031-05-01): {name} {outside}"


@pytest.mark.parametrize("name", COLUMNS)
def test_the_ends_of_a_range_belong_to_it(write, name):
    for value in (COLUMNS[name].low, COLUMNS[name].high):
        values = {"rain_mm": "0", "et0_mm": "2"} | {name: str(value)}
        path = write(",".join(["date", *values]), ",".join(["2031-05-01", *values.values()]))
        assert read_daily(path)[name].to_list() == [value]


def test_the_ranges_are_those_agreed():
    """DEVELOPERS.md, the weather file."""
    assert {name: (column.low, column.high) for name, column in COLUMNS.items()} == {
        "rain_mm": (0, 2000),
        "et0_mm": (0, 20),
        "tmin_c": (-60, 60),
        "tmax_c": (-60, 60),
        "tmean_c": (-60, 60),
        "rh_mean_pct": (0, 100),
        "rh_min_pct": (0, 100),
        "rh_max_pct": (0, 100),
        "wind_m_s": (0, 60),
        "solar_mj_m2": (0, 50),
        "sun_hours": (0, 24),
    }


def test_a_blank_in_a_column_that_may_be_left_out_says_so(write):
    assert faults_of(write("date,rain_mm,et0_mm,sun_hours", "2031-05-01,0,2,")) == [
        "weather.csv: row 2 (2031-05-01): sun_hours is blank; write a number of hours, or leave the column out"
    ]


def test_lowest_humidity_above_the_highest(write):
    assert faults_of(write("date,rain_mm,et0_mm,rh_min_pct,rh_max_pct", "2031-05-01,0,2,90,60")) == [
        "weather.csv: row 2 (2031-05-01): rh_min_pct 90 is above rh_max_pct 60; swap or correct them"
    ]


OR_ET0 = ", or give et0_mm in place of tmin_c and tmax_c"
HEADS = [  # what is wrong, the header, the faults
    ("misspelt", "date,rain,et0_mm", ['the column rain_mm is missing; if it is "rain", rename that to rain_mm']),
    ("capitals", "Date,Rain (mm),ET0_mm", [
        'the column date is missing; if it is "Date", rename that to date',
        'the column rain_mm is missing; if it is "Rain (mm)", rename that to rain_mm',
        'the column et0_mm is missing; if it is "ET0_mm", rename that to et0_mm',
    ]),
    ("unlike", "date,prcp,et0_mm", ['the column rain_mm is missing; add it to the header "date,prcp,et0_mm"']),
    ("no temperatures", "date,rain_mm", [
        f'the column {name} is missing; add it to the header "date,rain_mm"{OR_ET0}'
        for name in ("tmin_c", "tmax_c")
    ]),
    ("misspelt temperature", "date,rain_mm,tmin_c,tmax", [
        f'the column tmax_c is missing; if it is "tmax", rename that to tmax_c{OR_ET0}'
    ]),
    ("one name for two", "date,rain_mm,temp_c", [
        f'the column tmin_c is missing; if it is "temp_c", rename that to tmin_c{OR_ET0}',
        f'the column tmax_c is missing; add it to the header "date,rain_mm,temp_c"{OR_ET0}',
    ]),
    ("twice", "date,rain_mm,et0_mm,rain_mm", ["the column rain_mm stands there 2 times; keep one"]),
    ("date twice", "date,date,rain_mm,et0_mm", ["the column date stands there 2 times; keep one"]),
]  # fmt: skip


@pytest.mark.parametrize(("header", "faults"), [case[1:] for case in HEADS], ids=[case[0] for case in HEADS])
def test_a_bad_header_is_explained(write, header, faults):
    assert faults_of(write(header, "2031-05-01,0,2")) == [f"weather.csv: row 1: {fault}" for fault in faults]


def test_a_header_is_told_what_it_has_twice_in_any_dialect(write):
    assert faults_of(write("date;rain_mm;et0_mm;rain_mm", "2031-05-01;0;2;0")) == [
        "weather.csv: row 1: the column rain_mm stands there 2 times; keep one"
    ]


BYTES = [
    ("empty", b"", "weather.csv: is empty; write the header date,rain_mm,et0_mm and a day a row"),
    ("blank lines", b"\n\n,,\n", "weather.csv: is empty; write the header date,rain_mm,et0_mm and a day a row"),
    ("only a mark", b"\xef\xbb\xbf", "weather.csv: is empty; write the header date,rain_mm,et0_mm and a day a row"),
    ("header only", HEADER.encode(), "weather.csv: holds no days; write one row a day under the header"),
    (
        "a workbook",
        b"PK\x03\x04\x14\0\0\0",
        "weather.csv: is a workbook or another packed file, not a table in plain text; save the sheet as CSV in UTF-8",
    ),
    (
        "a picture",
        b"\x89PNG\r\n\x1a\n",
        "weather.csv: is a picture, not a table in plain text; save the sheet as CSV in UTF-8",
    ),
    ("zeros", b"\0" * 60, "weather.csv: is no text; save the sheet as CSV in UTF-8"),
    ("UTF-16 without its mark", HEADER.encode("utf-16-le"), "weather.csv: is no text; save the sheet as CSV in UTF-8"),
    (
        "remarks only",
        b"# date,rain_mm\n",
        "weather.csv: is empty; write the header date,rain_mm,et0_mm and a day a row",
    ),
]


@pytest.mark.parametrize(("content", "fault"), [case[1:] for case in BYTES], ids=[case[0] for case in BYTES])
def test_what_is_no_csv_text_is_refused(tmp_path, content, fault):
    path = tmp_path / "weather.csv"
    path.write_bytes(content)
    assert faults_of(path) == [fault]


def test_a_missing_file_and_a_folder_are_told_with_the_whole_path(tmp_path):
    missing = tmp_path / "wether.csv"
    assert faults_of(missing) == [f"{missing}: there is no such file; write one with the columns date,rain_mm,et0_mm"]
    assert faults_of(str(tmp_path)) == [f"{tmp_path}: is a folder; name the CSV file in it"]
    inside_file = tmp_path / "note.txt"
    inside_file.touch()
    assert faults_of(inside_file / "weather.csv") == [
        f"{inside_file / 'weather.csv'}: cannot be read: Not a directory; name a CSV file that can"
    ]
    assert faults_of("a\0b") == ["a\\u0000b: cannot be read: embedded null byte; name a CSV file that can"]


def test_ten_faults_are_shown_and_the_rest_counted(write):
    lines = faults_of(write(HEADER, *[row(n, "tr") for n in range(17)]))
    assert len(lines) == 11
    assert lines[9].startswith('weather.csv: row 11 (2031-05-10): rain_mm is "tr"')
    assert lines[10] == "... and 7 more"
    assert len(faults_of(write(HEADER, *[row(n, "tr") for n in range(10)]))) == 10


def test_all_faults_come_in_the_order_of_the_rows(write):
    bad = [row(0, "tr", "x,19"), row(1), row(1, "-1"), row(4), "2031-5-32,0,8,19", row(9)]
    assert [line.split(": ", 2)[1:] for line in faults_of(write(HEADER, *bad))] == [
        ["row 2 (2031-05-01)", 'rain_mm is "tr"; write a number of millimetres, 0 for none'],
        ["row 2 (2031-05-01)", 'tmin_c is "x"; write a number of degrees Celsius'],
        ["row 4 (2031-05-02)", 'rain_mm is "-1", outside 0 to 2000; write a number of millimetres, 0 for none'],
        ["row 4 (2031-05-02)", "this day stands in row 3 already; keep one of them"],
        ["row 6", 'date is "2031-5-32", a day that does not exist; correct it'],
    ]  # no gap is told while a date cannot be read: it may be the one that seems to be missing


def test_a_missing_key_of_the_place_is_told_with_the_file(write):
    (line,) = faults_of(write(HEADER, row(0)), Garden(latitude_deg=None))
    assert line.startswith("weather.csv: ET0 from temperatures needs [site] latitude_deg, which is missing; add it")
    (line,) = faults_of(write(f"{HEADER},wind_m_s", row(0) + ",2"), Garden(elevation_m=None))
    assert line.startswith("weather.csv: ET0 by Penman-Monteith needs [site] elevation_m, which is missing; add it")


@given(st.permutations(range(9)))
def test_any_shuffle_is_refused_with_the_rows_that_come_late(tmp_path_factory, order):
    path = tmp_path_factory.mktemp("shuffled") / "weather.csv"
    path.write_text("\n".join([HEADER, *[row(n) for n in order]]), encoding="utf-8")
    late = [place for place, n in enumerate(order) if n < max(order[: place + 1])]
    if not late:
        assert len(read_daily(path)) == 9
    else:
        assert [line.split(": ")[1] for line in faults_of(path)] == [
            f"row {place + 2} ({FIRST + dt.timedelta(days=order[place])})" for place in late
        ]


@given(st.integers(0, 8), st.integers(0, 9))
def test_any_doubled_row_is_refused_and_named(tmp_path_factory, doubled, place):
    path = tmp_path_factory.mktemp("doubled") / "weather.csv"
    order = list(range(9))
    order.insert(place, doubled)
    path.write_text("\n".join([HEADER, *[row(n) for n in order]]), encoding="utf-8")
    first, second = (n + 2 for n, number in enumerate(order) if number == doubled)
    named = (
        f"weather.csv: row {second} ({FIRST + dt.timedelta(days=doubled)}): this day stands in row {first} already; "
    )
    assert any(line.startswith(named) for line in faults_of(path))


@pytest.mark.parametrize("removed", range(1, 8))
def test_any_removed_row_is_named_by_the_row_after_it(write, removed):
    rows = good_rows(9)
    del rows[removed]
    gone = FIRST + dt.timedelta(days=removed)
    where = f"row {removed + 2} ({gone + dt.timedelta(days=1)})"
    assert faults_of(write(HEADER, *rows)) == [
        f"weather.csv: {where}: {gone} is missing before it; add a row for every day"
    ]


def read_or_refused(folder, content):
    path = folder / "weather.csv"
    path.write_bytes(content)
    weather, faults = None, ()
    try:
        weather = read_weather(path, Garden())
    except WeatherError as error:
        faults = error.faults
    assert all(fault and "\n" not in fault for fault in faults)
    assert isinstance(weather, Weather) != bool(faults)
    assert weather is None or np.isfinite(weather.daily).all(axis=None)
    return weather


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("any")


@given(st.one_of(st.text().map(lambda text: text.encode("utf-8", "surrogatepass")), st.binary()))
@example(b'"')
@example(b'date,rain_mm,et0_mm\n"2031-05-01"x,0,2\n')
@example(b"date,rain_mm,et0_mm\n2031-05-01," + b"9" * 200_000 + b",2\n")
@example(b"date,rain_mm,et0_mm\x852031-05-01,0,2\n")
@example("date,rain_mm,et0_mm\u2028\n2031-05-01,0,2\n".encode())
def test_any_content_is_read_or_refused(folder, content):
    read_or_refused(folder, content)


HEAD_CELLS = st.sampled_from(["date", *COLUMNS, "rain", "", "note"])
CELLS = st.one_of(
    st.sampled_from(["0", "7.5", "-0", "1e2", "60", "", "tr", "nan", "1e400", "1,5", '"', "2031-05-01", "2031-05-02"]),
    st.dates().map(str),
    st.floats().map(str),
    st.text(max_size=4),
)


@given(st.lists(HEAD_CELLS, max_size=8), st.lists(st.lists(CELLS, max_size=8), max_size=4))
def test_any_table_is_read_or_refused(folder, head, body):
    read_or_refused(folder, "\n".join(",".join(cells) for cells in [head, *body]).encode("utf-8", "surrogatepass"))


@given(
    st.sets(st.sampled_from(sorted(set(COLUMNS) - {"rain_mm"}))).map(sorted),
    st.lists(st.floats(0, 20), min_size=11, max_size=11),
    st.dates(dt.date(1700, 1, 1), dt.date(2200, 12, 31)),
)
def test_sound_values_under_any_columns_are_read_or_refused(folder, names, values, date):
    names = [*dict.fromkeys(["rain_mm", "tmin_c", "tmax_c", *names])]
    line = ",".join([str(date), *[str(value) for value in values[: len(names)]]])
    weather = read_or_refused(folder, f"{','.join(['date', *names])}\n{line}\n".encode())
    crossed = any(
        {low, high} <= set(names) and values[names.index(low)] > values[names.index(high)]
        for low, high in (("tmin_c", "tmax_c"), ("rh_min_pct", "rh_max_pct"))
    )
    fraction = "et0_mm" not in names and any(
        name in names and values[names.index(name)] <= 1.0 for name in ("rh_max_pct", "rh_mean_pct")
    )
    assert (weather is None) == (crossed or fraction)


def test_a_period_is_cut_out_with_both_its_ends(write):
    whole = read_weather(write(HEADER, *good_rows()), Garden())
    part = whole.between(dt.date(2031, 5, 3), dt.date(2031, 5, 9))
    assert part.daily.equals(whole.daily.iloc[2:9])
    assert part.daily.index.freq == whole.daily.index.freq
    assert (part.et0, part.source) == (whole.et0, whole.source)
    assert whole.between(None, None).daily.equals(whole.daily)
    assert whole.between(dt.date(2031, 5, 20), None).daily.index.to_list() == [pd.Timestamp("2031-05-20")]
    assert len(whole.between(None, dt.date(2031, 5, 1)).daily) == 1


@pytest.mark.parametrize(
    ("start", "end", "fault"),
    [
        ("2031-04-30", None, "has no weather for all of 2031-04-30 to 2031-05-20"),
        (None, "2031-05-21", "has no weather for all of 2031-05-01 to 2031-05-21"),
        ("2032-05-01", "2032-05-09", "has no weather for all of 2032-05-01 to 2032-05-09"),
        ("2031-05-09", "2031-05-03", "the period starts on 2031-05-09 and ends before it, on 2031-05-03"),
        ("2031-06-01", None, "the period starts on 2031-06-01 and ends before it, on 2031-05-20"),
    ],
)
def test_a_period_outside_the_file_is_refused_with_the_days_there_are(write, start, end, fault):
    weather = read_weather(write(HEADER, *good_rows()), Garden())
    with pytest.raises(WeatherError) as caught:
        weather.between(*(dt.date.fromisoformat(text) if text else None for text in (start, end)))
    assert caught.value.faults == (f"weather.csv: {fault}; choose days from 2031-05-01 to 2031-05-20",)


def station_days(days=4):
    index = pd.date_range("2031-05-01", periods=days)
    return pd.DataFrame({"rain_mm": 0.5, "tmin_c": 8.0, "tmax_c": 19.0, "pressure_kpa": 101.0}, index=index)


def test_days_from_elsewhere_become_weather_and_stay_as_they_were():
    days = station_days()
    given = days.copy()
    weather = weather_of(days.astype("Float64"), Garden(), "station Brackenfold")
    assert list(weather.daily) == ["rain_mm", "et0_mm", "tmin_c", "tmax_c"]
    assert (weather.daily.index.name, weather.daily.index.freqstr) == ("date", "D")
    assert (weather.daily.dtypes == "float64").all()
    weather_of(days, Garden(), "station Brackenfold")
    pd.testing.assert_frame_equal(days, given)


@pytest.mark.parametrize(
    ("spoil", "fault"),
    [
        (lambda d: d.iloc[:0], "holds no days with rain_mm; give one row a day"),
        (lambda d: d.drop(columns="rain_mm"), "holds no days with rain_mm; give one row a day"),
        (lambda d: d.drop(columns="tmax_c"), "has no tmax_c; give tmin_c and tmax_c, or et0_mm"),
        (lambda d: d.drop(d.index[1]), "2031-05-02 is missing; give every day"),
        (lambda d: d.drop(d.index[1:3]), "2 days from 2031-05-02 to 2031-05-03 are missing; give every day"),
        (lambda d: d.iloc[[0, 1, 1, 2, 3]], "days stand twice or out of order; give each once, sorted by date"),
        (lambda d: d.iloc[[0, 2, 1, 3]], "days stand twice or out of order; give each once, sorted by date"),
        (lambda d: d.assign(rain_mm=[0, math.nan, 0, 0]), "2031-05-02: rain_mm is nan; give 0 to 2000"),
        (lambda d: d.assign(rain_mm=[0, 0, -1, 0]), "2031-05-03: rain_mm is -1; give 0 to 2000"),
        (lambda d: d.assign(tmin_c=[8, 8, 8, 20]), "2031-05-04: tmin_c is above tmax_c; swap or correct them"),
    ],
)
def test_unsound_days_from_elsewhere_are_refused(spoil, fault):
    with pytest.raises(WeatherError) as caught:
        weather_of(spoil(station_days()), Garden(), "station Brackenfold")
    assert caught.value.faults == (f"station Brackenfold: {fault}",)


def test_the_rows_are_numbered_as_an_editor_does(write):
    """The line of the file, whatever the fault: each row in turn."""
    for n in range(5):
        rows = good_rows(5)
        rows[n] = row(n, "tr")
        path = write(HEADER, *rows)
        (line,) = faults_of(path)
        (number,) = [n for n, text in zip(itertools.count(1), path.read_text("utf-8").splitlines()) if "tr" in text]
        assert line.startswith(f"weather.csv: row {number} ")
