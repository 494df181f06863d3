"""How long a zone may run at a time, by hand."""

import math

import pytest
from gardens import site_of
from spell.beans import table

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.pulse import pulses_of


def pulse(zone=(), beds=({"soil": "loam"},), **others):
    (bean,) = table()["bed"]
    named = [bean | {"name": f"Bed {n}"} | bed for n, bed in enumerate(beds)]
    site = site_of(table(zone=zone, **others) | {"bed": named})
    (found,) = pulses_of(site, garden_of(site))
    return found


def test_one_bed_by_hand():
    """10 L/min on 10 m² are 60 mm/h; loam takes 15, and 5 mm stand after 5/45 h."""
    found = pulse()
    assert found.rate_mm_h == pytest.approx(60.0)
    assert found.longest_minutes == pytest.approx(60 * 5 / 45)
    assert found.pause_h == 1
    assert [found.parts(minutes) for minutes in (6, 7, 20, 21)] == [1, 2, 3, 4]


def test_what_drifts_off_does_not_fall_on_the_bed():
    assert pulse(zone={"efficiency": 0.5}).rate_mm_h == pytest.approx(30.0)


def test_beds_share_the_flow_at_once_or_have_all_of_it_in_turn():
    two = ({"soil": "loam"}, {"soil": "loam"})
    at_once, in_turn = pulse(beds=two), pulse(beds=two, effort={"by_hose": ["Line"]})
    assert at_once.rate_mm_h == pytest.approx(30.0)
    assert in_turn.rate_mm_h == pytest.approx(60.0)
    assert in_turn.longest_minutes == pytest.approx(2 * 60 * 5 / 45), "the round has a turn for each bed"


def test_the_bed_that_takes_least_sets_the_run():
    assert pulse(beds=({"soil": "sand"}, {"soil": "clay"})).bed == "Bed 1"


def test_clay_needs_a_longer_pause():
    """5 mm at 3 mm/h are gone after 100 minutes."""
    found = pulse(beds=({"soil": "clay"},))
    assert found.pause_h == 2
    assert found.most == 7, "in twelve hours"


@pytest.mark.parametrize(
    "limitless",
    [
        {"beds": ({},)},
        {"beds": ({"soil": "clay", "pots": 4, "pot_litres": 20, "pot_diameter_cm": 30},)},
        {"effort": {"by_can": ["Line"]}},
        {"zone": {"flow_l_min": 2}},
        {"beds": ({"soil": "loam", "share": 0}, {"soil": "sand", "area_m2": 100})},
    ],
)
def test_no_soil_named_pots_cans_and_gentle_rain_set_no_limit(limitless):
    found = pulse(**limitless)
    assert found.longest_minutes == math.inf
    assert found.parts(10_000) == 1
