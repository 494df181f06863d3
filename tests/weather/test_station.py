import gzip
import logging
import os
import socket
from datetime import UTC, date, datetime
from functools import partial

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal
from weather.loopback import COMPLETE, PLACE, Listed, loopback, year_file, year_path

from waterbudget.errors import InputError, WaterbudgetError, WeatherError
from waterbudget.weather import shelf as module
from waterbudget.weather.gaps import mend
from waterbudget.weather.station import NetworkError, Station, fetch_station, nearby_stations, weather_of_place

YEAR = (date(2023, 1, 1), date(2023, 12, 31))
TWO_YEARS = (date(2022, 1, 1), date(2023, 12, 31))
RAIN = {"prcp": ("2015-01-01", "2023-12-31")}
NEAR = Listed("X0001", "Lower Field", 53.12, -1.92, 150, RAIN)
NO_RAIN = Listed("X0002", "Windy Hill", 53.14, -1.9, 420, {"wspd": RAIN["prcp"]})
FAR = Listed("X0003", "Far Mill", 53.25, -1.7, None)  # the list says nothing of its records
BEYOND = Listed("X0004", "Beyond", 54.5, -1.9, 10, RAIN)
NO_GAUGE = {name: value for name, value in COMPLETE.items() if name != "prcp"}
SUMMER = [f"{day:%m-%d}" for day in pd.date_range("2023-05-01", "2023-08-31")]


@pytest.fixture(scope="module")
def plain_years():
    return {
        year_path("X0001", 2023): year_file(2023),
        year_path("X0002", 2023): year_file(2023, NO_GAUGE),
        year_path("X0003", 2023): year_file(2023, COMPLETE | {"prcp": 7.0}),
    }


@pytest.fixture
def server(tmp_path, monkeypatch, plain_years):
    """Three invented stations within 50 km of the garden and one beyond."""
    monkeypatch.setattr(module, "RETRIES", 0)
    monkeypatch.setattr(module, "TIMEOUT_S", 5.0)
    with loopback(monkeypatch, tmp_path) as running:
        running.put_list([FAR, NEAR, BEYOND, NO_RAIN])
        running.files.update(plain_years)
        yield running


@pytest.fixture
def cache(tmp_path):
    return tmp_path / "cache"


def years_asked(server):
    return [path for path in server.log if path != "/stations.db"]


# The stations around


def test_nearby_stations_come_nearest_first_with_distance_and_height(server, cache):
    near, far = nearby_stations(*PLACE, *YEAR, cache=cache)
    assert (near.id, near.name, near.elevation_m, near.height_difference_m) == ("X0001", "Lower Field", 150.0, 10.0)
    # 0.02° of latitude are 2.224 km and 0.02° of longitude times cos 53.11° 1.335 km on a sphere of 6371 km
    assert near.distance_km == pytest.approx(np.hypot(2.224, 1.335), abs=0.002)
    assert (far.id, far.elevation_m, far.height_difference_m, far.completeness) == ("X0003", None, None, None)
    assert server.log == ["/stations.db"]


def test_stations_without_rain_in_the_period_are_left_out_unless_none_has_any(server, cache):
    server.put_list([NEAR, NO_RAIN])
    period = (date(2014, 12, 1), date(2014, 12, 31))
    assert [one.id for one in nearby_stations(*PLACE, *YEAR, cache=cache)] == ["X0001"]
    assert [one.id for one in nearby_stations(*PLACE, *period, cache=cache)] == ["X0001", "X0002"]
    period = (date(2014, 12, 1), date(2015, 1, 1))
    assert [one.id for one in nearby_stations(*PLACE, *period, cache=cache)] == ["X0001"]


@pytest.mark.usefixtures("server")
def test_nearby_stations_heed_radius_and_number(cache):
    assert [one.id for one in nearby_stations(*PLACE, *YEAR, cache=cache, within_km=10)] == ["X0001"]
    assert [one.id for one in nearby_stations(*PLACE, *YEAR, cache=cache, within_km=200, limit=3)] == [
        "X0001",
        "X0003",
        "X0004",
    ]


@pytest.mark.usefixtures("server")
def test_a_place_at_sea_has_no_station(cache):
    for ask in (nearby_stations, weather_of_place):
        with pytest.raises(WeatherError, match=r"place 0, -30: no weather station within 50 km; .*--station"):
            ask(0.0, -30.0, 0.0, *YEAR, cache=cache)


@pytest.mark.parametrize(
    ("place", "period", "message"),
    [
        ((95.0, 5.0, 0.0), YEAR, "latitude runs from -90 to 90"),
        ((float("nan"), 5.0, 0.0), YEAR, "latitude runs from -90 to 90"),
        ((53.1, 181.0, 0.0), YEAR, "longitude from -180 to 180"),
        (PLACE, YEAR[::-1], "2023-12-31 to 2023-01-01: the last day comes before the first"),
        (PLACE, (date(2023, 1, 1), date(9999, 1, 1)), "ends in the future"),
    ],
)
def test_wrong_place_or_period_is_told_before_anything_is_fetched(server, cache, place, period, message):
    for ask in (nearby_stations, weather_of_place):
        with pytest.raises(WeatherError, match=message):
            ask(*place, *period, cache=cache)
    assert server.log == []


# One station


def test_a_station_comes_in_our_units_with_sources(server, cache):
    server.put("X0001", 2023, missing={"prcp": ["01-05"]}, sources={("tmax", "01-02"): "dwd_daily"})
    fetched = fetch_station("X0001", *YEAR, cache=cache)
    daily = fetched.daily
    assert daily.index.equals(pd.date_range("2023-01-01", "2023-12-31", name="date"))
    assert (daily.index.name, daily.index.freqstr, daily.index.tz) == ("date", "D", None)
    values = daily[["rain_mm", "tmin_c", "tmax_c", "tmean_c", "rh_mean_pct", "wind_m_s", "sun_hours"]]
    assert set(values.dtypes) == {np.dtype("float64")}
    # 10.8 km/h are 3 m/s and 300 minutes 5 hours, by definition
    assert values.iloc[1].tolist() == pytest.approx([2.4, 5.0, 15.0, 10.0, 70.0, 3.0, 5.0], rel=1e-15)
    assert daily["rain_mm"].isna().tolist() == [day == 4 for day in range(365)]
    assert daily.loc["2023-01-05", ["rain_mm_source", "tmin_c_source"]].tolist() == ["", "ghcnd"]
    assert daily.loc["2023-01-02", "tmax_c_source"] == "dwd_daily"
    assert fetched.station.completeness == pytest.approx(364 / 365)
    assert fetched.credit == "Meteostat, Deutscher Wetterdienst (https://dev.meteostat.net/license); modified"
    assert any("only partly there: rain_mm: 1 of 365 days missing: 2023-01-05" in note for note in fetched.notes)
    assert any("wind_m_s: taken as measured 10 m above ground" in note for note in fetched.notes)


@pytest.mark.usefixtures("server")
def test_a_clock_time_does_not_shift_the_days(cache):
    daily = fetch_station("X0001", datetime(2023, 3, 1, 12, tzinfo=UTC), date(2023, 3, 3), cache=cache).daily
    assert daily["rain_mm"].tolist() == [2.4, 2.4, 2.4]


def test_a_known_station_needs_no_list(server, cache):
    del server.files["/stations.db"]
    here = Station("X0001", "Lower Field", 53.12, -1.92, None, None, None)
    assert fetch_station(here, *YEAR, cache=cache).daily["rain_mm"].sum() == pytest.approx(365 * 2.4)


def test_what_a_model_made_up_is_missing(server, cache):
    models = {
        ("prcp", "01-15"): "dwd_mosmix",
        ("prcp", "01-16"): "dwd_hourly dwd_mosmix",
        ("tmin", "01-17"): "isd_lite",
    }
    server.put("X0001", 2023, sources=models)
    daily = fetch_station("X0001", *YEAR, cache=cache).daily
    assert daily.index[daily["rain_mm"].isna()].strftime("%m-%d").tolist() == ["01-15", "01-16"]
    assert daily.loc["2023-01-15":"2023-01-16", "rain_mm_source"].tolist() == ["", ""]
    assert daily.loc["2023-01-17", "tmin_c_source"] == "isd_lite"


@pytest.mark.parametrize("station_id", ["X9999", "%", "X000_", ""])
def test_an_unknown_id_is_refused(server, cache, station_id):
    for ask in (
        lambda: fetch_station(station_id, *YEAR, cache=cache),
        lambda: weather_of_place(*PLACE, *YEAR, station=station_id, cache=cache),
    ):
        with pytest.raises(WeatherError, match=r"no weather station has this id; leave --station out"):
            ask()
    assert years_asked(server) == []


@pytest.mark.usefixtures("server")
def test_an_id_may_be_written_small(cache):
    assert fetch_station(" x0001 ", *YEAR, cache=cache).station.id == "X0001"


@pytest.mark.usefixtures("server")
def test_a_period_before_the_records_names_the_records(cache):
    message = (
        r"station X0001 Lower Field: no data for 2010-01-01 to 2010-12-31 "
        r"\(its rain is listed from 2015-01-01 to 2023-12-31\); give another period, another station with --station, or"
    )
    with pytest.raises(WeatherError, match=message):
        fetch_station("X0001", date(2010, 1, 1), date(2010, 12, 31), cache=cache)


# The weather of a place


def test_the_nearest_station_with_enough_rain_is_taken(server, cache):
    server.put("X0001", 2023, missing={"prcp": SUMMER[:36]})  # rain on 90.1 % of the days
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    assert (fetched.station.id, fetched.station.completeness) == ("X0001", pytest.approx(329 / 365))
    assert [(one.id, one.completeness) for one in fetched.candidates] == [("X0001", 329 / 365), ("X0003", 1.0)]


def test_a_farther_station_is_taken_when_the_nearest_lacks_much_rain(server, cache):
    server.put("X0001", 2023, missing={"prcp": SUMMER[:37]})  # 89.9 %
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    assert fetched.station.id == "X0003"
    assert set(fetched.daily["rain_mm"]) == {7.0}
    assert [one.id for one, _ in fetched.neighbours] == ["X0001"]


def test_where_none_has_enough_the_fullest_is_taken(server, cache):
    server.put("X0001", 2023, missing={"prcp": SUMMER})
    server.put("X0003", 2023, missing={"prcp": SUMMER[:90]})
    assert weather_of_place(*PLACE, *YEAR, cache=cache).station.id == "X0003"
    server.put("X0003", 2023, missing={"prcp": SUMMER})
    assert (
        weather_of_place(*PLACE, *YEAR, cache=cache, refresh=True).station.id == "X0003"
    )  # fewer readings are no news
    assert weather_of_place(*PLACE, *YEAR, cache=cache / "new").station.id == "X0001"  # alike: the nearer


def test_rain_is_never_averaged(server, cache):
    days = range(365)
    server.put("X0001", 2023, COMPLETE | {"prcp": [20.0 if day in range(0, 50, 10) else 0.0 for day in days]})
    server.put("X0003", 2023, COMPLETE | {"prcp": [20.0 if day in range(5, 55, 10) else 0.0 for day in days]})
    rain_mm = weather_of_place(*PLACE, *YEAR, cache=cache).daily["rain_mm"]
    assert (rain_mm.sum(), (rain_mm > 0).sum(), rain_mm.max()) == (100.0, 5, 20.0)


def test_a_station_may_be_named(server, cache):
    fetched = weather_of_place(*PLACE, *YEAR, station="X0003", cache=cache)
    assert (fetched.station.id, set(fetched.daily["rain_mm"])) == ("X0003", {7.0})
    assert [one.id for one in fetched.candidates] == ["X0001", "X0003"]
    assert years_asked(server) == [year_path("X0003", 2023)]
    far = Station("X0004", "Beyond", 54.5, -1.9, 10.0, None, None)
    server.put("X0004", 2023)
    fetched = weather_of_place(*PLACE, *YEAR, station=far, cache=cache)
    assert fetched.station.distance_km == pytest.approx(1.4 * 111.195, abs=0.01)  # 6371 km times pi / 180
    assert any("130 m below the place" in note for note in fetched.notes)


@pytest.mark.usefixtures("server")
def test_a_named_station_without_rain_is_refused(cache):
    with pytest.raises(WeatherError, match=r"station X0002 Windy Hill \(4\.4 km\): no rain for 2023-01-01"):
        weather_of_place(*PLACE, *YEAR, station="X0002", cache=cache)


@pytest.mark.usefixtures("server")
def test_no_rain_at_any_station_is_told(cache):
    message = "no weather station within 50 km has rain for 1850-01-01 to 1850-12-31, 1 asked; give another period"
    with pytest.raises(WeatherError, match=message):
        weather_of_place(*PLACE, date(1850, 1, 1), date(1850, 12, 31), cache=cache)


def test_a_quantity_wholly_lacking_comes_from_the_next_station_that_has_it(server, cache):
    server.put("X0001", 2023, {"prcp": 2.4, "tmin": 5.0, "temp": 3.0, "rhum": 60})
    server.put(
        "X0003", 2023, NO_GAUGE | {"prcp": 7.0, "tmin": 6.0, "tmax": 11.0, "temp": 8.0}, missing={"tsun": SUMMER}
    )
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    daily = fetched.daily
    assert fetched.station.id == "X0001"
    assert [one.id for one in fetched.candidates] == ["X0001", "X0003"]
    assert [one.id for one, _ in fetched.neighbours] == ["X0002", "X0003"]
    assert set(daily["rain_mm"]) == {2.4}
    # both temperatures and their mean from one station, though the first has a minimum of its own
    assert daily.loc["2023-06-01", ["tmin_c", "tmax_c", "tmean_c"]].tolist() == [6.0, 11.0, 8.0]
    assert set(daily["tmax_c_source"]) == {"X0003"}
    assert set(daily["rh_mean_pct_source"]) == {"ghcnd"}
    assert set(daily["wind_m_s_source"]) == {"X0002"}  # a near station lends wind though it has no rain
    assert set(daily.loc[daily["sun_hours"].isna(), "sun_hours_source"]) == {""}
    assert any(
        note
        == "wind_m_s: not measured at station X0001 Lower Field (2.6 km); taken from station X0002 Windy Hill (4.4 km)."
        for note in fetched.notes
    )


def test_a_quantity_that_no_station_has_gets_no_column(server, cache):
    for station_id in ("X0001", "X0003"):
        server.put(station_id, 2023, {name: value for name, value in COMPLETE.items() if name != "tsun"})
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    assert "sun_hours" not in fetched.daily
    assert "sun_hours_source" not in fetched.daily
    assert any(note.startswith("sun_hours: not measured at station X0001") for note in fetched.notes)


def test_neighbours_are_fetched_for_missing_rain_and_serve_mend(server, cache):
    server.put("X0001", 2023, missing={"prcp": ["01-05", "06-10"], "tmax": ["03-03"]})
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    mended, notes = mend(fetched.daily, fetched.neighbours)
    assert mended.loc["2023-01-05", ["rain_mm", "rain_mm_source"]].tolist() == [7.0, "X0003"]
    assert mended["rain_mm"].sum() == pytest.approx(363 * 2.4 + 2 * 7.0)
    assert notes == [
        "rain_mm: 2 days taken from station X0003 Far Mill (21.4 km): 2023-01-05, 2023-06-10.",
        "tmax_c: 1 day bridged by a straight line between readings: 2023-03-03.",
    ]


@pytest.mark.usefixtures("server")
def test_progress_is_told_of_each_download(cache):
    told = []
    weather_of_place(*PLACE, *YEAR, cache=cache, progress=told.append)
    assert told == [
        "fetching the list of weather stations",
        "fetching 2023 of weather station X0001 Lower Field (2.6 km)",
    ]


def test_credit_names_every_provider_once(server, cache):
    server.put("X0001", 2023, missing={"prcp": ["01-05"]}, sources={("tmin", "01-01"): "dwd_daily"})
    server.put("X0003", 2023, sources={("prcp", "01-01"): "eccc_daily", ("prcp", "01-02"): "dwd_daily"})
    credit = weather_of_place(*PLACE, *YEAR, cache=cache).credit
    named = "Meteostat, Deutscher Wetterdienst, Environment and Climate Change Canada"
    assert credit == f"{named} (https://dev.meteostat.net/license); modified"


# The cache and the network


def test_the_second_call_works_offline(server, cache):
    server.put("X0001", 2023, missing={"prcp": ["01-05"]})
    first = weather_of_place(*PLACE, *TWO_YEARS, cache=cache)  # 2022 is on no station: that is remembered too
    server.stop()
    told = []
    again = weather_of_place(*PLACE, *TWO_YEARS, cache=cache, progress=told.append)
    assert told == []
    assert_frame_equal(again.daily, first.daily, check_exact=True)
    assert (again.station, again.credit, again.candidates, again.notes) == (
        first.station,
        first.credit,
        first.candidates,
        first.notes,
    )


@pytest.mark.usefixtures("server")
def test_a_year_that_the_server_lacks_leaves_the_period_partly_there(cache):
    fetched = fetch_station("X0001", *TWO_YEARS, cache=cache)
    assert fetched.station.completeness == 0.5
    assert fetched.daily.loc["2022", "rain_mm"].isna().all()
    line = "only partly there: rain_mm: 365 of 730 days missing: 2022-01-01 to 2022-12-31; fill the gaps from other"
    assert any(line in note for note in fetched.notes)


def test_offline_with_an_empty_cache_is_a_failure_not_a_wrong_input(server, cache):
    server.stop()
    for ask in (
        lambda: nearby_stations(*PLACE, *YEAR, cache=cache),
        lambda: weather_of_place(*PLACE, *YEAR, cache=cache),
        lambda: fetch_station("X0001", *YEAR, cache=cache),
    ):
        with pytest.raises(NetworkError, match=r"list of weather stations: the weather server could not be reached"):
            ask()
    assert issubclass(NetworkError, WaterbudgetError)
    assert not issubclass(NetworkError, InputError)
    assert not cache.exists()


def test_offline_with_other_years_in_the_cache_names_station_and_year(server, cache):
    fetch_station("X0001", *YEAR, cache=cache)
    server.stop()
    with pytest.raises(NetworkError, match=r"station X0001 Lower Field, 2022: no network, or the weather server"):
        fetch_station("X0001", *TWO_YEARS, cache=cache)


@pytest.mark.parametrize(
    ("break_it", "fault"),
    [
        (lambda body: body[: len(body) // 2], "sent a broken file"),
        (lambda _: b"<html>Please log in</html>", "sent a broken file"),
        (lambda _: gzip.compress(b"nothing,of,the\n1,2,3\n"), "sent a broken file"),
        (lambda body: gzip.compress(gzip.decompress(body).replace(b"2.4", b"wet", 1)), "sent a broken file"),
    ],
)
def test_a_broken_download_is_told_and_never_replaces_a_good_one(server, cache, break_it, fault):
    path = year_path("X0001", 2023)
    good = server.files[path]
    server.files[path] = break_it(good)
    with pytest.raises(NetworkError, match=f"station X0001 Lower Field, 2023: the weather server {fault}; try again"):
        fetch_station("X0001", *YEAR, cache=cache)
    server.files[path] = good
    first = fetch_station("X0001", *YEAR, cache=cache)
    server.files[path] = break_it(good)
    again = fetch_station("X0001", *YEAR, cache=cache, refresh=True)
    assert_frame_equal(again.daily, first.daily, check_exact=True)
    assert any(f"2023: the weather server {fault}; the copy of" in note for note in again.notes)
    server.stop()
    assert_frame_equal(fetch_station("X0001", *YEAR, cache=cache).daily, first.daily, check_exact=True)


def test_a_poorer_file_never_replaces_a_good_one(server, cache):
    first = fetch_station("X0001", *YEAR, cache=cache)
    for poorer in ("absent", "short"):
        if poorer == "absent":
            del server.files[year_path("X0001", 2023)]
        else:
            server.put("X0001", 2023, missing={"prcp": SUMMER})
        again = fetch_station("X0001", *YEAR, cache=cache, refresh=True)
        assert_frame_equal(again.daily, first.daily, check_exact=True)
        assert any("the server now has fewer readings than the copy of" in note for note in again.notes)


def test_an_error_of_the_server_is_told(server, cache):
    server.broken.add(year_path("X0001", 2023))
    with pytest.raises(NetworkError, match="2023: the weather server answered with error 500; try again later"):
        weather_of_place(*PLACE, *YEAR, cache=cache)


def test_a_silent_server_is_given_up_once(server, cache, monkeypatch):
    nearby_stations(*PLACE, *YEAR, cache=cache)
    monkeypatch.setattr(module, "TIMEOUT_S", 0.3)
    server.stalled |= {year_path("X0001", year) for year in (2022, 2023)}
    with pytest.raises(NetworkError, match=r"2022: no network, or the weather server is silent \(.*timed out\)"):
        weather_of_place(*PLACE, *TWO_YEARS, cache=cache)
    server.stalled.clear()
    server.put("X0001", 2022)
    first = weather_of_place(*PLACE, *TWO_YEARS, cache=cache)
    server.stalled |= {year_path("X0001", year) for year in (2022, 2023)}
    server.log.clear()
    again = weather_of_place(*PLACE, *TWO_YEARS, cache=cache, refresh=True)
    assert years_asked(server) == [year_path("X0001", 2022)]  # one timeout tells enough
    assert_frame_equal(again.daily, first.daily, check_exact=True)


def test_the_rain_does_without_a_neighbour_that_cannot_be_fetched(server, cache):
    server.put("X0001", 2023, {name: value for name, value in COMPLETE.items() if name != "wspd"})
    server.broken |= {year_path("X0002", 2023), year_path("X0003", 2023)}
    fetched = weather_of_place(*PLACE, *YEAR, cache=cache)
    assert fetched.daily["rain_mm"].notna().all()
    assert "wind_m_s" not in fetched.daily
    assert any("X0003 Far Mill (21.4 km), 2023: the weather server answered" in note for note in fetched.notes)


def test_refresh_fetches_anew(server, cache):
    fetch_station("X0001", *YEAR, cache=cache)
    server.put("X0001", 2023, COMPLETE | {"prcp": 3.0})
    assert set(fetch_station("X0001", *YEAR, cache=cache).daily["rain_mm"]) == {2.4}
    assert set(fetch_station("X0001", *YEAR, cache=cache, refresh=True).daily["rain_mm"]) == {3.0}
    server.stop()
    assert set(fetch_station("X0001", *YEAR, cache=cache).daily["rain_mm"]) == {3.0}


@pytest.mark.parametrize(
    ("fetched_on", "asked_again"), [("2023-06-01", True), ("2024-01-20", True), ("2024-02-10", False)]
)
def test_a_year_fetched_before_it_was_complete_is_asked_for_again(server, cache, fetched_on, asked_again):
    fetch_station("X0001", *YEAR, cache=cache)
    server.log.clear()
    then = datetime.fromisoformat(fetched_on).replace(tzinfo=UTC).timestamp()
    os.utime(cache / "daily" / "X0001-2023.csv.gz", (then, then))
    fetch_station("X0001", *YEAR, cache=cache)
    assert server.log == ([year_path("X0001", 2023)] if asked_again else [])


def test_an_old_list_of_stations_serves_while_there_is_no_new_one(server, cache):
    nearby_stations(*PLACE, *YEAR, cache=cache)
    os.utime(cache / "stations.db", (1.6e9, 1.6e9))  # September 2020
    good = server.files["/stations.db"]
    for broken, fault in ((None, "could not be reached"), (good[:9000], "broken file"), (b"<html>", "broken file")):
        server.files["/stations.db"] = broken
        fetched = fetch_station("X0001", *YEAR, cache=cache)
        (told,) = [note for note in fetched.notes if note.startswith("list of weather stations")]
        assert fault in told
        assert told.endswith("; the copy of 2020-09-13 is used.")
        assert (cache / "stations.db").read_bytes() == good
    server.put_list([NEAR])
    assert [one.id for one in nearby_stations(*PLACE, *YEAR, cache=cache)] == ["X0001"]


@pytest.mark.usefixtures("server")
def test_a_damaged_cache_is_fetched_anew(cache):
    first = weather_of_place(*PLACE, *YEAR, cache=cache)
    kept = cache / "daily" / "X0001-2023.csv.gz"
    for damage in (kept.read_bytes()[:-7], b"\xff\xfe", gzip.compress(b"# Meteostat\nwrong,head\n1,2\n"), b""):
        kept.write_bytes(damage)
        assert_frame_equal(weather_of_place(*PLACE, *YEAR, cache=cache).daily, first.daily, check_exact=True)
    (cache / "stations.db").write_bytes(b"no list")
    assert weather_of_place(*PLACE, *YEAR, cache=cache).station == first.station


@pytest.mark.usefixtures("server")
def test_a_cache_that_cannot_be_written_is_told_and_the_data_come_all_the_same(tmp_path):
    (tmp_path / "file").write_text("in the way", "utf-8")
    fetched = weather_of_place(*PLACE, *YEAR, cache=tmp_path / "file")
    assert fetched.daily["rain_mm"].notna().all()
    (told,) = [note for note in fetched.notes if note.startswith("cache")]
    assert told.startswith(f"cache: {tmp_path / 'file'}/")
    assert told.endswith(
        f": cannot be written: {tmp_path / 'file'} is no folder; choose another place. Nothing more is kept."
    )
    assert (tmp_path / "file").read_text("utf-8") == "in the way"


@pytest.mark.usefixtures("server")
def test_the_default_cache_is_our_own_folder_and_leaves_no_half_files(tmp_path, monkeypatch):
    monkeypatch.delenv("WATERBUDGET_CACHE", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_dir", lambda name: str(tmp_path / "user" / name))
    weather_of_place(*PLACE, *YEAR)
    kept = sorted(str(path.relative_to(tmp_path)) for path in tmp_path.rglob("*") if path.is_file())
    assert kept == ["user/waterbudget/daily/X0001-2023.csv.gz", "user/waterbudget/stations.db"]


def test_the_settings_of_the_library_are_restored(server, cache, monkeypatch, request):
    import meteostat as ms

    logger = logging.getLogger("meteostat")
    names = [name for name in dir(ms.config) if not name.startswith("_") and not callable(getattr(ms.config, name))]
    request.addfinalizer(partial(socket.setdefaulttimeout, socket.getdefaulttimeout()))
    socket.setdefaulttimeout(77.0)
    monkeypatch.setattr(logger, "propagate", True)
    monkeypatch.setattr(logger, "level", logging.ERROR)

    def state():
        settings = {name: getattr(ms.config, name) for name in names}
        return settings, socket.getdefaulttimeout(), logger.level, logger.propagate, logger.handlers[:]

    before = state()
    assert before[0]["include_model_data"] is True
    fetch_station("X0001", *YEAR, cache=cache)
    assert state() == before
    with pytest.raises(WeatherError):
        fetch_station("X9999", *YEAR, cache=cache)
    server.stop()
    with pytest.raises(NetworkError):
        fetch_station("X0003", *YEAR, cache=cache)
    assert state() == before
