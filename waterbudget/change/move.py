"""Whether to move water from one store to another today: by a transfer of the site, or because it helps."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from waterbudget.change.known import Known
from waterbudget.change.to_do import MOVED
from waterbudget.change.tonight import DRY, EXPECTED, Tonight
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import NEVER, Keep, Kept
from waterbudget.units import Array

ROUND_L, LEAST_L = 10.0, 20.0  # a can; two of them
STEPS = 8  # amounts that are tried
LEAST_DAYS = 2  # that it makes the stores last longer, to be worth the carrying


class Move(NamedTuple):
    """Water to be moved today. name: the site's own transfer, None for one that it has not: then minutes are those of a
    person with cans, and the stores last so many days when it stays dry, None for longer than was looked.
    """

    name: str | None
    from_tank: str
    to_tank: str
    litres: float
    minutes: float
    lasts: int | None


def moves_of(known: Known, tonight: Tonight, kept: Kept, lasts: int | None) -> tuple[Move, ...]:
    """What to move today; kept: MOVED of each day. lasts: days that all stores last when it stays dry."""
    planned = tuple(_planned(known, kept))
    if planned or lasts is None or len(known.site.tank) == 1:
        return planned
    best = _best(known, tonight, lasts)
    return () if best is None else (best,)


def _planned(known: Known, kept: Kept) -> Iterator[Move]:
    for number, transfer in enumerate(known.site.transfer):
        litres = float(kept.each[MOVED][0, number, EXPECTED])
        if litres > SHORT_L:
            minutes = known.site.effort.transfer_minutes
            yield Move(transfer.name, transfer.from_tank, transfer.to_tank, litres, minutes, None)


def _best(known: Known, tonight: Tonight, lasts: int) -> Move | None:
    """What makes the stores last longest when it stays dry, by the least litres."""
    ways = [way for way in _ways(tonight) if way[2] >= LEAST_L]
    if not ways:
        return None
    state, sky = tonight.in_sky(DRY)
    given, taken, litres = (np.array(part) for part in zip(*ways, strict=True))
    level_l = np.repeat(state.level_l, len(ways), axis=1)
    lanes = np.arange(len(ways))
    level_l[given, lanes] -= litres
    level_l[taken, lanes] += litres
    moved = state.wide(len(ways))
    for tank, levels in enumerate(level_l):
        moved = moved.dipped(tank, levels)
    _, kept = drive(tonight.garden, tonight.season, sky, moved, tonight.actions, Keep(firsts=("whole.fails",)))
    days = kept.firsts["whole.fails"]
    longest = float(days.max())
    if longest < lasts + LEAST_DAYS:
        return None
    best = min((lane for lane in lanes if days[lane] == longest), key=lambda lane: litres[lane])
    tanks = tonight.garden.names.tanks
    amount_l = float(litres[best])
    left = None if longest == NEVER else int(longest)
    return Move(None, tanks[given[best]], tanks[taken[best]], amount_l, _by_can(known, amount_l), left)


def _ways(tonight: Tonight) -> Iterator[tuple[int, int, float]]:
    """From which store to which, and how much: no more than is within reach, and than there is room for."""
    tanks, level_l = tonight.garden.tanks, np.minimum(tonight.level_l[:, DRY], tonight.eve.level_l[:, DRY])
    fullest_l = np.maximum(tonight.level_l[:, DRY], tonight.eve.level_l[:, DRY])
    for given in range(len(level_l)):
        for taken in range(len(level_l)):
            if given != taken:
                reach_l = level_l[given] - tanks.dead_l[given, 0]
                room_l = tanks.capacity_l[taken, 0] - fullest_l[taken]
                yield from ((given, taken, litres) for litres in _amounts(min(reach_l, room_l)))


def _amounts(most_l: float) -> Array:
    """Amounts up to a greatest, rounded down to whole cans."""
    return np.unique(np.floor(np.linspace(0.0, max(most_l, 0.0), STEPS + 1)[1:] / ROUND_L) * ROUND_L)


def _by_can(known: Known, litres: float) -> float:
    effort = known.site.effort
    return math.ceil(litres / effort.can_l - SHORT_L) * effort.can_minutes
