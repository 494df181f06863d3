"""Every quantity of roofs, feeds, tanks and transfers, reckoned once."""

from functools import cached_property, reduce
from operator import add

import numpy as np

from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.day_books import DayBooks, Part
from waterbudget.units import Array, BoolArray


class RoofPages(Part):
    """Litres of the rain on the roofs; what falls on one is caught, flushed, lost at the filter or kept."""

    def __init__(self, days: DayBooks) -> None:
        super().__init__(days)
        self.on_roof_l, self.caught_l, self.flushed_l, self.filter_l, self.kept_l = days.course.roofs


class FeedPages(Part):
    """Litres of springs and other feeds."""

    @property
    def fed_l(self) -> Array:
        """What came of each."""
        return self.days.course.fed_l


class TransferPages(Part):
    """Litres moved from store to store."""

    @cached_property
    def moved_l(self) -> Array:
        """By each transfer."""
        return self.days.beside(list(zip(*(book.moved_l for book in self.days.books), strict=True)))

    @cached_property
    def is_moved(self) -> BoolArray:
        """Whether a transfer moved something."""
        return self.moved_l > SHORT_L


class TankPages(Part):
    """Litres of the tanks."""

    def __init__(self, days: DayBooks, transfers: TransferPages) -> None:
        """transfers: of the same days."""
        super().__init__(days)
        self.transfers = transfers

    def _booked(self, name: str) -> Array:
        of_tanks = zip(*(book.tanks.each for book in self.days.books), strict=True)
        return self.days.beside([[getattr(day, name) for day in days] for days in of_tanks])

    @cached_property
    def let_in_l(self) -> Array:
        """Through the float valve in the morning."""
        return self._booked("let_in_l")

    @cached_property
    def inflow_l(self) -> Array:
        """From roofs, feeds, other tanks' spill, and what people let in."""
        return self._booked("inflow_l")

    @cached_property
    def asked_l(self) -> Array:
        """By zones and draws."""
        return self._booked("asked_l")

    @cached_property
    def wet_l(self) -> Array:
        """Drawn from what the store held."""
        return self._booked("wet_l")

    @cached_property
    def mains_share(self) -> Array:
        """Of mains water in the day's mixture."""
        return self._booked("mains_share")

    @cached_property
    def spilled_l(self) -> Array:
        """Over the top."""
        return self._booked("spilled_l")

    @cached_property
    def lost_l(self) -> Array:
        """Leaked or evaporated."""
        return self._booked("lost_l")

    @cached_property
    def level_l(self) -> Array:
        """In the evening."""
        return self.days.stacked([book.tanks.level_l for book in self.days.books])

    @cached_property
    def made_up_l(self) -> Array:
        """What the mains gave in place of what the store lacked."""
        makes_up = self.days.course.makes_up
        lacking_l = self.asked_l - self.wet_l
        return lacking_l * (0.0 if makes_up is None else makes_up)

    @cached_property
    def late_l(self) -> Array:
        """What ran in through the float valve while it was drawn."""
        return self.made_up_l * self._kinds("float")

    @cached_property
    def drawn_l(self) -> Array:
        """What the store gave, its valve's water included."""
        if not self._has_valves:
            return self.wet_l
        return self.wet_l + self.late_l

    @cached_property
    def drawn_mains_l(self) -> Array:
        """Mains water in what the store gave."""
        if not any(self.days.structure.holds_mains):
            return self.wet_l * 0.0
        return self.mains_share * self.wet_l + self.late_l

    @cached_property
    def mains_l(self) -> Array:
        """What valve or hose gave."""
        return self.let_in_l + self.made_up_l

    @cached_property
    def short_l(self) -> Array:
        """What was asked for and not drawn."""
        return self.asked_l - self.drawn_l

    @cached_property
    def moved_in_l(self) -> Array:
        """By transfers."""
        return self._moved(1)

    @cached_property
    def moved_out_l(self) -> Array:
        """By transfers."""
        return self._moved(0)

    def _moved(self, end: int) -> Array:
        moves = self.days.structure.moves
        tanks = range(len(self.days.structure.mains))
        there = np.array([[float(move[end] == tank) for move in moves] for tank in tanks]).reshape(len(tanks), -1)
        moved_l = self.transfers.moved_l
        none_l = self.days.xp.zeros((len(moved_l), len(tanks), 1))
        return reduce(add, (moved_l[:, [n]] * there[:, n][None, :, None] for n in range(len(moves))), none_l)

    @cached_property
    def is_short(self) -> BoolArray:
        """Whether a store could not give all that was asked of it."""
        return self.short_l > SHORT_L

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether a store was asked for water."""
        return self.asked_l > SHORT_L

    @cached_property
    def is_met(self) -> BoolArray:
        """Whether a store was asked for water and gave all of it without mains water."""
        return self.is_asked & ~self.fails

    @cached_property
    def fails(self) -> BoolArray:
        """Whether its own water was not enough: it was short, or its float valve opened."""
        return self.is_short | (self.mains_l > SHORT_L)
