"""Today is today: however old the weather is, from the newest dips, with what the journal knows of the days between."""

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of, weather_of

from waterbudget.change import today as asked
from waterbudget.change.ahead import AHEAD_DAYS, OtherYears, days_ahead
from waterbudget.change.known import Known, known_on
from waterbudget.change.outlook import IN_WORDS_MM, read_forecast
from waterbudget.change.today import Ask, find_today, found_of
from waterbudget.errors import InputError, WeatherError
from waterbudget.journal.book import Entry, Journal, Line, append

DEMO = Path(__file__).parent.parent.parent / "data_demo"
DAY = dt.timedelta(days=1)
JULY = dt.date(2031, 7, 2)
SITE = """
[site]
name = "Brackenfold"
latitude_deg = 52.9
{weather}
[usual]
july_high_c = 21
july_low_c = 12
january_high_c = 7
january_low_c = 1

[[roof]]
name = "Shed"
tank = "Butt"
area_m2 = 10
covering = "metal sheet"

[[tank]]
name = "Butt"
capacity_l = 500
start_l = 300
shape = "upright-cylinder"
inner_diameter_m = 0.8
inner_height_m = 1.0

[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 5
minutes = 10

[[bed]]
name = "Bed"
area_m2 = 10
zone = "Line"
soil = "loam"

[[bed.planting]]
crop = "lettuce"
planted = "05-01"
days = [10, 20, 150, 20]
"""


@pytest.fixture
def garden(tmp_path, monkeypatch):
    """A garden on 2 July 2031, that can be logged in; its weather is what the test makes of it."""
    monkeypatch.setattr(asked, "real_today", lambda: JULY)

    def made(weather="", entries=(), rows=()):
        path = tmp_path / "site.toml"
        path.write_text(SITE.format(weather=weather), "utf-8")
        if rows:
            text = "\n".join(["date,rain_mm,et0_mm", *(",".join(map(str, row)) for row in rows)])
            (tmp_path / "weather.csv").write_text(text, "utf-8")
        if entries:
            append(tmp_path / "journal.csv", lambda _: [Entry(*entry) for entry in entries])
        return path

    return made


FILE = '[weather]\nfile = "weather.csv"\n'
MAY = [(dt.date(2031, 4, 1) + n * DAY, 4.0 if n % 4 == 0 else 0.0, 3.0) for n in range(30)]  # up to 30 April
DIP = (JULY, "level", "Butt", 400.0, "L")


# ---- Which day it is, and how old all is -----------------------------------------------------------------------------


def test_today_is_today_however_old_the_weather_is(garden):
    found = find_today(garden(FILE, [DIP], MAY))
    assert (found.known.today, found.known.last, found.known.bridged) == (JULY, dt.date(2031, 4, 30), 62)
    assert (found.stores[0].level_l, found.stores[0].read.day) == (400.0, JULY)
    assert found.lasts == 8  # 50 L a day of 400


def test_another_day_may_be_asked_about(garden):
    path = garden(FILE, [DIP], MAY)
    assert find_today(path, Ask(on=dt.date(2031, 4, 20))).known.last == dt.date(2031, 4, 19)
    assert find_today(path, Ask(on=dt.date(2031, 4, 20))).stores[0].read is None, "the dip was later"


def test_on_days_that_are_not_known_it_rains_only_in_the_gauge(garden):
    dry = find_today(garden(FILE, [DIP], MAY))
    (garden(FILE, [(JULY - DAY, "gauge", "", 25.0, "mm")], MAY))
    wet = find_today(garden(FILE))
    assert wet.beds[0].used < dry.beds[0].used
    assert wet.stores[0].level_l == 400.0, "the dip is of later"
    assert wet.ahead.weather.daily["rain_mm"].loc["2031-05-01":"2031-07-01"].sum() == 25.0


def test_runs_of_days_that_are_not_known_count(garden):
    path = garden(FILE, [(JULY - 3 * DAY, "level", "Butt", 300.0, "L"), (JULY - DAY, "ran", "Line", 4.0, "min")], MAY)
    assert find_today(path).stores[0].level_l == pytest.approx(300 - 2 * 50 + 50 - 20)


def test_without_any_weather_a_dip_and_usual_temperatures_are_enough(garden):
    found = find_today(garden("", [(JULY - 2 * DAY, "level", "Butt", 400.0, "L")]))
    assert found.known.weather is None
    assert found.stores[0].read.reckoned_l is None, "there is nothing to reckon from"
    assert found.stores[0].level_l == pytest.approx(400 - 50)
    assert found.lasts == 7
    assert found.lasts_usual is None is found.ahead.usual, "nobody knows what rain is usual"
    et0_mm = found.ahead.weather.daily["et0_mm"].loc["2031-07-02"]
    assert et0_mm == pytest.approx(3.6, abs=0.5)  # Hargreaves with 21 and 12 °C: 0.0023 (16.5 + 17.8) 3 x 41/2.45


def test_weather_of_years_ago_says_nothing_of_the_beds(garden, monkeypatch):
    monkeypatch.setattr(asked, "real_today", lambda: dt.date(2034, 7, 2))
    path = garden(FILE, [(dt.date(2034, 7, 2), "level", "Butt", 400.0, "L")], MAY)
    found = find_today(path)
    assert (found.known.weather, found.lasts) == (None, 8)


@pytest.mark.parametrize("weather", ["", FILE])
def test_with_neither_weather_nor_a_dip_it_says_what_to_do(garden, weather):
    path = garden(weather, rows=MAY if weather else ())
    with pytest.raises(InputError, match="neither weather nor a level is known up to 2031-03-01; dip a store first"):
        find_today(path, Ask(on=dt.date(2031, 3, 1)))


def test_where_all_weather_is_of_days_to_come_it_is_an_example():
    known = known_on(DEMO / "site.toml", None, dt.date(2026, 11, 28))
    assert (known.today, known.is_example) == (dt.date(2031, 10, 1), True)
    assert "so it is invented" in known.notes[-1]
    assert known_on(DEMO / "site.toml", None, JULY).today == JULY
    assert known_on(DEMO / "site.toml", None, dt.date(2032, 2, 1)).today == dt.date(2032, 2, 1)


def test_an_example_in_which_something_was_logged_is_a_garden():
    line = Line(1, dt.datetime(2026, 11, 28, 12, tzinfo=dt.UTC), Entry(dt.date(2026, 11, 28), "gauge", "", 1.0, "mm"))
    known = known_on(DEMO / "site.toml", None, dt.date(2026, 11, 28), Journal(Path("journal.csv"), (line,), ()))
    assert (known.today, known.is_example, known.weather) == (dt.date(2026, 11, 28), False, None)


# ---- What cannot be --------------------------------------------------------------------------------------------------


def test_a_line_of_a_day_to_come_is_refused(garden):
    path = garden(FILE, [DIP, (JULY + DAY, "level", "Butt", 100.0, "L")], MAY)
    with pytest.raises(InputError, match=r"journal.csv: line 2: 2031-07-03 lies in the future, today is 2031-07-02;"):
        find_today(path)
    assert find_today(path, Ask(on=JULY)).stores[0].level_l == 400.0, "asked about that day it is only later"


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [(130.0, "cm", "130 cm is deeper than Butt, which is 100 cm deep"), (501.0, "L", "501 L is more than Butt holds")],
)
def test_a_level_that_its_store_cannot_hold_is_refused(garden, value, unit, told):
    path = garden(FILE, [(JULY, "level", "Butt", value, unit)], MAY)
    with pytest.raises(InputError, match=f"line 1: {told}.*--undo --line 1"):
        find_today(path)
    append(path.with_name("journal.csv"), lambda _: [Entry(*DIP)])
    assert find_today(path).stores[0].level_l == 400.0, "a newer dip puts it right"


# ---- A forecast that somebody wrote down -----------------------------------------------------------------------------


def forecast(folder, *rows, head="date,rain"):
    file = folder / "forecast.csv"
    file.write_text("\n".join([head, *rows]), "utf-8")
    return file


def test_a_forecast_of_the_real_days_may_be_in_words(garden, tmp_path):
    file = forecast(tmp_path, "2031-07-02,None", "2031-07-03,some", "2031-07-04,A lot", "2031-07-05,3.5")
    found = find_today(garden(FILE, [DIP], MAY), Ask(forecast=file))
    assert [day.rain_mm for day in found.coming][:5] == [0.0, 2.0, 10.0, 3.5, 0.0]
    assert [day.is_forecast for day in found.coming] == [True] * 4 + [False] * 3
    assert found.ahead.forecast == (JULY, JULY + 3 * DAY)
    usual = days_ahead(found.known, None).weather.daily["et0_mm"]
    assert found.ahead.weather.daily["et0_mm"].tolist() == usual.tolist()
    assert list(IN_WORDS_MM.values()) == sorted(IN_WORDS_MM.values())


def test_a_forecast_may_begin_tomorrow_and_bring_its_temperatures(garden, tmp_path):
    file = forecast(tmp_path, "2031-07-03,1,10,20", "2031-07-04,0,10,20", head="date,rain_mm,tmin_c,tmax_c")
    found = find_today(garden(FILE, [DIP], MAY), Ask(forecast=file))
    assert [day.is_forecast for day in found.coming][:4] == [False, True, True, False]


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (("2031-07-02,some", "2031-07-04,some"), "2031-07-03 is missing before it"),
        (("2031-07-02,plenty",), "rain_mm is 'plenty'"),
        (("2031-07-02,",), "rain_mm is blank"),
        (("2031-07-04,some",), "write a row a day from 2031-07-02 on"),
        (("2031-07-01,some",), "write a row a day from 2031-07-02 on"),
    ],
)
def test_a_forecast_with_holes_is_refused(garden, tmp_path, rows, told):
    path = garden(FILE, [DIP], MAY)
    with pytest.raises(WeatherError, match=told.replace("'", ".")) as error:
        find_today(path, Ask(forecast=forecast(tmp_path, *rows)))
    assert len(error.value.faults) == 1


# ---- The usual rain --------------------------------------------------------------------------------------------------


def record(*rows, site=None):
    site = site or site_of({"site": {"name": "Brackenfold"}, "tank": [{"name": "B", "capacity_l": 9, "start_l": 1}]})
    return Known(Path("site.toml"), site, weather_of(rows), JULY, None, ())


def test_the_usual_rain_falls_in_as_many_events_as_were_usual():
    """4 mm on every fourth day of the record: of 121 days 30 or 31 are wet, with 4 mm each."""
    rows = [{"date": JULY - n * DAY, "rain_mm": 4.0 if n % 4 == 0 else 0.0, "et0_mm": 3.0} for n in range(80, 0, -1)]
    ahead = days_ahead(record(*rows), None)
    rain_mm = ahead.usual.daily["rain_mm"]
    assert (rain_mm > 0.0).sum() in {30, 31}
    assert rain_mm.sum() == pytest.approx(AHEAD_DAYS + 1, abs=4.0)
    assert rain_mm[rain_mm > 0.0].iloc[1:].tolist() == pytest.approx([4.0] * ((rain_mm > 0.0).sum() - 1))
    assert ahead.weather.daily["rain_mm"].sum() == 0.0


def test_a_short_record_knows_no_usual_rain():
    rows = [{"date": JULY - n * DAY, "rain_mm": 4.0, "et0_mm": 3.0} for n in range(9, 0, -1)]
    assert days_ahead(record(*rows), None).usual is None


def test_what_is_forecast_or_in_the_gauge_stands_in_the_usual_case_too():
    rows = [{"date": JULY - n * DAY, "rain_mm": 1.0, "et0_mm": 3.0} for n in range(80, 5, -1)]
    known = record(*rows)
    told = weather_of([{"date": JULY + n * DAY, "rain_mm": 7.0, "et0_mm": 2.0} for n in range(3)])
    usual = days_ahead(known, told).read({JULY - 2 * DAY: 0.0}).usual.daily["rain_mm"]
    assert usual.loc["2031-06-30"] == 0.0
    assert usual.loc["2031-06-29"] > 0.0
    assert usual.loc["2031-07-02":"2031-07-04"].tolist() == [7.0] * 3


def ra(day_of_year, latitude_deg):
    """Ra [MJ/m² a day] by FAO-56 Eq. 21 with 23, 24 and 25, in plain words."""
    phi, turn = math.radians(latitude_deg), 2 * math.pi * day_of_year / 365
    near, tilt = 1 + 0.033 * math.cos(turn), 0.409 * math.sin(turn - 1.39)
    sets = math.acos(-math.tan(phi) * math.tan(tilt))
    both = sets * math.sin(phi) * math.sin(tilt) + math.cos(phi) * math.cos(tilt) * math.sin(sets)
    return 24 * 60 / math.pi * 0.0820 * near * both


def test_the_sun_of_the_handbook_s_example():
    """FAO-56 Example 8: Ra is 32.2 MJ/m² a day on 3 September at 20° S."""
    assert ra(246, -20.0) == pytest.approx(32.2, abs=0.05)


def test_et0_of_another_season_goes_with_the_sun():
    site = site_of(
        {
            "site": {"name": "Brackenfold", "latitude_deg": 45.0},
            "tank": [{"name": "Butt", "capacity_l": 500, "start_l": 300}],
        }
    )
    last = dt.date(2031, 7, 22)  # the 203rd day of the year
    rows = [{"date": last - n * DAY, "rain_mm": 0.0, "et0_mm": 5.0} for n in range(14)]
    known = Known(Path("site.toml"), site, weather_of(rows[::-1]), dt.date(2031, 12, 10), None, ())
    et0_mm = days_ahead(known, None).weather.daily["et0_mm"]
    then = sum(ra(203 - n, 45.0) for n in range(14)) / 14
    assert et0_mm.loc["2031-12-15"] == pytest.approx(5.0 * ra(349, 45.0) / then, rel=1e-3)


def test_days_of_other_years_are_found_on_either_side():
    """A record of a later year, as an invented one is, tells the same calendar days."""
    rows = [{"date": dt.date(2033, 6, 1) + n * DAY, "rain_mm": 0.0, "et0_mm": 2.0 + 0.01 * n} for n in range(200)]
    known = Known(Path("s"), record(*rows).site, None, JULY, None, (), weather_of(rows), JULY - 3 * DAY)
    normal = days_ahead(known, None).normal
    assert normal.dry.daily["et0_mm"].loc["2031-07-10"] == pytest.approx(2.0 + 0.01 * 39, abs=0.02)
    assert normal.bases == (OtherYears(1),)


def test_it_never_loses_a_journal_s_notes():
    known = known_on(DEMO / "site.toml", JULY, JULY)
    line = Line(1, dt.datetime(2031, 7, 1, 12, tzinfo=dt.UTC), Entry(JULY, "level", "Old tank", 1.0, "L"))
    assert found_of(known, None, Journal(Path("j"), (line,), ())).notes == (
        "Old tank: 1 logged level is left out, as the site has no such tank.",
    )
    assert np.isfinite([store.level_l for store in found_of(known, None, Journal(Path("j"), (), ())).stores]).all()


def test_read_forecast_leaves_out_known_days(tmp_path):
    rows = [{"date": JULY - n * DAY, "rain_mm": 1.0, "et0_mm": 3.0} for n in range(40, 0, -1)]
    file = forecast(tmp_path, "2031-07-01,a lot", "2031-07-02,some", head="date,rain")
    assert read_forecast(file, record(*rows)).daily["rain_mm"].tolist() == [2.0]
