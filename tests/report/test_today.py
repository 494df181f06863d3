"""The screen of today: the answer first, the same figures in the table, the JSON and the calendar."""

import datetime as dt
import json
from pathlib import Path

import icalendar
import numpy as np
import pytest

from waterbudget.change.ahead import read_forecast
from waterbudget.change.known import known_on
from waterbudget.journal.book import Entry, Journal, Line, read_journal
from waterbudget.render.calendar import calendar_bytes
from waterbudget.report.today import events, looked, minutes, today_json, today_screen, verdict

DEMO = Path(__file__).parent.parent.parent / "data_demo"
JULY = dt.date(2031, 7, 2)


DAY = dt.timedelta(days=1)


def seen(on, *entries, forecast=None, path=DEMO / "site.toml"):
    """Today, and the notes on a journal of these entries: day, kind, name, value and unit."""
    known = known_on(path, on, on)
    noon = dt.datetime.combine(on, dt.time(12), dt.UTC)
    lines = [Line(number, noon, Entry(*entry)) for number, entry in enumerate(entries, 1)]
    return looked(known, forecast and read_forecast(forecast, known), Journal(Path("journal.csv"), tuple(lines), ()))


def told(on=JULY, *entries, forecast=None, path=DEMO / "site.toml"):
    found, notes = seen(on, *entries, forecast=forecast, path=path)
    assert notes == ()
    return found


def file_of(folder, *rain_mm):
    """A forecast from 2 July on, its days like a mild one."""
    rows = [f"2031-07-{2 + n:02d},{mm},12,20,75,2,5" for n, mm in enumerate(rain_mm)]
    file = folder / "forecast.csv"
    file.write_text("\n".join(["date,rain_mm,tmin_c,tmax_c,rh_mean_pct,wind_m_s,sun_hours", *rows]), "utf-8")
    return file


def said(found):
    return " ".join(verdict(found))


def test_what_to_open_comes_first():
    assert said(told()).startswith(
        "Open North line for 10 minutes and South line for 12 minutes today. If it stays dry the stores last 3 more "
        "days: on 5 July Shed butt runs short."
    )


def test_nothing_to_open_is_told():
    text = said(told(dt.date(2031, 9, 25)))
    assert text.startswith("Nothing is to be watered today. If it stays dry the stores last for all of the next 121")


def test_an_empty_store_is_short_today():
    text = said(told(JULY, (JULY, "level", "Shed butt", 10.0, "L")))
    assert "Shed butt runs short today already." in text


def test_rain_worth_waiting_for(tmp_path):
    found = told(forecast=file_of(tmp_path, 0, 12, 0, 0))
    assert said(found).startswith("Open South line for 12 minutes today. Leave North line shut and wait: 12 mm of rain")
    assert "by tomorrow evening, and until then its driest bed, " in said(found)
    assert "12 mm are forecast for 4 days, too little or too late to wait with South line." in said(found)
    assert "wait" in next(line for line in today_screen(found).splitlines() if line.startswith("North line"))


def test_no_rain_and_no_forecast(tmp_path):
    assert said(told(forecast=file_of(tmp_path, 0, 0))).endswith("is forecast for 2 days: waiting does not pay.")
    assert said(told()).endswith("there is no telling whether waiting for rain would pay.")


def test_the_forecast_is_marked_as_one(tmp_path):
    screen = today_screen(told(forecast=file_of(tmp_path, 0, 3.5)))
    assert "Forecast, no measurement: forecast.csv, 2 days; a forecast can be wrong." in screen
    rows = [line for line in screen.splitlines() if " Jul  " in line and "forecast" in line]
    assert len(rows) == 2
    assert "3.5" in rows[1]
    assert "normal, dry" in screen


def test_where_a_level_comes_from_is_told():
    assert "No level of Class-room tank or Shed butt has been logged" in today_screen(told())
    screen = today_screen(told(JULY, (dt.date(2031, 6, 29), "level", "Shed butt", 40.0, "L")))
    assert "40 L read 3 days ago" in screen
    assert "Shed butt: 40 L were read on 29 June 2031, where " in screen
    assert "No level of Class-room tank has been logged" in screen


def test_the_journal_is_read():
    found, notes = seen(
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
    assert notes == (
        "Old tank: 1 logged level is left out, as the site has no such tank.",
        "Class-room tank: 1 logged level is left out, as the site gives it no shape as deep as these depths.",
        "West line: 1 logged run is left out, as the site has no such zone.",
        "Mains water: 1 logged line is left out, as no tank is named, of several; log it again as TANK=LITRES.",
    )


def test_depths_of_the_journal_are_litres():
    path, day = DEMO / "journal" / "site.toml", dt.date(2031, 5, 5)
    found, notes = looked(known_on(path, day, day), None, read_journal(path.with_name("journal.csv")))
    assert notes == ()
    assert found.stores[0].read.level_l == pytest.approx(3.14159 / 4 * 1.3**2 * 0.65 * 1000, rel=1e-4)  # 65 cm deep


# ---- What was logged ------------------------------------------------------------------------------------------------

BUTT_L = (JULY - DAY, "level", "Shed butt", 120.0, "L")  # the South line takes 5 L/min of it


def test_a_run_of_this_morning_is_told_and_taken_off():
    found = told(JULY, BUTT_L, (JULY, "ran", "South line", 5.0, "min"))
    assert found.stores[1].level_l == pytest.approx(120 - 25)
    assert said(found).startswith("Open North line for 10 minutes and South line for 7 minutes more today.")
    row = next(line for line in today_screen(found).splitlines() if line.startswith("South line"))
    assert row.split()[2:5] == ["5.0", "7.0", "35"]
    assert "Since then watered as planned but for 1 logged run, on this weather: weather.csv, to 1" in flat(found)


def test_what_is_done_is_not_to_be_opened_again():
    done = [(JULY, "ran", name, 12.0, "min") for name in ("North line", "South line")]
    found = told(JULY, *done)
    assert said(found).startswith("Nothing more is to be watered today. If it stays dry")
    assert [line.split()[2:4] for line in today_screen(found).splitlines() if " line  " in line and "12.0" in line] == [
        ["12.0", "done"]
    ] * 2
    entries = icalendar.Calendar.from_ical(calendar_bytes(events(found))).walk("VEVENT")
    assert JULY not in {entry["dtstart"].dt for entry in entries}
    shut = told(JULY, *((*entry[:3], 0.0, "min") for entry in done))
    assert said(shut).startswith("Nothing is to be watered today.")


def test_mains_water_that_was_let_in_is_told():
    found = told(JULY, BUTT_L, (JULY, "mains", "Class-room tank", 150.0, "L"), (JULY, "ran", "North line", 3, "min"))
    assert found.stores[0].level_l == pytest.approx(told(JULY).stores[0].level_l + 150 - 3 * 3.2)
    assert "watered as planned but for 1 logged run and 150 L of mains water that were let in, on" in flat(found)


def test_mains_water_of_a_hose_is_the_model_s_own_affair():
    """The Shed butt has mains = "direct": a hose gives its line what it cannot."""
    found, notes = seen(JULY, BUTT_L, (JULY - DAY, "mains", "Shed butt", 30.0, "L"))
    assert found.stores[1].level_l == 120.0
    assert notes == ("Shed butt: logged mains water is not let in again, as the model opens its hose by itself.",)


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
    assert "Leave North line shut: 12 mm of rain have fallen today, and its driest bed, " in said(found)
    assert "normal, your gauge  12.0" in today_screen(found)
    assert json.loads(today_json(found))["rain_logged_today_mm"] == 12.0
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
    assert "with the rain of the gauge where it was logged" in flat(found)


def test_a_level_of_today_is_said_to_be_the_last_word():
    assert "counts as read after all else that was logged today" in flat(told(JULY, (JULY, *BUTT_L[1:])))
    assert "after all else that was logged today" not in flat(told(JULY, BUTT_L))


def flat(found):
    return " ".join(today_screen(found).split())


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
        assert max(map(len, today_screen(found).splitlines())) <= 100


def test_json_has_the_same_figures(tmp_path):
    found = told(forecast=file_of(tmp_path, 0, 12, 0))
    read = json.loads(today_json(found))
    assert (read["today"], read["weather_to"], read["forecast_days"]) == ("2031-07-02", "2031-07-01", 3)
    assert read["lasts_dry_days"] == found.lasts
    assert [store["level_l"] for store in read["stores"]] == [store.level_l for store in found.stores]
    assert read["zones"][0]["wait"]["day"] == "2031-07-03"
    assert read["zones"][1]["wait"] is None


def test_the_calendar_opens_what_the_plan_opens_but_waits_today(tmp_path):
    found = told(forecast=file_of(tmp_path, 0, 12, 0))
    entries = icalendar.Calendar.from_ical(calendar_bytes(events(found))).walk("VEVENT")
    by_day = {entry["dtstart"].dt: str(entry["summary"]) for entry in entries}
    assert by_day[JULY] == "Water: South line 12 minutes"
    for day in found.coming[1:]:
        assert (day.day in by_day) == bool(day.minutes)
        for name in day.minutes:
            assert name in by_day[day.day]
