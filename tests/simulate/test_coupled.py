"""The daily model with a watering line: true litres at the level of each morning."""

import numpy as np
import pytest
from hose import BY_GRAVITY, opened, site_of

import waterbudget
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.hose import hose_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import side_by_side
from waterbudget.simulate.result import DAILY
from waterbudget.simulate.run import sky_of

REFILL = (r"^minutes = 5", 'plan = "refill"\nminutes = 5')
DIRECT = ('^mains = "none"', 'mains = "direct"')
WAYS = {"pumped": (), "gravity": BY_GRAVITY, "refill": (REFILL,), "direct": (DIRECT,)}
ROUND_L = 1e-9


def booked(site, weather, garden=None):
    """Every quantity by name, (day, item, lane)."""
    season, sky = season_of(site, weather.date_column), sky_of(site, weather)
    return drive(garden or garden_of(site), season, sky, keep=Keep(each=DAILY))[1].each


def assert_lanes_are(together, alone):
    """Bit for bit."""
    for lane, run in enumerate(alone):
        for name, values in run.items():
            np.testing.assert_array_equal(together[name][..., lane], values[..., 0], name)


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
    book = {name: values[..., 0] for name, values in booked(site, weather).items()}
    level_l = np.concatenate([garden_of(site).tanks.start_l.T, book["tanks.level_l"]])
    went_l = book["tanks.drawn_l"] + book["tanks.spilled_l"] + book["tanks.lost_l"]
    np.testing.assert_allclose(np.diff(level_l, axis=0), book["tanks.inflow_l"] - went_l, rtol=0, atol=ROUND_L)
    given_l = book["outlets.store_l"] + book["outlets.mains_l"]
    np.testing.assert_allclose(book["outlets.asked_l"], given_l + book["outlets.unmet_l"], atol=ROUND_L)
    reached_l = (book["beds.irrigation_mm"] * [bed.area_m2 for bed in site.bed])[:, :4].sum(axis=1)
    np.testing.assert_allclose(reached_l, given_l[:, 0] * site.zone[0].applied, rtol=1e-9, atol=ROUND_L)
    came_mm = book["beds.rain_mm"] + book["beds.irrigation_mm"] + book["beds.subsoil_mm"]
    change_mm = book["beds.eta_mm"] + book["beds.drained_mm"] - came_mm
    np.testing.assert_allclose(np.diff(book["beds.depletion_mm"], axis=0), change_mm[1:], rtol=0, atol=ROUND_L)


def test_by_gravity_a_low_store_gives_nothing_and_takes_no_time(tmp_path):
    early = ('^from = "05-15"', 'from = "05-01"')
    low, full = (
        booked(*opened(tmp_path / name, *BY_GRAVITY, early, ("^start_l = 900", f"start_l = {start_l}")))
        for name, start_l in (("low", 600), ("full", 1500))
    )
    first = (0, 0, 0)
    assert low["outlets.asked_l"][first] == low["outlets.minutes_run"][first] == 0.0  # 0.45 m under jets at 0.5 m
    assert full["outlets.asked_l"][first] > 10.0
    assert full["outlets.minutes_run"][first] == pytest.approx(5.0)


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
    assert garden.structure.follows == ()
    assert garden.structure.follows_beds == (0, 1, 2, 3)
    assert garden.outlets.flow_l_min[0, 0] == 4.2


def test_stores_of_other_sizes_run_side_by_side_as_they_run_alone(tmp_path):
    site, weather = opened(tmp_path, *BY_GRAVITY)
    one = garden_of(site)
    sizes_l, starts_l = np.array([700.0, 1500.0, 4000.0]), np.array([100.0, 900.0, 4000.0])
    alone = []
    for size_l, start_l in zip(sizes_l, starts_l, strict=True):
        tank = site.tank[0].model_copy(update={"capacity_l": size_l, "start_l": start_l})
        alone.append(booked(site.model_copy(update={"tank": [tank, *site.tank[1:]]}), weather))
    capacity_l, start_l = (np.repeat(rows, 3, axis=-1) for rows in (one.tanks.capacity_l, one.tanks.start_l))
    capacity_l[0], start_l[0] = sizes_l, starts_l
    many = one.changed(tanks={"capacity_l": capacity_l, "start_l": start_l})
    assert_lanes_are(booked(site, weather, many), alone)


def test_other_lines_run_side_by_side_as_they_run_alone(tmp_path):
    changed = [
        (),
        (("^rise_m = 0.6", "rise_m = 3"),),
        (("^length_m = 32", "length_m = 60"), (r"^k_l_h = 3\b", "k_l_h = 9")),
    ]
    sites = [opened(tmp_path / f"{n}", *changes) for n, changes in enumerate(changed)]
    (first, weather), gardens = sites[0], [garden_of(site) for site, _ in sites]
    alone = [booked(site, weather) for site, _ in sites]
    assert_lanes_are(booked(first, weather, side_by_side(gardens, 1)), alone)


@pytest.mark.parametrize(("part", "name"), [("outlets", "factor"), ("beds", "share")])
def test_one_table_may_differ_alone(tmp_path, part, name):
    site, weather = opened(tmp_path)
    one = garden_of(site)
    weather = weather.between(None, weather.dates[40].date())
    tables = [getattr(getattr(one, part), name) * scale for scale in (1.0, 0.8)]
    first, second = (booked(site, weather, one.changed(**{part: {name: table}})) for table in tables)
    both = one.changed(**{part: {name: np.concatenate(tables, axis=-1)}})
    assert_lanes_are(booked(site, weather, both), [first, second])
    assert not np.array_equal(first["beds.irrigation_mm"], second["beds.irrigation_mm"])
