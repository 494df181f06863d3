"""Years side by side against the same years in a row, whatever the stores remember."""

from itertools import pairwise

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from sizing.steady import garden, weather
from strategies import cases

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import sized
from waterbudget.simulate.run import sky_of
from waterbudget.sizing import years
from waterbudget.sizing.sizes import try_sizes
from waterbudget.sizing.stretch import recorded_stretch
from waterbudget.sizing.years import Days, in_a_row, side_by_side

KEEP = Keep(
    sums=("tanks.asked_l", "whole.needed_l", "tanks.spilled_l"),
    firsts=("tanks.fails",),
    lows=("tanks.level_l",),
    each=("tanks.level_l", "beds.depletion_mm"),
)
FACTORS = np.array((0.0, 0.5, 1.0, 4.0))


def days_of(table, rows):
    site, sky = site_of(table), weather_of(rows)
    whole = garden_of(site)
    lanes = sized(whole, 0, whole.tanks.capacity_l[0] * FACTORS)
    return Days(lanes, season_of(site, sky.date_column), sky_of(site, sky))


@settings(max_examples=25, deadline=None)
@given(cases(min_days=20), st.data())
def test_side_by_side_is_in_a_row(case, data):
    days = days_of(*case)
    count = len(days.sky.rain_mm)
    turns = sorted({0, count, *data.draw(st.lists(st.integers(1, count - 1), max_size=5))})
    cuts = [slice(*pair) for pair in pairwise(turns)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(years, "RUN_UP_DAYS", data.draw(st.sampled_from((1, 5))))
        patch.setattr(years, "LANES_AT_ONCE", data.draw(st.sampled_from((1, 1500))))
        together = side_by_side(days, cuts, KEEP)
    for ours, theirs in zip(together, in_a_row(days, cuts, KEEP), strict=True):
        assert ours.days == theirs.days
        for name in KEEP.sums:
            np.testing.assert_allclose(ours.sums[name], theirs.sums[name], rtol=1e-12, atol=1e-9)
        for kind in ("firsts", "lows", "each"):
            for name, found in getattr(theirs, kind).items():
                np.testing.assert_array_equal(getattr(ours, kind)[name], found, name)


def test_only_what_began_otherwise_is_run_again(monkeypatch):
    """A large store that nothing fills remembers every summer; one of no litres has nothing to remember."""
    site, sky = garden(roof_m2=0.0, capacity_l=1e6, start_l=1e6), weather(3 * 365, rain_mm=0.0)
    days = Days(sized(garden_of(site), 0, np.array([0.0, 1e6])), season_of(site, sky.date_column), sky_of(site, sky))
    runs, drive = [], years.drive

    def counted(of_garden, season, sky, state, keep):
        runs.append((len(sky.rain_mm), state.level_l.shape[1]))
        return drive(of_garden, season, sky, state, keep=keep)

    monkeypatch.setattr(years, "drive", counted)
    *_, last = side_by_side(days, [slice(n * 365, (n + 1) * 365) for n in range(3)], KEEP)
    assert runs == [(90, 4), (365, 6), (365, 1), (365, 1)], "run-ups, all years, the second, the third"
    np.testing.assert_allclose(last.each["tanks.level_l"][-1, 0], [0.0, 1e6 - 3 * 92 * 60.0])


def test_no_year_is_run_twice_where_a_store_holds_mains_water(monkeypatch):
    """A mixture with mains water is remembered for years: a guess of how a year begins would always be wrong."""
    runs, drive = [], years.drive

    def counted(of_garden, season, sky, state, **how):
        runs.append(len(sky.rain_mm))
        return drive(of_garden, season, sky, state, **how)

    monkeypatch.setattr(years, "drive", counted)
    for mains in ({"mains": "float", "float_below_l": 50, "float_to_l": 100}, {}):
        site = garden(**mains)
        try_sizes(site, 0, np.array([100.0, 350.0, 900.0]), recorded_stretch(site, weather()))
    assert runs == [365, 366, 90, 365, 366], "one after the other; then a run-up, and years of one length at once"
