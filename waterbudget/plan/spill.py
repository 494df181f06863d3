"""How much a store can run over on wet days: straight lines that leave every plan's days allowed.

A store runs over only what does not fit into it. So on some wet days together it spills no more than was in it on the
first of them and ran in since, less what must be drawn and what it holds. That is never less than nothing, a bend in
what was in it: here stands the chord from the emptiest to the fullest that it could be.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from waterbudget.plan.prospect import Prospect
from waterbudget.units import Array, IntArray

WET_DAYS = 10  # in a row that a line looks at; more make a summer's bound no tighter
LITRES = 1e-9


class Lines(NamedTuple):
    """Wet days that follow each other, (line, day): all they spill is at most base_l, and per_l for each litre in the
    store on the first of them, (line,), after transfers and, where the day's own water can be drawn, after draws.
    """

    days: IntArray
    base_l: Array
    per_l: Array


def spill_lines(prospect: Prospect, tank: int) -> Iterator[Lines]:
    """The lines of a store that no other runs over into, by how many wet days they look at: first one, then more.

    A day alone is all that is known where water comes from a transfer or the mains, too.
    """
    stores = prospect.stores
    capacity_l, caught_l = float(stores.capacity_l[tank]), stores.caught_l[:, tank]
    is_fed = bool(stores.helped[:, tank].any()) or any(taker == tank for _, taker in prospect.moves.ways)
    emptiest_l, fullest_l, drawn_l = _held(prospect, tank, is_fed=is_fed)
    wet = np.flatnonzero(caught_l > 0.0)
    more_l = most_l = caught_l[wet]
    for many in range(1, min(1 if is_fed else WET_DAYS, len(wet)) + 1):
        first, last = wet[: len(wet) - many + 1], wet[many - 1 :]
        if many > 1:
            more_l = more_l[: len(first)] + caught_l[last] - (drawn_l[last] - drawn_l[wet[many - 2 : -1]])
            most_l = np.maximum(most_l[: len(first)], more_l)
        least_l, full_l = (np.maximum(held[first] + most_l - capacity_l, 0.0) for held in (emptiest_l, fullest_l))
        per_l = (full_l - least_l) / np.maximum(fullest_l[first] - emptiest_l[first], LITRES)
        days = np.stack([wet[place : place + len(first)] for place in range(many)], axis=1)
        tells = (full_l > 0.0) | (many == 1)  # else the lines of its days alone say it, too
        yield Lines(days[tells], (least_l - per_l * emptiest_l[first])[tells], per_l[tells])


def _held(prospect: Prospect, tank: int, *, is_fed: bool) -> tuple[Array, Array, Array]:
    """The least and the most that can be in a store before it spills on each day, and what must be drawn until then.

    The most is what it holds if nothing else is ever drawn. With "before_spill" what is drawn may come from the day's
    own water, so that less than nothing may have been in it.
    """
    stores, takers = prospect.stores, prospect.takers
    capacity_l, caught_l = float(stores.capacity_l[tank]), stores.caught_l[:, tank]
    level_l, is_tight = float(stores.level_l[tank]), float(stores.loss_l_per_day[tank]) == 0.0
    least_l = min(float(stores.dead_l[tank]), level_l) if is_tight else 0.0
    must_l = takers.asked_l[:, (takers.draw_tank == tank) & ~takers.rations].sum(axis=1)
    early_l = must_l if stores.before_spill else np.zeros(prospect.days)
    emptiest_l = least_l - (caught_l if stores.before_spill else np.zeros(prospect.days))
    fullest_l = np.full(prospect.days, capacity_l)
    if not is_fed:
        for day in range(prospect.days):
            fullest_l[day] = level_l - early_l[day]
            level_l = min(fullest_l[day] + float(caught_l[day]), capacity_l) - (must_l[day] - early_l[day])
    return emptiest_l, np.maximum(fullest_l, emptiest_l), np.cumsum(must_l) - (must_l - early_l)
