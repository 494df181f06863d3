"""Today in any garden, on any day, with any dips: what it tells is what can be, and hangs together."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from change.test_now import JULY, known, told
from change.test_why import two
from gardens import site_of, weather_of
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from strategies import cases

from waterbudget.answers.today import answer
from waterbudget.change.ahead import AHEAD_DAYS, days_ahead
from waterbudget.change.known import Known
from waterbudget.change.now import now
from waterbudget.change.tonight import EXPECTED
from waterbudget.change.what_if import what_if
from waterbudget.errors import WeatherError
from waterbudget.render.text import text
from waterbudget.schedule.actions import Actions
from waterbudget.simulate.run import run

DAY = dt.timedelta(days=1)


def nothing_logged(site, days):
    outlets = len(site.zone) + len(site.draw)
    return Actions(np.full((days, outlets), np.nan), np.zeros((days, len(site.tank))))


@st.composite
def todays(draw):
    """A garden so many days after its weather ends, some of its stores dipped on some evening up to then."""
    table, rows = draw(cases(min_days=6, max_days=40))
    site, weather = site_of(table), weather_of(rows)
    today = weather.dates[-1].date() + DAY * draw(st.integers(1, 20))
    known = Known(Path("site.toml"), site, weather, today, None, ())
    days = (today - known.first).days
    readings = {}
    for tank in site.tank:
        if draw(st.booleans()):
            share = draw(st.floats(0.0, 1.0))
            readings[tank.name] = {today - DAY * draw(st.integers(0, days - 1)): share * tank.all_l}
    try:
        return now(known, days_ahead(known, None), readings, nothing_logged(site, days + AHEAD_DAYS + 1))
    except WeatherError:  # hot days that the weather does not tell
        assume(False)  # noqa: FBT003
        raise


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(todays())
def test_what_is_told_can_be(found):
    assert all(-1e-9 <= store.level_l <= store.capacity_l + 1e-9 for store in found.stores)
    for one in found.openings:
        parts_l = (one.store_l, one.mains_l, one.unmet_l)
        assert min(one.minutes, *parts_l) >= -1e-9
        assert (one.minutes > 0.0) == (one.why.reason in {"due", "wait", "empty", "ban"})
    for bed in found.beds:
        assert (bed.thirsty_since is None) == (bed.thirsty_in_days != 0)
        if bed.thirsty_since is not None:
            assert found.known.first <= bed.thirsty_since <= found.known.today
            assert bed.unwatered_in_days == 0
    lines = text(answer(found)).splitlines()
    assert max(map(len, lines)) <= 100


@settings(max_examples=15, deadline=None)
@given(st.floats(50.0, 200.0), st.floats(150.0, 400.0), st.sampled_from([10.0, 15.0, 30.0]))
def test_moving_water_loses_none_and_lasts_as_long_as_told(butt_l, vat_l, minutes):
    """The same by today of a garden whose stores were dipped yesterday evening after the water was moved."""
    site = two(start_l=300.0).model_copy(update={"zone": [two().zone[0].model_copy(update={"minutes": minutes})]})
    levels_l = {"Butt": butt_l, "Vat": vat_l}
    known_ = known(site=site)
    found = told(known_, readings={tank: {JULY - DAY: level_l} for tank, level_l in levels_l.items()})
    (move,) = found.moves or (None,)
    assume(move is not None)
    assert (move.from_tank, move.to_tank) == ("Vat", "Butt")
    assert 20.0 <= move.litres <= min(vat_l, 500.0 - butt_l)
    moved_l = {"Butt": butt_l + move.litres, "Vat": vat_l - move.litres}
    again = told(known_, readings={tank: {JULY - DAY: level_l} for tank, level_l in moved_l.items()})
    assert again.lasts == move.lasts >= found.lasts + 2


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(todays(), st.data())
def test_as_now_of_a_slider_is_today_s_own(found, data):
    site = found.known.site
    assume(site.zone)
    zone = data.draw(st.sampled_from(site.zone))
    asked = what_if(found, f"zone.{zone.name}.minutes", zone.minutes, [zone.minutes, zone.minutes / 2.0])
    assert asked.now.lasts == asked.positions[0].lasts == found.lasts


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(cases(min_days=12, max_days=40), st.integers(6, 11))
def test_where_all_weather_is_known_today_is_a_day_of_the_run(case, day):
    """A forecast that comes true: the levels of the eve and what is asked for today are those of the whole run."""
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    today = weather.dates[day].date()
    try:
        whole = run(site, weather)
    except WeatherError:
        assume(False)  # noqa: FBT003
        raise
    known = Known(Path("site.toml"), site, weather.between(None, today - DAY), today, None, ())
    ahead = days_ahead(known, weather.between(today, None))
    found = now(known, ahead, {}, nothing_logged(site, day + AHEAD_DAYS + 1))
    eve = whole.tanks[whole.tanks["date"] == str(today - DAY)]
    np.testing.assert_allclose(found.tonight.eve.level_l[:, EXPECTED], eve["level_l"], rtol=0, atol=1e-9)
    asked = whole.zones[whole.zones["date"] == str(today)].set_index("zone")["asked_l"]
    for one in found.openings:
        told_l = one.store_l + one.mains_l + one.unmet_l
        assert told_l == pytest.approx(asked[one.name] if asked[one.name] > 1e-6 else 0.0, abs=1e-9)
