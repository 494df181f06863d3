"""Joined stores fill and empty as one: every screen tells of them as of one store with all their litres."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of, weather_of

import waterbudget
from waterbudget.answers.for_sale import buying
from waterbudget.answers.run import picture, verdict
from waterbudget.answers.size import answer as size_answer
from waterbudget.odds.outcomes import odds_of
from waterbudget.render.figures.level import level
from waterbudget.render.text import strip, text
from waterbudget.review.size import Question, find_size
from waterbudget.simulate.opened import Opened
from waterbudget.sizing.offers import Offer
from waterbudget.sizing.sizes import Sweep
from waterbudget.weather.years import recorded_years

DAYS = 90
OF_ONE = {"capacity_l": 300.0, "dead_l": 10.0, "start_l": 250.0, "loss_l_per_day": 1.0}


def garden(joined, **tank):
    """So many stores alike under a roof, from which 60 L a day are drawn; in the weather of a wet and a dry time."""
    site = {
        "site": {"name": "A"},
        "roof": [{"name": "Roof", "tank": "Butts", "area_m2": 20.0, "runoff_coefficient": 0.9}],
        "tank": [{"name": "Butts", "joined": joined, "mains": "direct"} | tank],
        "draw": [{"name": "Cans", "tank": "Butts", "l_per_day": 60.0}],
    }
    first = dt.date(2031, 5, 1)
    rows = [
        {"date": first + dt.timedelta(n), "rain_mm": 12.0 if n % 5 == 0 and n < 45 else 0.0, "et0_mm": 3.0}
        for n in range(DAYS)
    ]
    return site_of(site), weather_of(rows)


@pytest.fixture(scope="module")
def both():
    return garden(3, **OF_ONE), garden(1, **{key: 3.0 * litres for key, litres in OF_ONE.items()})


def test_a_run_tells_the_same(both):
    joined, one = (waterbudget.run(*each) for each in both)
    assert list(verdict(joined)) == list(verdict(one))
    assert strip(picture(joined).strip, 100) == strip(picture(one).strip, 100)
    for name, told in one.summary.items():
        assert joined.summary[name] == (pytest.approx(told, rel=1e-12) if isinstance(told, float) else told), name
    axes = [level(result)[1] for result in (joined, one)]
    assert axes[0].get_ylim() == axes[1].get_ylim()
    assert [text.get_text() for text in axes[0].texts] == [text.get_text() for text in axes[1].texts]


def test_sizes_and_offers_are_reckoned_against_all_of_them(both):
    offers = [Offer("Crate", 500.0, 90.0)]
    found = [
        find_size(Opened(Path("site.toml"), *each, ()), Sweep(100, 2000, 5), Question(water_per_m3=None), offers)
        for each in both
    ]
    for one in found:
        assert one.study.now.capacity_l.tolist() == [900]
        assert one.study.deals[0].beside.outcome.capacity_l.tolist() == [1400]
    np.testing.assert_allclose(found[0].study.now.met, found[1].study.now.met, rtol=1e-12)
    np.testing.assert_allclose(found[0].study.sizes.needed_l, found[1].study.sizes.needed_l, rtol=1e-9)
    assert text(size_answer(found[0])) == text(size_answer(found[1]))
    assert list(buying(found[0].market)) == list(buying(found[1].market))


def test_odds_are_the_same(both):
    joined, one = (odds_of(site, recorded_years(weather.daily, "05-01", "07-29")) for site, weather in both)
    np.testing.assert_array_equal(joined.days_lasted, one.days_lasted)
    np.testing.assert_allclose(joined.rain_l, one.rain_l, rtol=1e-12)
