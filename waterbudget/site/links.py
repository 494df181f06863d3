"""What the tables of a site say of each other: names, references, overflow, shares, plantings.

These checks read the raw tables, so that they speak in the same run as the faults of single keys. A table that is at
fault itself is passed over: what it would have said is unknown.
"""

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from waterbudget.errors import shown
from waterbudget.site.beds import Planting
from waterbudget.site.dates import DAYS_A_YEAR, MonthDay, day_of_year
from waterbudget.tables.read import nearest, spelt_alike
from waterbudget.units import BoolArray

Raw: TypeAlias = dict[str, Any]
Keys: TypeAlias = tuple[str | int, ...]
Fault: TypeAlias = tuple[Keys, str]  # where, and what

ONE_NAME_EACH = (("roof",), ("tank",), ("inflow",), ("transfer",), ("zone", "draw"), ("bed",))
REFERENCES = (  # table, key, the kind it names
    ("roof", "tank", "tank"),
    ("tank", "overflow_to", "tank"),
    ("inflow", "tank", "tank"),
    ("transfer", "from_tank", "tank"),
    ("transfer", "to_tank", "tank"),
    ("zone", "tank", "tank"),
    ("draw", "tank", "tank"),
    ("bed", "zone", "zone"),
)
NO_LEAP_YEAR = 2001
ALL_THE_GROUND = 1.0 + 1e-9  # of a bed, with what adding shares may miss


def link_faults(site: Raw) -> list[Fault]:
    """Faults between the tables of a site as read from TOML."""
    return [
        *_doubled_names(site),
        *_dangling(site),
        *_rings(site),
        *_shares(site),
        *_plantings(site),
        *_single_numbers(site),
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
                    yield (kind, n, "name"), f"is {shown(name)}, like that of {first[name]}; give each its own name"


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
                yield (kind, n, key), f"is {shown(name)}, but no {target} has that name; {advice}"


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

    @property
    def begins(self) -> dt.date:
        """The day of planting; of one that comes back every year that in a year without 29 February."""
        planted = self.planting.planted
        return dt.date(NO_LEAP_YEAR, *planted) if isinstance(planted, MonthDay) else planted

    def stands_on(self, dates: NDArray[np.datetime64]) -> BoolArray:
        """Whether it stands on each date."""
        begun = np.datetime64(self.begins, "D")
        if not isinstance(self.planting.planted, MonthDay):
            return np.asarray((dates >= begun) & (dates < begun + self.days))
        since = (day_of_year(dates) - day_of_year(np.array([begun]))) % DAYS_A_YEAR
        return np.asarray(since < self.days)


def _plantings(site: Raw) -> Iterator[Fault]:
    place = site.get("site")
    latitude_deg = place.get("latitude_deg") if isinstance(place, dict) else None
    south = isinstance(latitude_deg, int | float) and latitude_deg < 0
    for n, bed in _tables(site, "bed"):
        fitting: list[_Stand] = []
        for stand in _stands(bed, south=south):
            if isinstance(stand.planting.planted, MonthDay) and stand.days > DAYS_A_YEAR:
                every = f'is "{stand.planting.planted}", every year, but takes {stand.days} days'
                yield ("bed", n, "planting", stand.number, "planted"), f"{every}; write a full date, such as 2031-05-10"
                continue
            crowd = _crowd(stand, fitting)
            if crowd:
                key = "ground_share" if "ground_share" in stand.planting.model_fields_set else "planted"
                yield ("bed", n, "planting", stand.number, key), crowd
            fitting.append(stand)


def _stands(bed: Raw, *, south: bool) -> Iterator[_Stand]:
    for number, table in _tables(bed, "planting"):
        try:
            planting = Planting.model_validate(table)
        except ValidationError:
            continue
        yield _Stand(number, planting, sum(planting.stage_lengths(south=south)))


def _crowd(stand: _Stand, before: list[_Stand]) -> str | None:
    """Where a planting and those before it in the file take more than all the ground: on which days, and what then."""
    shares = [other.planting.ground_share for other in before]
    if sum(shares) + stand.planting.ground_share <= ALL_THE_GROUND:
        return None
    dates = _dates_of(stand, before)
    standing = [other.stands_on(dates) for other in before]
    taken = sum((share * stands for share, stands in zip(shares, standing, strict=True)), np.zeros(len(dates)))
    full = stand.stands_on(dates) & (taken + stand.planting.ground_share > ALL_THE_GROUND)
    if not full.any():
        return None
    first = int(full.argmax())
    last = first + int(np.argmin([*full[first:], False])) - 1
    beside = [other for other, stands in zip(before, standing, strict=True) if stands[first]]
    others = " and ".join(f"planting[{other.number + 1}]" for other in beside)
    share = taken[first] + stand.planting.ground_share
    is_yearly = all(isinstance(one.planting.planted, MonthDay) for one in (stand, *beside))
    days = [str(day)[5:] if is_yearly else str(day) for day in (dates[first], dates[last])]
    when = f"on {days[0]}" if first == last else f"from {days[0]} to {days[1]}"
    return (
        f"stands with {others} {when}, where ground_share comes to {share:.10g}; "
        "let one be over before the other begins, or give shares that come to 1"
    )


def _dates_of(stand: _Stand, before: list[_Stand]) -> NDArray[np.datetime64]:
    """Dates on which a planting meets all that the others before it ever do, one stand after the other."""
    others = [other for other in before if not isinstance(other.planting.planted, MonthDay)]
    if not isinstance(stand.planting.planted, MonthDay):
        others = [stand]
    first = min((other.begins for other in others), default=stand.begins)
    last = max((other.begins + dt.timedelta(other.days) for other in others), default=stand.begins)
    return np.arange(np.datetime64(first, "D"), max(np.datetime64(last, "D"), np.datetime64(first, "D") + DAYS_A_YEAR))


def _single_numbers(site: Raw) -> Iterator[Fault]:
    """Plantings that give Kcb alone, where the single crop coefficient asks for Kc."""
    model = site.get("model", {})
    coefficient = model.get("crop_coefficient", "single") if isinstance(model, dict) else None
    if not isinstance(coefficient, str) or not spelt_alike(coefficient, "single"):
        return
    for n, bed in _tables(site, "bed"):
        for number, planting in _tables(bed, "planting"):
            if "kcb" in planting and "kc" not in planting and "crop" not in planting:
                needed = 'kcb alone is for crop_coefficient = "dual"; add kc = [initial, mid, end] or crop = "…"'
                yield ("bed", n, "planting", number, "kc"), f"is missing; {needed}"


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
                    yield (
                        ("zone", n, "line", number, "jets", j, "bed"),
                        f"is {shown(bed)}, no bed of this zone; {advice}",
                    )


def _depths(site: Raw) -> Iterator[Fault]:
    fed = [zone.get("tank") for _, zone in _tables(site, "zone") if _tables(zone, "line")]
    for n, tank in _named(site, "tank"):
        if tank["name"] in fed and "shape" not in tank and "inner_height_m" not in tank:
            needed = "the flow of a [[zone.line]] hangs on the level; add the height from floor to overflow in metres"
            yield ("tank", n, "inner_height_m"), f"is missing; {needed}"


def _battery(site: Raw) -> Iterator[Fault]:
    if "battery" in site and "pump" not in site:
        yield ("battery",), "has no pump to drive; add a [pump], or leave the battery out"
