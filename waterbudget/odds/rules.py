"""Simple watering rules over all recorded summers, beside the present plan and what foresight could do.

Without mains water, so that the rules tell themselves apart by what they do with the stored rain. A rule is the same in
all zones, with the minutes of the site file: when the valve opens, how much is left for rain, and when water is moved
from the store where a litre is worth least to that where it is worth most.
"""

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal, NamedTuple

import numpy as np

from waterbudget.plan.foresight import WORTH_PER_L, Foresight, foresight
from waterbudget.plan.prospect import Prospect, prospects
from waterbudget.plan.response import SERVING, response_of, risk_of, weights_of
from waterbudget.plan.what_if import serving_no_less, with_a_move
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.run import sky_of_years, started
from waterbudget.simulate.state import with_last
from waterbudget.site.model import Site, Transfer
from waterbudget.units import Array, IntArray
from waterbudget.weather.years import Years

LEAVE_MM, DRY_AT = (0.0, 5.0, 10.0, 20.0), (0.6, 0.8, 1.0, 1.2)
BELOW, STAYS = (0.25, 0.5, 0.75), (0.0, 0.25, 0.5)  # shares of the store that takes, and of that which gives
ROUND_L = 10.0
SECONDS = 20.0  # for the solver and one summer, which takes a tenth of one
ROUNDING = 1e-9  # relative


class Move(NamedTuple):
    """Water moved when the store that takes holds less than below_l, so that keep_l stay in the one that gives."""

    giver: int
    taker: int
    below_l: float
    keep_l: float


class Rule(NamedTuple):
    """What opens the valves of all zones. amount: leave_mm of a refill, dry_at of a dry soil; move: None for none."""

    trigger: Literal["present", "dry", "refill"]
    amount: float
    move: Move | None


PRESENT = Rule("present", 0.0, None)


@dataclass(frozen=True, eq=False)
class Rules:
    """Yield at risk of every rule that serves the other draws no less than the present plan, the first, (rule, year).

    bound, moved_bound: the least that anybody could have left who knew the summer, (year,): as the garden is, and with
    water moved too; nan where the solver did not end. Other draws get no less there either. left_out: how many rules
    serve them less.
    """

    years: Years
    site: Site
    rules: tuple[Rule, ...]
    harm: Array
    bound: Array
    moved_bound: Array
    left_out: int
    is_exact: bool

    @property
    def best(self) -> int:
        """The rule with the least mean over all summers."""
        return int(self.harm.mean(axis=1).argmin())

    @property
    def chosen(self) -> IntArray:
        """For each summer the rule that was best in all the others, (year,)."""
        return _best_of_the_others(self.harm, np.arange(len(self.rules)))

    @property
    def unmoved(self) -> IntArray:
        """The same among the rules that move no water."""
        return _best_of_the_others(self.harm, np.array([n for n, rule in enumerate(self.rules) if rule.move is None]))

    def of_each_year(self, chosen: IntArray) -> Array:
        """Yield at risk in each summer of the rule chosen for it, (year,)."""
        harm: Array = self.harm[chosen, np.arange(self.harm.shape[1])]
        return harm


def rules_of(
    site: Site,
    years: Years,
    start_l: Mapping[str, float] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Rules:
    """Try every rule in every summer. progress: told how many of how many summers are bounded."""
    garden = garden_of(site)
    if start_l:
        garden = started(garden, start_l)
    garden = garden.restructured(mains=tuple("none" for _ in site.tank))
    season, sky = season_of(site, years.dates), sky_of_years(site, years)
    ky = response_of(site, years.dates).ky
    _, given_l = _tried(site, garden, season, sky, ky, (PRESENT,))
    plain = prospects(garden, season, sky, None, ky, weights_of(site))
    known = [serving_no_less(one, given_l[0, :, year]) for year, one in enumerate(plain)]
    told = _Told(progress, 2 * len(known))
    with ThreadPoolExecutor() as pool:
        bounds = list(pool.map(lambda one: told.after(foresight(one, seconds=SECONDS)), known))
        way = _way(bounds, site)
        moved = list(pool.map(lambda one: told.after(_moved_bound(one, way)), known)) if way else bounds
    rules = (PRESENT, *_rules(site, way))
    harm, given_l = _tried(site, garden, season, sky, ky, rules)
    serves = np.all(given_l >= given_l[:1] * (1.0 - ROUNDING) - SHORT_L, axis=(1, 2))
    return Rules(
        years,
        site,
        tuple(rule for rule, is_served in zip(rules, serves, strict=True) if is_served),
        harm[serves],
        np.array([one.yield_at_risk for one in bounds]),
        np.array([one.yield_at_risk for one in moved]),
        int((~serves).sum()),
        all(one.is_exact for one in known),
    )


class _Told:
    """Counts what is done, for somebody who waits."""

    def __init__(self, progress: Callable[[int, int], None] | None, all_of_them: int) -> None:
        self.progress, self.done, self.all_of_them = progress, 0, all_of_them

    def after(self, found: Foresight) -> Foresight:
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.all_of_them)
        return found


def _best_of_the_others(harm: Array, among: IntArray) -> IntArray:
    others = harm[among].sum(axis=1, keepdims=True) - harm[among]
    best: IntArray = among[others.argmin(axis=0)]
    return best


def _way(bounds: list[Foresight], site: Site) -> tuple[int, int] | None:
    """From the store where a litre on the first day is worth least to that where it is worth most, over all summers."""
    worth = np.nansum([one.worth_per_l for one in bounds], axis=0)
    giver, taker = int(worth.argmin()), int(worth.argmax())
    return None if worth[taker] - worth[giver] < WORTH_PER_L or len(site.tank) == 1 else (giver, taker)


def _moved_bound(prospect: Prospect, way: tuple[int, int]) -> Foresight:
    moving = with_a_move(prospect, *way, float(prospect.stores.capacity_l[way[1]]))
    return foresight(moving, seconds=SECONDS)


def _rules(site: Site, way: tuple[int, int] | None) -> Iterator[Rule]:
    moves: list[Move | None] = [None]
    if way is not None:
        giver, taker = (site.tank[number].all_l for number in way)
        moves += [
            Move(*way, _in_cans(below * taker), _in_cans(stays * giver)) for below, stays in product(BELOW, STAYS)
        ]
    for move in moves:
        if move is not None:
            yield PRESENT._replace(move=move)
        yield from (Rule("refill", leave_mm, move) for leave_mm in LEAVE_MM)
        yield from (Rule("dry", dry_at, move) for dry_at in DRY_AT)


def _in_cans(litres: float) -> float:
    return max(round(litres / ROUND_L), 1 if litres else 0) * ROUND_L


def _tried(
    site: Site, garden: Garden, season: Season, sky: Sky, ky: Array, rules: tuple[Rule, ...]
) -> tuple[Array, Array]:
    """Yield at risk of every rule in every summer, (rule, year), and what draws get [L], (rule, draw, year)."""
    years, many = sky.lanes, len(rules)

    def tiled(rows: Array) -> Array:
        return rows if rows.shape[-1] == 1 else np.tile(rows, many)

    wide = _lanes(site, garden, rules, years)
    _, kept = drive(
        wide,
        season.each(tiled),
        sky.each(lambda rows: np.tile(np.broadcast_to(rows, (len(rows), years)), many)),
        keep=SERVING,
    )
    risk = risk_of(site, tiled(ky), kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"])
    given_l = kept.sums["outlets.given_l"][garden.structure.zones :].reshape(-1, many, years)
    return risk.harm.reshape(many, years), given_l.swapaxes(0, 1)


def _lanes(site: Site, garden: Garden, rules: tuple[Rule, ...], years: int) -> Garden:
    """The garden with a lane for each rule in each summer, rule after rule."""
    move = next((rule.move for rule in rules if rule.move is not None), None)
    if move is not None:
        more = Transfer(
            name="more", from_tank=site.tank[move.giver].name, to_tank=site.tank[move.taker].name, l_per_day=0
        )
        moving = garden_of(site.model_copy(update={"transfer": [*site.transfer, more]}))
        garden = replace(garden, transfers=moving.transfers, names=moving.names).restructured(
            moves=moving.structure.moves
        )
    zones = np.arange(len(garden.outlets.dry_at))[:, None] < garden.structure.zones

    def each(values: list[float]) -> Array:
        return np.repeat(np.array(values), years)[None]

    is_dry, is_refill = (each([float(rule.trigger == kind) for rule in rules]) > 0.0 for kind in ("dry", "refill"))
    outlets, kept = garden.outlets, zones & ~(is_dry | is_refill)
    amount = each([rule.amount for rule in rules])
    wide = garden.changed(
        outlets={
            "when_dry": np.where(kept, outlets.when_dry, zones & is_dry),
            "refill": np.where(kept, outlets.refill, zones & is_refill),
            "dry_at": np.where(zones & is_dry, amount, outlets.dry_at),
            "leave_mm": np.where(zones & is_refill, amount, outlets.leave_mm),
        }
    ).restructured(opens_when_dry=True, refills=True)
    if move is None:
        return wide
    moves = [rule.move for rule in rules]
    transfers = {
        "l_per_day": each([0.0 if one is None else site.tank[one.taker].all_l for one in moves]),
        "below_l": each([0.0 if one is None else one.below_l for one in moves]),
        "keep_l": each([0.0 if one is None else one.keep_l for one in moves]),
    }
    return wide.changed(
        transfers={name: with_last(getattr(wide.transfers, name), row[0]) for name, row in transfers.items()}
    )
