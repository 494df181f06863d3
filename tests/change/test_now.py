"""Today: levels from the last reading, what the plan opens, days left when it stays dry, rain worth waiting for."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from gardens import site_of, weather_of

from waterbudget.answers.today_basis import usual_et0
from waterbudget.change.ahead import AHEAD_DAYS, OtherYears, days_ahead, dry_from
from waterbudget.change.known import Known, known_on
from waterbudget.change.now import now
from waterbudget.change.outlook import read_forecast
from waterbudget.errors import WeatherError
from waterbudget.schedule.actions import Actions
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run
from waterbudget.site.tanks import Inflow, Transfer

DEMO = Path(__file__).parent.parent.parent / "data_demo"
JULY = dt.date(2031, 7, 2)
DAY = dt.timedelta(days=1)


def garden(**zone):
    """A butt of 500 L, 300 in it, that waters 10 m2 with 50 L on every day, 40 of which reach the roots: 4 mm."""
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": [{"name": "Shed", "tank": "Butt", "area_m2": 10, "runoff_coefficient": 1, "filter_efficiency": 1}],
            "tank": [{"name": "Butt", "capacity_l": 500, "start_l": 300}],
            "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 5, "minutes": 10} | zone],
            "bed": [
                {
                    "name": "Bed",
                    "area_m2": 10,
                    "zone": "Line",
                    "available_water_mm_m": 150,
                    "planting": [
                        {"planted": "05-01", "days": [0, 0, 150, 0], "kc": [1, 1, 1], "p": 0.4, "root_m": [0.4, 0.4]}
                    ],
                }
            ],
        }
    )


def known(days=3, rain_mm=0.0, et0_mm=4.0, site=None):
    """Known weather of so many days up to 1 July."""
    rows = [{"date": JULY - n * DAY, "rain_mm": rain_mm, "et0_mm": et0_mm} for n in range(days, 0, -1)]
    return Known(Path("site.toml"), site or garden(), weather_of(rows), JULY, None, ())


def forecast(*rain_mm, et0_mm=4.0):
    return weather_of([{"date": JULY + n * DAY, "rain_mm": mm, "et0_mm": et0_mm} for n, mm in enumerate(rain_mm)])


def actions(known_, ran=None, let_in=None):
    """The plan, but for minutes that the first zone ran and litres let into the first tank, by day."""
    first = known_.weather.dates[0].date()
    days = (known_.today - first).days + AHEAD_DAYS + 1
    minutes = np.full((days, len(known_.site.zone) + len(known_.site.draw)), np.nan)
    mains_added_l = np.zeros((days, len(known_.site.tank)))
    for day, ran_minutes in (ran or {}).items():
        minutes[(day - first).days, 0] = ran_minutes
    for day, litres in (let_in or {}).items():
        mains_added_l[(day - first).days, 0] = litres
    return Actions(minutes, mains_added_l)


def told(known_=None, forecast_=None, readings=None, *, ran=None, let_in=None, fallen_mm=0.0):
    known_ = known_ or known()
    return now(known_, days_ahead(known_, forecast_), readings or {}, actions(known_, ran, let_in), fallen_mm)


# ---- Levels and days left -------------------------------------------------------------------------------------------


def test_without_a_reading_start_l_counts_from_the_first_day():
    (store,) = told().stores
    assert store.level_l == pytest.approx(300 - 3 * 50)
    assert store.read is None
    assert store.lasts == 3  # 150 L left, 50 a day


def test_a_reading_goes_before_what_was_reckoned():
    (store,) = told(readings={"Butt": {JULY - 2 * DAY: 120.0}}).stores
    assert store.level_l == pytest.approx(120 - 50)
    assert store.read == (JULY - 2 * DAY, 120.0, 300 - 2 * 50)
    assert store.lasts == 1


def test_a_reading_of_today_is_the_level_before_watering():
    found = told(readings={"Butt": {JULY - DAY: 480.0, JULY: 90.0}})
    (store,), (opening,) = found.stores, found.openings
    assert (store.level_l, store.read.day) == (90.0, JULY)
    assert (opening.store_l, store.lasts) == (50.0, 1)


def test_a_reading_on_the_eve_of_the_weather_begins_it_and_older_or_later_ones_do_not_count():
    eve = JULY - 4 * DAY
    assert told(readings={"Butt": {eve: 400.0}}).stores[0].level_l == pytest.approx(400 - 150)
    for day in (eve - DAY, JULY + DAY):
        assert told(readings={"Butt": {day: 20.0}}).stores[0].level_l == pytest.approx(150)


@pytest.mark.parametrize("day", [dt.date(2031, 6, day) for day in (6, 10, 18, 27)])  # wet days and dry ones
def test_levels_go_on_from_a_reading_as_a_run_begun_there_does(day):
    opened = open_site(DEMO / "site.toml")
    readings = {"Class-room tank": {day: 700.0}, "Shed butt": {day: 90.0}}
    known_ = known_on(DEMO / "site.toml", JULY, JULY)
    found = told(known_, readings=readings)
    # the same by a run from the next day on, its beds as dry as they are then
    whole = run(opened.site, opened.weather)
    beds = whole.beds[whole.beds["date"] == pd.Timestamp(day)]
    later = opened.weather.between(day + DAY, JULY - DAY)  # which remembers the rain that makes a run be skipped
    taw_mm = whole.beds[whole.beds["date"] == pd.Timestamp(day + DAY)]["taw_mm"].to_numpy()
    site = opened.site.model_copy(
        update={
            "bed": [
                bed.model_copy(update={"start_depleted": float(share)})
                for bed, share in zip(opened.site.bed, beds["depletion_mm"].to_numpy() / taw_mm, strict=True)
            ]
        }
    )
    again = run(site, later, start_l={"Class-room tank": 700.0, "Shed butt": 90.0})
    for store, tank in zip(found.stores, again.summary["tanks"], strict=True):
        assert store.level_l == pytest.approx(tank["end_l"], abs=1e-6)


def test_every_reading_counts_and_the_last_of_each_store_is_told():
    """From 300 L down 50 a day; read are 200 and a day later 90, where 150 were reckoned from the first."""
    found = told(known(days=4), readings={"Butt": {JULY - 3 * DAY: 200.0, JULY - 2 * DAY: 90.0}})
    (store,) = found.stores
    assert store.read == (JULY - 2 * DAY, 90.0, pytest.approx(150.0))
    assert store.level_l == pytest.approx(90 - 50)


def test_joined_stores_are_one_of_all_their_litres():
    twins = garden().tank[0].model_copy(update={"joined": 2})
    (store,) = told(known(site=garden().model_copy(update={"tank": [twins]}))).stores
    assert (store.capacity_l, store.level_l, store.lasts) == (1000.0, pytest.approx(2 * 300 - 3 * 50), 9)


def test_a_spring_and_a_transfer_go_on_in_the_days_before_and_ahead():
    """The butt gets 10 L a day, and hands on what is beyond 100 L, 20 at most: 300, 230 + 10, 180 - 10, 120 - 10."""
    site = garden()
    spare = site.tank[0].model_copy(update={"name": "Vat", "start_l": 0.0, "overflow_to": None})
    table = {
        "tank": [*site.tank, spare],
        "inflow": [Inflow(name="Spring", tank="Butt", l_per_day=10)],
        "transfer": [Transfer(name="Pump", from_tank="Butt", to_tank="Vat", l_per_day=20, keep_l=100)],
    }
    butt, vat = told(known(site=site.model_copy(update=table))).stores
    assert (butt.level_l, vat.level_l) == pytest.approx((300 - 3 * (50 + 20 - 10), 60))
    assert butt.lasts == 2  # 120 L now; after two days 60 and 20
    assert vat.lasts is None


def test_a_store_that_is_enough_lasts_longer_than_was_looked():
    (store,) = told(known(site=garden(minutes=0.1))).stores
    assert store.lasts is None
    assert told(known(site=garden(minutes=0.1))).lasts is None


def test_forecast_rain_makes_it_last_longer_but_not_in_the_dry():
    (store,) = told(forecast_=forecast(0, 0, 30)).stores  # 300 L of rain on the third day
    assert store.lasts == 3
    assert store.expected == 9


def test_days_that_a_float_valve_tops_up_are_days_short():
    site = garden().model_copy(
        update={
            "tank": [garden().tank[0].model_copy(update={"mains": "float", "float_below_l": 60.0, "float_to_l": 100.0})]
        }
    )
    (store,) = told(known(site=site)).stores
    assert store.lasts == 2  # 150, 100, then 50 is below the valve


# ---- What to open ---------------------------------------------------------------------------------------------------


def test_the_plan_of_today_is_that_of_the_run():
    opened = open_site(DEMO / "site.toml")
    whole = run(opened.site, opened.weather)
    for number in range(45, 150, 25):
        today = opened.weather.dates[number].date()
        known_ = known_on(DEMO / "site.toml", today, today)
        days = weather_of([{"date": day} | row for day, row in _rows(opened.weather, number)])
        found = told(known_, days)
        zones = whole.zones[whole.zones["date"] == pd.Timestamp(today)].set_index("zone")
        for one in found.openings:
            assert one.minutes * {"North line": 3.2, "South line": 5.0}[one.name] == pytest.approx(
                zones.loc[one.name, "asked_l"]
            )
            assert one.store_l == pytest.approx(zones.loc[one.name, "store_l"])
            assert one.mains_l == pytest.approx(zones.loc[one.name, "mains_l"])


def _rows(weather, number):
    daily = weather.daily[["rain_mm", "et0_mm", "tmax_c"]].iloc[number:]
    return zip(daily.index.date, daily.to_dict("records"), strict=True)


def test_an_empty_store_without_mains_still_tells_the_minutes():
    found = told(readings={"Butt": {JULY: 0.0}})
    (opening,) = found.openings
    assert (opening.minutes, opening.store_l, opening.unmet_l) == (pytest.approx(10.0), 0.0, pytest.approx(50.0))
    assert found.lasts == 0


def test_the_next_day_is_told_for_a_zone_that_stays_shut():
    (opening,) = told(known(site=garden(every_days=2))).openings  # open on 29 June and 1 July
    assert (opening.minutes, opening.next_day) == (0.0, JULY + DAY)
    (over,) = told(known(site=garden(**{"from": "05-01", "to": "07-01"}))).openings
    assert (over.minutes, over.next_day) == (0.0, None)


def test_the_days_ahead_are_forecast_then_normal():
    found = told(forecast_=forecast(1.0, 2.0, et0_mm=2.5))
    assert len(found.coming) == 7
    assert [day.is_forecast for day in found.coming] == [True] * 2 + [False] * 5
    assert [day.rain_mm for day in found.coming] == [1.0, 2.0] + [0.0] * 5
    assert [day.et0_mm for day in found.coming] == [2.5] * 2 + [4.0] * 5
    assert all(day.minutes == {"Line": pytest.approx(10.0)} for day in found.coming)


# ---- Waiting --------------------------------------------------------------------------------------------------------

# RAW = (0.4 + 0.04 (5 - ETc)) x 150 mm/m x 0.4 m: with ETc 4 mm 26.4 mm; today's watering brings 4 mm to the roots


def test_rain_that_brings_as_much_in_time_is_worth_waiting_for():
    (opening,) = told(forecast_=forecast(0, 5)).openings
    assert opening.wait == (JULY + DAY, 5.0, "Bed", pytest.approx(4.0 / 26.4))  # tomorrow's rain, after a day of ETc


@pytest.mark.parametrize(
    "rain_mm",
    [
        (),  # no forecast
        (0, 0, 0),
        (0, 3.9, 0),  # less than the watering brings
        (0, 0, 0, 20),  # after the third day
    ],
)
def test_little_or_late_rain_is_not(rain_mm):
    assert told(forecast_=forecast(*rain_mm) if rain_mm else None).openings[0].wait is None


def test_rain_of_several_days_adds_up():
    assert told(forecast_=forecast(2, 0, 2)).openings[0].wait.day == JULY + 2 * DAY


def test_beds_that_would_be_thirsty_do_not_wait():
    dry_site = garden(every_days=9, every_from=JULY)  # nothing was given for ten days of 3 mm
    known_ = known(days=8, et0_mm=3.0, site=dry_site)
    assert told(known_, forecast(0, 0, 9, et0_mm=3.0)).openings[0].wait is None
    known_ = known(days=6, et0_mm=3.0, site=dry_site)
    assert told(known_, forecast(0, 9, et0_mm=3.0)).openings[0].wait is not None


def test_a_zone_that_is_not_due_does_not_wait():
    assert told(known(site=garden(every_days=2)), forecast(0, 50)).openings[0].wait is None


# ---- What was logged ------------------------------------------------------------------------------------------------

# The line gives 5 L/min, 10 minutes a day by its plan; 1 mm of rain on the shed is 10 L


def test_yesterday_s_run_goes_before_the_plan():
    (store,), (opening,) = (found := told(ran={JULY - DAY: 24.0})).stores, found.openings
    assert store.level_l == pytest.approx(300 - 50 - 50 - 120)
    assert store.lasts == 1  # 80 L left
    assert (opening.ran, opening.minutes) == (None, pytest.approx(10.0))


def test_a_zone_that_was_kept_shut_took_nothing():
    assert told(ran={JULY - DAY: 0.0, JULY - 2 * DAY: 0.0}).stores[0].level_l == pytest.approx(250)


def test_a_run_before_a_reading_changes_the_reckoning_but_not_the_level():
    (store,) = told(ran={JULY - 2 * DAY: 24.0}, readings={"Butt": {JULY - 2 * DAY: 140.0}}).stores
    assert store.read == (JULY - 2 * DAY, 140.0, pytest.approx(300 - 50 - 120))
    assert store.level_l == pytest.approx(90)


def test_this_morning_s_run_goes_towards_the_plan():
    found = told(ran={JULY: 4.0})
    (store,), (opening,) = found.stores, found.openings
    assert store.level_l == pytest.approx(150 - 20)
    assert (opening.ran, opening.minutes, opening.store_l) == (4.0, pytest.approx(6.0), pytest.approx(30.0))
    assert found.coming[0].minutes == {"Line": pytest.approx(6.0)}
    assert (store.lasts, found.to_open) == (3, (opening,))


@pytest.mark.parametrize(("minutes", "level_l", "lasts"), [(10.0, 100.0, 3), (24.0, 30.0, 1)])
def test_a_zone_that_had_its_run_is_done(minutes, level_l, lasts):
    found = told(ran={JULY: minutes})
    (store,), (opening,) = found.stores, found.openings
    assert (store.level_l, store.lasts) == (pytest.approx(level_l), lasts)
    assert (opening.ran, opening.minutes, opening.store_l, opening.next_day) == (minutes, 0.0, 0.0, JULY + DAY)
    assert found.to_open == found.waiting == ()
    assert found.coming[0].minutes == {}
    assert found.coming[0].work_minutes == 0.0 < found.coming[1].work_minutes


def test_a_run_by_its_plan_leaves_nothing_over():
    """3 x 3.7 L/min x 1.1 minutes is not 3.3 minutes of it to the last digit."""
    (opening,) = told(known(site=garden(flow_l_min=3.7, minutes=1.1, runs_per_day=3)), ran={JULY: 3.3}).openings
    assert (opening.minutes, opening.store_l) == (0.0, 0.0)


def test_a_zone_kept_shut_today_is_not_to_be_opened():
    found = told(ran={JULY: 0.0})
    assert (found.openings[0].ran, found.openings[0].minutes) == (0.0, 0.0)
    assert found.stores[0].level_l == pytest.approx(150)
    assert found.stores[0].lasts == 4


def test_a_run_of_a_day_that_is_not_due_is_nothing_to_do_again():
    found = told(known(site=garden(every_days=2)), ran={JULY: 8.0})  # open on 29 June and 1 July
    assert (found.openings[0].minutes, found.openings[0].next_day) == (0.0, JULY + DAY)
    assert found.stores[0].level_l == pytest.approx(300 - 2 * 50 - 40)


def test_a_reading_of_today_is_after_what_was_logged_of_today():
    """Nothing of it comes or goes a second time: 100 L are left, and 30 are still to be given."""
    found = told(readings={"Butt": {JULY: 100.0}}, ran={JULY: 4.0}, let_in={JULY: 30.0}, fallen_mm=2.0)
    (store,), (opening,) = found.stores, found.openings
    assert store.read == (JULY, 100.0, pytest.approx(150 - 20 + 30 + 20))
    assert (store.level_l, opening.store_l, store.lasts) == (100.0, pytest.approx(30.0), 2)  # 70 L, then 20


def test_mains_water_that_was_let_in_is_in_the_store():
    assert told(let_in={JULY - DAY: 60.0}).stores[0].level_l == pytest.approx(210)
    (store,) = told(let_in={JULY: 60.0}).stores
    assert (store.level_l, store.lasts) == (pytest.approx(210), 4)
    assert told(let_in={JULY: 900.0}).stores[0].level_l == 500.0, "what is too much runs off"


def test_a_run_takes_no_more_than_is_within_reach():
    butt = garden().tank[0].model_copy(update={"dead_l": 30.0})
    site = garden().model_copy(update={"tank": [butt]})
    found = told(known(site=site), readings={"Butt": {JULY - DAY: 60.0}}, ran={JULY: 8.0})
    assert found.stores[0].level_l == pytest.approx(30.0)
    (opening,) = found.openings
    assert (opening.minutes, opening.store_l, opening.unmet_l) == pytest.approx((2.0, 0.0, 10.0))


def test_mains_of_a_run_that_the_store_could_not_give():
    """Of 10 minutes 8 were run: 20 L came from the store and 20 L from the hose, so the hose gives the other 10 L."""
    butt = garden().tank[0].model_copy(update={"mains": "direct"})
    found = told(known(site=garden().model_copy(update={"tank": [butt]})), readings={"Butt": {JULY - DAY: 20.0}},
                 ran={JULY: 8.0})  # fmt: skip
    (opening,) = found.openings
    assert (opening.minutes, opening.store_l, opening.mains_l, opening.unmet_l) == pytest.approx((2.0, 0.0, 10.0, 0.0))


def test_rain_in_today_s_gauge_is_in_the_store_even_if_it_stays_dry():
    (store,) = told(fallen_mm=5.0).stores
    assert (store.level_l, store.lasts) == (pytest.approx(200), 4)
    assert told(forecast_=forecast(5.0), fallen_mm=3.0).coming[0].rain_mm == 5.0, "more is to come"
    assert told(forecast_=forecast(3.0), fallen_mm=5.0).coming[0].rain_mm == 5.0


def test_rain_that_has_fallen_today_makes_up_for_a_watering():
    (opening,) = told(fallen_mm=4.0).openings  # 4 mm is what the watering brings
    assert opening.wait == (JULY, 4.0, "Bed", pytest.approx(0.0))
    assert told(fallen_mm=3.9).openings[0].wait is None
    assert told(fallen_mm=2.0, ran={JULY: 5.0}).openings[0].wait is not None  # half of it was run
    assert told(fallen_mm=1.9, ran={JULY: 5.0}).openings[0].wait is None


def test_what_was_run_counts_as_water_in_the_beds():
    """On six dry days of 3 mm 18 mm are used up, and 12 mm after 15 minutes that brought 6 mm."""
    dry_site = garden(every_days=9, every_from=JULY)
    known_ = known(days=6, et0_mm=3.0, site=dry_site)
    raw_mm = (0.4 + 0.04 * (5 - 3.0)) * 150 * 0.4
    for ran, used_mm in (({}, 18.0), ({JULY - DAY: 15.0}, 12.0)):
        (opening,) = told(known_, forecast(9, et0_mm=3.0), ran=ran).openings
        assert opening.wait.driest == pytest.approx(used_mm / raw_mm)


# ---- The days ahead -------------------------------------------------------------------------------------------------


def of_years(*rows):
    return Known(Path("site.toml"), garden(), weather_of(rows), JULY, None, ())


def test_normal_is_the_mean_of_the_same_days_in_other_years():
    days = pd.date_range("2028-01-01", "2031-07-01")
    et0_mm = 3.0 + 2.0 * np.cos(2 * np.pi * (days.dayofyear - 190) / 365.25) + (days.year - 2029) * 0.1
    ahead = days_ahead(
        of_years(*({"date": day, "rain_mm": 0.1, "et0_mm": mm} for day, mm in zip(days, et0_mm, strict=True))), None
    )
    expected = 3.0 + 2.0 * np.cos(2 * np.pi * (ahead.weather.dates.dayofyear - 190) / 365.25)
    np.testing.assert_allclose(ahead.weather.daily["et0_mm"], expected, atol=0.15)
    assert ahead.normal.bases == (OtherYears(3),)
    assert ahead.normal.week_mm == pytest.approx(0.7)
    assert ahead.weather.daily["rain_mm"].sum() == 0.0, "no rain is counted with"
    assert len(ahead.weather.daily) == AHEAD_DAYS + 1


def test_days_declared_dry_use_what_dry_days_did():
    days = pd.date_range("2028-01-01", "2031-07-01")
    wet = (np.arange(len(days)) // 2) % 2 == 1  # two days in four: 0.2 mm, a dull day with half the ET0
    rows = [
        {"date": day, "rain_mm": 0.2 if rains else 0.19, "et0_mm": 2.0 if rains else 4.0, "tmax_c": 17 if rains else 23}
        for day, rains in zip(days, wet, strict=True)
    ]
    ahead = days_ahead(of_years(*rows), None)
    assert set(ahead.weather.daily["et0_mm"].round(9)) == {4.0}
    assert set(ahead.weather.daily["tmax_c"].round(9)) == {23.0}
    assert ahead.normal.week_mm == pytest.approx(7 * 0.195, abs=0.005)  # the rain is that of all days


def test_where_no_day_of_the_fortnight_was_dry_the_nearest_dry_one_counts():
    days = pd.date_range("2030-01-01", "2031-07-01")
    rows = [{"date": day, "rain_mm": 5.0, "et0_mm": 1.0} for day in days]
    rows[(dt.date(2030, 7, 20) - dt.date(2030, 1, 1)).days] |= {"rain_mm": 0.0, "et0_mm": 4.0}
    assert set(days_ahead(of_years(*rows), None).weather.daily["et0_mm"]) == {4.0}
    assert set(days_ahead(of_years(*(row | {"rain_mm": 5.0} for row in rows)), None).weather.daily["et0_mm"]) == {
        1.0,
        4.0,
    }


def lately(*wet, days=40):
    """Known days up to yesterday, each with ET0 of 1 mm before the last 14, then 5, or 2 where it rained."""
    return of_years(
        *(
            {
                "date": JULY - n * DAY,
                "rain_mm": 3.0 if n in wet else 0.0,
                "et0_mm": 1.0 if n > 14 else 2.0 if n in wet else 5.0,
            }
            for n in range(days, 0, -1)
        )
    )


@pytest.mark.parametrize(
    ("wet", "et0_mm", "words"),
    [
        ((), 5.0, "the mean of the dry ones among the last 14 known days"),
        ((1, 2, 5, 9), 5.0, "the mean of the dry ones among the last 14 known days"),
        (range(1, 20), 1.0, "that of 2031-06-12, the last dry day known"),
        (range(1, 41), 2.0, "the mean of the last 14 known days, none of which was dry"),
    ],
)
def test_without_other_years_the_dry_days_of_the_last_two_weeks_stand_in(wet, et0_mm, words):
    ahead = days_ahead(lately(*wet), None)
    assert set(ahead.weather.daily["et0_mm"]) == {et0_mm}
    assert (usual_et0(ahead.normal), ahead.normal.week_mm) == (f"{words}, as no other year is known", None)


def test_a_forecast_day_whose_rain_is_taken_uses_what_dry_days_do():
    known_ = lately(1, 2)
    ahead = days_ahead(known_, forecast(9, 0.1, 9, et0_mm=3.0))
    assert ahead.weather.daily["et0_mm"].iloc[:4].tolist() == [3.0, 3.0, 3.0, 5.0]
    dry = dry_from(ahead, JULY).daily
    assert dry["et0_mm"].iloc[:4].tolist() == [5.0, 3.0, 5.0, 5.0]
    assert dry["rain_mm"].sum() == 0.0
    hot = dry_from(days_ahead(known_, forecast(9, et0_mm=7.0)), JULY).daily
    assert hot["et0_mm"].iloc[0] == 7.0, "a thundery day that is hotter than most"


def test_beds_that_wait_were_dried_by_the_days_before_as_dry_days_dry_them():
    """5 mm on each of two days of which no weather is known. RAW = 0.4 x 150 mm/m x 0.4 m with ETc 5 mm."""
    site = garden(every_days=9, every_from=JULY + 2 * DAY)
    known_ = replace(lately(1, 3, 5, days=6), site=site, today=JULY + 2 * DAY)  # 3 (5 + 2) mm used, 9 mm of rain
    (opening,) = told(known_, fallen_mm=6.0).openings
    assert opening.wait.driest == pytest.approx((3 * 7 - 9 + 2 * 5) / 24)


def test_a_refill_in_the_dry_gives_what_dry_days_use():
    """10 m2 take 5 mm a day, 62.5 L as 80 % get to the roots; every other known day was wet, with 2 mm."""
    known_ = replace(lately(*range(1, 15, 2)), site=garden(plan="refill", minutes=60.0))
    found = told(known_, readings={"Butt": {JULY: 500.0}})
    assert [day.minutes["Line"] * 5.0 for day in found.coming[1:5]] == pytest.approx([62.5] * 4)


def test_days_before_today_keep_their_forecast_rain_when_it_stays_dry():
    known_ = replace(known(), today=JULY + 2 * DAY)
    ahead = days_ahead(known_, forecast(7, 0, 5))
    assert dry_from(ahead, known_.today).daily["rain_mm"].iloc[:3].tolist() == [7.0, 0.0, 0.0]
    assert known_.bridged == 2


def test_a_forecast_file_goes_on_from_the_known_days(tmp_path):
    file = tmp_path / "forecast.csv"
    file.write_text("date,rain_mm,et0_mm\n2031-07-01,9,1\n2031-07-02,3,2\n2031-07-03,0,2\n", "utf-8")
    assert read_forecast(file, known()).daily["rain_mm"].tolist() == [3.0, 0.0]
    for rows, first in (("2031-07-04,0,2\n", "has 2031-07-04"), ("2031-06-20,0,2\n", "has 2031-06-20")):
        file.write_text(f"date,rain_mm,et0_mm\n{rows}", "utf-8")
        with pytest.raises(WeatherError, match=f"{first} to .*; write a row a day from 2031-07-02 on"):
            read_forecast(file, known())
