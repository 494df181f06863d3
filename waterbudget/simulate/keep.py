"""What is wanted of a run, and what was found: quantities by name, folded over its days."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from waterbudget.simulate.pages import Pages
from waterbudget.simulate.state import with_columns
from waterbudget.units import Array, BoolArray, IntArray, Namespace, Values

NEVER = np.inf


@dataclass(frozen=True)
class Keep:
    """Names of the quantities wanted, such as "tanks.mains_l".

    sums: over all days; of what is or is not that is a count of days. firsts: the first day on which something is.
    lows: lowest values. each: every day.
    """

    sums: tuple[str, ...] = ()
    firsts: tuple[str, ...] = ()
    lows: tuple[str, ...] = ()
    each: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Kept:
    """What was found, by name: arrays (item, lane), or (lane,) of the whole garden; each: (day, item, lane).

    days: how many there were. firsts: counted from 0, NEVER where it never was.
    """

    days: int
    sums: Mapping[str, Array]
    firsts: Mapping[str, Array]
    lows: Mapping[str, Array]
    each: Mapping[str, Array]

    def of_lanes(self, some: slice) -> "Kept":
        """The same of some lanes."""
        return self._each(lambda rows: rows[..., some])

    def with_lanes(self, some: IntArray, others: "Kept") -> "Kept":
        """The same with what others found in the place of some lanes."""
        return self._each(lambda rows, new: with_columns(rows, some, new), others)

    def _each(self, change: Callable[..., Array], *others: "Kept") -> "Kept":
        sums, firsts, lows, each = (
            {name: change(*(getattr(kept, kind)[name] for kept in (self, *others))) for name in getattr(self, kind)}
            for kind in ("sums", "firsts", "lows", "each")
        )
        return Kept(self.days, sums, firsts, lows, each)

    @property
    def days_lasted(self) -> IntArray:
        """Whole days before the first on which a store was short or its float valve opened, (lane,)."""
        return np.minimum(self.firsts["whole.fails"], self.days).astype(np.int64)


NOTHING = Keep()

Folded = tuple[dict[str, Array], dict[str, Array], dict[str, Array]]


def fold(xp: Namespace, keep: Keep, pages: Pages, day: Values) -> Folded:
    """Sums, first days and lowest values of some days, the first of which has the number `day`."""
    return (
        {name: pages.quantity(name).sum(axis=0, dtype=float) for name in keep.sums},
        {name: first_of(xp, pages.flag(name), day) for name in keep.firsts},
        {name: pages.quantity(name).min(axis=0) for name in keep.lows},
    )


def joined(xp: Namespace, before: Folded, now: Folded) -> Folded:
    """The same of some days and of those that follow them."""
    (sums, firsts, lows), (more, later, lower) = before, now
    return (
        {name: was + more[name] for name, was in sums.items()},
        {name: xp.minimum(was, later[name]) for name, was in firsts.items()},
        {name: xp.minimum(was, lower[name]) for name, was in lows.items()},
    )


def first_of(xp: Namespace, happens: BoolArray, day: Values) -> Array:
    """The first of some days on which something happens (day, …), NEVER where it does not."""
    is_ever: Any = happens.any(axis=0)
    return xp.where(is_ever, day + happens.argmax(axis=0), NEVER)
