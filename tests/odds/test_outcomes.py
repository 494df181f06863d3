"""Every year of a garden's odds is that of a run of its own; counts are those of a store whose answer is arithmetic."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from gardens import site_of
from hypothesis import given, settings
from hypothesis import strategies as st
from odds.records import LASTS, RAIN_MM, SEASON_DAYS, at_brackenfold, steady, store
from open_records import fulda, seattle
from plain import plain_run
from strategies import one_tank_timer_cases

import waterbudget
from waterbudget.answers.odds import years_facts
from waterbudget.errors import InputError, WeatherError
from waterbudget.odds.outcomes import odds_of
from waterbudget.odds.summers import Wanted, drawn_summers, recorded_summers
from waterbudget.weather.years import Years


def steady_odds(site=None, **more):
    site = site or store()
    return odds_of(site, recorded_summers(site, steady(), Wanted()), **more)


def unmet_l(rain_mm):
    """What 500 L and the rain of all days but the last leave of 153 days' 100 L; nothing spills."""
    return max(0.0, 100.0 * SEASON_DAYS - 500.0 - 100.0 * rain_mm * (SEASON_DAYS - 1))


# by hand


def test_days_lasted_are_arithmetic():
    odds = steady_odds()
    np.testing.assert_array_equal(odds.days_lasted, LASTS)
    assert odds.days == SEASON_DAYS
    assert odds.day(odds.first_short[0], 0) == "2011-05-06"  # five days of 100 L, then none
    assert odds.day(odds.first_short[9], 9) is None
    np.testing.assert_array_equal(odds.runs_short, [True] * 8 + [False] * 2)


def test_litres_are_arithmetic():
    odds = steady_odds()
    np.testing.assert_allclose(odds.asked_l, 100.0 * SEASON_DAYS)
    np.testing.assert_allclose(odds.unmet_l, [unmet_l(rain) for rain in RAIN_MM], atol=1e-9)
    np.testing.assert_array_equal(odds.mains_l, 0.0)
    hosed = steady_odds(store(tank={"mains": "direct"}))
    np.testing.assert_allclose(hosed.mains_l, odds.unmet_l)
    np.testing.assert_array_equal(hosed.unmet_l, 0.0)
    np.testing.assert_allclose(hosed.needed_l, odds.needed_l)
    np.testing.assert_array_equal(hosed.days_lasted, odds.days_lasted)


def test_chances_are_counted():
    odds = steady_odds()
    days = np.array([0, 5, 6, 7, 41, 42, 153])
    chance = odds.chance_of_lasting(days)
    np.testing.assert_allclose(chance.share, [1.0, 1.0, 0.8, 0.7, 0.3, 0.2, 0.2])
    assert odds.chance_of_lasting(42).share == 0.2
    # 2 of 10 by the Wilson formula: (0.2 + 0.19207) / 1.38415 less and plus 1.95996 sqrt(0.016 + 0.0096) / 1.38415
    assert chance.low[-1] == pytest.approx(0.0567, abs=5e-5)
    assert chance.high[-1] == pytest.approx(0.5098, abs=5e-5)


def test_facts_tell_what_was_counted():
    told = years_facts(steady_odds())
    assert (told["runs_short"]["years"], told["runs_short"]["years_behind"]) == (8, 10)
    assert told["runs_short"]["share"] == told["needs_mains"]["share"] == pytest.approx(0.8)
    # as much or less at 1.0 1.0 0.9 0.8 0.75 mm: half
    assert told["half"] == {"days_lasted": 11, "needed_l": pytest.approx(unmet_l(0.75))}
    assert told["four_of_five"] == {"days_lasted": 6, "needed_l": pytest.approx(unmet_l(0.2))}
    assert told["worst"] == {"days_lasted": 5, "needed_l": pytest.approx(unmet_l(0.0))}
    assert [row["year"] for row in told["worst_years"]] == ["2011", "2012", "2013"]
    assert told["worst_years"][2]["first_short"] == "2013-05-07"


def test_few_years_are_counts_alone():
    site = store()
    told = years_facts(odds_of(site, recorded_summers(site, steady((0.0, 0.5, 1.0, 1.0)), Wanted())))
    assert told["runs_short"] == {"years": 2, "years_behind": 4, "share": None, "least": None, "most": None}
    assert told["four_of_five"] is None


def test_the_worst_years_come_thirstiest_first():
    odds = steady_odds()
    assert odds.worst_first().tolist() == [0, 1, 2, 3, 4, 5, 6, 7]  # the two without any need are left out


def test_litres_come_before_days_and_days_settle_a_tie():
    odds = replace(
        steady_odds(),
        unmet_l=np.array([10.0, 30.0, 20.0, 20.0, 0.0]),
        mains_l=np.array([5.0, 0.0, 0.0, 0.0, 0.0]),
        days_lasted=np.array([1, 9, 8, 7, 153]),
    )
    assert odds.worst_first().tolist() == [1, 3, 2, 0]


def test_the_stored_rain_runs_short_where_a_float_valve_opens():
    odds = steady_odds(store(tank={"mains": "float", "float_below_l": 200, "float_to_l": 400}))
    np.testing.assert_array_equal(odds.runs_short, odds.needs_mains)
    assert odds.days_lasted[[0, -1]].tolist() == [4, SEASON_DAYS]
    np.testing.assert_array_equal(odds.needs_mains, [True] * 8 + [False] * 2)
    table = odds.by_year()
    assert table["first_short"].isna().all()
    assert table["first_mains"][0] == "2011-05-05"  # 100 L are left after four days of 100 L


def test_steps_end_where_no_year_lasts_longer_and_with_the_season():
    assert steady_odds().steps() == [20, 40, 60, 80, 100, 120, 140, 153]
    site = store()
    dry = odds_of(site, recorded_summers(site, steady((0.0, 0.9)), Wanted()))
    assert dry.steps() == [5, 10, 15, 20, 25, 30, 35, 40, 45, 153]


def test_start_levels_are_the_same_for_every_year():
    odds = steady_odds(start_l={"Butt": 300})
    assert odds.days_lasted[:2].tolist() == [3, 3]
    assert odds.start_l == {"Butt": 300.0}


def test_unknown_or_overfull_stores_are_refused():
    with pytest.raises(InputError, match='"Vat" is no tank'):
        steady_odds(start_l={"Vat": 300})
    with pytest.raises(InputError, match="write 0 to 1000"):
        steady_odds(start_l={"Butt": 3000})


def test_hot_days_need_a_maximum():
    with pytest.raises(WeatherError, match=r"zone\[1\].hot_above_c needs a tmax_c column"):
        steady_odds(store(zone={"hot_above_c": 25, "hot_minutes": 20}))


def test_years_without_et0_are_refused():
    site = store()
    years = replace(recorded_summers(site, steady(), Wanted()), et0_mm=None)
    with pytest.raises(WeatherError, match="no et0_mm"):
        odds_of(site, years)


def test_levels_are_kept_when_asked_for():
    assert steady_odds().level_l is None
    level_l = steady_odds(keep_levels=True).level_l
    assert level_l.shape == (1 + SEASON_DAYS, 1, len(RAIN_MM))
    np.testing.assert_allclose(level_l[:7, 0, 0], [500, 400, 300, 200, 100, 0, 0])
    np.testing.assert_allclose(level_l[:4, 0, 3], [500, 450, 400, 350])


# against separate runs


@pytest.mark.parametrize(("place", "latitude_deg"), [(fulda, 50.5), (seattle, 47.6)])
def test_every_year_is_that_of_a_run_of_its_own(place, latitude_deg):
    site, weather = at_brackenfold(place(), latitude_deg=latitude_deg)
    odds = odds_of(site, recorded_summers(site, weather, Wanted()), {"Shed butt": 150.0}, keep_levels=True)
    for number, year in enumerate(odds.years.label):
        season = weather.between(pd.Timestamp(f"{year}-05-01").date(), pd.Timestamp(f"{year}-09-30").date())
        result = waterbudget.run(site, season, start_l={"Shed butt": 150.0})
        alone = result.summary
        assert odds.days_lasted[number] == alone["days_lasted"]
        assert odds.day(odds.first_short[number], number) == alone["first_short"]
        assert odds.day(odds.first_mains[number], number) == alone["first_mains"]
        for name in ("mains_l", "unmet_l", "asked_l"):
            assert getattr(odds, name)[number] == pytest.approx(alone[name], rel=1e-9, abs=1e-9), name
        level_l = result.tanks["level_l"].to_numpy().reshape(SEASON_DAYS, 2)
        np.testing.assert_allclose(odds.level_l[1:, :, number], level_l, rtol=1e-9, atol=1e-9)


ROOTS = {"root_m": [0.15, 0.7]}
SCHOOL = {
    "site": {"name": "Brackenfold"},
    "tank": [
        {"name": "Tank", "capacity_l": 1500.0, "dead_l": 40.0, "start_l": 900.0, "overflow_to": "Butt"},
        {"name": "Butt", "capacity_l": 350.0, "start_l": 260.0, "mains": "direct"},
    ],
    "roof": [{"name": "Roof", "tank": "Tank", "area_m2": 42.0, "runoff_coefficient": 0.9, "first_flush_l": 20.0}],
    "zone": [
        {"name": "North", "tank": "Tank", "flow_l_min": 9.5, "minutes": 10.0, "skip_rain_mm": 4.0, "skip_rain_days": 2}
        | {"hot_above_c": 25.0, "hot_minutes": 16.0},
        {"name": "South", "tank": "Butt", "flow_l_min": 6.0, "minutes": 20.0, "plan": "refill", "every_days": 2},
    ],
    "bed": [
        {"name": f"Bed {n}", "area_m2": 4.0 + n, "zone": ("North", "South")[n % 2], "available_water_mm_m": 140.0}
        | {"planting": [{"planted": "05-10", "days": [30, 40, 40, 20], "kc": [0.6, 1.15, 0.8], "p": 0.4} | ROOTS]}
        for n in range(3)
    ],
}


@pytest.mark.parametrize("place", [fulda, seattle])
def test_every_year_is_that_of_the_second_program(place):
    _, weather = at_brackenfold(place(), latitude_deg=48.0)
    site = site_of(SCHOOL)
    odds = odds_of(site, recorded_summers(site, weather, Wanted()))
    for number, year in enumerate(odds.years.label):
        summer = weather.daily.loc[f"{year}-05-01" : f"{year}-09-30"].reset_index()
        rows = summer.assign(date=summer["date"].dt.date).to_dict("records")
        plain = plain_run(SCHOOL, rows)["summary"]
        assert odds.days_lasted[number] == plain["days_lasted"]
        assert odds.mains_l[number] == pytest.approx(plain["mains_l"], rel=1e-9, abs=1e-9)
        assert odds.unmet_l[number] == pytest.approx(plain["unmet_l"], rel=1e-9, abs=1e-9)
    assert odds.runs_short.any()


def test_drawn_years_side_by_side_are_those_of_years_alone():
    site, weather = at_brackenfold(fulda())
    years = drawn_summers(site, weather, Wanted("blocks", years=100))
    odds = odds_of(site, years)
    for number in (0, 57, 99):
        alone = odds_of(site, only(years, number))
        assert odds.days_lasted[number] == alone.days_lasted[0]
        assert odds.needed_l[number] == pytest.approx(alone.needed_l[0], rel=1e-9, abs=1e-9)


def only(years, number):
    one = slice(number, number + 1)
    parts = {name: getattr(years, name)[:, one] for name in ("dates", "rain_mm", "et0_mm", "tmin_c", "tmax_c")}
    return replace(years, label=years.label[one], **parts)


def test_a_table_has_a_row_a_year():
    site, weather = at_brackenfold(seattle())
    odds = odds_of(site, recorded_summers(site, weather, Wanted()))
    table = odds.by_year()
    assert list(table["year"]) == ["2012", "2013", "2014", "2015"]
    np.testing.assert_allclose(table["needed_l"], table["mains_l"] + table["unmet_l"])
    summer = weather.daily.loc["2013-05-01":"2013-09-30"]
    assert table["rain_mm"][1] == pytest.approx(summer["rain_mm"].sum())
    assert table["et0_mm"][1] == pytest.approx(summer["et0_mm"].sum())


# what must hold


@settings(max_examples=40, deadline=None)
@given(one_tank_timer_cases(), st.lists(st.sampled_from([0.0, 0.3, 0.85, 1.0, 1.4]), min_size=2, max_size=4))
def test_less_rain_never_lasts_longer(case, factors):
    table, rows = case
    daily = pd.DataFrame(rows)
    factors = np.sort(factors)
    rain_mm, et0_mm, tmax_c = (
        np.repeat(daily[name].to_numpy(float)[:, None], len(factors), axis=1)
        for name in ("rain_mm", "et0_mm", "tmax_c")
    )
    dates = np.repeat(pd.DatetimeIndex(daily["date"]).to_numpy().astype("M8[D]")[:, None], len(factors), axis=1)
    label = tuple(f"{factor:g}" for factor in factors)
    years = Years(label, dates, rain_mm * factors, None, tmax_c, et0_mm, "recorded", len(factors), "")
    odds = odds_of(site_of(table), years)
    assert (np.diff(odds.days_lasted) >= 0).all()


@pytest.mark.parametrize("drier", [0.5, 0.85])
def test_a_drier_record_never_lasts_longer_under_timers(drier):
    site = store(tank={"start_l": 900}, roof=[{"name": "R", "tank": "Butt", "area_m2": 40, "runoff_coefficient": 0.9}])
    _, weather = at_brackenfold(fulda())
    before, after = (
        odds_of(site, recorded_summers(site, weather, wanted)) for wanted in (Wanted(), Wanted(rain_factor=drier))
    )
    assert (after.days_lasted <= before.days_lasted).all()
    assert (after.needed_l >= before.needed_l - 1e-9).all()
    assert (after.days_lasted < before.days_lasted).any()


def test_a_warmer_record_never_lasts_longer_where_hot_days_take_more():
    # a timer looks at the maximum alone: every day that was hot still is
    zone = {"hot_above_c": 25, "hot_minutes": 20}
    site, weather = at_brackenfold(fulda())
    site = store(tank={"start_l": 900}, zone=zone, site=site.site.model_dump())
    before, after = (
        odds_of(site, recorded_summers(site, weather, wanted)) for wanted in (Wanted(), Wanted(warmer_c=2.0))
    )
    assert (after.days_lasted <= before.days_lasted).all()
    assert (after.asked_l > before.asked_l).any()


def test_the_interval_is_that_of_the_years_behind_and_not_of_those_drawn():
    site, weather = at_brackenfold(fulda())
    widths = []
    for years in (100, 400):
        odds = odds_of(site, drawn_summers(site, weather, Wanted("blocks", years=years)))
        chance = odds.chance_of_lasting(60)
        widths.append(float(chance.high - chance.low))
        assert years_facts(odds)["lasts"][0]["years_behind"] == 10
    assert min(widths) > 0.4  # ten years: at 5 of 10 the interval reaches from 0.24 to 0.76
