"""Why a line is open or shut, and how a bed stands, as a gardener would say it."""

import datetime as dt

import pytest
from change.test_now import DAY, JULY, forecast, garden, known, told
from gardens import weather_of

from waterbudget.answers.near import ago, day_near, since
from waterbudget.answers.today import answer
from waterbudget.answers.today_why import bed_state, line_state
from waterbudget.change.beds import BedToday
from waterbudget.render.text import text


def state(known_=None, forecast_=None, **more):
    found = told(known_, forecast_, **more)
    return line_state(found.openings[0], found)


def after_rain(*rain_mm, **zone):
    rows = [{"date": JULY - (len(rain_mm) - n) * DAY, "rain_mm": mm, "et0_mm": 4.0} for n, mm in enumerate(rain_mm)]
    old = known(site=garden(**zone))
    return type(old)(old.path, old.site, weather_of(rows), JULY, None, ())


def test_an_open_line():
    assert state() == "open 10 minutes: it is its day"
    assert state(known(days=6, site=garden(every_days=9, every_from=JULY))) == "open 10 minutes: Bed is nearly thirsty"
    assert state(known(days=8, site=garden(every_days=9, every_from=JULY))) == "open 10 minutes: Bed is thirsty"
    assert state(ran={JULY: 4.0}) == "open 6 minutes more: it is its day"


def test_what_the_store_lacks_comes_from_the_mains():
    butt = garden().tank[0].model_copy(update={"mains": "direct"})
    site = garden().model_copy(update={"tank": [butt]})
    assert state(known(site=site), readings={"Butt": {JULY: 20.0}}).endswith("; 30 L have to come from the mains")


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        ({"from": "07-10", "to": "09-20"}, "shut: its season begins on 10 July"),
        ({"from": "05-01", "to": "07-01"}, "shut: not its season"),
        ({"weekdays": ["sun"]}, "shut: next due on Sunday"),
        ({"every_days": 2}, "shut: next due tomorrow"),
        ({"every_days": 20, "every_from": JULY - DAY}, "shut: next due on 21 July"),
        ({"plan": "dry", "dry_at": 0.5}, "shut: the soil is still moist"),
        ({"minutes": 0}, "shut: its plan has no minutes today"),
    ],
)
def test_a_shut_line(zone, words):
    assert state(known(site=garden(**zone))) == words


def test_rain_that_fell():
    skips = {"skip_rain_mm": 5, "skip_rain_days": 3}
    assert state(after_rain(8.6, 0, 0, **skips)) == "shut: 8.6 mm fell on 29 June"
    assert state(after_rain(0, 0, 8.6, **skips)) == "shut: 8.6 mm fell yesterday"
    assert state(after_rain(3, 0, 4, **skips)) == "shut: 7.0 mm fell since 29 June"


def test_what_was_done_or_is_coming():
    assert state(ran={JULY: 12.0}) == "done: 12 minutes run today"
    assert state(ran={JULY: 0.0}) == "shut: as you logged"
    assert state(forecast_=forecast(0, 5)) == "wait: 5 mm of rain do it instead"


def test_an_empty_store():
    found = told(readings={"Butt": {JULY: 0.0}})
    assert line_state(found.openings[0], found) == "shut: Butt is empty"
    assert answer(found).verdict[0] == ("There is no water for Line: bring 50 L by can, or let it wait.")


@pytest.mark.parametrize(
    ("since_day", "in_days", "words"),
    [
        (None, None, "fine"),
        (None, 8, "fine"),
        (None, 7, "thirsty in 7 days"),
        (None, 1, "thirsty tomorrow"),
        (JULY, 0, "thirsty since today"),
        (JULY - DAY, 0, "thirsty since yesterday"),
        (JULY - 3 * DAY, 0, "thirsty since Sunday"),
        (JULY - 20 * DAY, 0, "thirsty since 12 June"),
    ],
)
def test_a_bed(since_day, in_days, words):
    assert bed_state(BedToday("Bed", None, True, 0.5, since_day, in_days, None, None), JULY) == words  # noqa: FBT003


def test_a_bare_bed():
    assert bed_state(BedToday("Bed", None, False, None, None, None, None, None), JULY) == "bare"  # noqa: FBT003


def test_days_near_by():
    assert [ago(JULY - n * DAY, JULY) for n in (0, 1, 40)] == ["today", "yesterday", "40 days ago"]
    assert [day_near(JULY, JULY + n * DAY) for n in (1, 6, 7)] == ["tomorrow", "Tuesday", "9 July"]
    assert day_near(JULY, dt.date(2032, 1, 2)) == "2 January 2032"
    assert since(dt.date(2030, 12, 31), JULY) == "31 December 2030"


def test_the_age_of_all_is_told():
    old = type(known())(known().path, garden(), known().weather, JULY + 9 * DAY, None, ())
    screen = " ".join(text(answer(told(old, readings={"Butt": {JULY - DAY: 200.0}})), full=False).split())
    assert "The weather is known to 1 July 2031, 10 days ago." in screen
    assert "Butt was last dipped 10 days ago: dip it again." in screen


def test_a_dip_that_was_not_expected():
    screen = " ".join(text(answer(told(readings={"Butt": {JULY - 2 * DAY: 100.0}}))).split())
    assert "Butt: you dipped 100 L on 30 June 2031; I expected 200 L. Using yours" in screen


def test_of_many_beds_the_driest_stand_on_the_short_screen():
    one = garden().bed[0]
    many = [
        one.model_copy(
            update={"name": f"Bed {n}", "start_depleted": 0.0, "exposed": False, "zone": None if n else "Line"}
        )
        for n in range(12)
    ]
    found = told(known(site=garden().model_copy(update={"bed": many})))
    short, full = (text(answer(found), full=is_full) for is_full in (False, True))
    assert "4 more beds: --full" in short
    assert sum(line.startswith("Bed ") for line in short.splitlines()) == 8
    assert sum(line.startswith("Bed ") for line in full.splitlines()) == 8 + 12
    assert "Bed 0 " not in short, "it is watered, and moister than the others"
