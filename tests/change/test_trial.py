"""Gardens side by side do what each does by itself, and the few figures are those of a run's own books."""

from pathlib import Path

import numpy as np
import pytest

from waterbudget.change.trial import try_all
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run
from waterbudget.site.keys import put
from waterbudget.site.override import checked_site, raw_site

DEMO = Path(__file__).parent.parent.parent / "data_demo"
ROOF = {"name": "Porch", "tank": "Shed butt", "area_m2": 6, "covering": "metal sheet"}
CHANGES = [
    (("zone", 0, "minutes"), 4),
    (("tank", 1, "capacity_l"), 900),
    (("bed", 0, "planting", 0, "kc"), [0.3, 0.8, 0.5]),  # another season
    (("zone", 1, "plan"), "refill"),
    (("tank", 0, "mains"), "direct"),  # another build, so another group
    (("roof",), [ROOF]),
    (("transfer",), [{"name": "Move", "from_tank": "Class-room tank", "to_tank": "Shed butt", "l_per_day": 90}]),
]


def changed(place, value):
    table = raw_site(DEMO / "site.toml")
    put(table, place, value)
    return checked_site(table, "here")


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "site.toml")


@pytest.fixture(scope="module")
def tried(opened):
    sites = [opened.site, *(changed(*change) for change in CHANGES)]
    return list(zip(sites, try_all(sites, opened.weather, keep_levels=True), strict=True))


def test_each_does_what_it_does_by_itself(opened, tried):
    for site, outcome in tried:
        alone = run(site, opened.weather)
        assert outcome.site is site
        assert [row["name"] for row in outcome.summary["transfers"]] == [one.name for one in site.transfer]
        for key in ("mains_l", "unmet_l", "asked_l", "spilled_l", "days_lasted"):
            assert outcome.summary[key] == pytest.approx(alone.summary[key], rel=1e-9), key
        level_l = alone.tanks["level_l"].to_numpy().reshape(len(opened.weather.dates), -1)
        np.testing.assert_allclose(outcome.level_l, level_l, rtol=1e-9)


def test_the_figures_are_sums_of_the_daily_tables(opened, tried):
    for site, outcome in tried:
        alone = run(site, opened.weather)
        zones, beds = alone.zones, alone.beds
        needed_l = (zones["mains_l"] + zones["unmet_l"]).groupby(zones["date"]).sum().to_numpy()
        np.testing.assert_allclose(outcome.needed_l_by_day, needed_l, rtol=1e-9, atol=1e-9)
        assert outcome.needed_l == pytest.approx(needed_l.sum())
        flow = {zone.name: zone.flow_l_min for zone in site.zone}
        asked = zones[zones["zone"].isin(flow)]
        assert outcome.minutes == pytest.approx((asked["asked_l"] / asked["zone"].map(flow)).sum())
        area_m2 = beds["bed"].map({bed.name: bed.area_m2 for bed in site.bed})
        met = (beds["eta_mm"] * area_m2).sum() / (beds["etc_mm"] * area_m2).sum()
        assert outcome.need_met == pytest.approx(met)
        drains = alone.tanks[alone.tanks["tank"] == "Shed butt"]
        assert outcome.to_drain_l == pytest.approx(drains["spilled_l"].sum())


def test_what_plants_would_have_with_all_their_water_is_a_run_with_hoses(opened, tried):
    for site, outcome in tried:
        tanks = [tank.model_copy(update={"mains": "direct"}) for tank in site.tank]
        hosed = run(site.model_copy(update={"tank": tanks}), opened.weather)
        area_m2 = hosed.beds["bed"].map({bed.name: bed.area_m2 for bed in site.bed})
        met = (hosed.beds["eta_mm"] * area_m2).sum() / (hosed.beds["etc_mm"] * area_m2).sum()
        assert outcome.need_met_if_given == pytest.approx(met)


def test_not_to_water_dry_beds_is_thirst():
    """The allotment's butt is empty for most of the summer: fewer minutes then make no bed drier than it is."""
    allotment = open_site(DEMO / "allotment" / "site.toml")
    zone = allotment.site.zone[0]
    less = allotment.site.model_copy(update={"zone": [zone.model_copy(update={"minutes": 0.9 * zone.minutes})]})
    present, fewer = try_all([allotment.site, less], allotment.weather)
    assert fewer.need_met == pytest.approx(present.need_met, abs=0.004)
    assert fewer.is_thirstier_than(present)


def test_thirst_is_a_per_cent_of_the_need(opened):
    present, less = try_all([opened.site, changed(("zone", 0, "minutes"), 3)], opened.weather)
    assert less.is_thirstier_than(present)
    assert not present.is_thirstier_than(less)
    assert not present.is_thirstier_than(present)


def test_to_move_water_away_from_beds_that_nobody_helps_out_is_thirst(opened):
    """The Class-room tank has no mains: what the butt takes from it is lacking on the North line in August."""
    table = raw_site(DEMO / "site.toml")
    move = {"name": "Move", "from_tank": "Class-room tank", "to_tank": "Shed butt", "l_per_day": 350, "below_l": 90}
    sites = [table, table | {"transfer": [move]}, table | {"transfer": [move | {"keep_l": 750}]}]
    now, all_of_it, some = try_all([checked_site(one, "here") for one in sites], opened.weather)
    assert all_of_it.need_met_if_given == pytest.approx(now.need_met_if_given)
    assert all_of_it.need_met < now.need_met - 0.005
    assert all_of_it.is_thirstier_than(now)
    assert not some.is_thirstier_than(now)
    assert some.needed_l < now.needed_l
