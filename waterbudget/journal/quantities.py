"""What a fit may change in a garden: how a roof sheds and a diverter flushes, what a tank leaks and a line gives."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from waterbudget.schedule.garden import Garden
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
    the site says. low, high: the bounds of the search. notable: a change that matters.
    """

    kind: str
    number: int
    key: str
    name: str
    now: float
    low: float
    high: float
    notable: float

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
            Quantity(
                "tank", n, START, tank.name, first_l[tank.name], 0.0, tank.capacity_l, NOTABLE_START * tank.capacity_l
            )
            for n, tank in enumerate(site.tank)
            if tank.name in first_l
        ),
    )


def bounds(quantities: Sequence[Quantity]) -> tuple[Array, Array]:
    """Lowest and highest values of the search, (quantity,)."""
    return np.array([quantity.low for quantity in quantities]), np.array([quantity.high for quantity in quantities])


def with_values(garden: Garden, quantities: Sequence[Quantity], values: Array) -> Garden:
    """The garden, of one scenario, with a scenario for each row of values (scenario, quantity)."""
    lanes = len(values)

    def spread(values: Array) -> Array:
        return np.repeat(values, lanes, axis=0)

    roofs, tanks, outlets = garden.roofs, garden.tanks, garden.outlets
    columns: dict[str, dict[str, Any]] = {
        "roof": {"runoff_coefficient": spread(roofs.runoff_coefficient), "first_flush_l": spread(roofs.first_flush_l)},
        "tank": {"loss_l_per_day": spread(tanks.loss_l_per_day), START: spread(tanks.start_l)},
        "zone": {name: spread(getattr(outlets, name)) for name in ("flow_l_min", "run_l", "hot_run_l")},
    }
    for quantity, value in zip(quantities, values.T, strict=True):
        if quantity.kind == "zone":  # its runs take as long as before
            for column in columns["zone"].values():
                column[:, quantity.number] *= value / garden.outlets.flow_l_min[0, quantity.number]
        else:
            columns[quantity.kind][quantity.key][:, quantity.number] = value
    return replace(
        garden,
        roofs=replace(roofs, **columns["roof"]),
        tanks=replace(tanks, **columns["tank"]),
        outlets=replace(outlets, **columns["zone"]),
    )


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
            yield Quantity("tank", number, "loss_l_per_day", tank.name, now_l, 0.0, most_l, NOTABLE_LEAK_L)


def _of_zones(site: Site, tanks: Collection[str]) -> Iterator[Quantity]:
    for number, zone in enumerate(site.zone):
        if zone.tank in tanks and zone.flow_l_min is not None:  # else it follows from pipe and jets
            now = zone.flow_l_min
            yield Quantity(
                "zone", number, "flow_l_min", zone.name, now, LEAST_FLOW * now, MOST_FLOW * now, NOTABLE_FLOW * now
            )
