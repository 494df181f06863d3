"""The compiled engine against numpy, which runs the same text: to 1e-9, first days exactly."""

from dataclasses import replace

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from strategies import runs

from waterbudget.errors import InputError
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate import compiled
from waterbudget.simulate.compiled import ENGINE, WORTH_S, is_worth_it
from waterbudget.simulate.drive import drive
from waterbudget.simulate.result import DAILY, SUMMARY
from waterbudget.simulate.run import sky_of

ALL = replace(SUMMARY, each=DAILY)


def parts_of(case, lanes):
    """A garden with stores of other sizes in each lane, its season and sky."""
    table, rows, start = case
    site, weather = site_of(table), weather_of(rows).between(start, None)
    garden = garden_of(site)
    larger = np.linspace(1.0, 1.7, lanes)
    capacity_l = garden.tanks.capacity_l * larger
    garden = garden.changed(tanks={"capacity_l": capacity_l, "start_l": garden.tanks.start_l * larger})
    return garden, season_of(site, weather.date_column), sky_of(site, weather)


def both(monkeypatch, *parts, **others):
    found = []
    for engine in ("numpy", "jax"):
        monkeypatch.setenv(ENGINE, engine)
        found.append(drive(*parts, **others))
    return found


def assert_alike(ours, theirs):
    assert ours.keys() == theirs.keys()
    for name, values in ours.items():
        np.testing.assert_allclose(values, theirs[name], rtol=1e-9, atol=1e-9, err_msg=name)


@settings(max_examples=8, deadline=None)
@given(runs(max_days=70))
def test_both_engines_agree_in_every_quantity(case):
    with pytest.MonkeyPatch.context() as monkeypatch:
        (end, ours), (same_end, theirs) = both(monkeypatch, *parts_of(case, 3), keep=ALL)
    for kind in ("sums", "lows", "each"):
        assert_alike(getattr(ours, kind), getattr(theirs, kind))
    for name, day in ours.firsts.items():
        np.testing.assert_array_equal(day, theirs.firsts[name], err_msg=name)
    np.testing.assert_allclose(end.level_l, same_end.level_l, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(end.depletion_mm, same_end.depletion_mm, rtol=1e-9, atol=1e-9)


def invented(days):
    """A butt with mains water let in by hand, a line and a bed, through dry and wet days."""
    table = {
        "site": {"name": "Brackenfold", "latitude_deg": 53.1},
        "tank": [{"name": "Butt", "capacity_l": 400, "start_l": 300, "loss_l_per_day": 1}],
        "roof": [{"name": "Roof", "tank": "Butt", "area_m2": 12, "runoff_coefficient": 0.9}],
        "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 8, "minutes": 6, "plan": "refill"}],
        "bed": [{"name": "Bed", "area_m2": 6, "zone": "Line", "soil": "loam"}],
    }
    rain = np.random.default_rng(5).gamma(0.3, 8.0, days)
    first = np.datetime64("2031-04-01")
    rows = [{"date": (first + n).item(), "rain_mm": mm, "et0_mm": 3.1, "tmax_c": 20} for n, mm in enumerate(rain)]
    return table, rows, rows[0]["date"]


def test_it_goes_on_over_many_days_and_more_lanes_than_a_block(monkeypatch):
    """Longer than one course, wider than one block, with what people did."""
    monkeypatch.setattr(compiled, "BLOCK_LANES", 8)
    days = compiled.MOST_DAYS + 70
    minutes = np.full((days, 1), np.nan)
    minutes[3:20] = 4.0
    poured_l = np.zeros((days, 1))
    poured_l[5] = 60.0
    (end, ours), (same_end, theirs) = both(
        monkeypatch, *parts_of(invented(days), 19), actions=Actions(minutes, poured_l, open_day=19), keep=ALL
    )
    assert ours.sums["tanks.drawn_mains_l"].min() > 1.0
    for kind in ("sums", "lows", "each", "firsts"):
        assert_alike(getattr(ours, kind), getattr(theirs, kind))
    np.testing.assert_allclose(end.mains_l, same_end.mains_l, rtol=1e-9, atol=1e-9)


def test_it_is_used_where_it_pays(monkeypatch):
    garden, *_ = parts_of(invented(10), 1)
    monkeypatch.delenv(ENGINE, raising=False)
    assert not is_worth_it(garden, 1, 153, shares_weather=True)
    assert is_worth_it(garden, 200, 60 * 365, shares_weather=True)
    assert not is_worth_it(garden, 200, 60 * 365, shares_weather=False)
    monkeypatch.setattr(compiled, "find_spec", lambda _: None)
    assert not is_worth_it(garden, 200, 60 * 365, shares_weather=True)
    assert WORTH_S > 0.0


def test_an_engine_that_is_not_there_is_told(monkeypatch):
    garden, *_ = parts_of(invented(10), 1)
    monkeypatch.setenv(ENGINE, "abacus")
    with pytest.raises(InputError, match='WATERBUDGET_ENGINE is "abacus"; write numpy or jax, or leave it out'):
        is_worth_it(garden, 1, 1, shares_weather=True)
    monkeypatch.setenv(ENGINE, "jax")
    monkeypatch.setattr(compiled, "find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"pip install 'waterbudget\[fast\]'"):
        is_worth_it(garden, 1, 1, shares_weather=True)
