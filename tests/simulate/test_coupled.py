"""The daily model with a watering line: true litres at the level of each morning."""

from dataclasses import replace

import numpy as np
import pytest
from hose import BY_GRAVITY, opened, site_of
from waterbudget.simulate.days import days

import waterbudget
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.hose import hose_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.run import sky_of

REFILL = (r"^minutes = 5", 'plan = "refill"\nminutes = 5')
DIRECT = ('^mains = "none"', 'mains = "direct"')
WAYS = {"pumped": (), "gravity": BY_GRAVITY, "refill": (REFILL,), "direct": (DIRECT,)}
ROUND_L = 1e-9


def passed(site, weather, garden=None):
    dates = weather.dates.to_numpy().astype("M8[D]")[:, None]
    return list(days(garden or garden_of(site), season_of(site, dates), sky_of(site, weather)))


@pytest.mark.parametrize("changes", WAYS.values(), ids=WAYS)
def test_minutes_turn_into_the_litres_of_the_morning(tmp_path, changes):
    """Each day's flow is solved again by itself at the evening level of the day before."""
    site, weather = opened(tmp_path, *changes)
    run = waterbudget.run(site, weather)
    zone = run.zones[run.zones["zone"] == "North line"]
    level_l = run.tanks.loc[run.tanks["tank"] == "Class-room tank", "level_l"].to_numpy()
    morning_l = np.append(900.0, level_l[:-1])
    flow_l_min = hose_of(site, site.zone[0], morning_l / 1500.0).total_l_min
    flowing = flow_l_min > 0.1  # where hardly anything does, straight lines between levels are coarse
    given_l = (zone["store_l"] + zone["mains_l"]).to_numpy()
    minutes = zone["minutes_run"].to_numpy()
    np.testing.assert_allclose((minutes * flow_l_min)[flowing], given_l[flowing], rtol=0.01, atol=1e-6)
    assert minutes.max() <= 10.0 + 1e-9
    if "refill" not in str(changes):
        asked = zone["asked_l"].to_numpy() > 0.0
        hot = weather.daily["tmax_c"].to_numpy() >= 25.0
        wanted_l = np.where(hot, 10.0, 5.0) * flow_l_min
        np.testing.assert_allclose(zone["asked_l"].to_numpy()[asked & flowing], wanted_l[asked & flowing], rtol=0.01)


@pytest.mark.parametrize("changes", WAYS.values(), ids=WAYS)
def test_every_litre_is_booked_on_every_day(tmp_path, changes):
    site, weather = opened(tmp_path, *changes)
    level_l, depletion_mm = garden_of(site).tanks.start_l, None
    for day in passed(site, weather):
        tanks, outlets, beds = day.tanks, day.outlets, day.beds
        np.testing.assert_allclose(
            tanks.level_l - level_l,
            tanks.inflow_l - tanks.drawn_l - tanks.spilled_l - tanks.lost_l,
            rtol=0,
            atol=ROUND_L,
        )
        np.testing.assert_allclose(outlets.asked_l, outlets.store_l + outlets.mains_l + outlets.unmet_l, atol=ROUND_L)
        reached_l = (beds.irrigation_mm * [bed.area_m2 for bed in site.bed])[:, :4].sum()
        given_l = (outlets.store_l + outlets.mains_l)[0, 0]
        assert reached_l == pytest.approx(given_l * site.zone[0].applied, rel=1e-9, abs=ROUND_L)
        if depletion_mm is not None:
            change_mm = beds.eta_mm - beds.rain_mm - beds.irrigation_mm + beds.drained_mm - beds.subsoil_mm
            np.testing.assert_allclose(beds.depletion_mm - depletion_mm, change_mm, rtol=0, atol=ROUND_L)
        level_l, depletion_mm = tanks.level_l, beds.depletion_mm


def test_by_gravity_a_low_store_gives_nothing_and_takes_no_time(tmp_path):
    early = ('^from = "05-15"', 'from = "05-01"')
    low, full = (
        passed(*opened(tmp_path / name, *BY_GRAVITY, early, ("^start_l = 900", f"start_l = {start_l}")))[0].outlets
        for name, start_l in (("low", 600), ("full", 1500))
    )
    assert low.asked_l[0, 0] == low.minutes_run[0, 0] == 0.0  # 0.45 m of water under jets at 0.5 m
    assert full.asked_l[0, 0] > 10.0
    assert full.minutes_run[0, 0] == pytest.approx(5.0)


def test_what_the_site_file_gives_goes_before_the_line(tmp_path):
    fixed = (r"^minutes = 5", "flow_l_min = 4.2\nminutes = 5")
    shares = (r"^area_m2 = (2\.\d)$", r"area_m2 = \1\nshare = 1")
    no_line = (r"^\[\[zone.line\]\][^\0]*?\n\[\[zone\]\]", "[[zone]]")
    with_line = waterbudget.run(*opened(tmp_path / "a", fixed, shares))
    without = waterbudget.run(*opened(tmp_path / "b", fixed, shares, no_line))
    assert with_line.summary == without.summary
    for kind in ("tanks", "zones", "beds", "roofs"):
        assert getattr(with_line, kind).equals(getattr(without, kind))


def test_the_line_alone_tells_the_shares_where_the_flow_is_given(tmp_path):
    site = site_of(tmp_path, (r"^minutes = 5", "flow_l_min = 4.2\nminutes = 5"))
    garden = garden_of(site)
    assert garden.outlets.follows == ()
    assert garden.beds.follows == (0, 1, 2, 3)
    assert garden.outlets.flow_l_min[0, 0] == 4.2


def test_stores_of_other_sizes_run_side_by_side_as_they_run_alone(tmp_path):
    site, weather = opened(tmp_path, *BY_GRAVITY)
    one = garden_of(site)
    sizes_l, starts_l = np.array([700.0, 1500.0, 4000.0]), np.array([100.0, 900.0, 4000.0])
    alone = []
    for size_l, start_l in zip(sizes_l, starts_l, strict=True):
        tank = site.tank[0].model_copy(update={"capacity_l": size_l, "start_l": start_l})
        alone.append(passed(site.model_copy(update={"tank": [tank, *site.tank[1:]]}), weather))
    capacity_l, start_l = (np.repeat(values, 3, axis=0) for values in (one.tanks.capacity_l, one.tanks.start_l))
    capacity_l[:, 0], start_l[:, 0] = sizes_l, starts_l
    many = replace(one, tanks=replace(one.tanks, capacity_l=capacity_l, start_l=start_l))
    for day, together in enumerate(passed(site, weather, many)):
        for lane, run in enumerate(alone):
            for name in ("asked_l", "store_l", "minutes_run"):
                np.testing.assert_array_equal(getattr(together.outlets, name)[lane], getattr(run[day].outlets, name)[0])
            np.testing.assert_array_equal(together.tanks.level_l[lane], run[day].tanks.level_l[0])
            np.testing.assert_array_equal(together.beds.irrigation_mm[lane], run[day].beds.irrigation_mm[0])


def test_other_lines_run_side_by_side_as_they_run_alone(tmp_path):
    changed = [
        (),
        (("^rise_m = 0.6", "rise_m = 3"),),
        (("^length_m = 32", "length_m = 60"), (r"^k_l_h = 3\b", "k_l_h = 9")),
    ]
    sites = [opened(tmp_path / f"{n}", *changes) for n, changes in enumerate(changed)]
    gardens, weather = [garden_of(site) for site, _ in sites], sites[0][1]

    def joined(part, *names):
        return {name: np.concatenate([getattr(getattr(g, part), name) for g in gardens], axis=-2) for name in names}

    outlets = replace(gardens[0].outlets, **joined("outlets", "flow_l_min", "run_l", "hot_run_l", "factor"))
    beds = replace(gardens[0].beds, **joined("beds", "zone_share", "share"))
    together = passed(sites[0][0], weather, replace(gardens[0], outlets=outlets, beds=beds))
    for lane, (site, _) in enumerate(sites):
        for day, run in zip(together, passed(site, weather), strict=True):
            np.testing.assert_array_equal(day.outlets.store_l[lane], run.outlets.store_l[0])
            np.testing.assert_array_equal(day.beds.irrigation_mm[lane], run.beds.irrigation_mm[0])


@pytest.mark.parametrize(("part", "name"), [("outlets", "factor"), ("beds", "share")])
def test_one_table_may_differ_alone(tmp_path, part, name):
    site, weather = opened(tmp_path)
    one = garden_of(site)
    weather = weather.between(None, weather.dates[40].date())
    tables = [getattr(getattr(one, part), name) * scale for scale in (1.0, 0.8)]
    gardens = [replace(one, **{part: replace(getattr(one, part), **{name: table})}) for table in tables]
    both = replace(one, **{part: replace(getattr(one, part), **{name: np.concatenate(tables, axis=1)})})
    alone = [passed(site, weather, garden) for garden in gardens]
    differs = False
    for day, first, second in zip(passed(site, weather, both), *alone, strict=True):
        for lane, run in enumerate((first, second)):
            np.testing.assert_array_equal(day.beds.irrigation_mm[lane], run.beds.irrigation_mm[0])
        differs |= not np.array_equal(first.beds.irrigation_mm, second.beds.irrigation_mm)
    assert differs
