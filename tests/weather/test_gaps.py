from datetime import date

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from waterbudget.errors import WeatherError
from waterbudget.weather.gaps import mend, missing_days, missing_lines, use_gauge
from waterbudget.weather.station import Station

NAN = float("nan")
FAR_MILL = Station("X0003", "Far Mill", 53.25, -1.7, None, 21.4, None)


def record(start="2031-05-01", **columns):
    """A daily record of the columns; its sources are `ghcnd` where there is a value."""
    length = len(next(iter(columns.values())))
    daily = pd.DataFrame(columns, index=pd.date_range(start, periods=length, freq="D", name="date"), dtype="float64")
    for name in columns:
        daily[f"{name}_source"] = daily[name].notna().map({True: "ghcnd", False: ""})
    return daily


# Finding


def test_gaps_are_found_by_column():
    daily = record(rain_mm=[NAN, 0, NAN, NAN, 1, NAN], tmin_c=[5, 5, 5, 5, 5, 5])
    runs = [(date(2031, 5, 1),) * 2, (date(2031, 5, 3), date(2031, 5, 4)), (date(2031, 5, 6),) * 2]
    assert missing_days(daily) == {"rain_mm": runs}
    assert missing_lines(daily) == ["rain_mm: 4 of 6 days missing: 2031-05-01, 2031-05-03 to 2031-05-04, 2031-05-06"]


def test_a_missing_row_is_a_gap_in_every_column():
    daily = record(rain_mm=[0, 0, 0], tmin_c=[5, 5, 5]).drop(pd.Timestamp("2031-05-02"))
    gap = [(date(2031, 5, 2), date(2031, 5, 2))]
    assert missing_days(daily) == {"rain_mm": gap, "tmin_c": gap}


def test_a_whole_record_has_no_gaps():
    daily = record(rain_mm=[0.0, 1.0])
    assert missing_days(daily) == {}
    assert missing_lines(daily) == []


def test_a_line_names_the_first_gaps_and_counts_the_rest():
    line = missing_lines(record(rain_mm=[0, NAN] * 20))[0]
    assert line.startswith("rain_mm: 20 of 40 days missing: 2031-05-02, 2031-05-04, ")
    assert line.endswith("2031-05-24 and 8 later gaps up to 2031-06-09")


# Mending


def test_three_days_of_temperature_are_bridged_linearly():
    daily = record(tmin_c=[4, NAN, NAN, NAN, 8, NAN, 6], tmax_c=[20.0] * 7)
    before = daily.copy()
    mended, notes = mend(daily, [])
    assert mended["tmin_c"].tolist() == pytest.approx([4, 5, 6, 7, 8, 7, 6])
    bridged = [False, True, True, True, False, True, False]
    assert mended["tmin_c_source"].tolist() == ["interpolated" if here else "ghcnd" for here in bridged]
    assert notes == [
        "tmin_c: 4 days bridged by a straight line between readings: 2031-05-02 to 2031-05-04, 2031-05-06."
    ]
    assert_frame_equal(daily, before)


@pytest.mark.parametrize("column", ["tmin_c", "tmax_c", "tmean_c", "rh_mean_pct", "wind_m_s", "sun_hours"])
def test_humidity_wind_and_sun_are_bridged_alike(column):
    mended, notes = mend(record(**{column: [1, NAN, 3]}), [])
    assert mended[column].tolist() == [1, 2, 3]
    assert notes == [f"{column}: 1 day bridged by a straight line between readings: 2031-05-02."]


@pytest.mark.parametrize(
    ("tmin_c", "named"),
    [
        ([4, NAN, NAN, NAN, NAN, 8], "tmin_c: 4 of 6 days missing: 2031-05-02 to 2031-05-05"),
        ([NAN, 5, 5], "tmin_c: 1 of 3 days missing: 2031-05-01"),
        ([5, 5, NAN], "tmin_c: 1 of 3 days missing: 2031-05-03"),
    ],
)
def test_longer_gaps_and_gaps_at_an_end_are_refused(tmin_c, named):
    with pytest.raises(WeatherError) as told:
        mend(record(tmin_c=tmin_c, rain_mm=[0.0] * len(tmin_c)), [])
    (line,) = told.value.faults
    assert line.startswith(f"{named}. Only gaps of up to 3 days between two readings are bridged")


def test_a_bridge_never_puts_the_minimum_above_the_maximum():
    with pytest.raises(WeatherError, match="tmin_c: 1 of 3 days missing: 2031-05-02"):
        mend(record(tmin_c=[10, NAN, 10], tmax_c=[20, 9, 20]), [])


def test_rain_comes_whole_from_the_next_station_that_has_the_day():
    daily = record(rain_mm=[1, NAN, NAN, NAN, 5])
    next_station = record(rain_mm=[9, 20, NAN, 0, 9])
    third = record(rain_mm=[8, 8, 30, 8, 8])
    no_rain = record(tmin_c=[1.0] * 5)
    mended, notes = mend(daily, [("X0002", no_rain), (FAR_MILL, next_station), ("X0009", third)])
    assert mended["rain_mm"].tolist() == [1, 20, 30, 0, 5]
    assert mended["rain_mm_source"].tolist() == ["ghcnd", "X0003", "X0009", "X0003", "ghcnd"]
    assert notes == [
        "rain_mm: 2 days taken from station X0003 Far Mill (21.4 km): 2031-05-02, 2031-05-04.",
        "rain_mm: 1 day taken from station X0009: 2031-05-03.",
    ]


def test_rain_that_no_station_has_is_refused_and_never_bridged():
    daily = record(rain_mm=[1, NAN, 3, NAN], tmin_c=[5, NAN, 5, NAN])
    with pytest.raises(WeatherError) as told:
        mend(daily, [("X0003", record(start="2031-05-03", rain_mm=[4, 4]))])
    rain, tmin = told.value.faults
    assert rain.startswith("rain_mm: 1 of 4 days missing: 2031-05-02. No other station at hand has these days: give")
    assert tmin.startswith("tmin_c: 1 of 4 days missing: 2031-05-04. ")


def test_nothing_is_done_to_a_whole_record():
    daily = record(rain_mm=[1.0, 2.0], tmin_c=[5.0, 6.0])
    mended, notes = mend(daily, [("X0003", daily * 2)])
    assert notes == []
    assert_frame_equal(mended, daily)


def test_sources_are_added_where_a_record_has_none():
    daily = record(rain_mm=[1, 2, 3], tmin_c=[5, NAN, 7])[["rain_mm", "tmin_c"]]
    mended, _ = mend(daily, [])
    assert mended["tmin_c_source"].tolist() == ["", "interpolated", ""]
    assert mended["rain_mm_source"].tolist() == ["", "", ""]


# The gardener's own gauge


def gauge(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "gauge.csv"
    path.write_text(text, encoding)
    return path


def test_the_gauge_replaces_the_station_on_its_days(tmp_path):
    daily = record(rain_mm=[1, NAN, 3, 4], tmin_c=[5, 5, 5, 5])
    before = daily.copy()
    path = gauge(tmp_path, "rain_mm,date,who\n9,2031-04-30,class 3\n2.5,2031-05-02,class 3\n0,2031-05-03,class 4\n")
    changed, note = use_gauge(daily, path)
    assert changed["rain_mm"].tolist() == [1, 2.5, 0, 4]
    assert changed["rain_mm_source"].tolist() == ["ghcnd", "gauge", "gauge", "ghcnd"]
    assert note == (
        f"rain_mm: 2 of 4 days from the gauge {path}; on the 1 of them that the station has too the gauge read 0.0 mm, "
        "the station 3.0 mm; 1 readings lie outside 2031-05-01 to 2031-05-04 and are not used."
    )
    assert_frame_equal(daily, before)
    assert_frame_equal(changed[["tmin_c"]], daily[["tmin_c"]])


def test_a_gauge_saved_by_a_spreadsheet_is_read(tmp_path):
    path = gauge(tmp_path, "date,rain_mm\r\n2031-05-01, 7.5\r\n\r\n", "utf-8-sig")
    assert use_gauge(record(rain_mm=[1.0])[["rain_mm"]], path)[0]["rain_mm_source"].tolist() == ["gauge"]


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("2031-05-01,1\n2031-05-01,2", "row 3: 2031-05-01: is there twice"),
        ("2031-05-02,1\n2031-05-01,2", "row 3: 2031-05-01: comes after 2031-05-02; put the days in order"),
        ("2031-05-01,", "row 2: 2031-05-01: rain_mm is blank; write millimetres from 0 to 2000, 0 for a dry day"),
        ("2031-05-01,trace", 'row 2: 2031-05-01: rain_mm is "trace"'),
        ("2031-05-01,nan", 'row 2: 2031-05-01: rain_mm is "nan"'),
        ("2031-05-01,-1", 'row 2: 2031-05-01: rain_mm is "-1"'),
        ("2031-05-01,1_0", 'row 2: 2031-05-01: rain_mm is "1_0"'),
        ("2031-05-01,2001", 'row 2: 2031-05-01: rain_mm is "2001"; write millimetres from 0 to 2000'),
        ("2031-05-01,1,5", "row 2: has 3 values under 2 column names; write decimals with a point (1.5, not 1,5)"),
        ("03/04/2031,1", 'row 2: date is "03/04/2031", which may be 2031-04-03 or 2031-03-04, and no other date tells'),
        ("2031-02-29,1", 'row 2: date is "2031-02-29", a day that does not exist'),
        ("May,1", 'row 2: date is "May"; write YYYY-MM-DD'),
    ],
)
def test_a_faulty_gauge_is_refused_with_row_and_date(tmp_path, rows, fault):
    path = gauge(tmp_path, f"date,rain_mm\n{rows}\n")
    with pytest.raises(WeatherError) as told:
        use_gauge(record(rain_mm=[1.0, 2.0]), path)
    (line,) = told.value.faults
    assert line.startswith(f"{path}: {fault}")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "is empty; write the header date,rain_mm and a reading a row"),
        ("day,rain_mm\n2031-05-01,1\n", "row 1: the column date is missing; write the header date,rain_mm"),
        ("date,rain_mm,rain_mm\n2031-05-01,1,9\n", "row 1: the column rain_mm stands there 2 times; keep one"),
    ],
)
def test_a_gauge_without_its_columns_is_refused(tmp_path, text, fault):
    path = gauge(tmp_path, text)
    with pytest.raises(WeatherError) as told:
        use_gauge(record(rain_mm=[1.0]), path)
    assert told.value.faults == (f"{path}: {fault}",)


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("date;rain_mm;café\n01.05.2031;7,5;é\n02.05.2031;0;\n", "latin-1"),
        ("date\train_mm\r\n30/04/2031\t1\r\n01/05/2031\t7.5\r\n02/05/2031\t0\r\n", "utf-16"),
        ("# our gauge, read at nine\ndate,rain_mm\n\n2031-05-01,7.5\n\n2031-05-02,0\n", "utf-8"),
    ],
)
def test_a_gauge_of_any_spreadsheet_is_read(tmp_path, text, encoding):
    changed, _ = use_gauge(record(rain_mm=[1.0, 2.0]), gauge(tmp_path, text, encoding))
    assert changed["rain_mm"].tolist() == [7.5, 0.0]


def test_all_faults_are_told_at_once_but_no_flood_of_them(tmp_path):
    path = gauge(tmp_path, "date,rain_mm\n" + "2031-05-01,wet\n" * 20)
    with pytest.raises(WeatherError) as told:
        use_gauge(record(rain_mm=[1.0]), path)
    assert len(told.value.faults) == 13
    assert told.value.faults[-1] == f"{path}: and 8 more rows with faults"


def test_a_gauge_of_other_days_missing_or_unreadable_is_refused(tmp_path):
    daily = record(rain_mm=np.ones(2))
    with pytest.raises(WeatherError, match="no reading between 2031-05-01 and 2031-05-02"):
        use_gauge(daily, gauge(tmp_path, "date,rain_mm\n2030-05-01,1\n"))
    with pytest.raises(WeatherError, match=r"none\.csv: there is no such file; write one with the columns date"):
        use_gauge(daily, tmp_path / "none.csv")
    with pytest.raises(WeatherError, match="is no text; save the sheet as CSV in UTF-8"):
        use_gauge(daily, gauge(tmp_path, "date,rain_mm\n2031-05-01,1\n", "utf-16-le"))
