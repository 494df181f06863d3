"""What if: every position is what a garden with that number would do from this evening on."""

import datetime as dt
from pathlib import Path

import pytest
from change.test_now import DAY, JULY, forecast, garden, known, told

from waterbudget.change.today import Ask, find_today
from waterbudget.change.what_if import Position, what_if
from waterbudget.errors import InputError, SiteError

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"
LIMIT = "bed.Bed.root_limit_m"


@pytest.fixture(scope="module")
def demo():
    return find_today(DEMO, Ask(on=dt.date(2031, 7, 5)))


@pytest.mark.parametrize(
    ("key", "now", "values"),
    [
        ("zone.South line.minutes", 12.0, [0.0, 4.0, 8.0, 12.0, 30.0]),
        ("zone.North line.every_days", 1, [1, 2, 3, 7]),
        ("tank.Shed butt.capacity_l", 350.0, [50.0, 200.0, 350.0, 1000.0]),
    ],
)
def test_as_now_is_today_s_own(demo, key, now, values):
    found = what_if(demo, key, now, values)
    assert (found.now.value, found.now.lasts, found.now.short) == (now, demo.lasts, ("Shed butt",))
    assert found.now.day == demo.known.today + demo.lasts * DAY
    assert [position.value for position in found.positions] == values
    assert found.positions[values.index(now)] == found.now


def test_minutes_by_hand():
    """150 L are left and 5 L/min: three days of 10 minutes, six of 5, thirty of 1, one of 30; 0 take nothing."""
    found = what_if(told(), "zone.Line.minutes", 10.0, [0.0, 1.0, 5.0, 30.0])
    assert [position.lasts for position in found.positions] == [None, 30, 6, 1]
    assert found.positions[0] == Position(0.0, None, None, ())
    assert found.positions[2] == Position(5.0, 6, JULY + 6 * DAY, ("Butt",))


def test_days_by_hand():
    """Counted from 29 June, the first day of the run: on 2 July for 3 days, on 3 July for 2 and 4."""
    found = what_if(told(), "zone.Line.every_days", 1, [2, 3, 4])
    assert [position.lasts for position in found.positions] == [7, 9, 13]


def test_a_smaller_store_keeps_what_it_holds():
    """Of 150 L a store of 100 keeps two days' water; a larger one has no more than there is."""
    found = what_if(told(), "tank.Butt.capacity_l", 500.0, [40.0, 100.0, 149.0, 500.0, 2000.0])
    assert [position.lasts for position in found.positions] == [0, 2, 2, 3, 3]


def test_what_was_run_this_morning_stays_done():
    found = what_if(told(ran={JULY: 10.0}), "zone.Line.minutes", 10.0, [5.0, 10.0])
    assert [position.lasts for position in found.positions] == [5, 3]  # 100 L and 25 a day; 50 a day


@pytest.mark.parametrize("minutes", [0.5, 2.0, 5.0, 9.0, 25.0])
def test_a_position_is_what_today_tells_of_a_garden_with_this_number(minutes):
    """Its store was read yesterday evening, and its timer asks no soil, so the days before do not matter."""
    (position,) = what_if(told(), "zone.Line.minutes", 10.0, [minutes]).positions
    again = told(known(site=garden(minutes=minutes)), readings={"Butt": {JULY - DAY: 150.0}})
    assert position.lasts == again.lasts


@pytest.mark.parametrize("root_limit_m", [0.1, 0.2, 0.3, 0.4])
def test_shallower_roots_are_dry_sooner_from_today_on(root_limit_m):
    """A key that changes what stands in the beds: 4 mm a day go, so that a dry bed asks sooner the less it holds.

    The soil is moist on the eve, so a garden that always had such roots is in the same state.
    """
    dry = {"plan": "dry", "dry_at": 1.0}
    rooted = known(et0_mm=0.0, site=garden(**dry).changed({"bed.Bed.root_limit_m": 1.0}))
    (position,) = what_if(told(rooted, forecast(*[0.0] * 40)), LIMIT, 1.0, [root_limit_m]).positions
    again = known(et0_mm=0.0, site=garden(**dry).changed({LIMIT: root_limit_m}))
    assert position.lasts == told(again, forecast(*[0.0] * 40)).lasts


def test_what_no_site_may_have_is_refused():
    with pytest.raises(InputError, match="is no key of this site"):
        what_if(told(), "zone.Line.minute", 10.0, [5.0])
    with pytest.raises(SiteError):
        what_if(told(), "zone.Line.minutes", 10.0, [-1.0])
    assert what_if(told(known(site=garden())), "zone.Line.minutes", 10.0, []).positions == ()
