"""Water moved between stores, as a measure: a transfer that somebody starts when a store gets low."""

from collections.abc import Iterator
from typing import NamedTuple

from waterbudget.site.model import LONGEST_NAME, Site, Tank

LOW = (0.5, 0.25)  # of the store that takes, below which water is moved: ours
KEPT = (0.0, 0.25, 0.5)  # of the store that gives, which stays there: ours
GIVERS = 2  # that are tried for each store
CAN_L = 10.0  # amounts are such as somebody would choose


class Moving(NamedTuple):
    """A transfer to try: the table that is added."""

    to_tank: str
    table: dict[str, object]


def movings(site: Site) -> Iterator[Moving]:
    """Transfers to each store that something draws from, from the largest others without one to it."""
    drawn = {zone.tank for zone in site.zone} | {draw.tank for draw in site.draw}
    there = {(one.from_tank, one.to_tank) for one in site.transfer}
    for taker in site.tank:
        others = [tank for tank in site.tank if tank is not taker and (tank.name, taker.name) not in there]
        for giver in sorted(others, key=lambda tank: -tank.all_l)[: GIVERS if taker.name in drawn else 0]:
            for low in LOW:
                yield from (_moving(site, giver, taker, low, kept) for kept in KEPT)


def _moving(site: Site, giver: Tank, taker: Tank, low: float, kept: float) -> Moving:
    number = 1
    while (name := f"Move {number} to {taker.name}"[:LONGEST_NAME]) in {one.name for one in site.transfer}:
        number += 1
    below_l, keep_l, most_l = _cans(low * taker.all_l), _cans(kept * giver.all_l), taker.all_l
    return Moving(
        taker.name,
        {
            "name": name,
            "from_tank": giver.name,
            "to_tank": taker.name,
            "l_per_day": most_l,
            "keep_l": keep_l,
            "below_l": below_l,
        },
    )


def _cans(litres: float) -> float:
    return max(round(litres / CAN_L), 1 if litres else 0) * CAN_L
