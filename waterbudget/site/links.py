"""What the tables of a site say of each other: names, references, overlaps.

These checks read the raw tables, so that they speak in the same run as the faults of single keys.
"""

import datetime as dt
import difflib
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

Raw = dict[str, Any]
Fault = tuple[tuple[str | int, ...], str]

KINDS = {"roof": ("roof",), "tank": ("tank",), "zone or draw": ("zone", "draw"), "bed": ("bed",)}
REFERENCES = (  # table, key, the kind it names
    ("roof", "tank", "tank"),
    ("tank", "overflow_to", "tank"),
    ("zone", "tank", "tank"),
    ("draw", "tank", "tank"),
    ("bed", "zone", "zone"),
)
LEAP_CYCLE = range(2000, 2009)


def link_faults(site: Raw) -> list[Fault]:
    """Faults between the tables of a site as read from TOML; tables that are malformed themselves are passed over."""
    return [*_doubled_names(site), *_dangling(site), *_rings(site), *_shares(site), *_overlaps(site)]


def _tables(site: Raw, kind: str) -> list[tuple[int, Raw]]:
    tables = site.get(kind)
    return [(n, table) for n, table in enumerate(tables) if isinstance(table, dict)] if isinstance(tables, list) else []


def _names(site: Raw, kind: str) -> list[str]:
    return [table["name"] for _, table in _tables(site, kind) if isinstance(table.get("name"), str)]


def _doubled_names(site: Raw) -> Iterator[Fault]:
    for word, kinds in KINDS.items():
        seen = Counter(name for kind in kinds for name in _names(site, kind))
        doubled = {name for name, count in seen.items() if count > 1}
        for kind in kinds:
            for n, table in _tables(site, kind):
                if isinstance(name := table.get("name"), str) and name in doubled:
                    yield (kind, n, "name"), f'"{name}" is used {seen[name]} times; every {word} needs its own name'


def _dangling(site: Raw) -> Iterator[Fault]:
    for kind, key, target in REFERENCES:
        known = _names(site, target)
        if len(known) < len(_tables(site, target)):
            continue  # a table without a name is a fault of its own, and the missing name may be the one meant
        for n, table in _tables(site, kind):
            if isinstance(name := table.get(key), str) and name not in known:
                near = difflib.get_close_matches(name, known, 1)
                listed = f'did you mean "{near[0]}"?' if near else f"there is {_listed(known)}"
                yield (kind, n, key), f'"{name}" is no {target}; {listed}'


def _listed(names: list[str]) -> str:
    return ", ".join(f'"{name}"' for name in names) or "none"


def _rings(site: Raw) -> Iterator[Fault]:
    overflow = {table.get("name"): table.get("overflow_to") for _, table in _tables(site, "tank")}
    for n, table in _tables(site, "tank"):
        way = [table.get("name")]
        while (after := overflow.get(way[-1])) is not None and after not in way:
            way.append(after)
        if after is not None and after == way[0]:
            ring = " → ".join(str(name) for name in (*way, after))
            yield ("tank", n, "overflow_to"), f"the overflow runs in a ring ({ring}); let the last tank spill to the drain"


def _shares(site: Raw) -> Iterator[Fault]:
    for _, zone in _tables(site, "zone"):
        beds = [(n, bed) for n, bed in _tables(site, "bed") if bed.get("zone") == zone.get("name")]
        if beds and all(bed.get("share") == 0 for _, bed in beds):
            yield ("bed", beds[0][0], "share"), f'all beds of "{zone.get("name")}" have share 0; give one a share'


def _overlaps(site: Raw) -> Iterator[Fault]:
    for n, bed in _tables(site, "bed"):
        plantings = _tables(bed, "planting")
        if any(_length(planting) is None or _starts(planting, LEAP_CYCLE) is None for _, planting in plantings):
            continue
        dated = [start.year for _, planting in plantings for start in _starts(planting, ()) or ()]
        years = {year + shift for year in dated for shift in range(-2, 3)} | set(LEAP_CYCLE)
        spans = sorted(
            (start, start + dt.timedelta(days=(_length(planting) or 1) - 1), k)
            for k, planting in plantings
            for start in _starts(planting, sorted(years)) or ()
        )
        clashes = {(max(one[2], two[2]), min(one[2], two[2])) for one, two in pairwise(spans) if two[0] <= one[1]}
        for later, earlier in sorted(clashes):
            yield (
                ("bed", n, "planting", later, "planted"),
                f"overlaps with planting[{earlier + 1}]; plant it after the {_length(plantings[earlier][1])} days of that",
            )


def _length(planting: Raw) -> int | None:
    """Days that a planting takes, as its own `days` or its crop's table says; None where either is at fault."""
    from waterbudget.tables.crops import find_crop, stage_days
    from waterbudget.tables.read import UnknownKeyError

    days = planting.get("days")
    if days is not None:
        whole = isinstance(days, list) and all(isinstance(part, int) for part in days)
        return sum(days) if whole else None
    starts = _starts(planting, LEAP_CYCLE)
    if not starts or not isinstance(planting.get("crop"), str):
        return None
    try:
        stages = stage_days(find_crop(planting["crop"]), starts[0].month)
    except UnknownKeyError:
        return None
    return sum(stages.days) if stages and stages.days else None


def _starts(planting: Raw, years: Iterator[int] | Any) -> list[dt.date] | None:
    """First days of a planting: one for a full date, one a year for MM-DD; None where `planted` is at fault."""
    planted = planting.get("planted")
    try:
        if isinstance(planted, dt.date):
            return [planted]
        text = str(planted)
        if len(text) > len("MM-DD"):
            return [dt.date.fromisoformat(text)]
        return [dt.date.fromisoformat(f"{year}-{text}") for year in years]
    except ValueError:
        return None
