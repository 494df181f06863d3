"""What each tank is asked for when it never runs short, what runs into it, and what it lacks as it is."""

from dataclasses import dataclass

import numpy as np

from waterbudget.errors import InputError
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.sizing.stretch import NOT_COUNTED, Stretch
from waterbudget.sizing.years import Days, side_by_side
from waterbudget.tables.read import named
from waterbudget.units import Array

ENDLESS_L = 1e9  # more than any garden asks for in a lifetime
KEEP = Keep(sums=("tanks.asked_l", "tanks.drawn_l", "tanks.drawn_mains_l"), each=("tanks.asked_l", "tanks.inflow_l"))


@dataclass(frozen=True, eq=False)
class Demand:
    """A tank's demand and inflow of every day, (day, string) [L].

    lacked_l: what the tank as it is was asked for and did not give in stored rain, (counted year,) [L].
    """

    asked_l: Array
    inflow_l: Array
    lacked_l: Array
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

    @property
    def lacked_l_in_all(self) -> float:
        """What the tank as it is lacked in all counted years [L]; less than SHORT_L is rounding."""
        lacked_l = float(self.lacked_l.sum())
        return lacked_l if lacked_l > SHORT_L else 0.0

    def _a_year(self, litres: Array) -> float:
        return float(self.stretch.of_years(litres).mean())


def demands(site: Site, stretch: Stretch) -> list[Demand]:
    """The demand of each tank of the site, watered as if that tank alone were endless and full when a year begins.

    So the plants are as well watered as the plan allows, and ask for no more than that. What each lacks is of one more
    lane of a string, the garden as it is.
    """
    garden, season = of_soil_triggered_beds(garden_of(site), stretch.season)
    tanks = len(garden.names.tanks)
    lanes = tanks + 1
    endless = np.arange(tanks)[:, None] == np.tile(np.arange(lanes), stretch.strings)
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

    days = Days(many, season, stretch.of_strings(slice(None), lanes))
    years = side_by_side(days, [some for _, some in stretch.in_a_row], KEEP, filled)
    asked_l, inflow_l = (np.concatenate([kept.each[name] for kept in years]) for name in KEEP.each)
    counted = [kept.sums for (year, _), kept in zip(stretch.in_a_row, years, strict=True) if year != NOT_COUNTED]
    lacked_l = np.stack(
        [sums["tanks.asked_l"] - (sums["tanks.drawn_l"] - sums["tanks.drawn_mains_l"]) for sums in counted], axis=-1
    )
    as_it_is_l = lacked_l[:, tanks::lanes].reshape(tanks, -1)[:, : len(stretch.names)]
    return [
        Demand(asked_l[:, one, one::lanes], inflow_l[:, one, one::lanes], as_it_is_l[one], stretch)
        for one in range(tanks)
    ]


def chosen_tank(site: Site, name: str | None, demand: list[Demand]) -> int:
    """The number of the tank of that name; without a name the one that runs short most.

    That is the one that lacks most litres as it is; where none lacks any, the one that is asked for most.
    Raises InputError where there is no such tank, naming the nearest, or where nothing is asked of it.
    """
    names = [tank.name for tank in site.tank]
    if name is None:
        number = max(range(len(demand)), key=lambda one: (demand[one].lacked_l_in_all, demand[one].asked_l_a_year))
    else:
        number = names.index(named(name, names, "tank"))
    if not demand[number].is_asked:
        raise InputError(
            f'tank: nothing is asked of "{names[number]}" in this weather; give it a zone or a draw, '
            "or weather of the season in which they run"
        )
    return number
