"""What the tables of a site say of each other: names, references, overflow, shares, plantings.

These checks read the raw tables, so that they speak in the same run as the faults of single keys. A table that is at
fault itself is passed over: what it would have said is unknown.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import Any, NamedTuple, TypeAlias

from pydantic import ValidationError

from waterbudget.site.model import LONGEST_YEARLY_DAYS, MonthDay, Planting
from waterbudget.tables.read import nearest

Raw: TypeAlias = dict[str, Any]
Keys: TypeAlias = tuple[str | int, ...]
Fault: TypeAlias = tuple[Keys, str]  # where, and what

ONE_NAME_EACH = (("roof",), ("tank",), ("zone", "draw"), ("bed",))
REFERENCES = (  # table, key, the kind it names
    ("roof", "tank", "tank"),
    ("tank", "overflow_to", "tank"),
    ("zone", "tank", "tank"),
    ("draw", "tank", "tank"),
    ("bed", "zone", "zone"),
)
LEAP_CYCLE = range(2000, 2009)  # every way in which two yearly plantings can lie to a 29 February
NO_LEAP_YEAR = 2001


def link_faults(site: Raw) -> list[Fault]:
    """Faults between the tables of a site as read from TOML."""
    return [
        *_doubled_names(site),
        *_dangling(site),
        *_rings(site),
        *_shares(site),
        *_plantings(site),
        *_lines(site),
        *_depths(site),
        *_battery(site),
    ]


def _tables(site: Raw, kind: str) -> list[tuple[int, Raw]]:
    """The tables of a kind with their numbers; site: any table that holds others."""
    tables = site.get(kind)
    return [(n, table) for n, table in enumerate(tables) if isinstance(table, dict)] if isinstance(tables, list) else []


def _named(site: Raw, kind: str) -> list[tuple[int, Raw]]:
    return [(n, table) for n, table in _tables(site, kind) if isinstance(table.get("name"), str)]


def _doubled_names(site: Raw) -> Iterator[Fault]:
    for kinds in ONE_NAME_EACH:
        first: dict[str, str] = {}
        for kind in kinds:
            for n, table in _named(site, kind):
                name, here = table["name"], f"{kind}[{n + 1}]"
                if first.setdefault(name, here) != here:
                    yield (kind, n, "name"), f'is "{name}", like that of {first[name]}; give each its own name'


def _dangling(site: Raw) -> Iterator[Fault]:
    for kind, key, target in REFERENCES:
        known = [table["name"] for _, table in _named(site, target)]
        if not _all_named(site, target):
            continue
        for n, table in _tables(site, kind):
            name = table.get(key)
            if isinstance(name, str) and name not in known:
                meant = " or ".join(f'"{other}"' for other in nearest(name, known)[:1] or known)
                advice = f"write {meant}" if meant else f"add a [[{target}]] of that name, or leave it out"
                yield (kind, n, key), f'is "{name}", but no {target} has that name; {advice}'


def _all_named(site: Raw, kind: str) -> bool:
    """Whether every name of a kind is known: a nameless table may be the one that is meant, and so may no tank."""
    tables = site.get(kind, [])
    return isinstance(tables, list) and len(tables) == len(_named(site, kind)) >= (kind == "tank")


def _rings(site: Raw) -> Iterator[Fault]:
    number = {table["name"]: n for n, table in _named(site, "tank")}
    if len(number) < len(_named(site, "tank")):
        return  # of two tanks with one name nobody knows which is meant
    after = {table["name"]: table.get("overflow_to") for _, table in _named(site, "tank")}
    for name, n in number.items():
        way = [name]
        while isinstance(after.get(way[-1]), str) and after[way[-1]] not in way:
            way.append(after[way[-1]])
        if after.get(way[-1]) == name and n == min(number[tank] for tank in way):
            ring = " → ".join(f'"{tank}"' for tank in (*way, name))
            yield ("tank", n, "overflow_to"), f"closes a ring, {ring}; let one of them spill to the drain: leave it out"


def _shares(site: Raw) -> Iterator[Fault]:
    for name in dict.fromkeys(table["name"] for _, table in _named(site, "zone")):
        beds = [(n, bed.get("share")) for n, bed in _tables(site, "bed") if bed.get("zone") == name]
        if beds and all(share == 0 and not isinstance(share, bool) for _, share in beds):
            yield ("bed", beds[0][0], "share"), f'is 0, like that of every bed of "{name}"; write one above 0'


class _Stand(NamedTuple):
    """A planting without a fault, and the days that it takes."""

    number: int
    planting: Planting
    days: int

    def __str__(self) -> str:
        """From when to when it stands."""
        planted = self.planting.planted
        if isinstance(planted, MonthDay):
            end = dt.date(NO_LEAP_YEAR, *planted) + dt.timedelta(self.days - 1)
            return f"from {planted} to {MonthDay(end.month, end.day)}"
        return f"from {planted} to {planted + dt.timedelta(self.days - 1)}"

    def ordinals(self, years: Iterable[int]) -> set[int]:
        """The days on which it stands; one that comes back every year: where it begins in these years."""
        planted = self.planting.planted
        begun = [dt.date(year, *planted) for year in years] if isinstance(planted, MonthDay) else [planted]
        return {start.toordinal() + day for start in begun for day in range(self.days)}


def _plantings(site: Raw) -> Iterator[Fault]:
    place = site.get("site")
    latitude_deg = place.get("latitude_deg") if isinstance(place, dict) else None
    south = isinstance(latitude_deg, int | float) and latitude_deg < 0
    for n, bed in _tables(site, "bed"):
        fitting = []
        for stand in _stands(bed, south=south):
            if isinstance(stand.planting.planted, MonthDay) and stand.days > LONGEST_YEARLY_DAYS:
                every = f'is "{stand.planting.planted}", every year, but takes {stand.days} days'
                yield ("bed", n, "planting", stand.number, "planted"), f"{every}; write a full date, such as 2031-05-10"
            else:
                fitting.append(stand)
        for one, other in combinations(fitting, 2):
            if _overlap(one, other):
                yield (
                    ("bed", n, "planting", other.number, "planted"),
                    f"stands {other}, and planting[{one.number + 1}] {one}; let one be over before the other begins",
                )


def _stands(bed: Raw, *, south: bool) -> Iterator[_Stand]:
    for number, table in _tables(bed, "planting"):
        try:
            planting = Planting.model_validate(table)
        except ValidationError:
            continue
        yield _Stand(number, planting, sum(planting.stage_lengths(south=south)))


def _overlap(one: _Stand, other: _Stand) -> bool:
    begun = [stand.planting.planted for stand in (one, other)]
    dated = [start.year for start in begun if not isinstance(start, MonthDay)]
    longest_years = max(one.days, other.days) // LONGEST_YEARLY_DAYS + 1
    years = range(min(dated) - 1, max(dated) + longest_years + 1) if dated else LEAP_CYCLE
    return not one.ordinals(years).isdisjoint(other.ordinals(years))


def _lines(site: Raw) -> Iterator[Fault]:
    for n, zone in _tables(site, "zone"):
        lines = _tables(zone, "line")
        if len(lines) > 1:
            many = f"has {len(lines)} tables; a valve feeds one pipe, of one bore: give each pipe a [[zone]] of its own"
            yield ("zone", n, "line"), many
        if not isinstance(zone.get("name"), str) or not _all_named(site, "bed"):
            continue
        here = [bed["name"] for _, bed in _named(site, "bed") if bed.get("zone") == zone["name"]]
        for number, line in lines:
            for j, jets in _tables(line, "jets"):
                bed = jets.get("bed")
                if isinstance(bed, str) and bed not in here:
                    known = " or ".join(f'"{name}"' for name in nearest(bed, here)[:1] or here)
                    advice = f"write {known}" if known else f'add zone = "{zone["name"]}" to a [[bed]]'
                    yield ("zone", n, "line", number, "jets", j, "bed"), f'is "{bed}", no bed of this zone; {advice}'


def _depths(site: Raw) -> Iterator[Fault]:
    fed = [zone.get("tank") for _, zone in _tables(site, "zone") if _tables(zone, "line")]
    for n, tank in _named(site, "tank"):
        if tank["name"] in fed and "shape" not in tank and "inner_height_m" not in tank:
            needed = "the flow of a [[zone.line]] hangs on the level; add the height from floor to overflow in metres"
            yield ("tank", n, "inner_height_m"), f"is missing; {needed}"


def _battery(site: Raw) -> Iterator[Fault]:
    if "battery" in site and "pump" not in site:
        yield ("battery",), "has no pump to drive; add a [pump], or leave the battery out"
