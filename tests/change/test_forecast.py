"""The forecast and the weather of a station, from a server on 127.0.0.1 in the layout that the library reads."""

import datetime as dt
import json

import brackenfold
import meteostat as ms
import pytest

from waterbudget.change.ahead import days_ahead
from waterbudget.change.forecast import FORECAST_DAYS, station_forecast
from waterbudget.change.known import BRIDGED_DAYS, RUN_UP_DAYS, Known, known_on
from waterbudget.change.now import now
from waterbudget.errors import WeatherError
from waterbudget.weather.et0 import Et0
from waterbudget.weather.files import Weather

SITE_DAY = dt.date(brackenfold.LAST.year, 7, 2)
DAY = dt.timedelta(days=1)
TODAY = dt.datetime.now(tz=dt.UTC).date()


@pytest.fixture
def served(tmp_path, monkeypatch):
    with brackenfold.stations(monkeypatch, tmp_path) as server:
        monkeypatch.setattr(ms.config, "metno_forecast_endpoint", f"{server.url}/forecast")
        monkeypatch.setattr(ms.config, "network_max_retries", 0)
        yield server


def hourly(days, rain_mm_h=0.5, without=()):
    """Invented hours from today on in the layout of a national forecast service."""
    begin = dt.datetime(TODAY.year, TODAY.month, TODAY.day)  # noqa: DTZ001 - UTC
    series = []
    for hour in range(days * 24 + 1):
        time = begin + dt.timedelta(hours=hour)
        details = {"air_temperature": 10.0 + hour % 24 / 2.0, "relative_humidity": 70.0, "wind_speed": 3.0}
        data = {"instant": {"details": details}}
        if time.date() not in without:
            data["next_1_hours"] = {"details": {"precipitation_amount": rain_mm_h}}
        series.append({"time": f"{time.isoformat()}Z", "data": data})
    return json.dumps({"properties": {"timeseries": series}}).encode()


def of_today(folder):
    """The site's station as known up to yesterday."""
    known = known_on(folder / "site.toml", SITE_DAY, TODAY)
    daily = known.weather.daily.copy()
    daily.index = daily.index + (TODAY - DAY - known.last)
    daily.index.freq = "D"
    return Known(known.path, known.site, Weather(daily, Et0("", (), ""), "invented"), TODAY, known.station, ())


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
    assert ahead.forecast == len(weather.daily)


def test_a_day_with_hours_missing_ends_the_forecast(served, tmp_path):
    served.files["/forecast"] = hourly(6, without=(TODAY + 2 * DAY,))
    weather, _ = station_forecast(of_today(tmp_path))
    assert weather.dates[-1].date() == TODAY + DAY


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
    assert days_ahead(known, weather).forecast == 0


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
    found = now(known, days_ahead(known, None), {})
    assert found.stores[0].capacity_l == 300


def test_readings_that_are_late_are_bridged(served, tmp_path):
    late = {f"{SITE_DAY - n * DAY:%m-%d}" for n in (1, 2, 3)}
    year = brackenfold.year_of(SITE_DAY.year)
    served.put("X0001", SITE_DAY.year, year, missing=dict.fromkeys(year, sorted(late)))
    served.files.pop(brackenfold.year_path("X0003", SITE_DAY.year))
    known = known_on(tmp_path / "site.toml", SITE_DAY, TODAY)
    assert (known.last, known.bridged) == (SITE_DAY - 4 * DAY, 3)
    assert known.bridged <= BRIDGED_DAYS


@pytest.mark.usefixtures("served")
def test_a_day_to_come_cannot_be_asked_about(tmp_path):
    with pytest.raises(WeatherError, match="lies in the future"):
        known_on(tmp_path / "site.toml", TODAY + DAY, TODAY)
