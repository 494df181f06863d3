"""Days are run in one way only: what is kept, where a run is cut, and how many run at once must not matter."""

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate import drive as driving
from waterbudget.simulate.drive import days_at_once, drive, pieces
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.result import DAILY, SUMMARY
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import start_of

LEVELS = Keep(each=("tanks.level_l",))


def parts_of(case, lanes=1):
    """A garden, its season and a sky with rain of its own in each lane."""
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    sky = sky_of(site, weather)
    sky = replace(sky, rain_mm=sky.rain_mm * np.linspace(1.0, 0.5, lanes))
    return garden_of(site), season_of(site, weather.date_column), sky


def arrays_of(state):
    """Every array of an evening."""
    found = []
    state.each(lambda rows: found.append(rows) or rows)
    return found


def alike(ours, theirs):
    assert ours.keys() == theirs.keys()
    for name, values in ours.items():
        np.testing.assert_array_equal(values, theirs[name], err_msg=name)


@settings(max_examples=40, deadline=None)
@given(cases(min_days=6), st.integers(1, 3), st.data())
def test_two_halves_are_the_whole(case, lanes, data):
    garden, season, sky = parts_of(case, lanes)
    turn = data.draw(st.integers(1, len(sky.rain_mm) - 1))
    end, whole = drive(garden, season, sky, keep=replace(SUMMARY, each=DAILY))
    half, first = drive(garden, season.of(slice(turn)), sky.of(slice(turn)), keep=replace(SUMMARY, each=DAILY))
    rest = slice(turn, None)
    again, second = drive(garden, season.of(rest), sky.of(rest), half, keep=replace(SUMMARY, each=DAILY))
    for ours, theirs in zip(arrays_of(again), arrays_of(end), strict=True):
        np.testing.assert_array_equal(ours, theirs)
    alike({name: np.concatenate([first.each[name], second.each[name]]) for name in DAILY}, whole.each)
    for name, total in whole.sums.items():
        np.testing.assert_allclose(first.sums[name] + second.sums[name], total, rtol=1e-12, atol=1e-9, err_msg=name)
    for name, day in whole.firsts.items():
        np.testing.assert_array_equal(np.minimum(first.firsts[name], turn + second.firsts[name]), day, err_msg=name)


@settings(max_examples=30, deadline=None)
@given(cases())
def test_a_reading_on_an_evening_is_a_run_begun_there(case):
    garden, season, sky = parts_of(case)
    turn = len(sky.rain_mm) // 2
    before, rest = slice(turn), slice(turn, None)
    evening, _ = drive(garden, season.of(before), sky.of(before))
    level_l = 0.5 * float(garden.tanks.capacity_l[0, 0])
    _, dipped = drive(garden, season.of(rest), sky.of(rest), evening.dipped(0, level_l), keep=LEVELS)
    begun = evening._replace(level_l=np.vstack([[[level_l]], evening.level_l[1:]]))
    _, anew = drive(garden, season.of(rest), sky.of(rest), begun, keep=LEVELS)
    if not any(garden.structure.holds_mains):
        alike(dipped.each, anew.each)
    np.testing.assert_array_equal(evening.dipped(0, level_l).level_l, begun.level_l)


@settings(max_examples=20, deadline=None)
@given(cases(max_days=30), st.integers(2, 4))
def test_one_evening_stands_for_many_lanes(case, lanes):
    garden, season, sky = parts_of(case)
    half = len(sky.rain_mm) // 2
    evening, _ = drive(garden, season.of(slice(half)), sky.of(slice(half)))
    rest = sky.of(slice(half, None))
    many = replace(rest, rain_mm=rest.rain_mm * np.linspace(1.0, 0.5, lanes))
    end, kept = drive(garden, season.of(slice(half, None)), many, evening, keep=Keep(each=DAILY))
    assert end.level_l.shape == (len(garden.names.tanks), lanes)
    for lane in range(lanes):
        alone = replace(rest, rain_mm=many.rain_mm[:, [lane]])
        _, one = drive(garden, season.of(slice(half, None)), alone, evening, keep=Keep(each=DAILY))
        alike({name: values[..., [lane]] for name, values in kept.each.items()}, one.each)


@settings(max_examples=30, deadline=None)
@given(cases())
def test_nobody_writes_into_an_evening(case):
    garden, season, sky = parts_of(case)
    start = start_of(garden, season, sky)
    kept = [rows.copy() for rows in arrays_of(start)]
    for rows in arrays_of(start):
        rows.setflags(write=False)
    for part in garden.parts.values():
        for sizes in vars(part).values():
            sizes.setflags(write=False)
    drive(garden, season, sky, start, keep=SUMMARY)
    for before, after in zip(kept, arrays_of(start), strict=True):
        np.testing.assert_array_equal(before, after)


@settings(max_examples=20, deadline=None)
@given(cases())
def test_what_is_kept_of_some_is_what_is_kept_of_all(case):
    garden, season, sky = parts_of(case)
    state, everything = drive(garden, season, sky, keep=SUMMARY)
    some = Keep(SUMMARY.sums[::3], SUMMARY.firsts[1:2], SUMMARY.lows)
    same_state, few = drive(garden, season, sky, keep=some)
    for kind in ("sums", "firsts", "lows"):
        found = getattr(few, kind)
        alike(found, {name: getattr(everything, kind)[name] for name in found})
    for ours, theirs in zip(arrays_of(same_state), arrays_of(state), strict=True):
        np.testing.assert_array_equal(ours, theirs)


@settings(max_examples=30, deadline=None)
@given(cases(), st.integers(1, 3), st.integers(2, 20))
def test_days_worked_out_at_once_are_those_worked_out_one_by_one(case, lanes, at_once):
    garden, season, sky = parts_of(case, lanes)
    found = []
    for some in (1, at_once):
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(driving, "MOST_DAYS_AT_ONCE", some)
            found.append(drive(garden, season, sky, keep=Keep(each=DAILY))[1].each)
    alike(*found)


@settings(max_examples=25, deadline=None)
@given(cases(), st.integers(2, 4))
def test_a_lane_does_what_its_garden_does_alone(case, lanes):
    garden, season, sky = parts_of(case, lanes)
    _, together = drive(garden, season, sky, keep=replace(SUMMARY, each=DAILY))
    for lane in range(lanes):
        _, alone = drive(
            garden, season, replace(sky, rain_mm=sky.rain_mm[:, [lane]]), keep=replace(SUMMARY, each=DAILY)
        )
        for kind in ("firsts", "each"):
            ours = {name: values[..., [lane]] for name, values in getattr(together, kind).items()}
            alike(ours, getattr(alone, kind))
        for name, total in alone.sums.items():
            np.testing.assert_allclose(together.sums[name][..., [lane]], total, rtol=1e-12, atol=1e-12, err_msg=name)


@pytest.mark.parametrize(("lanes", "at_once"), [(1, 256), (125, 256), (1000, 32), (100_000, 1)])
def test_the_more_lanes_the_fewer_days_at_once(lanes, at_once):
    cut = list(pieces(1300, days_at_once(lanes)))
    assert {piece.stop - piece.start for piece in cut[:-1]} == {at_once}
    assert (cut[0].start, cut[-1].stop) == (0, 1300)


@settings(max_examples=3, deadline=None)
@given(cases())
def test_days_are_forgotten_without_waiting_for_the_collector(case):
    seen = []

    class Watched(driving.Pages):
        def __init__(self, *parts):
            super().__init__(*parts)
            seen.append(weakref.ref(self))

    gc.disable()
    try:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(driving, "Pages", Watched)
            drive(*parts_of(case), keep=replace(SUMMARY, each=DAILY))
        assert seen
        assert not any(pages() for pages in seen)
    finally:
        gc.enable()
