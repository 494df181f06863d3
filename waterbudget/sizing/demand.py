"""What each tank is asked for when it never runs short, and what runs into it: a size has to join the two."""

from dataclasses import dataclass

import numpy as np

from waterbudget.errors import InputError
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.sizing.stretch import Stretch
from waterbudget.sizing.years import Days, side_by_side
from waterbudget.tables.read import named
from waterbudget.units import Array

ENDLESS_L = 1e9  # more than any garden asks for in a lifetime
KEEP = Keep(each=("tanks.asked_l", "tanks.inflow_l"))


@dataclass(frozen=True, eq=False)
class Demand:
    """A tank's demand and inflow of every day, (day, string) [L]."""

    asked_l: Array
    inflow_l: Array
    stretch: Stretch

    @property
    def asked_l_a_year(self) -> float:
        """Mean demand of a counted year [L]."""
        return self._a_year(self.asked_l)

    @property
    def inflow_l_a_year(self) -> float:
        """Mean inflow of a counted year [L]."""
        return self._a_year(self.inflow_l)

    @property
    def is_asked(self) -> bool:
        """Whether anything is asked on some day of a counted year; less than SHORT_L is rounding, however often."""
        return bool(self.stretch.of_years(np.where(self.asked_l > SHORT_L, self.asked_l, 0.0)).any())

    def _a_year(self, litres: Array) -> float:
        return float(self.stretch.of_years(litres).mean())


def demands(site: Site, stretch: Stretch) -> list[Demand]:
    """The demand of each tank of the site, watered as if that tank alone were endless and full when a year begins.

    So the plants are as well watered as the plan allows, and ask for no more than that.
    """
    garden, season = of_soil_triggered_beds(garden_of(site), stretch.season)
    tanks = len(garden.names.tanks)
    number = np.arange(tanks)
    endless = number[:, None] == np.tile(number, stretch.strings)
    many = garden.changed(
        tanks={
            "capacity_l": np.where(endless, ENDLESS_L, garden.tanks.capacity_l),
            "start_l": np.where(endless, ENDLESS_L, garden.tanks.start_l),
        }
    )

    def filled(evening: State) -> State:
        return evening._replace(
            level_l=np.where(endless, ENDLESS_L, evening.level_l), mains_l=np.where(endless, 0.0, evening.mains_l)
        )

    days = Days(many, season, stretch.of_strings(slice(None), tanks))
    years = side_by_side(days, [some for _, some in stretch.in_a_row], KEEP, filled)
    asked_l, inflow_l = (np.concatenate([kept.each[name] for kept in years]) for name in KEEP.each)
    return [Demand(asked_l[:, one, one::tanks], inflow_l[:, one, one::tanks], stretch) for one in range(tanks)]


def chosen_tank(site: Site, name: str | None, demand: list[Demand]) -> int:
    """The number of the tank of that name; without a name the one that is asked for most.

    Raises InputError where there is no such tank, naming the nearest, or where nothing is asked of it.
    """
    names = [tank.name for tank in site.tank]
    if name is None:
        number = int(np.argmax([one.asked_l_a_year for one in demand]))
    else:
        number = names.index(named(name, names, "tank"))
    if not demand[number].is_asked:
        raise InputError(
            f'tank: nothing is asked of "{names[number]}" in this weather; give it a zone or a draw, '
            "or weather of the season in which they run"
        )
    return number
