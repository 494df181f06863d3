from datetime import date

import numpy as np
import pandas as pd
import pytest

from waterbudget.weather.et0 import wind_at_2m
from waterbudget.weather.files import credit_of, read_daily
from waterbudget.weather.place import (
    Closed,
    Measured,
    close_gaps,
    last_summer,
    notes_of,
    period_of,
    remember_period,
    remembered_period,
    weather_csv,
)
from waterbudget.weather.place import _without_impossible as without_impossible
from waterbudget.weather.shelf import Spot, Station
from waterbudget.weather.station import Fetched

STATION = Station("X0001", "Lower Field", 53.12, -1.92, 150.0, 2.6, 10.0)
CREDIT = "Meteostat (https://dev.meteostat.net/license); modified"
SPOT = Spot(53.1, -1.9, 140.0)


def record(days=10, **columns):
    index = pd.date_range("2031-05-01", periods=days, freq="D", name="date")
    daily = pd.DataFrame(
        {"rain_mm": 2.4, "tmin_c": 5.0, "tmax_c": 15.0, "wind_m_s": 3.2} | columns, index=index, dtype="float64"
    )
    for name in list(daily.columns):
        daily[f"{name}_source"] = np.where(daily[name].notna(), "ghcnd", "")
    return daily


def with_gap(value, first, last, days=10):
    return [np.nan if first <= day <= last else value for day in range(days)]


@pytest.mark.parametrize(
    ("asked", "today", "period"),
    [
        ((None, None), date(2031, 6, 1), (date(2021, 1, 1), date(2030, 12, 31))),
        ((None, None), date(2031, 1, 20), (date(2020, 1, 1), date(2029, 12, 31))),  # late readings still come in
        ((None, None), date(2031, 2, 1), (date(2021, 1, 1), date(2030, 12, 31))),
        ((date(2028, 4, 1), None), date(2031, 6, 1), (date(2028, 4, 1), date(2030, 12, 31))),
        ((date(2031, 4, 1), None), date(2031, 6, 1), (date(2031, 4, 1), date(2031, 5, 31))),
        ((None, date(2015, 9, 30)), date(2031, 6, 1), (date(2006, 1, 1), date(2015, 9, 30))),
        ((date(2028, 4, 1), date(2028, 4, 2)), date(2031, 6, 1), (date(2028, 4, 1), date(2028, 4, 2))),
    ],
)
def test_the_usual_period_is_ten_settled_years(asked, today, period):
    assert period_of(*asked, today) == period


@pytest.mark.parametrize(
    ("period", "south", "summer"),
    [
        ((date(2021, 1, 1), date(2030, 12, 31)), False, (date(2030, 5, 1), date(2030, 9, 30))),
        ((date(2021, 1, 1), date(2030, 9, 29)), False, (date(2029, 5, 1), date(2029, 9, 30))),
        ((date(2030, 5, 1), date(2030, 9, 30)), False, (date(2030, 5, 1), date(2030, 9, 30))),
        ((date(2030, 5, 2), date(2031, 3, 1)), False, (date(2030, 5, 2), date(2031, 3, 1))),  # none is whole
        ((date(2021, 1, 1), date(2030, 12, 31)), True, (date(2029, 11, 1), date(2030, 3, 31))),
        ((date(2030, 1, 1), date(2030, 12, 31)), True, (date(2030, 1, 1), date(2030, 12, 31))),
    ],
)
def test_the_last_whole_summer_of_a_period(period, south, summer):
    assert last_summer(*period, south=south) == summer


def test_the_period_is_remembered_for_each_place_and_station(tmp_path, monkeypatch):
    monkeypatch.setenv("WATERBUDGET_CACHE", str(tmp_path / "cache"))
    assert remembered_period(SPOT, None) is None
    assert remember_period(SPOT, None, date(2030, 1, 1), date(2030, 12, 31))
    assert remember_period(SPOT, "x0001", date(2029, 1, 1), date(2029, 12, 31))
    assert remembered_period(SPOT, None) == (date(2030, 1, 1), date(2030, 12, 31))
    assert remembered_period(SPOT, "X0001") == (date(2029, 1, 1), date(2029, 12, 31))
    assert remembered_period(SPOT._replace(longitude_deg=1.9), None) is None
    assert remember_period(SPOT, None, date(2031, 1, 1), date(2031, 1, 2))
    assert remembered_period(SPOT, None) == (date(2031, 1, 1), date(2031, 1, 2))
    for path in (tmp_path / "cache" / "places").iterdir():
        path.write_text("2031-01-01", "utf-8")
    assert remembered_period(SPOT, None) is None


def test_a_cache_that_cannot_be_written_remembers_nothing(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way", "utf-8")
    monkeypatch.setenv("WATERBUDGET_CACHE", str(tmp_path / "file"))
    assert not remember_period(SPOT, None, date(2030, 1, 1), date(2030, 12, 31))
    assert remembered_period(SPOT, None) is None


def test_impossible_readings_are_left_out_and_told():
    daily = record(tmin_c=[5.0, 20.0, *[5.0] * 8], wind_m_s=[3.2] * 9 + [99.0])
    possible, notes = without_impossible(daily)
    assert possible.index[possible["tmin_c"].isna()].tolist() == [pd.Timestamp("2031-05-02")]
    assert possible.index[possible["tmax_c"].isna()].tolist() == [pd.Timestamp("2031-05-02")]
    assert possible.index[possible["wind_m_s"].isna()].tolist() == [pd.Timestamp("2031-05-10")]
    assert possible.loc["2031-05-02", "tmin_c_source"] == possible.loc["2031-05-10", "wind_m_s_source"] == ""
    assert notes == [
        "wind_m_s: impossible on 2031-05-10; left out.",
        "tmin_c and tmax_c: the lowest above the highest on 2031-05-02; left out.",
    ]
    assert daily["tmin_c"].notna().all()


def test_gaps_are_listed_and_left_unless_they_are_to_be_mended():
    daily = record(rain_mm=with_gap(2.4, 3, 3), tmin_c=with_gap(5.0, 4, 5))
    closed = close_gaps(daily, (), fill=False)
    assert closed.daily is daily
    assert closed.gaps == (
        "rain_mm: 1 of 10 days missing: 2031-05-04",
        "tmin_c: 2 of 10 days missing: 2031-05-05 to 2031-05-06",
    )
    mended = close_gaps(daily, ((STATION, record(rain_mm=7.0)),), fill=True)
    assert mended.gaps == ()
    assert mended.daily.loc["2031-05-04", ["rain_mm", "rain_mm_source"]].tolist() == [7.0, "X0001"]
    assert mended.daily.loc["2031-05-05":"2031-05-06", "tmin_c_source"].tolist() == ["interpolated"] * 2
    assert [note.split(":")[0] for note in mended.notes] == ["rain_mm", "tmin_c"]


def test_a_quantity_that_a_run_can_do_without_is_left_out_where_it_cannot_be_mended():
    daily = record(wind_m_s=with_gap(3.2, 2, 6))
    assert close_gaps(daily, (), fill=False).gaps == ("wind_m_s: 5 of 10 days missing: 2031-05-03 to 2031-05-07",)
    closed = close_gaps(daily, (), fill=True)
    assert closed.gaps == ()
    assert not {"wind_m_s", "wind_m_s_source"} & set(closed.daily)
    (note,) = closed.notes
    assert note == (
        "wind_m_s: 5 of 10 days missing: 2031-05-03 to 2031-05-07; too many in a row to bridge, so wind_m_s is left "
        "out altogether."
    )


def test_what_a_run_needs_is_never_left_out():
    closed = close_gaps(record(tmax_c=with_gap(15.0, 2, 6)), (), fill=True)
    (line,) = closed.gaps
    assert line.startswith("tmax_c: 5 of 10 days missing: 2031-05-03 to 2031-05-07. Only gaps of up to 3 days")
    lacking = record().drop(columns=["tmin_c", "tmin_c_source"])
    for fill in (False, True):
        assert close_gaps(lacking, (), fill=fill).gaps == (
            "tmin_c: not measured at any station within reach; name another station, or give a weather file",
        )


def test_notes_leave_out_what_no_longer_holds():
    gap = "station X0001 Lower Field (2.6 km): only partly there: rain_mm: 1 of 10 days missing: 2031-05-04; fill"
    wind = "wind_m_s: taken as measured 10 m above ground, as is usual; the data do not state it."
    daily = record()
    measured = Measured(Fetched(daily, STATION, CREDIT, notes=(gap, wind, "another")), daily, ("gauge",))
    closed = Closed(daily, (), ("mended",))
    assert notes_of(measured, closed, SPOT) == [wind, "another", "gauge", "mended"]
    assert notes_of(measured, closed, SPOT._replace(wind_height_m=3.0)) == ["another", "gauge", "mended"]
    windless = closed._replace(daily=daily.drop(columns=["wind_m_s"]))
    assert notes_of(measured, windless, SPOT) == ["another", "gauge", "mended"]


def test_the_weather_file_comes_back_as_it_was_with_sources_and_credit(tmp_path):
    daily = record(rain_mm=np.linspace(0.1, 7.7, 10) / 3.0)
    path = tmp_path / "weather.csv"
    path.write_bytes(weather_csv(daily, SPOT._replace(wind_height_m=2.0), Fetched(daily, STATION, CREDIT), 2.0))
    names = ["rain_mm", "tmin_c", "tmax_c", "wind_m_s"]
    pd.testing.assert_frame_equal(read_daily(path), daily[names], check_exact=True)
    head, first, *_ = path.read_text("utf-8").splitlines()
    assert head == ",".join(["date", *names, *(f"{name}_source" for name in names), "credit"])
    assert first.startswith("2031-05-01,")
    assert first.endswith(f",ghcnd,ghcnd,ghcnd,ghcnd,station X0001 Lower Field (2.6 km); data: {CREDIT}")
    assert credit_of(path) == f"station X0001 Lower Field (2.6 km); data: {CREDIT}"


def test_wind_goes_into_the_file_at_the_height_that_its_readers_expect(tmp_path):
    # FAO-56 Example 14, p. 56: 3.2 m/s at 10 m are 2.4 m/s at 2 m
    daily, path = record(), tmp_path / "weather.csv"
    path.write_bytes(weather_csv(daily, SPOT, Fetched(daily, STATION, CREDIT), 2.0))
    assert read_daily(path)["wind_m_s"].to_numpy() == pytest.approx(2.4, rel=0, abs=0.05)
    assert read_daily(path)["wind_m_s"].tolist() == wind_at_2m(daily, 10.0)[0].tolist()
    path.write_bytes(weather_csv(daily, SPOT._replace(wind_height_m=4.0), Fetched(daily, STATION, CREDIT), 4.0))
    assert set(read_daily(path)["wind_m_s"]) == {3.2}


def test_other_files_bring_no_credit(tmp_path):
    for text in ("date,rain_mm,et0_mm\n2031-05-01,0,3\n", "date,rain_mm,et0_mm\n", "date,credit\n2031-05-01\n"):
        (tmp_path / "weather.csv").write_text(text, "utf-8")
        assert credit_of(tmp_path / "weather.csv") == ""


def test_a_gap_in_the_rain_that_no_neighbour_has_is_told():
    closed = close_gaps(record(rain_mm=with_gap(2.4, 3, 3)), (), fill=True)
    (line,) = closed.gaps
    assert line.startswith("rain_mm: 1 of 10 days missing: 2031-05-04. No other station at hand has these days")
