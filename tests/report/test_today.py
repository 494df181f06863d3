"""The screen of today: the answer first, the same figures in the table, the JSON and the calendar."""

import datetime as dt
import json
import shutil
from pathlib import Path

import icalendar
import pytest

from waterbudget.change.ahead import days_ahead, read_forecast
from waterbudget.change.known import known_on
from waterbudget.change.now import now
from waterbudget.journal.book import Entry, append, journal_path, read_journal
from waterbudget.report.calendar import calendar_bytes
from waterbudget.report.today import events, levels, minutes, today_json, today_screen, verdict

DEMO = Path(__file__).parent.parent.parent / "data_demo"
JULY = dt.date(2031, 7, 2)


def told(on=JULY, *, readings=None, forecast=None, path=DEMO / "site.toml"):
    known = known_on(path, on, on)
    return now(known, days_ahead(known, forecast and read_forecast(forecast, known)), readings or {})


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
        "Open North line for 10 minutes and South line for 12 minutes today. If it stays dry the stores last 4 more "
        "days: on 6 July Shed butt runs short."
    )


def test_nothing_to_open_is_told():
    text = said(told(dt.date(2031, 9, 25)))
    assert text.startswith("Nothing is to be watered today. If it stays dry the stores last for all of the next 121")


def test_an_empty_store_is_short_today():
    text = said(told(readings={"Shed butt": {JULY: 10.0}}))
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
    screen = today_screen(told(readings={"Shed butt": {dt.date(2031, 6, 29): 40.0}}))
    assert "40 L read 3 days ago" in screen
    assert "Shed butt: 40 L were read on 29 June 2031, where " in screen
    assert "No level of Class-room tank has been logged" in screen


def test_the_journal_is_read(tmp_path):
    shutil.copy(DEMO / "site.toml", tmp_path)
    shutil.copy(DEMO / "weather.csv", tmp_path)
    path = tmp_path / "site.toml"
    day = dt.date(2031, 7, 1)
    entries = [
        Entry(day, "level", "Shed butt", 100.0, "L"),
        Entry(day, "level", "Shed butt", 120.0, "L"),  # the last of a day counts
        Entry(day, "level", "Old tank", 5.0, "L"),
        Entry(day, "level", "Class-room tank", 30.0, "cm"),  # the site gives it no shape
        Entry(day, "gauge", "", 3.0, "mm"),
    ]
    append(journal_path(path), lambda _: entries)
    known = known_on(path, JULY, JULY)
    assert levels(known.site, read_journal(journal_path(path))) == {"Shed butt": {day: 120.0}}


def test_depths_of_the_journal_are_litres():
    path = DEMO / "journal" / "site.toml"
    known = known_on(path, dt.date(2031, 7, 12), dt.date(2031, 7, 12))
    read = levels(known.site, read_journal(journal_path(path)))["Class-room tank"]
    assert read[dt.date(2031, 5, 4)] == pytest.approx(3.14159 / 4 * 1.3**2 * 0.65 * 1000, rel=1e-4)  # 65 cm deep


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
