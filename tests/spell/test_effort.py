"""The person's minutes, by hand, and the table that tells them."""

import re
from pathlib import Path

import pytest
from gardens import site_of
from pydantic import ValidationError
from spell.beans import spell, table

from waterbudget.example import site_path
from waterbudget.site import model
from waterbudget.site.model import Effort
from waterbudget.spell.plans import OFF, Option
from waterbudget.spell.trial import sensitivity_of, try_plans

DAYS = 21
EVERY = Option(5.0, 1, "timer")


def week(*plans, effort=(), **parts):
    """Minutes a week of each plan."""
    site, eve = spell(table(effort=dict(effort), **parts))
    trial = try_plans(site, eve, [(plan,) for plan in plans], sensitivity_of(site, eve).ky)
    return pytest.approx(trial.week_minutes.tolist(), rel=1e-12)


def test_a_valve_is_opened_once_a_run():
    assert week(EVERY, Option(5.0, 3, "timer"), OFF) == [7.0, 7 * 7.0 / DAYS, 0.0]
    assert week(EVERY, zone={"runs_per_day": 2}, effort={"valve_minutes": 1.5}) == [21.0]


def test_a_hose_is_moved_to_every_bed():
    (bed,) = table()["bed"]
    others = [bed | {"name": name} for name in ("Other bed", "Third bed")]
    site, eve = spell(table(effort={"by_hose": ["Line"]}) | {"bed": [bed, *others]})
    trial = try_plans(site, eve, [(EVERY,)], sensitivity_of(site, eve).ky)
    assert trial.week_minutes.item() == pytest.approx(3 * 2 * 7.0)


def test_every_started_can_is_carried():
    """Five minutes at 10 L are 50 L: five cans of 10 L, or five of 12 L with the last not full."""
    assert week(EVERY, effort={"by_can": ["Line"]}) == [5 * 2 * 7.0]
    assert week(EVERY, effort={"by_can": ["Line"], "can_l": 12, "can_minutes": 3}) == [5 * 3 * 7.0]
    empty_soon = {"start_l": 70, "capacity_l": 100}
    assert week(EVERY, effort={"by_can": ["Line"]}, tank=empty_soon) == [5 * 2 * 7.0], "then from the mains"


def test_a_charge_is_shared_out_over_its_minutes():
    assert week(EVERY, effort={"by_battery": ["Line"]}) == [7 * 5 * 5 / 360]


def test_somebody_feels_the_soil_on_every_day_that_is_due():
    """At 5 mm a day the soil reaches 40 mm, 0.8 of RAW, on the ninth morning; a run brings it back."""
    dry = Option(50.0, 1, "dry")
    assert week(dry) == [(DAYS + 2) * 7 / DAYS]
    assert week(dry, effort={"look_minutes": 0}) == [2 * 7 / DAYS]
    assert week(Option(50.0, 4, "dry"), effort={"valve_minutes": 0}) == [6 * 7 / DAYS]
    assert week(Option(50.0, 1, "refill"), effort={"valve_minutes": 0}) == [7.0]


def test_draws_take_time_in_cans_only():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 15}]
    assert week(OFF, draw=hens) == [0.0]
    assert week(OFF, draw=hens, effort={"by_can": ["Hens"]}) == [2 * 2 * 7.0]


@pytest.mark.parametrize(
    ("effort", "words"),
    [
        ({"by_hose": ["Lin"]}, 'by_hose names "Lin", which is not there; write names of "Line"'),
        ({"by_battery": ["Hens"]}, 'by_battery names "Hens", which is not there'),
        ({"by_hose": ["Line"], "by_can": ["Line"]}, 'names "Line" twice; name it once'),
        ({"can_l": 0}, "greater than 0"),
        ({"valve_minutes": -1}, "greater than or equal to 0"),
        ({"hose": 1}, "Extra inputs"),
    ],
)
def test_what_cannot_be_is_refused(effort, words):
    with pytest.raises(ValidationError, match=words):
        site_of(table(effort=effort, draw=[{"name": "Hens", "tank": "Butt", "l_per_day": 15}]))


def test_every_key_is_shown_in_the_example_and_the_starter():
    for path in (site_path(), Path(model.__file__).with_name("starter.toml")):
        (section,) = re.findall(r"(?m)^#?\[effort\]\D.*?(?=^\n)", path.read_text("utf-8"), re.DOTALL)
        shown = set(re.findall(r"(?m)^#?([a-z_]+) = .*# ", section))
        assert shown == set(Effort.model_fields), path


def test_defaults_are_marked_as_common_practice():
    assert "common practice, no source" in Effort.__doc__
    assert "common practice" in site_path().read_text("utf-8").partition("[effort]")[2].partition("[[roof]]")[0]
