"""Rules over the recorded summers: each run as its site file would have it, none better than foresight."""

import functools
from pathlib import Path

import numpy as np
import pytest

from waterbudget.answers.odds import answer
from waterbudget.odds.rules import PRESENT, Move, Rule, rules_of
from waterbudget.odds.study import find_odds
from waterbudget.odds.summers import Wanted, recorded_summers
from waterbudget.plan.response import response_of, risk_of
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import sky_of_years
from waterbudget.site.model import Transfer

ROOT = Path(__file__).parent.parent.parent
RISK = Keep(sums=("beds.planted_etc_mm",), each=("beds.lack_mm",))


@functools.cache
def school():
    """The rules of Brackenfold over its twelve invented summers, and how often progress was told."""
    opened = open_site(ROOT / "data_demo" / "years" / "site.toml", every_year=True)
    told = []
    summers = recorded_summers(opened.site, opened.weather, Wanted(), opened.site)
    return rules_of(opened.site, summers, progress=lambda done, of: told.append((done, of))), told


def alone(rule):
    """A rule written into the site and run by itself in every summer, without mains water."""
    found, _ = school()
    changes = {"plan": rule.trigger} if rule.trigger != "present" else {}
    changes |= {"dry_at": rule.amount} if rule.trigger == "dry" else {}
    changes |= {"leave_mm": rule.amount} if rule.trigger == "refill" else {}
    site = found.site.model_copy(update={"zone": [zone.model_copy(update=changes) for zone in found.site.zone]})
    if rule.move is not None:
        giver, taker = (site.tank[number] for number in rule.move[:2])
        more = Transfer(
            name="more",
            from_tank=giver.name,
            to_tank=taker.name,
            l_per_day=taker.all_l,
            below_l=rule.move.below_l,
            keep_l=rule.move.keep_l,
        )
        site = site.model_copy(update={"transfer": [more]})
    garden = garden_of(site).restructured(mains=("none",) * len(site.tank))
    dates = found.years.dates
    _, kept = drive(garden, season_of(site, dates), sky_of_years(site, found.years), keep=RISK)
    return risk_of(site, response_of(site, dates).ky, kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"]).harm


def test_each_rule_does_what_its_site_file_would():
    found, _ = school()
    assert found.rules[0] == PRESENT
    kinds = [
        next(n for n, rule in enumerate(found.rules) if rule.trigger == "dry"),
        next(n for n, rule in enumerate(found.rules) if rule.trigger == "refill" and rule.move is None),
        next(n for n, rule in enumerate(found.rules) if rule.move is not None),
        0,
    ]
    for number in kinds:
        np.testing.assert_allclose(found.harm[number], alone(found.rules[number]), atol=1e-12)


def test_none_does_better_than_foresight():
    found, _ = school()
    still = [number for number, rule in enumerate(found.rules) if rule.move is None]
    assert np.all(found.harm[still].min(axis=0) >= found.bound - 1e-6)
    assert np.all(found.harm.min(axis=0) >= found.moved_bound - 1e-6)
    assert np.all(found.moved_bound <= found.bound + 1e-9)


def test_a_summer_has_no_say_in_its_own_rule():
    found, _ = school()
    for year in range(found.harm.shape[1]):
        others = np.delete(found.harm, year, axis=1).mean(axis=1)
        assert found.chosen[year] == others.argmin()


def test_the_shares_of_crop_water_that_the_demo_lacks():
    """Found once by another programme: 11.2 % under the present plan, 10.8 % by the best simple rule.

    Ky of these crops is 1 to 1.15, so the yield at risk lies a little above.
    """
    found, _ = school()
    assert 0.112 <= found.harm[0].mean() <= 0.112 * 1.15
    assert 0.108 <= found.of_each_year(found.unmoved).mean() <= 0.108 * 1.15
    assert found.of_each_year(found.chosen).mean() < found.of_each_year(found.unmoved).mean()


def test_progress_is_told_for_every_summer_and_bound():
    _, told = school()
    assert told == [(done, 24) for done in range(1, 25)]


def test_draws_are_served_no_less_than_now():
    found, _ = school()
    assert found.left_out > 0
    assert Rule("refill", 10.0, None) in found.rules
    assert Rule("refill", 10.0, Move(0, 1, 180.0, 0.0)) not in found.rules


@pytest.mark.parametrize("name", ["bound", "moved_bound"])
def test_every_summer_has_its_bound(name):
    assert not np.isnan(getattr(school()[0], name)).any()


def test_without_rules_the_thirstiest_summer_tells_how_close_the_plan_is():
    """The very figures that rules and bounds over all summers have for it."""
    found, _ = school()
    alone = find_odds(open_site(ROOT / "data_demo" / "years" / "site.toml", every_year=True), keep_levels=False)
    (thirstiest,) = alone.recorded.worst_first()[:1]
    assert alone.unaided.is_proven
    assert alone.unaided.yield_at_risk == pytest.approx(found.harm[0, thirstiest], rel=1e-9)
    assert alone.unaided.least == pytest.approx(found.bound[thirstiest], rel=1e-6)
    np.testing.assert_allclose(alone.alone, found.harm[0], atol=1e-12)
    told = answer(alone)
    words = (
        "Stored rain alone would lose 11.9 % of the yield in a mean summer and 32.4 % in 2019, when no plan could lose "
        "less than 27.8 % without moving water."
    )
    assert told.verdict[1].endswith(words)
    assert any(line.endswith(" --rules") for line in told.of_kind("tell"))
    assert told.facts["unaided"]["present_yield_at_risk"] == pytest.approx(found.harm[0].mean())
    assert [one["year"] for one in told.facts["unaided"]["years"]] == [str(year) for year in found.years.label]
    assert told.facts["unaided"]["year"] == str(found.years.label[thirstiest]) == "2019"


def test_beside_drawn_summers_the_recorded_ones_on_rain_alone_are_called_so():
    opened = open_site(ROOT / "data_demo" / "years" / "site.toml", every_year=True)
    told = answer(find_odds(opened, Wanted("blocks", years=100), keep_levels=False))
    assert "11.9 % of the yield in a mean recorded summer and 32.4 % in 2019" in told.verdict[1]
