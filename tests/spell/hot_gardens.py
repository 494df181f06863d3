"""Hot spells at the demo gardens and over a bed of beans, as findings with their words."""

import datetime as dt
import functools
from pathlib import Path

from asking import DEMO
from gardens import site_of
from spell.beans import FIRST, table, weather

from waterbudget.questions import find_hotspell
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.spell.hot import Spell


@functools.cache
def school():
    return find_hotspell(open_site(DEMO / "site.toml"), Spell())


@functools.cache
def allotment():
    return find_hotspell(open_site(DEMO / "allotment" / "site.toml"), Spell(first=dt.date(2033, 5, 25)))


def beans(days=21, **parts):
    """The bed of beans in a spell of Hargreaves' ET0, near 5 mm a day."""
    spell = Spell(days, 26.0, 15.0, first=FIRST)
    return find_hotspell(Opened(Path("site.toml"), site_of(table(**parts)), weather(), ()), spell)


def longest_words():
    """As many stores, zones and beds as are drawn, with the longest names."""
    names = [f"{number} {'W' * 60}" for number in range(4)]
    (zone,), (bed,) = table()["zone"], table()["bed"]
    tables = table() | {
        "tank": [{"name": name, "capacity_l": 3000, "dead_l": 200, "start_l": 1500} for name in names],
        "zone": [zone | {"name": f"Z{name}", "tank": name, "minutes": 9} for name in names],
        "bed": [bed | {"name": f"B{name}", "zone": f"Z{name}"} for name in names],
    }
    return find_hotspell(Opened(Path("site.toml"), site_of(tables), weather(), ()), Spell(92, 35.0, first=FIRST))
