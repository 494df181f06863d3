"""What stands in a bed on each day, by the calendar."""

import datetime as dt
import itertools
from typing import NamedTuple

import numpy as np
import pytest
from gardens import site_of
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.schedule.season import season_of
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Planting

OWN = {"days": [20, 20, 20, 10], "kc": [0.4, 1.2, 0.8], "p": 0.35, "root_m": [0.2, 0.6]}


def dates(first, last):
    """Every day from first to last, for one lane."""
    return np.arange(first, dt.date.fromisoformat(last) + dt.timedelta(1), dtype="M8[D]")[:, None]


def site_with(*plantings, latitude_deg=53.1, **bed):
    """A garden of one bed; plantings are numbers of their own but for what is given."""
    return site_of(
        {
            "site": {"name": "Brackenfold", "latitude_deg": latitude_deg},
            "model": {"kc_bare": 0.3, "root_start_m": 0.15},
            "tank": [{"name": "store", "capacity_l": 1000, "start_l": 0}],
            "bed": [{"name": "bed", "area_m2": 1, "available_water_mm_m": 150, "planting": list(plantings), **bed}],
        }
    )


class Row(NamedTuple):
    """The one bed of a garden on one day."""

    kc: float
    zr_m: float
    p: float
    planted: bool
    handed_over: float


def season(first, last, *plantings, **site):
    """The one bed's rows by date, as ISO text."""
    days = dates(first, last)
    found = season_of(site_with(*plantings, **site), days)
    rows = zip(*(getattr(found, name)[:, 0, 0].tolist() for name in Row._fields), strict=True)
    return {str(day): Row(*row) for day, row in zip(days[:, 0], rows, strict=True)}


def planted_on(days):
    return [day for day, row in days.items() if row.planted]


def changed_on(days):
    """The days on which the roots that reach otherwise than yesterday hand the depletion over."""
    return [day for day, row in days.items() if row.handed_over != 1.0]


def numbers(row):
    """Kc, root depth and p."""
    return row[:3]


def about(*figures):
    return pytest.approx(figures, rel=1e-12)


def test_a_planting_and_the_bare_days_round_it():
    days = season("2031-04-29", "2031-07-12", OWN | {"planted": "05-01"})
    assert planted_on(days) == [str(day) for day in dates("2031-05-01", "2031-07-09")[:, 0]]  # 70 days
    assert changed_on(days) == ["2031-05-01", "2031-07-10"]
    assert {numbers(row) for row in days.values() if not row.planted} == {(0.3, 0.15, 0.5)}
    assert numbers(days["2031-05-01"]) == about(0.4, 0.2 + 0.4 / 40, 0.35)
    assert numbers(days["2031-05-20"]) == about(0.4, 0.2 + 0.4 * 20 / 40, 0.35)
    assert numbers(days["2031-05-30"]) == about(0.8, 0.2 + 0.4 * 30 / 40, 0.35)  # day 30, half-way up
    assert numbers(days["2031-06-09"]) == about(1.2, 0.6, 0.35)  # day 40, the roots are down
    assert numbers(days["2031-07-09"]) == about(0.8, 0.6, 0.35)  # day 70, the last


def test_a_bed_without_plantings_is_bare():
    days = season("2031-12-30", "2032-01-02")
    assert {numbers(row) for row in days.values()} == {(0.3, 0.15, 0.5)}
    assert planted_on(days) == changed_on(days) == []


def test_a_planting_passes_new_year():
    days = season("2031-11-19", "2032-01-30", OWN | {"planted": "11-20"})
    assert planted_on(days) == [str(day) for day in dates("2031-11-20", "2032-01-28")[:, 0]]
    assert days["2031-12-31"].kc == pytest.approx(1.2)  # day 42
    assert days["2032-01-23"].kc == pytest.approx(1.0)  # day 65, half-way down
    assert changed_on(days) == ["2031-11-20", "2032-01-29"]


@pytest.mark.parametrize("planted", ["11-20", dt.date(2031, 11, 20)])
@pytest.mark.parametrize(
    ("first", "kc", "zr_m"),
    [("2031-12-25", 1.04, 0.56), ("2032-01-23", 1.0, 0.6)],  # day 36 and day 65 of it
)
def test_a_planting_begun_before_the_run_is_in_progress(planted, first, kc, zr_m):
    days = season(first, "2032-02-10", OWN | {"planted": planted})
    assert days[first].planted
    assert numbers(days[first]) == about(kc, zr_m, 0.35)
    assert changed_on(days) == ["2032-01-29"]  # the first day of the run changes nothing over


def test_a_planting_that_is_over_before_the_run_leaves_no_trace():
    assert changed_on(season("2032-01-29", "2032-02-10", OWN | {"planted": "11-20"})) == []


def test_month_and_day_come_every_year_and_a_full_date_once():
    first, last = "2030-01-01", "2033-12-31"
    every_year = planted_on(season(first, last, OWN | {"planted": "05-01"}))
    assert len(every_year) == 4 * 70
    assert {day[:4] for day in every_year} == {"2030", "2031", "2032", "2033"}
    once = planted_on(season(first, last, OWN | {"planted": "2032-05-01"}))
    assert once == [day for day in every_year if day.startswith("2032")]


def test_a_full_date_may_last_more_than_a_year():
    days = season("2031-05-30", "2033-01-01", OWN | {"planted": "2031-06-01", "days": [100, 100, 300, 50]})
    assert len(planted_on(days)) == 550
    assert changed_on(days) == ["2031-06-01", "2032-12-02"]


def test_back_to_back_plantings_change_over_once():
    follower = OWN | {"planted": "07-10", "days": [5, 5, 5, 5], "kc": [0.5, 0.9, 0.9], "p": 0.5, "root_m": [0.1, 0.3]}
    days = season("2031-06-30", "2031-08-10", OWN | {"planted": "05-01"}, follower)
    assert changed_on(days) == ["2031-07-10", "2031-07-30"]
    assert numbers(days["2031-07-09"]) == about(0.8, 0.6, 0.35)
    assert numbers(days["2031-07-10"]) == about(0.5, 0.12, 0.5)


def test_one_bare_day_between_two_plantings_changes_over_twice():
    follower = OWN | {"planted": "07-11"}
    days = season("2031-06-30", "2031-08-10", OWN | {"planted": "05-01"}, follower)
    assert changed_on(days) == ["2031-07-10", "2031-07-11"]
    assert planted_on(days) == [day for day in days if day != "2031-07-10"]


@pytest.mark.parametrize("year", [2031, 2032])
def test_a_planting_of_every_year_stands_on_the_same_calendar_days_and_does_not_count_the_leap_day(year):
    days = season(f"{year}-02-01", f"{year}-06-01", OWN | {"planted": "02-21"})
    leap_days = [f"{year}-02-29"] if year == 2032 else []
    assert planted_on(days)[-1] == f"{year}-05-01"  # 70 days from 21 February on
    assert len(planted_on(days)) == 70 + len(leap_days)
    for day in leap_days:
        assert days[day] == days["2032-02-28"]
    assert days[f"{year}-03-22"].kc == pytest.approx(0.8)  # day 30, half-way up


def test_a_planting_of_a_full_date_counts_every_day():
    days = season("2032-02-01", "2032-06-01", OWN | {"planted": "2032-02-21"})
    assert planted_on(days)[-1] == "2032-04-30"
    assert len(planted_on(days)) == 70


def test_a_planting_of_a_whole_year_leaves_no_day_bare():
    whole_year = OWN | {"planted": "03-01", "days": [20, 20, 300, 25]}
    days = season("2030-02-01", "2033-02-28", whole_year)
    assert planted_on(days) == list(days)
    assert changed_on(days) == ["2030-03-01", "2031-03-01", "2032-03-01"]
    assert {days[f"{day}"].kc for day in ("2031-02-28", "2032-02-28", "2032-02-29", "2033-02-28")} == {0.8}


def test_a_run_that_goes_on_hands_over_on_its_first_day():
    """Roots of 0.21 m on the first day in place of bare ground of 0.15 m."""
    site, days = site_with(OWN | {"planted": "05-01"}), dates("2031-05-01", "2031-05-03")
    begun = np.datetime64("2031-04-01")
    assert season_of(site, days).handed_over[:, 0, 0].tolist() == [1.0, 1.0, 1.0]
    assert season_of(site, days, begun=begun).handed_over[:, 0, 0] == pytest.approx([0.21 / 0.15, 1.0, 1.0])


# ---- Several plantings in one bed ----


def test_side_by_side_by_hand():
    """FAO-56 Eq. 104: K and p by share of the ground times height, the deepest roots; the rest is bare ground."""
    low = OWN | {"planted": "05-01", "days": [0, 0, 50, 0], "ground_share": 0.5, "height_m": 0.3}
    tall = low | {"kc": [1, 1.0, 1], "p": 0.5, "root_m": [0.3, 0.9], "ground_share": 0.3, "height_m": 0.9}
    (row,) = season("2031-05-10", "2031-05-10", low, tall).values()
    weights = (0.5 * 0.3, 0.3 * 0.9)  # 0.15 and 0.27
    kc, p = ((weights[0] * one + weights[1] * other) / sum(weights) for one, other in ((1.2, 1.0), (0.35, 0.5)))
    assert numbers(row) == about(0.8 * kc + 0.2 * 0.3, 0.9, p)
    assert row.planted


def test_one_that_goes_leaves_the_other_and_its_depletion_is_handed_over():
    stays = OWN | {"planted": "05-01", "days": [0, 0, 60, 0], "ground_share": 0.5}
    goes = stays | {"days": [0, 0, 20, 0], "root_m": [0.2, 0.9]}
    days = season("2031-05-01", "2031-07-10", stays, goes)
    assert {day: row.handed_over for day, row in days.items() if day in changed_on(days)} == {
        "2031-05-21": pytest.approx(0.6 / 0.9),
        "2031-06-30": pytest.approx(0.15 / 0.6),
    }
    assert [row.zr_m for day, row in days.items() if day < "2031-05-21"] == pytest.approx([0.9] * 20)


def test_roots_stop_at_the_limit_and_so_does_a_bare_bed():
    shallow = season("2031-04-30", "2031-07-10", OWN | {"planted": "05-01"}, root_limit_m=0.4)
    deep = season("2031-04-30", "2031-07-10", OWN | {"planted": "05-01"})
    assert {day: row.zr_m for day, row in shallow.items()} == {day: min(0.4, row.zr_m) for day, row in deep.items()}
    assert max(row.zr_m for row in shallow.values()) == 0.4
    assert {row.zr_m for row in season("2031-04-01", "2031-04-09", root_limit_m=0.1).values()} == {0.1}


# ---- Numbers from the crops table: FAO-56 Tables 11 (p. 104-108), 12 (p. 110-114) and 22 (p. 163-165) ----


@pytest.mark.parametrize(
    ("crop", "planted", "latitude_deg", "days"),
    [
        ("potato", "04-20", 53.1, (30, 35, 50, 30)),  # April, Europe
        ("potato", "05-10", 53.1, (25, 30, 45, 30)),  # May, Continental Climate
        ("potato", "10-20", -35.0, (30, 35, 50, 30)),  # October in the south is April in the north
        ("tomato", "05-10", 53.1, (30, 40, 45, 30)),  # April/May, Mediterranean
        ("tomato", "11-10", -35.0, (30, 40, 45, 30)),
        ("tomato", "11-10", 35.0, (35, 45, 70, 30)),  # Oct/Nov, Arid Region
        ("tomato", dt.date(2031, 11, 10), -35.0, (30, 40, 45, 30)),
    ],
)
def test_stage_lengths_follow_the_month_and_the_hemisphere(crop, planted, latitude_deg, days):
    site = site_with({"crop": crop, "planted": planted}, latitude_deg=latitude_deg)
    growth = growth_of(site.bed[0].planting[0], site)
    assert growth.days == days
    assert growth.basis.startswith("printed for ")
    standing = season_of(site, dates("2030-01-01", "2032-12-31"))
    begun = np.flatnonzero((standing.handed_over[:, 0, 0] != 1.0) & standing.planted[:, 0, 0])[0]
    assert standing.planted[begun : begun + sum(days), 0, 0].all()
    assert not standing.planted[begun + sum(days), 0, 0]


def test_a_crop_brings_its_numbers():
    site = site_with({"crop": "tomato", "planted": "05-10"})
    growth = growth_of(site.bed[0].planting[0], site)
    assert (growth.kc, growth.p) == ((0.6, 1.15, 0.8), 0.40)  # Kc end: the middle of 0.70-0.90
    assert (growth.root_start_m, growth.root_full_m) == (0.15, 0.7)  # from root_start_m to the lesser of 0.7-1.5


def test_the_sites_own_numbers_come_before_the_crops():
    own = {"days": [1, 2, 3, 4], "kc": [0.5, 1.0, 0.7], "p": 0.0, "root_m": [0.05, 0.3]}
    site = site_with({"crop": "tomato", "planted": "05-10", **own})
    growth = growth_of(site.bed[0].planting[0], site)
    assert (growth.days, growth.kc, growth.p) == ((1, 2, 3, 4), (0.5, 1.0, 0.7), 0.0)
    assert (growth.root_start_m, growth.root_full_m) == (0.05, 0.3)
    for key, value in own.items():
        mixed = growth_of(Planting(crop="tomato", planted="05-10", **{key: value}), site)
        assert (mixed.days == (1, 2, 3, 4)) == (key == "days")
        assert (mixed.kc == (0.5, 1.0, 0.7)) == (key == "kc")
        assert (mixed.p == 0.0) == (key == "p")
        assert (mixed.root_full_m == 0.3) == (key == "root_m")
        assert (mixed.basis == "given in the site file") == (key == "days")


@pytest.mark.parametrize(
    ("crop", "more", "full_m"), [("asparagus", {}, 1.2), ("mint", {"days": [30, 30, 90, 30]}, 0.4)]
)
def test_perennials_stand_at_full_depth_from_the_first_day(crop, more, full_m):
    days = season("2031-01-01", "2031-12-31", {"crop": crop, "planted": "02-15", **more})
    assert {row.zr_m for row in days.values() if row.planted} == {full_m}


def test_perennials_keep_to_the_limit_too():
    days = season("2031-01-01", "2031-12-31", {"crop": "asparagus", "planted": "02-15"}, root_limit_m=0.5)
    assert {row.zr_m for row in days.values() if row.planted} == {0.5}


# ---- Any planting, any run; lanes ----


@settings(max_examples=80, deadline=None)
@given(
    sown=st.integers(0, 364).map(lambda n: dt.date(2031, 1, 1) + dt.timedelta(n)),
    stage_days=st.lists(st.integers(0, 91), min_size=4, max_size=4).filter(any),
    first=st.dates(dt.date(2030, 10, 1), dt.date(2033, 3, 1)),
    length=st.integers(1, 500),
)
def test_a_yearly_planting_against_the_calendar(sown, stage_days, first, length):
    planting = OWN | {"planted": sown.isoformat()[5:], "days": stage_days}
    days = season(first, (first + dt.timedelta(length - 1)).isoformat(), planting)
    standing = {}
    for year in range(2029, 2036):
        begun = sown.replace(year=year)
        standing |= {day.isoformat(): begun for day in days_of(begun, sum(stage_days))}
    assert planted_on(days) == [day for day in days if day in standing]
    for before, day in itertools.pairwise(days):
        changes = standing.get(before) != standing.get(day)
        assert days[day].handed_over == (days[day].zr_m / days[before].zr_m if changes else 1.0)


def days_of(begun, length):
    """The days on which a planting of every year stands; 29 February has the number of the day before."""
    day, number = begun, 1
    while number <= length:
        yield day
        day += dt.timedelta(1)
        number += (day.month, day.day) != (2, 29)


def test_lanes_of_other_years_are_each_one_alone():
    site = site_with(OWN | {"planted": "01-20"}, OWN | {"planted": "2032-06-01"})
    years = [dates(f"{year}-01-01", f"{year}-12-31")[:365] for year in (2030, 2033, 2032)]  # the last leaps
    together = season_of(site, np.concatenate(years, axis=1))
    for lane, year in enumerate(years):
        alone = season_of(site, year)
        for name in Row._fields:
            np.testing.assert_array_equal(getattr(together, name)[..., lane], getattr(alone, name)[..., 0])
    assert together.planted[..., 2].sum() == together.planted[..., 0].sum() + 70 + 1  # with the leap day
