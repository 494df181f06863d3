"""The forecast and the weather of a station, from a server on 127.0.0.1 in the layout that the library reads."""

import contextlib
import datetime as dt
import io
import json
import sqlite3
import sys
import zipfile

import brackenfold
import meteostat as ms
import pytest

from waterbudget.change.ahead import days_ahead
from waterbudget.change.forecast import FORECAST_DAYS, station_forecast
from waterbudget.change.known import LATE_DAYS, RUN_UP_DAYS, Known, known_on
from waterbudget.errors import WeatherError
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import Et0
from waterbudget.weather.shelf import NetworkError

SITE_DAY = dt.date(brackenfold.LAST.year, 7, 2)
DAY = dt.timedelta(days=1)
TODAY = dt.datetime.now(tz=dt.UTC).date()


@pytest.fixture
def served(tmp_path, monkeypatch):
    with brackenfold.stations(monkeypatch, tmp_path) as server:
        monkeypatch.setattr(ms.config, "metno_forecast_endpoint", f"{server.url}/forecast")
        monkeypatch.setattr(ms.config, "network_max_retries", 0)
        yield server


MIDNIGHT = dt.datetime(TODAY.year, TODAY.month, TODAY.day)  # noqa: DTZ001 - UTC


def hourly(days, rain_mm_h=0.5, without=(), begin=MIDNIGHT):
    """Invented hours from today on in the layout of the forecast for any place."""
    series = []
    for hour in range(days * 24 + 1):
        time = begin + dt.timedelta(hours=hour)
        details = {"air_temperature": 10.0 + hour % 24 / 2.0, "relative_humidity": 70.0, "wind_speed": 3.0}
        data = {"instant": {"details": details}}
        if time.date() not in without:
            data["next_1_hours"] = {"details": {"precipitation_amount": rain_mm_h}}
        series.append({"time": f"{time.isoformat()}Z", "data": data})
    return json.dumps({"properties": {"timeseries": series}}).encode()


def of_station(days, rain_mm_h=1.0, issued=None):
    """Invented hours from today on in the layout of the forecast of some stations: XML, zipped."""
    times = [MIDNIGHT + dt.timedelta(hours=hour) for hour in range(days * 24)]
    issued = issued or dt.datetime.now()  # noqa: DTZ005 - as the library compares it
    values = {"TTT": 283.15, "Td": 278.15, "RR1c": rain_mm_h, "FF": 2.0, "PPPP": 101320.0, "DD": 180.0, "N": 50.0}
    forecasts = "".join(
        f'<dwd:Forecast dwd:elementName="{name}"><dwd:value>{" ".join([f"{values.get(name, 0):.2f}"] * len(times))}'
        "</dwd:value></dwd:Forecast>"
        for name in ("PPPP", "TTT", "Td", "DD", "FF", "FX1", "ww", "RR1c", "SunD1", "N", "VV")
    )
    steps = "".join(f"<dwd:TimeStep>{time.isoformat()}.000Z</dwd:TimeStep>" for time in times)
    text = (
        '<kml:kml xmlns:kml="http://www.opengis.net/kml/2.2" xmlns:dwd="https://127.0.0.1/forecast"><kml:Document>'
        f"<kml:ExtendedData><dwd:ProductDefinition><dwd:IssueTime>{issued:%Y-%m-%dT%H:%M:%S}.000Z</dwd:IssueTime>"
        f"<dwd:ForecastTimeSteps>{steps}</dwd:ForecastTimeSteps></dwd:ProductDefinition></kml:ExtendedData>"
        f"<kml:Placemark><kml:ExtendedData>{forecasts}</kml:ExtendedData></kml:Placemark></kml:Document></kml:kml>"
    )
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w") as file:
        file.writestr("forecast.kml", text)
    return zipped.getvalue()


@pytest.fixture
def listed(served):
    """The server, in whose list of stations the site's has a forecast of its own."""
    with contextlib.closing(sqlite3.connect(":memory:")) as db:
        db.deserialize(served.files["/stations.db"])
        db.execute("INSERT INTO identifiers VALUES ('X0001', 'mosmix', 'M1')")
        db.commit()
        served.files["/stations.db"] = db.serialize()
    return served


@pytest.fixture
def both(listed, monkeypatch):
    """The same, with both forecasts on this machine."""
    from meteostat.providers.dwd import mosmix

    monkeypatch.setattr(mosmix, "ENDPOINT", listed.url + "/{station}.kmz")
    listed.files["/forecast"] = hourly(5, rain_mm_h=0.5)
    return listed


def of_today(folder, late=0):
    """The site's station as known up to yesterday, or some days before."""
    known = known_on(folder / "site.toml", SITE_DAY, TODAY)
    daily = known.weather.daily.copy()
    daily.index = daily.index + (TODAY - (1 + late) * DAY - known.last)
    daily.index.freq = "D"
    return Known(known.path, known.site, Weather.of(daily, Et0("", (), ""), "invented"), TODAY, known.station, ())


def test_hours_become_days(served, tmp_path):
    served.files["/forecast"] = hourly(5)
    weather, told = station_forecast(of_today(tmp_path))
    assert told == ""
    assert weather.dates[0].date() == TODAY
    first = weather.daily.iloc[1]
    assert first["rain_mm"] == pytest.approx(24 * 0.5)
    assert (first["tmin_c"], first["tmax_c"]) == (10.0, 21.5)
    assert first["wind_m_s"] == pytest.approx(3.0)
    assert weather.source.startswith("forecast for station X0001; data: ")
    assert 4 <= len(weather.daily) <= FORECAST_DAYS
    ahead = days_ahead(of_today(tmp_path), weather)
    assert ahead.forecast == (weather.dates[0].date(), weather.dates[-1].date())


def test_a_day_with_hours_missing_ends_the_forecast(served, tmp_path):
    served.files["/forecast"] = hourly(6, without=(TODAY + 2 * DAY,))
    weather, _ = station_forecast(of_today(tmp_path))
    assert weather.dates[-1].date() == TODAY + DAY


@pytest.mark.parametrize("late", [0, 2])
@pytest.mark.parametrize("hour", [5, 14, 23])
def test_a_forecast_begins_with_the_hour_that_it_is(served, tmp_path, hour, late):
    """Of the days before its first whole one it has the rain of today's hours to come, 0.5 mm each."""
    served.files["/forecast"] = hourly(3, begin=MIDNIGHT + dt.timedelta(hours=hour))
    known = of_today(tmp_path, late)
    weather, told = station_forecast(known)
    assert told.startswith(f"The forecast's whole days begin on {TODAY + DAY}: of the days before them it has only")
    assert weather.dates[0].date() == known.last + DAY == TODAY - late * DAY
    assert weather.dates[late + 1].date() == TODAY + DAY
    assert weather.daily["rain_mm"].iloc[: late + 2].tolist() == [0.0] * late + [0.5 * (23 - hour), 12.0]
    normal = days_ahead(known, None).weather.daily["et0_mm"]
    assert weather.daily["et0_mm"].iloc[: late + 1].tolist() == normal.iloc[: late + 1].tolist()
    assert weather.daily["et0_mm"].iloc[late + 1] != normal.iloc[late + 1]
    assert days_ahead(known, weather).forecast == (weather.dates[0].date(), weather.dates[-1].date())


# ---- Two forecasts ----


def test_a_station_s_own_forecast_counts_where_there_is_one(both, tmp_path):
    both.files["/M1.kmz"] = of_station(2, rain_mm_h=1.0)
    weather, told = station_forecast(of_today(tmp_path))
    assert told == ""
    assert "/M1.kmz" in both.log
    assert weather.daily["rain_mm"].iloc[:3].tolist() == [24.0, 24.0, 12.0]  # the other goes on after it
    assert weather.daily["wind_m_s"].iloc[0] == pytest.approx(2.0, abs=0.02)  # km/h to one decimal place
    assert weather.daily["tmax_c"].iloc[0] == pytest.approx(10.0)
    assert len(weather.source.partition("data: ")[2].split(", ")) == 3  # the library and both providers


@pytest.mark.parametrize("kind", ["none", "broken", "stale"])
def test_without_it_the_other_is_taken(both, tmp_path, kind):
    if kind == "broken":
        both.files["/M1.kmz"] = b"no zip"
    if kind == "stale":
        both.files["/M1.kmz"] = of_station(2, issued=MIDNIGHT - dt.timedelta(3))
    weather, told = station_forecast(of_today(tmp_path))
    assert told == ""
    assert "/M1.kmz" in both.log
    assert weather.daily["rain_mm"].iloc[:3].tolist() == [11.5, 12.0, 12.0]  # an hour's rain is told of its end


def test_a_station_s_own_forecast_is_enough(both, tmp_path):
    del both.files["/forecast"]
    both.files["/M1.kmz"] = of_station(3)
    weather, _ = station_forecast(of_today(tmp_path))
    assert weather.daily["rain_mm"].tolist() == [24.0] * 3


def test_without_a_reader_of_the_first_the_second_is_taken(listed, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "lxml", None)
    monkeypatch.delitem(sys.modules, "meteostat.providers.dwd.mosmix", raising=False)
    listed.files["/forecast"] = hourly(3)
    weather, _ = station_forecast(of_today(tmp_path))
    assert weather.daily["rain_mm"].iloc[1] == pytest.approx(12.0)
    assert [path for path in listed.log if "kmz" in path] == []


@pytest.mark.parametrize("kind", ["none", "broken", "silent"])
def test_no_forecast_is_told_and_no_error(served, tmp_path, kind):
    known = of_today(tmp_path)
    if kind == "broken":
        served.files["/forecast"] = b"{}"
    if kind == "silent":
        served.stop()
    weather, told = station_forecast(known)
    assert weather is None
    assert told.startswith("No forecast: ")
    assert told.endswith("The season's normal stands in.")
    assert days_ahead(known, weather).forecast is None


def test_settings_of_the_library_are_left_as_they_were(served, tmp_path):
    before = (ms.config.metno_user_agent, ms.config.include_model_data)
    served.files["/forecast"] = hourly(3)
    station_forecast(of_today(tmp_path))
    assert (ms.config.metno_user_agent, ms.config.include_model_data) == before


@pytest.mark.usefixtures("served")
def test_a_file_has_no_station_and_so_no_forecast(tmp_path):
    known = of_today(tmp_path)
    assert station_forecast(Known(known.path, known.site, known.weather, TODAY, None, ())) == (None, "")


# ---- The weather before today ---------------------------------------------------------------------------------------


@pytest.mark.usefixtures("served")
def test_the_weather_of_a_station_is_fetched_to_the_day_before(tmp_path):
    known = known_on(tmp_path / "site.toml", SITE_DAY, TODAY)
    assert (known.station, known.last, known.bridged) == ("X0001", SITE_DAY - DAY, 0)
    assert len(known.weather.dates) == RUN_UP_DAYS


def test_readings_that_are_late_are_bridged(served, tmp_path):
    late = {f"{SITE_DAY - n * DAY:%m-%d}" for n in (1, 2, 3)}
    year = brackenfold.year_of(SITE_DAY.year)
    served.put("X0001", SITE_DAY.year, year, missing=dict.fromkeys(year, sorted(late)))
    served.files.pop(brackenfold.year_path("X0003", SITE_DAY.year))
    known = known_on(tmp_path / "site.toml", SITE_DAY, TODAY)
    assert (known.last, known.bridged) == (SITE_DAY - 4 * DAY, 3)
    assert known.bridged <= LATE_DAYS


USUAL = "\n[usual]\njuly_high_c = 21\njuly_low_c = 12\njanuary_high_c = 7\njanuary_low_c = 1\n"


@pytest.mark.parametrize("way", ["not asked", "silent"])
def test_without_a_network_what_was_fetched_before_is_known(served, tmp_path, way):
    brackenfold.waterbudget_("weather", tmp_path / "site.toml")
    served.log.clear()
    if way == "silent":
        served.stop()
    known = known_on(tmp_path / "site.toml", None, TODAY, network=way == "silent")
    assert (known.today, known.station, known.last.year) == (TODAY, None, brackenfold.LAST.year)
    assert "The station could not be asked" in known.notes[-1]
    assert way == "silent" or served.log == []


def test_without_a_network_usual_temperatures_stand_in(served, tmp_path):
    served.stop()
    with pytest.raises(NetworkError):
        known_on(tmp_path / "site.toml", None, TODAY)
    (tmp_path / "site.toml").write_text((tmp_path / "site.toml").read_text("utf-8") + USUAL, "utf-8")
    known = known_on(tmp_path / "site.toml", None, TODAY)
    assert (known.weather, known.record) == (None, None)
    assert known.notes[-1].endswith("the usual temperatures stand in.")


@pytest.mark.usefixtures("served")
def test_a_day_to_come_cannot_be_asked_about(tmp_path):
    with pytest.raises(WeatherError, match="lies in the future"):
        known_on(tmp_path / "site.toml", TODAY + DAY, TODAY)
