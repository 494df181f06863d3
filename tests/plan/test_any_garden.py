"""Whatever the garden and the plan, nobody does better than perfect foresight; plans are run by the model itself."""

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import runs

from waterbudget.plan.foresight import foresight
from waterbudget.plan.prospect import prospects
from waterbudget.plan.response import risk_of
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import start_of
from waterbudget.spell.carry import Eve
from waterbudget.spell.plans import Option
from waterbudget.spell.trial import try_plans

CLOSE = 1e-6  # share of the yield
LACK = Keep(sums=("beds.planted_etc_mm",), each=("beds.lack_mm",))
OPTIONS = st.one_of(
    st.none(),
    st.builds(
        Option,
        st.sampled_from((0.0, 0.5, 3.0, 12.0, 60.0)),
        st.integers(1, 5),
        st.sampled_from(("timer", "dry", "refill")),
        st.just(1),
    ),
)


@st.composite
def tried(draw, *, mains):
    """A garden of the single crop coefficient, some days of weather, how its yields answer, and plans for its zones."""
    table, rows, start = draw(runs(5, 45))
    table["model"]["crop_coefficient"] = "single"
    if not mains:
        for tank in table["tank"]:
            tank["mains"] = "none"
            tank.pop("float_below_l", None)
            tank.pop("float_to_l", None)
    site = site_of(table)
    weather = weather_of([row for row in rows if row["date"] >= start])
    dates = weather.date_column
    season, sky, garden = season_of(site, dates), sky_of(site, weather), garden_of(site)
    eve = Eve(garden, start_of(garden, season, sky), season, sky)
    ky = np.array([draw(st.lists(st.sampled_from((1.0, 0.0, 0.4, 1.5)), min_size=2, max_size=2)) for _ in site.bed])
    turn = draw(st.integers(0, len(dates)))
    by_day = np.where(np.arange(len(dates))[:, None] < turn, ky[:, 0], ky[:, 1])
    plans = draw(st.lists(st.tuples(*(OPTIONS for _ in site.zone)), min_size=1, max_size=6))
    return site, eve, by_day, plans


def of(site, eve, ky, **others):
    weight = np.array([bed.ground_m2 * (bed.zone is not None) for bed in site.bed])
    (prospect,) = prospects(eve.garden, eve.season, eve.sky, eve.state, ky, weight, **others)
    return prospect


@settings(max_examples=60, deadline=None)
@given(tried(mains=False), st.booleans())
def test_no_plan_does_less_harm(case, at_brim):
    site, eve, ky, plans = case
    prospect = of(site, eve, ky, rations=[True] * len(site.draw))
    best = foresight(prospect, spills_at_brim=at_brim)
    assert best.is_proven
    assert best.yield_at_risk <= try_plans(site, eve, plans, ky).harm.min() + CLOSE


@settings(max_examples=60, deadline=None)
@given(tried(mains=True), st.booleans())
def test_no_plan_that_serves_the_draws_does_less_harm(case, at_brim):
    site, eve, ky, plans = case
    prospect = of(site, eve, ky)
    trial = try_plans(site, eve, plans, ky)
    serves = np.all(np.delete(trial.tank_lasts, prospect.drained, axis=1), axis=1)
    best = foresight(prospect, spills_at_brim=at_brim)
    assert best.is_proven
    assert np.all(best.yield_at_risk <= trial.harm[serves] + CLOSE)


@st.composite
def plain(draw):
    """A garden without a bend but stress: no leak, overflow or transfer between stores, one stand all the year in each
    bed, which answers alike on all days; and no mains water."""
    table, rows, start = draw(runs(5, 45))
    table["model"]["crop_coefficient"] = "single"
    table["transfer"] = []
    for tank in table["tank"]:
        tank |= {"mains": "none", "loss_l_per_day": 0.0, "start_l": max(tank["start_l"], tank["dead_l"])}
        for key in ("overflow_to", "float_below_l", "float_to_l"):
            tank.pop(key, None)
    for bed in table["bed"]:
        stand = {"planted": "01-01", "days": [60, 60, 185, 60], "p": 0.4, "root_m": [0.3, 0.3], "kc": [0.5, 1.1, 0.7]}
        bed["planting"] = [stand]
    site = site_of(table)
    weather = weather_of([row for row in rows if row["date"] >= start])
    dates = weather.date_column
    season, sky, garden = season_of(site, dates), sky_of(site, weather), garden_of(site)
    ky = np.array([draw(st.sampled_from((1.0, 0.4, 0.8))) for _ in site.bed])
    return site, Eve(garden, start_of(garden, season, sky), season, sky), np.tile(ky, (len(dates), 1))


@settings(max_examples=60, deadline=None)
@given(plain())
def test_the_litres_of_foresight_do_what_it_says(case):
    """Run by the model itself, zone by zone and day by day, they do the very harm of the bound."""
    site, eve, ky = case
    prospect = of(site, eve, ky)
    ground = prospect.ground
    assume(not prospect.drained and np.all(ground.roots_mm <= ground.taw_mm - ground.raw_mm))
    found = foresight(prospect)
    days, zones = len(eve.sky.rain_mm), len(site.zone)
    minutes = np.full((days, zones + len(site.draw)), np.nan)
    minutes[:, :zones] = np.maximum(found.litres_l, 0.0) / eve.garden.outlets.flow_l_min[:zones, 0]
    actions = Actions(minutes, np.zeros((days, len(site.tank))))
    _, kept = drive(eve.garden, eve.season, eve.sky, eve.state, actions, keep=LACK)
    lost = risk_of(site, ky[:, :, None], kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"]).harm[0]
    assert lost == pytest.approx(found.yield_at_risk, abs=CLOSE)
