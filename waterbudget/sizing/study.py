"""The whole question of a size: what is enough and what limits, with rules, offers and roofs beside it."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from waterbudget.errors import InputError
from waterbudget.site.model import Site, Tank
from waterbudget.sizing.demand import Demand, chosen_tank, demands
from waterbudget.sizing.offers import Choice, Offer, choices
from waterbudget.sizing.peak import no_shortage_l
from waterbudget.sizing.rules import Circumstances, Rule, rules
from waterbudget.sizing.sizes import Outcomes, Sweep, try_sizes
from waterbudget.sizing.stretch import Stretch
from waterbudget.units import Array

PER_L = 100.0  # the knee is told in so many more litres of store
ROUNDING, ROUNDING_L = 1e-9, 1e-6
LEAST_L = 1.0  # of a store where every day's rain is enough for the day
MAP_SIZES = 25
MAP_FACTORS = (0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0)
DOUBLE = 2.0


class Tried(NamedTuple):
    """A rule of thumb, the capacity that it gives [L], and how that would have done; None where it gives none."""

    rule: Rule
    outcome: Outcomes | None


class Use(NamedTuple):
    """What a choice for sale would have done in one place, and the mains water [L] that it saves a year there."""

    outcome: Outcomes
    saved_l: float


class Deal(NamedTuple):
    """A choice for sale, in the place of the tank that is there and beside it; beside: None where nothing is there."""

    choice: Choice
    in_place: Use
    beside: Use | None

    @property
    def uses(self) -> tuple[Use, ...]:
        """Wherever it may be put."""
        return (self.in_place,) if self.beside is None else (self.beside, self.in_place)

    @property
    def best(self) -> Use:
        """Where it saves most."""
        return max(self.uses, key=lambda use: use.saved_l)


class RoofMap(NamedTuple):
    """Share of the demand met, (area, size), over plan areas [m2] and capacities [L]."""

    area_m2: Array
    capacity_l: Array
    met: Array


class Doubled(NamedTuple):
    """Share of the demand met today, with twice the tank, and with twice the roof."""

    now: float
    tank: float
    roof: float


@dataclass(frozen=True, eq=False)
class Sizing:
    """What is known about the size of one tank.

    number: of the tank in the site. sizes: the sweep. now: the tank as it is; none: without any. rules: those of the
    table. no_shortage: the sequent peak's capacity, None where more is asked than comes in. deals: what is for sale.
    stands: whether the tank is there already, so that these are reckoned against it. roofs and doubled: None
    unless asked for.
    """

    site: Site
    stretch: Stretch
    sweep: Sweep
    number: int
    demand: Demand
    sizes: Outcomes
    now: Outcomes
    none: Outcomes
    rules: list[Tried]
    no_shortage: Outcomes | None
    deals: list[Deal]
    stands: bool
    roofs: RoofMap | None
    doubled: Doubled | None

    @property
    def tank(self) -> Tank:
        """The tank in question."""
        return self.site.tank[self.number]

    @property
    def roof_m2(self) -> float:
        """Plan area of the roofs that feed it."""
        return sum(roof.area_m2 for roof in self.site.roof if roof.tank == self.tank.name)

    @cached_property
    def enough(self) -> int | None:
        """The smallest size tried that meets the target, by its number; None where none does."""
        return first_that(self.sizes.met >= self.sweep.target - ROUNDING)

    @cached_property
    def saved_l(self) -> Array:
        """Mains water saved a year by another 100 L, from each size to the next, (size - 1,)."""
        return saved_per_100_l(self.sizes)

    @cached_property
    def knee(self) -> int | None:
        """The smallest size beyond which no further 100 L are worth it, by its number; None where the last ones are."""
        return knee(self.saved_l, self.sweep.worth_l)

    @property
    def limit(self) -> Literal["roof", "tank"]:
        """What stands in the way of the target, year after year.

        The roof, where even all that runs in would not meet it; else the tank, at least one that is small enough.
        """
        wanted_l = self.sweep.target * self.sizes.a_year("asked_l")[-1]
        return "roof" if self.sizes.a_year("inflow_l")[-1] < wanted_l else "tank"

    @property
    def first_filling(self) -> float:
        """The first day's water as a share of all that is asked for, in the size that is enough or else the largest."""
        size = -1 if self.enough is None else self.enough
        filled_l = self.tank.start_l / self.tank.capacity_l * self.sizes.capacity_l[size]
        return float(filled_l / self.sizes.asked_l[:, size].sum())


def first_that(holds: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> int | None:
    """The number of the first that holds, None where none does."""
    return int(np.argmax(holds)) if holds.any() else None


def saved_per_100_l(sizes: Outcomes) -> Array:
    """Mains water saved a year by another 100 L, from each size to the next, (size - 1,)."""
    saved_l: Array = -np.diff(sizes.a_year("needed_l")) / np.diff(sizes.capacity_l) * PER_L
    return saved_l


def knee(saved_l: Array, worth_l: float) -> int | None:
    """The number of the smallest size after which no step saves worth_l; None where the last step still does."""
    worthwhile = np.flatnonzero(saved_l >= worth_l - ROUNDING_L)
    if not worthwhile.size:
        return 0
    last = int(worthwhile[-1])
    return None if last == saved_l.size - 1 else last + 1


def study(
    site: Site,
    stretch: Stretch,
    sweep: Sweep,
    *,
    tank: str | None = None,
    offers: list[Offer] | None = None,
    stands: bool = True,
    roofs: bool = False,
) -> Sizing:
    """Try every size of a tank through the stretch, and beside them what else was asked for.

    tank: its name, None for the one that runs short most. offers: what is for sale, tried in the place of the tank
    and beside it. stands: whether the tank is there already; else the offers are reckoned against none. roofs: whether
    to map capacities against roof areas.
    Raises InputError where there is no such tank, nothing is asked of it, or no roof feeds the tank that is mapped.
    """
    demand = demands(site, stretch)
    number = chosen_tank(site, tank, demand)
    chosen = site.tank[number]
    roof_m2 = sum(roof.area_m2 for roof in site.roof if roof.tank == chosen.name)
    if roofs and not roof_m2:
        raise InputError(f'roofs: no roof feeds "{chosen.name}"; leave roofs out, or choose a tank under a roof')
    here = Circumstances(
        asked_l=demand[number].asked_l_a_year,
        roof_m2=roof_m2,
        inflow_l=demand[number].inflow_l_a_year if stretch.whole else None,
        rain_mm=stretch.rain_mm if stretch.whole else None,
    )
    by_rule = [(rule, rule.size_l(here)) for rule in rules()]
    peak_l = no_shortage_l(demand[number].inflow_l, demand[number].asked_l, rounds=2 if stretch.whole else 1)
    never_short_l = [] if peak_l is None else [max(peak_l, LEAST_L) + chosen.all_dead_l]
    for_sale = choices(offers or [])

    # Every capacity that anything asks for runs once, in one batch.
    wanted_l = [
        *sweep.capacity_l,
        chosen.all_l,
        0.0,
        *(size_l for _, size_l in by_rule if size_l),
        *never_short_l,
        *(choice.capacity_l for choice in for_sale),
        *(chosen.all_l + choice.capacity_l for choice in for_sale if stands),
    ]
    tried_l = np.unique(wanted_l)
    tried = try_sizes(site, number, tried_l, stretch)

    def of(*capacity_l: float) -> Outcomes:
        return tried.take(np.searchsorted(tried_l, capacity_l))

    none, now = of(0.0), of(chosen.all_l)
    without = now if stands else none

    def use(capacity_l: float) -> Use:
        outcome = of(capacity_l)
        return Use(outcome, float(without.a_year("needed_l")[0] - outcome.a_year("needed_l")[0]))

    deals = [
        Deal(choice, use(choice.capacity_l), use(chosen.all_l + choice.capacity_l) if stands else None)
        for choice in for_sale
    ]
    roof_map, doubled = map_roofs(site, number, sweep, stretch, roof_m2) if roofs else (None, None)
    return Sizing(
        site=site,
        stretch=stretch,
        sweep=sweep,
        number=number,
        demand=demand[number],
        sizes=of(*sweep.capacity_l),
        now=now,
        none=none,
        rules=[Tried(rule, of(size_l) if size_l else None) for rule, size_l in by_rule],
        no_shortage=of(*never_short_l) if never_short_l else None,
        deals=deals,
        stands=stands,
        roofs=roof_map,
        doubled=doubled,
    )


def map_roofs(site: Site, tank: int, sweep: Sweep, stretch: Stretch, roof_m2: float) -> tuple[RoofMap, Doubled]:
    """Capacities of a tank against areas of the roofs that feed it, roof_m2 in all today, all of them run at once."""
    every = -(-len(sweep.capacity_l) // MAP_SIZES)
    capacity_l = np.unique([*sweep.capacity_l[::every], sweep.capacity_l[-1]])
    now_l = site.tank[tank].all_l
    factors = np.array(MAP_FACTORS)
    lanes_l = np.concatenate([np.tile(capacity_l, len(factors)), [now_l, DOUBLE * now_l, now_l]])
    lane_factors = np.concatenate([np.repeat(factors, len(capacity_l)), [1.0, 1.0, DOUBLE]])
    met = try_sizes(site, tank, lanes_l, stretch, lane_factors).met
    on_map = met[: -len(Doubled._fields)].reshape(len(factors), len(capacity_l))
    return RoofMap(roof_m2 * factors, capacity_l, on_map), Doubled(*met[-len(Doubled._fields) :].tolist())
