"""Running sums: all of them, or those that somebody asks for."""

import numpy as np
from gardens import site_of, weather_of
from hypothesis import given, settings
from strategies import cases
from waterbudget.simulate.days import days
from waterbudget.simulate.totals import SUMMED, add_up

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.run import sky_of


@settings(max_examples=20, deadline=None)
@given(cases())
def test_some_totals_are_those_of_all(case):
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    dates = weather.daily.index.to_numpy().astype("M8[D]")[:, None]
    garden, season, sky = garden_of(site), season_of(site, dates), sky_of(site, weather)
    everything = add_up(garden, days(garden, season, sky))
    litres = [name for name in SUMMED if name.endswith("_l")]
    some = add_up(garden, days(garden, season, sky), litres)
    assert set(some.sums) == {*litres, "days.mains", "days.demand", "days.served"}
    assert set(some.firsts) == {"short", "mains", "tanks.short"}
    for kept, whole in ((some.sums, everything.sums), (some.firsts, everything.firsts)):
        for name, value in kept.items():
            np.testing.assert_array_equal(value, whole[name])
    np.testing.assert_array_equal(some.lowest_l, everything.lowest_l)
