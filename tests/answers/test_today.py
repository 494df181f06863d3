"""Today in words: what to open and why first, then what it rests on; the same figures in the calendar."""

import datetime as dt
from pathlib import Path

import icalendar
import numpy as np
import pytest

from waterbudget.answers.near import minutes
from waterbudget.answers.today import answer, events
from waterbudget.change.known import known_on
from waterbudget.change.outlook import read_forecast
from waterbudget.change.today import found_of
from waterbudget.journal.book import Entry, Journal, Line, read_journal
from waterbudget.render.calendar import calendar_bytes
from waterbudget.render.text import text

DEMO = Path(__file__).parent.parent.parent / "data_demo"
JULY = dt.date(2031, 7, 2)


DAY = dt.timedelta(days=1)


def seen(on, *entries, forecast=None, path=DEMO / "site.toml"):
    """Today by a journal of these entries: day, kind, name, value and unit."""
    known = known_on(path, on, on)
    noon = dt.datetime.combine(on, dt.time(12), dt.UTC)
    lines = [Line(number, noon, Entry(*entry)) for number, entry in enumerate(entries, 1)]
    return found_of(known, forecast and read_forecast(forecast, known), Journal(Path("journal.csv"), tuple(lines), ()))


def told(on=JULY, *entries, forecast=None, path=DEMO / "site.toml"):
    found = seen(on, *entries, forecast=forecast, path=path)
    assert found.notes == ()
    return found


def file_of(folder, *rain_mm):
    """A forecast from 2 July on, its days like a mild one."""
    rows = [f"2031-07-{2 + n:02d},{mm},12,20,75,2,5" for n, mm in enumerate(rain_mm)]
    file = folder / "forecast.csv"
    file.write_text("\n".join(["date,rain_mm,tmin_c,tmax_c,rh_mean_pct,wind_m_s,sun_hours", *rows]), "utf-8")
    return file


def said(found):
    return " ".join(answer(found).verdict)


def screen(found, *, full=True):
    return text(answer(found), full=full)


def test_what_to_open_comes_first():
    assert said(told()).startswith(
        "Open North line for 10 minutes and South line for 12 minutes. If it stays dry the stores last 3 more days: "
        "on 5 July Shed butt runs short."
    )


def test_nothing_to_open_is_told():
    words = said(told(dt.date(2031, 9, 25)))
    assert words.startswith("Nothing to water today. If it stays dry the stores last for all of the next 121")


def test_an_empty_store_is_short_today():
    words = said(told(JULY, (JULY, "level", "Shed butt", 10.0, "L")))
    assert "Shed butt runs short today already." in words


def test_rain_worth_waiting_for(tmp_path):
    found = told(forecast=file_of(tmp_path, 0, 12, 0, 0))
    assert said(found).startswith("Open South line for 12 minutes. Leave North line shut and wait: 12 mm of rain")
    assert "by tomorrow evening, and no bed of it is thirsty before." in said(found)
    assert "12 mm are forecast in 4 days, too little or too late to wait with South line." in said(found)
    assert "wait" in next(line for line in screen(found).splitlines() if line.startswith("North line"))


def test_no_rain_and_no_forecast(tmp_path):
    assert "No rain to speak of is forecast for 2 days: waiting does not pay." in said(
        told(forecast=file_of(tmp_path, 0, 0))
    )


def test_the_forecast_is_marked_as_one(tmp_path):
    shown = screen(told(forecast=file_of(tmp_path, 0, 3.5)))
    assert "Forecast, no measurement: forecast.csv, 2 days; a forecast can be wrong." in shown
    rows = [line for line in shown.splitlines() if " Jul  " in line and "forecast" in line]
    assert len(rows) == 2
    assert "3.5" in rows[1]
    assert "usual, dry" in shown


def test_where_a_level_comes_from_is_told():
    assert "Class-room tank and Shed butt were never dipped, so their levels are reckoned since 1 May 2031." in screen(
        told()
    )
    shown = screen(told(JULY, (dt.date(2031, 6, 29), "level", "Shed butt", 40.0, "L")))
    assert "dipped 3 days ago" in shown
    assert "Shed butt: you dipped 40 L on 29 June 2031; I expected " in shown
    assert "Class-room tank was never dipped" in shown


def test_the_journal_is_read():
    found = seen(
        JULY,
        (JULY - DAY, "level", "Shed butt", 100.0, "L"),
        (JULY - DAY, "level", "Shed butt", 120.0, "L"),  # the last of a day counts
        (JULY - DAY, "level", "Old tank", 5.0, "L"),
        (JULY - DAY, "level", "Class-room tank", 30.0, "cm"),  # the site gives it no shape
        (JULY - DAY, "ran", "West line", 30.0, "min"),
        (JULY - DAY, "mains", "", 30.0, "L"),
        (JULY + DAY, "level", "Shed butt", 10.0, "L"),  # not yet
        (JULY + DAY, "ran", "South line", 99.0, "min"),
        (JULY + DAY, "mains", "Shed butt", 99.0, "L"),
        (JULY + DAY, "gauge", "", 99.0, "mm"),
    )
    room, butt = found.stores
    assert room.read is None
    assert (butt.read.day, butt.level_l) == (JULY - DAY, 120.0)
    assert found.fallen_mm == 0.0
    assert (np.count_nonzero(~np.isnan(found.actions.minutes)), found.actions.mains_added_l.sum()) == (0, 0.0)
    assert found.known.weather.source == "weather.csv"
    assert found.notes == (
        "Old tank: 1 logged level is left out, as the site has no such tank.",
        "Class-room tank: 1 logged level is left out, as the site gives it no shape as deep as these depths.",
        "West line: 1 logged run is left out, as the site has no such zone.",
        "Mains water: 1 logged line is left out, as no tank is named, of several; log it again as TANK=LITRES.",
    )


def test_depths_of_the_journal_are_litres():
    path, day = DEMO / "journal" / "site.toml", dt.date(2031, 5, 5)
    found = found_of(known_on(path, day, day), None, read_journal(path.with_name("journal.csv")))
    assert found.notes == ()
    assert found.stores[0].read.level_l == pytest.approx(3.14159 / 4 * 1.3**2 * 0.65 * 1000, rel=1e-4)  # 65 cm deep


# ---- What was logged ------------------------------------------------------------------------------------------------

BUTT_L = (JULY - DAY, "level", "Shed butt", 120.0, "L")  # the South line takes 5 L/min of it


def test_a_run_of_this_morning_is_told_and_taken_off():
    found = told(JULY, BUTT_L, (JULY, "ran", "South line", 5.0, "min"))
    assert found.stores[1].level_l == pytest.approx(120 - 25)
    assert said(found).startswith("Open North line for 10 minutes and South line for 7 minutes more.")
    row = next(line for line in screen(found).splitlines() if line.startswith("South line"))
    assert "open 7 minutes more: " in row
    assert answer(found).facts["zones"][1]["store_l"] == pytest.approx(35.0)
    assert "Since then watered as planned but for 1 logged run, on this weather: weather.csv, to 1" in flat(found)


def test_what_is_done_is_not_to_be_opened_again():
    done = [(JULY, "ran", name, 12.0, "min") for name in ("North line", "South line")]
    found = told(JULY, *done)
    assert said(found).startswith("Nothing more to water today. If it stays dry")
    assert screen(found).count("done: 12 minutes run today") == 2
    entries = icalendar.Calendar.from_ical(calendar_bytes(events(found))).walk("VEVENT")
    assert JULY not in {entry["dtstart"].dt for entry in entries}
    shut = told(JULY, *((*entry[:3], 0.0, "min") for entry in done))
    assert said(shut).startswith("Nothing to water today.")


def test_mains_water_that_was_let_in_is_told():
    found = told(JULY, BUTT_L, (JULY, "mains", "Class-room tank", 150.0, "L"), (JULY, "ran", "North line", 3, "min"))
    assert found.stores[0].level_l == pytest.approx(told(JULY).stores[0].level_l + 150 - 3 * 3.2)
    assert "watered as planned but for 1 logged run and 150 L of mains water that you let in, on" in flat(found)


def test_mains_water_of_a_hose_is_the_model_s_own_affair():
    """The Shed butt has mains = "direct": a hose gives its line what it cannot."""
    found = seen(JULY, BUTT_L, (JULY - DAY, "mains", "Shed butt", 30.0, "L"))
    assert found.stores[1].level_l == 120.0
    assert found.notes == ("Shed butt: logged mains water is not let in again, as the model opens its hose by itself.",)


def test_the_logged_gauge_goes_before_the_garden_s_own_file(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8")
    file = 'file = "weather.csv"'
    assert file in text
    (tmp_path / "site.toml").write_text(text.replace(file, f'{file}\ngauge = "gauge.csv"'), "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO / "weather.csv").read_bytes())
    (tmp_path / "gauge.csv").write_text("date,rain_mm\n2031-06-29,7\n2031-06-30,8\n", "utf-8")
    found = told(JULY, (dt.date(2031, 6, 30), "gauge", "", 30.0, "mm"), path=tmp_path / "site.toml")
    assert found.known.weather.daily["rain_mm"].loc["2031-06-29":"2031-06-30"].tolist() == [7.0, 30.0]


def test_the_gauge_goes_before_the_weather_file():
    day = dt.date(2031, 6, 30)
    found = told(JULY, (day, "gauge", "", 30.0, "mm"))
    assert found.known.weather.daily["rain_mm"].loc[str(day)] == 30.0
    assert found.stores[0].level_l > told(JULY).stores[0].level_l + 100
    assert "on this weather: weather.csv, with the rain of the logged gauge on 1 day, to 1 July." in flat(found)


def test_rain_of_this_morning_makes_up_for_a_watering(tmp_path):
    entry = (JULY, "gauge", "", 12.0, "mm")
    found = told(JULY, entry)
    assert "Leave North line shut: 12 mm of rain have fallen today, which is as good." in said(found)
    assert "usual, your gauge  12.0" in screen(found)
    assert answer(found).facts["rain_today_mm"] == 12.0
    forecast = file_of(tmp_path, 2, 12)
    assert "Leave North line shut and wait: 12 mm of rain have fallen or are forecast by this evening" in said(
        told(JULY, entry, forecast=forecast)
    )


def test_the_gauge_of_a_day_whose_weather_is_not_known_yet():
    late = dt.date(2031, 10, 4)
    level = (dt.date(2031, 9, 30), "level", "Class-room tank", 500.0, "L")
    found = told(late, level, (late - DAY, "gauge", "", 20.0, "mm"))
    assert found.known.bridged == 3
    assert found.stores[0].level_l > told(late, level).stores[0].level_l + 100
    assert "only the rain of your gauge (1 reading) counts, beside the usual ET0" in flat(found)


def test_a_level_of_today_is_said_to_be_the_last_word():
    assert "counts as read after all else that you logged today" in flat(told(JULY, (JULY, *BUTT_L[1:])))
    assert "after all else that you logged today" not in flat(told(JULY, BUTT_L))


def flat(found):
    return " ".join(screen(found).split())


@pytest.mark.parametrize(
    ("number", "words"),
    [(10.0, "10 minutes"), (12.46, "12 minutes"), (2.5, "2.5 minutes"), (1.0, "1 minute"), (9.98, "10 minutes")],
)
def test_minutes_in_words(number, words):
    assert minutes(number) == words


def test_no_line_is_wider_than_the_screen(tmp_path):
    for found in (
        told(),
        told(forecast=file_of(tmp_path, 0, 12)),
        told(path=DEMO / "allotment" / "site.toml", on=dt.date(2033, 7, 2)),
    ):
        assert max(map(len, screen(found).splitlines())) <= 100


def test_the_calendar_opens_what_the_plan_opens_but_waits_today(tmp_path):
    found = told(forecast=file_of(tmp_path, 0, 12, 0))
    entries = icalendar.Calendar.from_ical(calendar_bytes(events(found))).walk("VEVENT")
    by_day = {entry["dtstart"].dt: str(entry["summary"]) for entry in entries}
    assert by_day[JULY] == "Water: South line 12 minutes"
    for day in found.coming[1:]:
        assert (day.day in by_day) == bool(day.minutes)
        for name in day.minutes:
            assert name in by_day[day.day]
