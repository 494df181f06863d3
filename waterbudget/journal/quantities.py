"""What a fit may change in a garden: how a roof sheds and a diverter flushes, what a tank leaks and a line gives."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.units import L_PER_MM_M2, Array

# Widest that a search goes, and the change that a gardener would care for: common practice, no source.
MOST_FLUSH_MM, NOTABLE_FLUSH_MM = 5.0, 0.25  # on the roof's plan area
MOST_LEAK, NOTABLE_LEAK_L = 0.1, 1.0  # a day; the first as share of the capacity
LEAST_FLOW, MOST_FLOW, NOTABLE_FLOW = 0.1, 3.0, 0.05  # times what the site says
NOTABLE_COEFFICIENT = 0.05
NOTABLE_START = 0.05  # share of the capacity
START = "start_l"


@dataclass(frozen=True)
class Quantity:
    """One number of a garden.

    kind, number, key: its place in the site file, such as ("roof", 0, "first_flush_l"); the tank's start_l stands for
    the level on the day of the first reading and is never written there. name: of the roof, tank or zone. now: what
    the site says. low, high: the bounds of the search. notable: a change that matters. joined: of how many alike
    stores it is told for each.
    """

    kind: str
    number: int
    key: str
    name: str
    now: float
    low: float
    high: float
    notable: float
    joined: int = 1

    @property
    def is_start(self) -> bool:
        """Whether it is a level on the first day, which a fit needs but a site does not keep."""
        return self.key == START


def quantities_of(site: Site, first_l: Mapping[str, float]) -> tuple[Quantity, ...]:
    """What levels of some tanks can tell of; first_l: the first reading of each [L]."""
    return (
        *_of_roofs(site, first_l),
        *_of_tanks(site, first_l),
        *_of_zones(site, first_l),
        *(
            Quantity("tank", n, START, tank.name, first_l[tank.name], 0.0, tank.all_l, NOTABLE_START * tank.all_l)
            for n, tank in enumerate(site.tank)
            if tank.name in first_l
        ),
    )


def bounds(quantities: Sequence[Quantity]) -> tuple[Array, Array]:
    """Lowest and highest values of the search, (quantity,)."""
    return np.array([quantity.low for quantity in quantities]), np.array([quantity.high for quantity in quantities])


def with_values(garden: Garden, quantities: Sequence[Quantity], values: Array) -> Garden:
    """The garden, of one lane, with a lane for each row of values (lane, quantity)."""
    for quantity, value in zip(quantities, values.T, strict=True):
        number = quantity.number
        if quantity.kind == "zone":  # its runs take as long as before
            outlets, factor = garden.outlets, value / quantity.now
            rows_of = {"flow_l_min": outlets.flow_l_min, "run_l": outlets.run_l, "hot_run_l": outlets.hot_run_l}
            changes = {key: _with_row(rows, number, rows[number] * factor) for key, rows in rows_of.items()}
            garden = garden.changed(outlets=changes)
        elif not quantity.is_start:
            part, key = f"{quantity.kind}s", quantity.key
            rows = getattr(getattr(garden, part), key)
            garden = garden.changed(**{part: {key: _with_row(rows, number, value * quantity.joined)}})
    return garden


def _with_row(rows: Array, number: int, row: Array) -> Array:
    """The rows (item, lane), one of which is another (lane,), with as many lanes as that."""
    changed = np.repeat(rows, len(row) // rows.shape[-1], axis=-1)
    changed[number] = row
    return changed


def with_starts(state: State, quantities: Sequence[Quantity], values: Array) -> State:
    """The evening of the first reading with the levels that are among the values, (lane, quantity)."""
    state = state.wide(len(values))
    for quantity, value in zip(quantities, values.T, strict=True):
        if quantity.is_start:
            state = state.dipped(quantity.number, value)
    return state


def _of_roofs(site: Site, tanks: Collection[str]) -> Iterator[Quantity]:
    for number, roof in enumerate(site.roof):
        if roof.tank in tanks:
            mm_l, now_l = roof.area_m2 * L_PER_MM_M2, roof.first_flush_l
            yield Quantity("roof", number, "runoff_coefficient", roof.name, roof.runoff, 0.0, 1.0, NOTABLE_COEFFICIENT)
            most_l = max(MOST_FLUSH_MM * mm_l, 2.0 * now_l)
            yield Quantity("roof", number, "first_flush_l", roof.name, now_l, 0.0, most_l, NOTABLE_FLUSH_MM * mm_l)


def _of_tanks(site: Site, tanks: Collection[str]) -> Iterator[Quantity]:
    for number, tank in enumerate(site.tank):
        if tank.name in tanks:
            now_l = tank.loss_l_per_day
            most_l = max(MOST_LEAK * tank.capacity_l, 2.0 * now_l)
            yield Quantity(
                "tank", number, "loss_l_per_day", tank.name, now_l, 0.0, most_l, NOTABLE_LEAK_L, joined=tank.joined
            )


def _of_zones(site: Site, tanks: Collection[str]) -> Iterator[Quantity]:
    for number, zone in enumerate(site.zone):
        if zone.tank in tanks and zone.flow_l_min is not None:  # else it follows from pipe and jets
            now = zone.flow_l_min
            yield Quantity(
                "zone", number, "flow_l_min", zone.name, now, LEAST_FLOW * now, MOST_FLOW * now, NOTABLE_FLOW * now
            )
