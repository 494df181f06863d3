import datetime as dt
import os
from dataclasses import replace
from pathlib import Path

import pytest
from brackenfold import FIRST, LAST, NEAR, SITE, SUMMER, YEARS, stations, write_site, year_of

from waterbudget.errors import SiteError, WeatherError
from waterbudget.simulate.fetched import fetch_weather
from waterbudget.simulate.opened import open_site
from waterbudget.site.read import load_site
from waterbudget.weather.et0 import wind_at_2m

HERE = Path("site.toml")
THIS = LAST.year
WEEK = "date,rain_mm,tmin_c,tmax_c\n" + "".join(f"2031-05-0{day},1.5,8,19\n" for day in range(1, 8))
SUMMER_DAYS = slice(SUMMER[0].timetuple().tm_yday - 1, SUMMER[1].timetuple().tm_yday)
PERIOD = f"{FIRST} to {LAST}"


@pytest.fixture
def server(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path) as running:
        yield running


@pytest.fixture
def fetched(server):
    """The server once the weather of the garden is in the cache; whoever asks it again is seen in its log."""
    fetch_weather(HERE, load_site(HERE), None, None)
    server.log.clear()
    return server


@pytest.fixture
def week(tmp_path, monkeypatch):
    """The garden with a week of weather in a file."""
    monkeypatch.chdir(tmp_path)
    write_site(tmp_path, 'file = "weather.csv"')
    (tmp_path / "weather.csv").write_text(WEEK, "utf-8")
    return tmp_path


def days_of(opened):
    return opened.weather.daily.index[0].date(), opened.weather.daily.index[-1].date()


# A file, and the gauge


@pytest.mark.usefixtures("week")
def test_the_weather_of_a_file():
    opened = open_site(HERE)
    assert (days_of(opened), opened.weather.source, opened.notes) == (
        (dt.date(2031, 5, 1), dt.date(2031, 5, 7)),
        "weather.csv",
        (),
    )
    assert days_of(open_site(HERE, dt.date(2031, 5, 3))) == (dt.date(2031, 5, 3), dt.date(2031, 5, 7))


def test_the_gauge_goes_before_the_file(week):
    write_site(week, 'file = "weather.csv"\ngauge = "own/gauge.csv"')
    (week / "own").mkdir()
    (week / "own" / "gauge.csv").write_text("date,rain_mm\n2031-05-02,0\n2031-05-04,7.5\n", "utf-8")
    opened = open_site(HERE)
    assert opened.weather.daily["rain_mm"].tolist() == [1.5, 0.0, 1.5, 7.5, 1.5, 1.5, 1.5]
    (note,) = opened.notes
    assert note.startswith("rain_mm: 2 of 7 days from the gauge own/gauge.csv")


def test_faults_of_the_gauge_are_told_with_their_rows(week):
    write_site(week, 'file = "weather.csv"\ngauge = "gauge.csv"')
    (week / "gauge.csv").write_text("date,rain_mm\n2031-05-02,-1\n2031-05-02,0\n2031-13-01,4\n", "utf-8")
    with pytest.raises(WeatherError) as refused:
        open_site(HERE)
    assert [fault.split(": ")[:2] for fault in refused.value.faults] == [["gauge.csv", "row 2"], ["gauge.csv", "row 4"]]


def test_the_credit_in_a_file_stays_with_its_weather(week):
    credited = [f"{line},Meteostat; modified" for line in WEEK.splitlines()[1:]]
    (week / "weather.csv").write_text("\n".join([f"{WEEK.splitlines()[0]},credit", *credited]), "utf-8")
    assert open_site(HERE).weather.source == "weather.csv; Meteostat; modified"


# The keys of [weather]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (
            'file = "weather.csv"\nnearest = true',
            "weather.nearest: is true; file is given too; leave out one",
        ),
        (
            'file = "w.csv"\nstation = "X0001"',
            'weather.station: is "X0001"; file is given too; leave out one',
        ),
        (
            'station = "X0001"\nnearest = true',
            "weather.nearest: is true; station is given too; leave out one",
        ),
        ('file = "weather.csv"\nfill = true', "weather.fill: is true; goes with station or nearest"),
        ('station = "X/1"', 'weather.station: is "X/1"; write letters and digits; waterbudget weather lists'),
        (
            'nearest = "yes"',
            'weather.nearest: is "yes"; write true or false (take the nearest weather station with rain)',
        ),
        ("gauge = 3", "weather.gauge: is 3; write text in"),
    ],
)
def test_keys_that_do_not_go_together_are_told(tmp_path, lines, told):
    write_site(tmp_path, lines)
    with pytest.raises(SiteError) as refused:
        load_site(tmp_path / "site.toml")
    assert [fault for fault in refused.value.faults if told in fault], refused.value.faults


def test_without_any_weather_the_ways_to_it_are_told(tmp_path):
    write_site(tmp_path, "wind_height_m = 3")
    with pytest.raises(SiteError, match=r'add \[weather\] with file = "weather.csv", with nearest = true for the'):
        open_site(tmp_path / "site.toml")


# A station, from the cache alone


def test_the_last_whole_summer_of_the_nearest_station(fetched):
    opened = open_site(HERE)
    assert fetched.log == []
    assert days_of(opened) == SUMMER
    assert opened.weather.daily["rain_mm"].tolist() == year_of(THIS)["prcp"][SUMMER_DAYS].tolist()
    assert opened.weather.source == (
        "station X0001 Lower Field (2.6 km); data: Meteostat (https://dev.meteostat.net/license); modified"
    )
    which, wind = opened.notes
    assert which == (
        f"Weather of station X0001 Lower Field (2.6 km), {SUMMER[0]} to {SUMMER[1]}, the last whole summer of {PERIOD} "
        "(other days: --from and --to), from the cache."
    )
    assert wind == "wind_m_s: taken as measured 10 m above ground, as is usual; the data do not state it."


@pytest.mark.usefixtures("fetched")
def test_days_may_be_named_and_every_year_asked_for():
    first, last = dt.date(YEARS[1], 3, 1), dt.date(YEARS[2], 2, 10)
    assert days_of(open_site(HERE, first, last)) == (first, last)
    assert days_of(open_site(HERE, first)) == (first, LAST)
    assert days_of(open_site(HERE, None, last)) == (FIRST, last)
    opened = open_site(HERE, every_year=True)
    assert days_of(opened) == (FIRST, LAST)
    assert opened.notes[0] == f"Weather of station X0001 Lower Field (2.6 km), {PERIOD}, from the cache."


@pytest.mark.usefixtures("fetched")
def test_days_that_were_not_fetched_are_told_with_the_command():
    message = (
        f"site.toml: weather.nearest: of 2001-04-01 to {LAST} only {PERIOD} was fetched; choose days of these, "
        f"or run first: waterbudget weather site.toml --from 2001-04-01 --to {LAST}"
    )
    with pytest.raises(WeatherError) as refused:
        open_site(HERE, dt.date(2001, 4, 1))
    assert refused.value.faults == (message,)
    with pytest.raises(
        WeatherError, match=f"starts on {LAST} and ends before it, on {FIRST}; choose days from {FIRST}"
    ):
        open_site(HERE, LAST, FIRST)


def test_an_empty_cache_is_told_with_the_command(server, tmp_path):
    for lines, key in (("nearest = true", "nearest"), ('station = "X0003"', "station")):
        write_site(tmp_path, lines)
        with pytest.raises(WeatherError) as refused:
            open_site(HERE)
        assert refused.value.faults[0] == (
            f"site.toml: weather.{key}: nothing has been fetched for it yet; run first: waterbudget weather site.toml"
        )
    (tmp_path / "my garden").mkdir()
    (tmp_path / "my garden" / "site.toml").write_text(SITE, "utf-8")
    with pytest.raises(WeatherError, match=r"run first: waterbudget weather 'my garden/site\.toml'"):
        open_site(Path("my garden/site.toml"))
    assert server.log == []


def test_a_cache_that_has_lost_years_is_told_with_the_command(fetched, tmp_path):
    message = (
        r"weather.nearest: the cache \S+cache has lost some of this weather; run first: waterbudget weather site.toml"
    )
    (tmp_path / "cache" / "daily" / f"X0001-{YEARS[1]}.csv.gz").unlink()
    with pytest.raises(WeatherError, match=message):
        open_site(HERE)
    (tmp_path / "cache" / "stations.db").unlink()
    with pytest.raises(WeatherError, match=message):
        open_site(HERE)
    assert fetched.log == []


def test_old_copies_serve_a_run_without_a_word(fetched, tmp_path):
    for path in (tmp_path / "cache").rglob("*"):
        os.utime(path, (1.6e9, 1.6e9))  # September 2020
    fetched.stop()
    assert days_of(open_site(HERE)) == SUMMER
    assert len(open_site(HERE).notes) == 2


def test_a_garden_south_of_the_equator_takes_its_own_summer(server, tmp_path):
    (tmp_path / "site.toml").write_text(SITE.replace("= 53.1", "= -33.1"), "utf-8")
    server.put_list([replace(NEAR, latitude_deg=-33.12)])
    fetch_weather(HERE, load_site(HERE), None, None)
    assert days_of(open_site(HERE)) == (dt.date(THIS - 1, 11, 1), dt.date(THIS, 3, 31))


@pytest.mark.usefixtures("fetched")
def test_the_wind_of_a_station_is_taken_at_10_m_unless_the_site_tells(tmp_path):
    opened = open_site(HERE)
    assert "wind: brought from 10 m down to 2 m (FAO-56 Eq. 47)" in opened.weather.et0.assumed
    write_site(tmp_path, "nearest = true\nwind_height_m = 3")
    lower = open_site(HERE)
    assert "wind: brought from 3 m down to 2 m (FAO-56 Eq. 47)" in lower.weather.et0.assumed
    assert not [note for note in lower.notes if "wind" in note]
    ratio = wind_at_2m(lower.weather.daily, 3.0)[0] / wind_at_2m(opened.weather.daily, 10.0)[0]
    assert ratio.min() > 1.2  # the lower the gauge, the more wind its readings mean
    assert lower.weather.daily["et0_mm"].sum() > opened.weather.daily["et0_mm"].sum()


@pytest.mark.usefixtures("fetched")
def test_the_height_of_the_station_stands_in_for_that_of_the_garden(tmp_path):
    plain = open_site(HERE).weather.daily["et0_mm"]
    write_site(tmp_path, without="elevation_m")
    opened = open_site(HERE)
    assert opened.notes[-1] == "site.elevation_m is not given: the 150 m of the station stand in for it."
    assert opened.weather.daily["et0_mm"].to_numpy() == pytest.approx(plain.to_numpy(), rel=0.01)  # 10 m higher


def test_gaps_stop_a_run_until_they_may_be_mended(server, tmp_path):
    server.put(
        "X0001", THIS, year_of(THIS), missing={"prcp": ["06-10"], "tsun": [f"07-{day:02d}" for day in range(1, 9)]}
    )
    fetch_weather(HERE, load_site(HERE), None, None)
    with pytest.raises(WeatherError) as refused:
        open_site(HERE)
    rain, sun, way_out = refused.value.faults
    assert rain == f"site.toml: rain_mm: 1 of 153 days missing: {THIS}-06-10"
    assert sun == f"site.toml: sun_hours: 8 of 153 days missing: {THIS}-07-01 to {THIS}-07-08"
    assert way_out == (
        "site.toml: add fill = true to [weather] to have gaps mended where that is sound; "
        "waterbudget weather site.toml --fill shows how"
    )
    assert days_of(open_site(HERE, dt.date(THIS, 6, 11), dt.date(THIS, 6, 30))) == (
        dt.date(THIS, 6, 11),
        dt.date(THIS, 6, 30),
    )
    write_site(tmp_path, "nearest = true\nfill = true")
    server.stop()
    opened = open_site(HERE)
    assert "sun_hours" not in opened.weather.daily
    assert opened.weather.daily.loc[f"{THIS}-06-10", "rain_mm"] == _far_mill_mm(THIS, 6, 10)
    assert [note.partition(":")[0] for note in opened.notes[2:]] == ["rain_mm", "sun_hours"]


def _far_mill_mm(year, month, day):
    return year_of(year, wetter=2.0)["prcp"][dt.date(year, month, day).timetuple().tm_yday - 1]


def test_gaps_that_cannot_be_mended_name_the_day(server, tmp_path):
    server.put("X0001", THIS, year_of(THIS), missing={"tmin": [f"07-{day:02d}" for day in range(1, 9)]})
    write_site(tmp_path, "nearest = true\nfill = true")
    fetch_weather(HERE, load_site(HERE), None, None)
    with pytest.raises(WeatherError) as refused:
        open_site(HERE)
    gap, way_out = refused.value.faults
    assert gap.startswith(
        f"site.toml: tmin_c: 8 of 153 days missing: {THIS}-07-01 to {THIS}-07-08. Only gaps of up to 3"
    )
    assert way_out == (
        "site.toml: waterbudget weather site.toml --fill lists the stations near by, and the years that can be mended"
    )


def test_the_gauge_goes_before_the_station_and_closes_its_gaps(server, tmp_path):
    server.put("X0001", THIS, year_of(THIS), missing={"prcp": ["06-10"]})
    write_site(tmp_path, 'nearest = true\ngauge = "gauge.csv"')
    (tmp_path / "gauge.csv").write_text(f"date,rain_mm\n{THIS}-06-10,3.5\n{THIS}-06-11,0\n", "utf-8")
    fetch_weather(HERE, load_site(HERE), None, None)
    opened = open_site(HERE)
    assert opened.weather.daily.loc[f"{THIS}-06-10" : f"{THIS}-06-11", "rain_mm"].tolist() == [3.5, 0.0]
    assert any(note.startswith("rain_mm: 2 of ") and "from the gauge gauge.csv" in note for note in opened.notes)
    assert not any("only partly there" in note for note in opened.notes)


def test_a_run_finds_the_station_that_was_told_even_where_a_nearer_one_lacks_rain(server):
    for year in YEARS[:-1]:
        half = [f"{month:02d}-{day:02d}" for month in range(1, 7) for day in range(1, 29)]
        server.put("X0001", year, year_of(year), missing={"prcp": half})
    assert fetch_weather(HERE, load_site(HERE), None, None).measured.fetched.station.id == "X0003"
    server.log.clear()
    opened = open_site(HERE)  # in this summer X0001 has all its rain
    assert "station X0003 Far Mill" in opened.weather.source
    assert server.log == []


@pytest.mark.usefixtures("fetched")
def test_another_place_has_no_weather_yet(tmp_path):
    (tmp_path / "site.toml").write_text(SITE.replace("= -1.9", "= -1.8"), "utf-8")
    with pytest.raises(WeatherError, match="nothing has been fetched for it yet"):
        open_site(HERE)


def test_what_was_kept_is_found_by_place_alone(fetched, tmp_path):
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "site.toml").write_text(SITE.replace('name = "Brackenfold"', 'name = "Hen run"'), "utf-8")
    assert days_of(open_site(Path("other/site.toml"))) == SUMMER
    assert fetched.log == []
