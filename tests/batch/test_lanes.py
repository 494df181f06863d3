"""Side by side against each alone, and sizes against a second program that takes nothing from the package."""

import datetime as dt
import math

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from plain import plain_run
from strategies import cases

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.lanes import (
    alike,
    build_of,
    evened,
    season_key,
    season_of_all,
    side_by_side,
    sized,
    skies_side_by_side,
)
from waterbudget.simulate.result import SUMMARY, summary_of
from waterbudget.simulate.run import sky_of

ITEMS = {"tanks", "zones", "transfers", "beds"}
FACTORS = (0.5, 1.0, 1.7)


def grown(table, factor):
    """The same garden with other roofs and stores."""
    roofs = [roof | {"area_m2": roof["area_m2"] * factor} for roof in table.get("roof", [])]
    tanks = [resized(tank, max(tank["capacity_l"] * factor, tank.get("dead_l", 0.0))) for tank in table["tank"]]
    return table | {"roof": roofs, "tank": tanks}


def resized(tank, capacity_l):
    lowered = min(1.0, capacity_l / tank["float_to_l"]) if tank.get("float_to_l") else 1.0
    levels = {key: min(tank[key] * lowered, capacity_l) for key in ("float_below_l", "float_to_l") if key in tank}
    start_l = min(tank["start_l"] * (capacity_l / tank["capacity_l"]), capacity_l)
    dead_l = tank.get("dead_l", 0.0)
    out_of_reach = {} if dead_l <= capacity_l else {"dead_l": math.inf}  # its outlet stands above the brim
    return tank | {"capacity_l": capacity_l, "start_l": start_l, **levels, **out_of_reach}


def summaries(site, weather, garden, sky, lanes):
    dates = weather.dates.to_numpy().astype("M8[D]")[:, None]
    state, kept = drive(garden, season_of(site, dates), sky, keep=SUMMARY)
    return [summary_of(garden, state, kept, weather.days, lane) for lane in range(lanes)]


@settings(max_examples=25, deadline=None)
@given(cases(), st.booleans())
def test_alike_gardens_side_by_side_do_what_each_does_alone(case, own_weather):
    table, rows = case
    sites = [site_of(grown(table, factor)) for factor in FACTORS]
    weathers = [
        weather_of([row | {"rain_mm": row["rain_mm"] * (factor if own_weather else 1.0)} for row in rows])
        for factor in FACTORS
    ]
    gardens = [garden_of(site) for site in sites]
    skies = [sky_of(site, weather) for site, weather in zip(sites, weathers, strict=True)]
    assert len({build_of(garden) for garden in gardens}) == 1
    assert len({season_key(site) for site in sites}) == 1
    many = side_by_side(gardens, 1)
    sky = skies_side_by_side(skies, 1) if own_weather else skies[0]
    together = summaries(sites[0], weathers[0], many, sky, len(FACTORS))
    for site, weather, garden, alone_sky, ours in zip(sites, weathers, gardens, skies, together, strict=True):
        (alone,) = summaries(site, weather, garden, alone_sky, 1)
        assert_alike(ours, alone)


def assert_alike(ours, theirs):
    """Sums of days may be rounded otherwise where more gardens run at once; nothing else may differ."""
    if isinstance(theirs, dict):
        assert ours.keys() == theirs.keys()
        for key, value in theirs.items():
            assert_alike(ours[key], value)
    elif isinstance(theirs, list):
        for one, other in zip(ours, theirs, strict=True):
            assert_alike(one, other)
    else:
        assert ours == (pytest.approx(theirs, rel=1e-12, abs=1e-12) if isinstance(theirs, float) else theirs)


@settings(max_examples=25, deadline=None)
@given(cases(), st.data())
def test_gardens_that_differ_in_roofs_transfers_seasons_and_rain_skips_do_what_each_does_alone(case, data):
    table, rows = case
    weather = weather_of(rows)
    sites = [site_of(table), *(site_of(data.draw(differing(table))) for _ in range(2))]
    gardens = [garden_of(site) for site in sites]
    assert alike(gardens) == [[0, 1, 2]]
    dates = weather.dates.to_numpy().astype("M8[D]")[:, None]
    even = evened(gardens)
    season = season_of_all(sites, lambda site: season_of(site, dates))
    state, kept = drive(side_by_side(even, 1), season, sky_of(sites[0], weather), keep=SUMMARY)
    for lane, (site, garden, own) in enumerate(zip(sites, gardens, even, strict=True)):
        together = summary_of(own, state, kept, weather.days, lane)
        together["transfers"] = [row for row in together["transfers"] if row["name"]]
        (alone,) = summaries(site, weather, garden, sky_of(site, weather), 1)
        assert_alike(together, alone)


@st.composite
def differing(draw, table):
    """The same garden with some of its roofs and transfers, another bare soil, and other rain skips."""
    some = {kind: [one for one in table.get(kind, []) if draw(st.booleans())] for kind in ("roof", "transfer")}
    skips = ({}, {"skip_rain_mm": 3.5, "skip_rain_days": 3})
    zones = [
        {key: value for key, value in zone.items() if key not in skips[1]} | draw(st.sampled_from(skips))
        for zone in table["zone"]
    ]
    kc_bare = draw(st.sampled_from((0.2, 0.4)))
    return table | some | {"zone": zones, "model": table["model"] | {"kc_bare": kc_bare}}


@settings(max_examples=25, deadline=None)
@given(cases(), st.data())
def test_a_size_is_the_garden_with_that_tank(case, data):
    table, rows = case
    number = data.draw(st.integers(0, len(table["tank"]) - 1))
    joined = table["tank"][number].get("joined", 1)
    capacity_l = joined * table["tank"][number]["capacity_l"] * np.array(FACTORS)
    site, weather = site_of(table), weather_of(rows)
    garden = sized(garden_of(site), number, capacity_l)
    together = summaries(site, weather, side_by_side([garden], len(capacity_l)), sky_of(site, weather), len(capacity_l))
    for ours, size_l in zip(together, capacity_l.tolist(), strict=True):
        tanks = [resized(tank, size_l / joined) if n == number else tank for n, tank in enumerate(table["tank"])]
        plain = plain_run(table | {"tank": tanks}, rows)["summary"]
        for key in plain.keys() - ITEMS:
            assert ours[key] == (
                pytest.approx(plain[key], rel=1e-9, abs=1e-9) if isinstance(plain[key], float) else plain[key]
            ), key


def changed(site, kind, number, **keys):
    tables = list(getattr(site, kind))
    tables[number] = tables[number].model_copy(update=keys)
    return site.model_copy(update={kind: tables})


def test_what_keeps_gardens_apart(garden):
    site = site_of(garden.table)
    build = build_of(garden_of(site))
    assert build == build_of(garden_of(changed(site, "zone", 0, minutes=30.0)))
    assert build != build_of(garden_of(changed(site, "zone", 0, priority=2)))
    assert build != build_of(garden_of(changed(site, "tank", 0, overflow_to=None)))
    assert build != build_of(garden_of(changed(site, "tank", 1, mains="direct")))
    assert build != build_of(garden_of(site).restructured(before_spill=True))
    season = season_key(site)
    assert season == season_key(changed(site, "bed", 0, area_m2=99.0))
    assert season != season_key(changed(site, "bed", 0, root_limit_m=0.3))
    planting = site.bed[0].planting[0].model_copy(update={"planted": dt.date(2031, 5, 20)})
    assert season != season_key(changed(site, "bed", 0, planting=[planting]))
    assert season != season_key(site.model_copy(update={"model": site.model.model_copy(update={"kc_bare": 0.2})}))
    south = site.site.model_copy(update={"latitude_deg": -30.0})
    assert season != season_key(site.model_copy(update={"site": south}))
