"""What if one number of a garden were another from today on: positions of a slider side by side, if it stays dry."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from waterbudget.change.known import DAY
from waterbudget.change.now import Now
from waterbudget.change.tonight import DRY
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.simulate.lanes import alike, evened, season_key, season_of_all, side_by_side
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.units import Array

KEEP = Keep(firsts=("tanks.fails",))
CAPACITY = "capacity_l"


class Position(NamedTuple):
    """What a value of the slider would do: for how many days from today the stores last, and which run short when.

    lasts, day: None for longer than was looked; then none runs short.
    """

    value: float
    lasts: int | None
    day: dt.date | None
    short: tuple[str, ...]


class WhatIf(NamedTuple):
    """All positions of a slider, and how it is now. key: of the site, such as "zone.North line.minutes"."""

    key: str
    now: Position
    positions: tuple[Position, ...]


def what_if(found: Now, key: str, value_now: float, values: Sequence[float]) -> WhatIf:
    """The positions of a slider from this evening on, if it stays dry; what was done until today stays as it was.

    key: a number of the site, such as "zone.North line.minutes"; value_now: as the site has it. A store that would be
    smaller than what is in it keeps what it can hold. Raises InputError for a key that no site has, SiteError for a
    value that none may have.
    """
    asked = [value_now, *values]
    sites = [found.known.site, *(_changed(found.known.site, key, value) for value in values)]
    gardens = [garden_of(site) for site in sites]
    reckoned: dict[int, Position] = {}
    for numbers in alike(gardens):
        fails = _fails(found, [sites[number] for number in numbers], [gardens[number] for number in numbers])
        told = _positions(found, [asked[number] for number in numbers], fails)
        reckoned |= zip(numbers, told, strict=True)
    now, *positions = (reckoned[number] for number in range(len(sites)))
    return WhatIf(key, now, tuple(positions))


def _changed(site: Site, key: str, value: float) -> Site:
    """The site with another value; with a smaller store its level on the first day comes down with it."""
    kind, _, rest = key.partition(".")
    name, _, field = rest.rpartition(".")
    tank = next((tank for tank in site.tank if (kind, tank.name, field) == ("tank", name, CAPACITY)), None)
    lowered = {} if tank is None else {f"tank.{name}.start_l": min(tank.start_l, value)}
    return site.changed({key: value} | lowered)


def _fails(found: Now, sites: Sequence[Site], gardens: Sequence[Garden]) -> Array:
    """First day from today on which each store is short, (tank, garden)."""
    tonight, garden = found.tonight, side_by_side(evened(gardens), 1)
    eve, sky = tonight.in_sky(DRY)
    dates, begun, present = tonight.season.dates, tonight.season.begun.astype("M8[D]")[0], season_key(found.known.site)
    season = season_of_all(
        sites, lambda site: tonight.season if season_key(site) == present else season_of(site, dates, begun)
    )
    _, kept = drive(garden, season, sky, _held(eve, garden, season), tonight.actions, KEEP)
    return kept.firsts["tanks.fails"]


def _held(eve: State, garden: Garden, season: Season) -> State:
    """The evening with no more in a store, and no more missing from a soil, than it holds."""
    lanes = garden.lanes
    level_l = np.minimum(eve.level_l, garden.tanks.capacity_l)
    taw_mm = garden.beds.taw_mm(season.zr_m[0]) / season.handed_over[0]
    held = eve._replace(depletion_mm=np.minimum(eve.depletion_mm, taw_mm)).wide(lanes)
    for tank in range(len(level_l)):
        held = held.dipped(tank, np.broadcast_to(level_l[tank], lanes))
    return held


def _positions(found: Now, values: Sequence[float], fails: Array) -> Iterator[Position]:
    tanks = found.tonight.garden.names.tanks
    for value, days in zip(values, fails.T, strict=True):
        first = float(days.min())
        if first == NEVER:
            yield Position(value, None, None, ())
        else:
            short = tuple(name for name, day in zip(tanks, days, strict=True) if day == first)
            yield Position(value, int(first), found.known.today + int(first) * DAY, short)
