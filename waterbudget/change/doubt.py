"""How far today's verdict hangs on when a day's rain counts: the days that are left under the other release rule."""

from dataclasses import replace
from typing import NamedTuple

from waterbudget.change.now import Now
from waterbudget.change.tonight import DRY, Tonight, tonight_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.site.release import with_other_release

KEEP = Keep(firsts=("tanks.fails",))
STEP_DAYS = 14  # run at once: most stores are short before long, and no more need be run then


class Doubt(NamedTuple):
    """The release rule of the site file; lasts: whole days from today that the stores last with the other one.

    None for longer than was looked, as in `Now`, if it stays dry.
    """

    release: str
    lasts: int | None


def find_doubt(found: Now) -> Doubt:
    """Run the days up to today, put right by each reading, and those ahead with the other release rule."""
    known = replace(found.known, site=with_other_release(found.known.site))
    tonight = tonight_of(known, found.ahead, found.readings, found.actions, found.fallen_mm)
    return Doubt(found.known.site.model.release, _lasts(tonight))


def _lasts(tonight: Tonight) -> int | None:
    evening, sky = tonight.in_sky(DRY)
    for first in range(0, len(sky.rain_mm), STEP_DAYS):
        some = slice(first, first + STEP_DAYS)
        season, actions = tonight.season.of(some), tonight.actions.of(some)
        evening, kept = drive(tonight.garden, season, sky.of(some), evening, actions, KEEP)
        fails = float(kept.firsts["tanks.fails"].min(initial=NEVER))
        if fails < NEVER:
            return first + int(fails)
    return None
