"""A store's day: float valve, what can be drawn, who is given it, spill and leak. No litre appears or goes missing."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.physics.tank import evening, let_in, mains_share, share_out, total, within_reach
from waterbudget.units import NUMPY

MANY = settings(max_examples=80, deadline=None)
LITRES, SHARE = st.floats(0.0, 5_000.0, allow_subnormal=False), st.floats(0.0, 1.0)
ROUND_L = 8 * np.spacing(2e4)  # a few roundings of a double at 20 000 L, above the largest sum here
RULES = pytest.mark.parametrize("before_spill", [False, True], ids=["after spill", "before spill"])


def one(litres):
    return np.array([litres])


def given_to_all(asked_l, available_l, ranks):
    """What every taker is given, (taker, lane), rank after rank: nothing where it draws from another store."""
    given_l, left_l = np.zeros(asked_l.shape), available_l
    for rank in ranks:
        takers = rank if len(rank) > 1 else rank[0]
        served = share_out(NUMPY, asked_l[takers], left_l)
        given_l[takers], left_l = served.given_l, served.left_l
        assert np.all(served.wanted_l == total(asked_l[rank]))
    return given_l


def available(stored_l, inflow_l, dead_l, *, before_spill):
    return within_reach(NUMPY, stored_l + inflow_l if before_spill else stored_l, dead_l)


def tank_day(stored_l, inflow_l, drawn_l, capacity_l, loss_l, *, before_spill):
    return evening(NUMPY, stored_l, inflow_l, drawn_l, capacity_l, loss_l, before_spill=before_spill)


@st.composite
def stores(draw):
    """A day's store within its capacity: stored, inflow, capacity, dead, loss."""
    capacity_l = draw(st.floats(0.5, 5_000.0))
    return draw(SHARE) * capacity_l, draw(LITRES), capacity_l, draw(SHARE) * capacity_l, draw(st.floats(0.0, 50.0))


def day_of(store, demand_l, *, before_spill):
    """What one taker draws, and the rest of the day."""
    stored_l, inflow_l, capacity_l, dead_l, loss_l = map(one, store)
    drawn_l = np.minimum(demand_l, available(stored_l, inflow_l, dead_l, before_spill=before_spill))
    return drawn_l, tank_day(stored_l, inflow_l, drawn_l, capacity_l, loss_l, before_spill=before_spill)


# ---- Float valve ----


@pytest.mark.parametrize(
    ("stored_l", "mains_l", "level_l"),
    [
        (0.0, 200.0, 200.0),
        (99.0, 101.0, 200.0),
        (np.nextafter(100.0, 0.0), 200.0 - np.nextafter(100.0, 0.0), 200.0),
        (100.0, 0.0, 100.0),  # at the level it is still shut
        (150.0, 0.0, 150.0),
        (900.0, 0.0, 900.0),
    ],
)
def test_float_valve_opens_below_its_level_and_stops_at_the_other(stored_l, mains_l, level_l):
    let_in_l = let_in(NUMPY, one(stored_l), one(100.0), one(200.0))
    assert (let_in_l[0], stored_l + let_in_l[0]) == (mains_l, level_l)


@MANY
@given(LITRES, LITRES, LITRES)
def test_float_valve_books_its_mains_water(stored_l, below_l, more_l):
    let_in_l = let_in(NUMPY, one(stored_l), one(below_l), one(below_l + more_l))[0]
    level_l = stored_l + let_in_l
    assert let_in_l >= 0.0
    assert level_l == stored_l or level_l == pytest.approx(below_l + more_l, rel=0, abs=ROUND_L)
    assert level_l >= below_l - ROUND_L


# ---- What can be drawn ----


def test_available_water_by_hand():
    assert available(one(500.0), one(80.0), one(100.0), before_spill=False)[0] == 400.0
    assert available(one(500.0), one(80.0), one(100.0), before_spill=True)[0] == 480.0
    assert available(one(60.0), one(30.0), one(100.0), before_spill=False)[0] == 0.0
    assert available(one(60.0), one(30.0), one(100.0), before_spill=True)[0] == 0.0


# ---- Who is given it ----


@pytest.mark.parametrize(
    ("asked_l", "available_l", "ranks", "given_l"),
    [
        ([60, 30, 30], 100, [[0], [1, 2]], [60, 20, 20]),  # 40 L are left for the second rank
        ([60, 30, 30], 100, [[1, 2], [0]], [40, 30, 30]),  # the same with the ranks the other way round
        ([60, 30, 30], 50, [[0], [1, 2]], [50, 0, 0]),
        ([90, 30], 60, [[0, 1]], [45, 15]),  # in proportion to what each asks
        ([90, 0, 30], 60, [[0, 1, 2]], [45, 0, 15]),
        ([90, 30], 0, [[0, 1]], [0, 0]),
        ([90, 30], 500, [[0, 1]], [90, 30]),
        ([90, 30], 120, [[0], [1]], [90, 30]),
        ([20, 20, 20], 50, [[2], [0], [1]], [20, 10, 20]),
        ([0, 0], 500, [[0, 1]], [0, 0]),  # nobody asks
        ([0, 40], 25, [[0], [1]], [0, 25]),  # nobody of the first rank asks
        ([25, 40], 100, [[1]], [0, 40]),  # the other taker draws from another store
    ],
)
def test_share_out_by_hand(asked_l, available_l, ranks, given_l):
    found = given_to_all(np.array(asked_l, dtype=float)[:, None], one(float(available_l)), ranks)
    assert found[:, 0].tolist() == given_l


@st.composite
def takers(draw):
    """What each asks for, their ranks, and what there is; often nobody of a rank asks, or there is just enough."""
    asked_l = draw(st.lists(st.one_of(st.just(0.0), LITRES), min_size=1, max_size=6))
    rank = [draw(st.integers(0, 2)) for _ in asked_l]
    ranks = [[taker for taker in range(len(asked_l)) if rank[taker] == level] for level in sorted(set(rank))]
    available_l = draw(st.one_of(st.just(0.0), st.floats(0.0, 30_000.0), st.just(sum(asked_l))))
    return np.array(asked_l)[:, None], one(available_l), ranks


@MANY
@given(takers())
def test_share_out_gives_all_that_is_asked_for_or_all_there_is(case):
    asked_l, available_l, _ = case
    given_l = given_to_all(*case)
    assert np.all(given_l >= 0.0)
    assert np.all(given_l <= asked_l)
    assert given_l.sum() == pytest.approx(min(asked_l.sum(), available_l[0]), rel=0, abs=ROUND_L)


@MANY
@given(takers())
def test_share_out_serves_a_rank_only_when_those_before_it_have_all(case):
    asked_l, _, ranks = case
    given_l = given_to_all(*case)
    for before, after in pairwise(ranks):
        if given_l[after].sum() > 0.0:
            np.testing.assert_array_equal(given_l[before], asked_l[before])


@MANY
@given(takers())
def test_share_out_treats_equal_ranks_alike(case):
    asked_l, _, ranks = case
    given_l = given_to_all(*case)
    for rank in ranks:
        asking = [taker for taker in rank if asked_l[taker, 0] > 1e-3]
        shares = given_l[asking, 0] / asked_l[asking, 0]
        np.testing.assert_allclose(shares, shares[:1].repeat(len(asking)), rtol=1e-12)


def test_total_adds_up_rows():
    assert total(np.array([[1.0, 8.0], [4.0, 32.0]])).tolist() == [5.0, 40.0]
    assert total([]) == 0.0


# ---- Mains water in a store ----


def test_mains_share_by_hand():
    # 50 L of 200 L; no water at all; all of it, and never more than that by a rounding
    found = mains_share(NUMPY, np.array([50.0, 0.0, 0.3]), np.array([200.0, 0.0, np.nextafter(0.3, 0.0)]))
    assert found.tolist() == [0.25, 0.0, 1.0]


@MANY
@given(LITRES, LITRES)
def test_a_share_is_a_share(mains_l, rain_l):
    assert 0.0 <= mains_share(NUMPY, one(mains_l), one(mains_l + rain_l))[0] <= 1.0


# ---- Spill, draw and leak ----


@RULES
@MANY
@given(stores(), LITRES)
def test_every_litre_is_booked(before_spill, store, demand_l):
    stored_l, inflow_l, capacity_l, _, _ = store
    drawn_l, day = day_of(store, demand_l, before_spill=before_spill)
    after_l = drawn_l + day.spilled_l + day.lost_l + day.level_l
    assert after_l[0] == pytest.approx(stored_l + inflow_l, rel=0, abs=ROUND_L)
    assert min(part[0] for part in day) >= 0.0
    assert day.level_l[0] <= capacity_l


@RULES
@MANY
@given(stores(), LITRES)
def test_dead_water_is_never_drawn(before_spill, store, demand_l):
    stored_l, inflow_l, _, dead_l, _ = store
    drawn_l, _ = day_of(store, demand_l, before_spill=before_spill)
    assert 0.0 <= drawn_l[0] <= max(stored_l + inflow_l * before_spill - dead_l, 0.0)


@MANY
@given(LITRES, LITRES, LITRES, LITRES)
def test_the_rules_as_published(stored_l, inflow_l, demand_l, capacity_l):
    """V and Y of Jenkins et al. (1978), as given by a plumbing trade magazine (January 2019, p. 33)."""
    stored_l = min(stored_l, capacity_l)
    drawn_l, day = day_of((stored_l, inflow_l, capacity_l, 0.0, 0.0), demand_l, before_spill=False)
    y = min(demand_l, stored_l)
    assert drawn_l[0] == y
    assert day.level_l[0] == pytest.approx(min(stored_l + inflow_l - y, capacity_l - y), rel=0, abs=ROUND_L)
    drawn_l, day = day_of((stored_l, inflow_l, capacity_l, 0.0, 0.0), demand_l, before_spill=True)
    y = min(demand_l, stored_l + inflow_l)
    assert drawn_l[0] == y
    assert day.level_l[0] == pytest.approx(min(stored_l + inflow_l - y, capacity_l), rel=0, abs=ROUND_L)


@MANY
@given(stores(), LITRES)
def test_drawing_before_the_spill_never_yields_less(store, demand_l):
    after, _ = day_of(store, demand_l, before_spill=False)
    before, _ = day_of(store, demand_l, before_spill=True)
    assert before[0] >= after[0]
    dry = (store[0], 0.0, *store[2:])
    for one_rule, other_rule in zip(
        day_of(dry, demand_l, before_spill=False), day_of(dry, demand_l, before_spill=True), strict=True
    ):
        np.testing.assert_array_equal(one_rule, other_rule)


@RULES
def test_a_leak_takes_no_more_than_there_is(before_spill):
    day = tank_day(one(30.0), one(0.0), one(28.0), one(100.0), one(5.0), before_spill=before_spill)
    assert [part[0] for part in day] == [0.0, 2.0, 0.0]


@RULES
@MANY
@given(days=st.lists(st.tuples(LITRES, LITRES), min_size=1, max_size=30), capacity_l=LITRES, extra_l=LITRES)
def test_a_larger_tank_never_leaves_more_unmet(before_spill, days, capacity_l, extra_l):
    capacities_l = np.array([capacity_l, capacity_l + extra_l])  # two scenarios
    stored_l = unmet_l = np.zeros(2)
    for inflow_l, demand_l in days:
        drawn_l = np.minimum(demand_l, available(stored_l, np.full(2, inflow_l), 0.0, before_spill=before_spill))
        day = tank_day(stored_l, np.full(2, inflow_l), drawn_l, capacities_l, 0.0, before_spill=before_spill)
        stored_l, unmet_l = day.level_l, unmet_l + demand_l - drawn_l
    assert unmet_l[1] <= unmet_l[0] + len(days) * ROUND_L


# ---- Lanes side by side ----


@RULES
@MANY
@given(batch=st.lists(st.tuples(stores(), st.lists(LITRES, min_size=4, max_size=4)), min_size=2, max_size=25))
def test_a_store_alone_is_its_lane_in_a_batch(before_spill, batch):
    stores_l = np.array([store for store, _ in batch]).T
    asked_l = np.array([asked for _, asked in batch]).T
    together = whole_day(stores_l, asked_l, before_spill=before_spill)
    for lane in range(len(batch)):
        alone = whole_day(stores_l[:, [lane]], asked_l[:, [lane]], before_spill=before_spill)
        for both, single in zip(together, alone, strict=True):
            np.testing.assert_array_equal(both[..., [lane]], single)


def whole_day(stores_l, asked_l, *, before_spill):
    """Every function of a store's day, one after the other; stores (5, lane), asked (taker, lane)."""
    stored_l, inflow_l, capacity_l, dead_l, loss_l = stores_l
    let_in_l = let_in(NUMPY, stored_l, dead_l, capacity_l)
    stored_l = stored_l + let_in_l
    within_l = available(stored_l, inflow_l, dead_l, before_spill=before_spill)
    given_l = given_to_all(asked_l, within_l, [[2], [0, 3], [1]])
    drawn_l = np.minimum(total(asked_l), within_l)
    day = tank_day(stored_l, inflow_l, drawn_l, capacity_l, loss_l, before_spill=before_spill)
    return [let_in_l, within_l, given_l, drawn_l, mains_share(NUMPY, let_in_l, stored_l), *day]
