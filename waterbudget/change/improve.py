"""Find out what would save most in a garden: what measures cost, as somebody types it, and all of them tried."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from waterbudget.change.measures import KINDS, ForSale
from waterbudget.change.search import Improvement, improve
from waterbudget.errors import InputError, shown
from waterbudget.simulate.opened import Opened
from waterbudget.sizing.offers import read_offers
from waterbudget.tables.read import UnknownKeyError, find

LONG_DAYS = 1000


@dataclass(frozen=True)
class Costs:
    """What measures cost. options: file of butts for sale. prices: words KIND=MONEY. water_per_m3: of mains water."""

    options: Path | None = None
    prices: tuple[str, ...] = ()
    water_per_m3: float | None = None
    by_kind: Mapping[str, float] = field(init=False)

    def __post_init__(self) -> None:
        """Raises InputError with a line for each price that cannot be read."""
        faults: list[str] = []
        read: dict[str, float] = {}
        for words in self.prices:
            try:
                kind, money = _price(words)
                read[kind] = money
            except InputError as error:
                faults += error.faults
        if self.water_per_m3 is not None and not 0.0 < self.water_per_m3 < math.inf:
            faults.append(f"--water-price: is {self.water_per_m3:g}; write what a cubic metre costs, such as 3.40")
        if faults:
            raise InputError(faults)
        object.__setattr__(self, "by_kind", read)


def _price(words: str) -> tuple[str, float]:
    name, equals, money = words.rpartition("=")
    try:
        price = float(money)
    except ValueError:
        price = math.nan
    if not equals or not 0.0 <= price < math.inf:
        raise InputError(f'--price: {shown(words)} is no price; write KIND=MONEY, such as "mulch=30"; 0 is free')
    kinds = [kind.name for kind in KINDS]
    try:
        return find(name, kinds, "measure"), price
    except UnknownKeyError as error:
        there = f'did you mean "{error.nearest[0]}"?' if error.nearest else f"there are {', '.join(kinds)}"
        raise InputError(f"--price: {shown(name)} is no kind of measure; {there}") from None


def find_improve(
    opened: Opened, costs: Costs | None = None, progress: Callable[[str], object] = lambda _: None
) -> Improvement:
    """Try every measure on a garden; progress: told where that takes long. Raises InputError for what can be mended."""
    costs = costs or Costs()
    offers = [] if costs.options is None else read_offers(costs.options)
    days = len(opened.weather.days)
    if days > LONG_DAYS:
        progress(f"Trying every measure on {days:,} days: this takes a while.")
    for_sale = [ForSale(offer.capacity_l, offer.price) for offer in offers]
    return improve(opened, for_sale, costs.by_kind, costs.water_per_m3)
