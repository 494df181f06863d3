"""Which summers a garden is tried on, and their ET0."""

import datetime as dt
from typing import NamedTuple

import numpy as np
import pandas as pd
import pytest
from odds.records import at_brackenfold, steady, store
from open_records import fulda, seattle

from waterbudget.errors import InputError, WeatherError
from waterbudget.odds.summers import Wanted, drawn_summers, recorded_summers
from waterbudget.simulate.run import sky_of
from waterbudget.weather.et0 import reference_et0
from waterbudget.weather.files import weather_of
from waterbudget.weather.years import changed


class Spot(NamedTuple):
    latitude_deg: float = 50.5
    longitude_deg: float = 9.7
    elevation_m: float = 300.0
    wind_height_m: float = 10.0


def measured(years=8):
    """Invented humidity, wind and sun beside the temperatures of Fulda, so that Penman-Monteith has all readings."""
    daily = fulda().loc[: f"{1978 + years}"].drop(columns="tmean_c")
    day = np.arange(len(daily))
    return daily.assign(
        rh_mean_pct=70.0 + 15.0 * np.sin(day), wind_m_s=3.0 + 2.0 * np.cos(day), sun_hours=4.0 + 3.0 * np.sin(day / 3.0)
    )


def computed(years, number, place):
    """ET0 of one year, computed by itself."""
    columns = {"tmin_c": years.tmin_c, "tmax_c": years.tmax_c, **years.others}
    daily = pd.DataFrame({name: x[:, number] for name, x in columns.items()}, pd.DatetimeIndex(years.dates[:, number]))
    return reference_et0(daily, place.latitude_deg, place.elevation_m, place.wind_height_m)[0].to_numpy()


# the season


def test_the_season_is_the_summer_of_its_half_of_the_earth():
    _, weather = at_brackenfold(fulda())
    north, _ = at_brackenfold(fulda(), latitude_deg=52.9)
    south, _ = at_brackenfold(fulda(), latitude_deg=-33.0)
    assert [str(day)[5:] for day in recorded_summers(north, weather, Wanted()).dates[[0, -1], 0]] == ["05-01", "09-30"]
    years = recorded_summers(south, weather, Wanted())
    assert [str(day) for day in years.dates[[0, -1], 0]] == ["1979-11-01", "1980-03-31"]
    assert years.label[-1] == "1987"  # the summer that begins in 1988 does not end in the record
    assert "Left out as incomplete: 1978, 1988" in years.note
    years = recorded_summers(north, weather, Wanted(start_md="06-10", end_md="06-12"))
    assert years.rain_mm.shape == (3, 10)


@pytest.mark.parametrize("wrong", ["02-29", "5-1", "2031-05-01", "May", "W18-3", "13-01", ""])
def test_a_day_that_no_year_has_is_refused(wrong):
    for part in ("start_md", "end_md"):
        with pytest.raises(WeatherError, match="write MM-DD, such as 05-01"):
            recorded_summers(store(), steady(), Wanted(**{part: wrong}))


def test_too_few_complete_seasons_are_refused_with_the_days_there_are():
    weather = steady((0.0, 0.0))
    with pytest.raises(WeatherError) as told:
        recorded_summers(store(), weather, Wanted(start_md="10-01", end_md="03-31"))
    assert str(told.value) == (
        "steady.csv: holds 2011-01-01 to 2012-12-31, of which only 2011 is complete from 10-01 to 03-31; "
        "give weather of 2 such years or more, better 10, or ask for one with waterbudget run"
    )
    june = weather.between(dt.date(2011, 6, 1), dt.date(2011, 6, 30))
    with pytest.raises(WeatherError, match="holds 2011-06-01 to 2011-06-30, of which no year is complete"):
        recorded_summers(store(), june, Wanted())


# what is wanted


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ({"method": "dice"}, 'method is "dice"; choose records, blocks, chain'),
        ({"years": 200}, "years is 200, and the method records takes every recorded summer"),
        ({"seed": 2}, "seed is 2, and the method records takes every recorded summer"),
        ({"method": "blocks", "years": 0}, "years is 0; write 100 to 2000"),
        ({"method": "chain", "years": 10**9}, "years is 1000000000; write 100 to 2000"),
        ({"method": "blocks", "seed": -1}, "seed is -1; write a whole number, 0 or more"),
        ({"rain_factor": -0.1}, "rain is -0.1; write a factor from 0 to 5"),
        ({"rain_factor": float("nan")}, "rain is nan; write a factor"),
        ({"rain_factor": 85.0}, "rain is 85; write a factor from 0 to 5, 0.85 for 15 % less rain"),
        ({"warmer_c": float("nan")}, "warmer is nan; write degrees Celsius from -10 to 10"),
        ({"warmer_c": 10.1}, "warmer is 10.1; write degrees Celsius"),
        ({"warmer_c": -10.1}, "warmer is -10.1; write degrees Celsius"),
    ],
)
def test_what_cannot_be_wanted_is_refused_in_one_line(wanted, told):
    with pytest.raises(InputError) as error:
        Wanted(**wanted)
    assert len(error.value.faults) == 1
    assert told in error.value.faults[0]


def test_every_fault_is_told_at_once():
    with pytest.raises(InputError) as error:
        Wanted("chain", years=3, rain_factor=-1.0, warmer_c=99.0)
    assert len(error.value.faults) == 3


# ET0


def test_recorded_summers_keep_the_et0_of_the_record():
    site, weather = at_brackenfold(seattle(), latitude_deg=47.6)
    years = recorded_summers(site, weather, Wanted())
    np.testing.assert_array_equal(years.et0_mm[:, 1], weather.daily.loc["2013-05-01":"2013-09-30", "et0_mm"])
    drier = recorded_summers(site, weather, Wanted(rain_factor=0.85))
    np.testing.assert_array_equal(drier.et0_mm, years.et0_mm)
    np.testing.assert_array_equal(drier.rain_mm, years.rain_mm * 0.85)
    assert "Rain times 0.85" in drier.note


@pytest.mark.parametrize("daily", [fulda, measured])
def test_warmed_summers_have_the_et0_of_the_warmed_record(daily):
    site, weather = at_brackenfold(daily(), latitude_deg=50.5)
    years = recorded_summers(site, weather, Wanted(warmer_c=2.0))
    warm = weather_of(changed(weather.daily, warmer_c=2.0), site, "warm")
    assert warm.et0.method == weather.et0.method
    for number, year in enumerate(years.label):
        summer = warm.daily.loc[f"{year}-05-01" : f"{year}-09-30"]
        np.testing.assert_allclose(years.et0_mm[:, number], summer["et0_mm"], rtol=1e-12)
        np.testing.assert_array_equal(years.tmax_c[:, number], summer["tmax_c"])
    assert years.et0_mm.sum() > recorded_summers(site, weather, Wanted()).et0_mm.sum()
    assert "+2 °C on every day; humidity, wind and sun as they were." in years.note
    assert "no ET0" not in years.note


@pytest.mark.parametrize(
    ("daily", "method"),
    [(fulda, "blocks"), (measured, "blocks"), (fulda, "chain")],
    ids=lambda x: getattr(x, "__name__", x),
)
def test_all_drawn_years_at_once_have_the_et0_of_each_by_itself(daily, method):
    site, weather = at_brackenfold(daily(), latitude_deg=50.5)
    years = drawn_summers(site, weather, Wanted(method, years=100))
    for number in (0, 41, 99):
        np.testing.assert_allclose(years.et0_mm[:, number], computed(years, number, site), rtol=1e-12)


def test_et0_is_computed_for_the_place_of_the_record():
    place = Spot()
    site, _ = at_brackenfold(fulda())
    weather = weather_of(measured(), place, "station")
    years = recorded_summers(site, weather, Wanted(warmer_c=1e-9), place)
    np.testing.assert_allclose(years.et0_mm, recorded_summers(site, weather, Wanted(), place).et0_mm, rtol=1e-7)
    blocks = drawn_summers(site, weather, Wanted("blocks", years=100), place)
    np.testing.assert_allclose(blocks.et0_mm[:, 7], computed(blocks, 7, place), rtol=1e-12)


def test_a_given_et0_goes_with_its_days():
    site, weather = at_brackenfold(fulda().assign(et0_mm=lambda x: (x["tmax_c"] - x["tmin_c"]) / 5.0))
    years = drawn_summers(site, weather, Wanted("blocks", years=100))
    np.testing.assert_allclose(years.et0_mm, (years.tmax_c - years.tmin_c) / 5.0)


@pytest.mark.parametrize("method", ["records", "blocks", "chain"])
def test_a_given_et0_cannot_be_made_warmer(method):
    wanted = Wanted(method, warmer_c=1.0)
    find = recorded_summers if method == "records" else drawn_summers
    with pytest.raises(WeatherError) as told:
        find(store(), steady(), wanted)
    assert str(told.value) == (
        "steady.csv: its ET0 is given as et0_mm and cannot be made warmer; leave warmer out, "
        "or give tmin_c and tmax_c in place of et0_mm"
    )


def test_the_chain_brings_the_et0_of_its_temperatures_to_that_of_the_record():
    site, weather = at_brackenfold(measured(10), latitude_deg=50.5)
    years = drawn_summers(site, weather, Wanted("chain", years=400))
    recorded = recorded_summers(site, weather, Wanted())
    of_temperatures, _ = reference_et0(weather.daily[["tmin_c", "tmax_c"]], 50.5, None, 2.0)
    summer = of_temperatures[of_temperatures.index.month.isin(range(5, 10))]
    assert abs(summer.mean() / recorded.et0_mm.mean() - 1.0) > 0.05  # the methods differ, so the check can fail
    assert years.et0_mm.mean() == pytest.approx(recorded.et0_mm.mean(), rel=0.03)
    months = years.dates.astype("M8[M]").astype(int)[:, 0] % 12
    for month in np.unique(months):
        drawn_mm, recorded_mm = (part.et0_mm[months == month].mean() for part in (years, recorded))
        assert drawn_mm == pytest.approx(recorded_mm, rel=0.06)
    assert "brought by month to the record's" in years.note
    warmer = drawn_summers(site, weather, Wanted("chain", years=400, warmer_c=2.0))
    assert np.all(warmer.et0_mm > years.et0_mm)
    np.testing.assert_allclose(warmer.tmax_c, years.tmax_c + 2.0)


def test_the_chain_draws_a_given_et0_itself():
    daily = measured(10)
    given = weather_of(daily.assign(et0_mm=daily["tmax_c"].clip(lower=0.0) / 10.0), Spot(), "given.csv")
    site, _ = at_brackenfold(fulda())
    cool = site.model_copy(update={"zone": [zone.model_copy(update=NEVER_HOT) for zone in site.zone]})
    years = drawn_summers(cool, given, Wanted("chain", years=400))
    recorded = recorded_summers(cool, given, Wanted())
    assert years.tmax_c is None
    error = years.et0_mm.mean(axis=0).std(ddof=1) / np.sqrt(400)
    assert abs(years.et0_mm.mean() - recorded.et0_mm.mean()) < 4 * error + 0.01 * recorded.et0_mm.mean()
    without = weather_of(given.daily[["rain_mm", "et0_mm"]], Spot(), "given.csv")
    with pytest.raises(WeatherError, match=r"given.csv: zone\[1\]\.hot_above_c needs tmin_c and tmax_c columns"):
        drawn_summers(site, without, Wanted("chain"))


NEVER_HOT = {"hot_above_c": None, "hot_minutes": None}


def test_the_chain_of_a_record_of_temperatures_keeps_its_level_of_et0():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    years = drawn_summers(site, weather, Wanted("chain", years=400))
    recorded = recorded_summers(site, weather, Wanted())
    assert years.tmax_c is not None
    assert years.et0_mm.mean() == pytest.approx(recorded.et0_mm.mean(), rel=0.03)  # a month's means are the record's


# drawing


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_a_seed_gives_its_summers_and_another_gives_others(method):
    site, weather = at_brackenfold(fulda())
    first, again, other = (
        drawn_summers(site, weather, Wanted(method, years=100, seed=seed)).rain_mm for seed in (None, 1, 2)
    )
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)


def test_500_summers_are_drawn_unless_told_otherwise():
    site = store()
    assert drawn_summers(site, steady(), Wanted("blocks")).rain_mm.shape == (153, 500)


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_too_few_years_to_draw_from_are_refused(method):
    site, weather = at_brackenfold(seattle())
    with pytest.raises(WeatherError) as told:
        drawn_summers(site, weather, Wanted(method))
    assert str(told.value) == (
        "weather.csv: has 4 whole years, too few to draw others from; give weather of at least 5, "
        "or choose the method records"
    )


def test_the_chain_counts_the_years_it_is_fitted_to():
    # five seasons, but four years and eleven months of days
    site, weather = at_brackenfold(fulda().loc["1979-05-01":"1984-03-31"], latitude_deg=-33.0)
    with pytest.raises(WeatherError, match="has 4 whole years"):
        drawn_summers(site, weather, Wanted("chain"))


def test_recorded_summers_are_what_a_run_sees():
    site, weather = at_brackenfold(seattle())
    years = recorded_summers(site, weather, Wanted())
    sky = sky_of(site, weather.between(pd.Timestamp("2014-05-01").date(), pd.Timestamp("2014-09-30").date()))
    for name in ("rain_mm", "et0_mm", "tmax_c"):
        np.testing.assert_array_equal(getattr(years, name)[:, 2], getattr(sky, name)[:, 0])
