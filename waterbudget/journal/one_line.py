"""An evening in one line: levels, rain, runs and mains water in any order, each name as short as it can be told.

"62cm butt 40L rain 6,5 north 10" is a level of the store that is not named, 40 litres in the butt, 6.5 mm in the gauge
and 10 minutes of the north line.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from waterbudget.errors import InputError, shown
from waterbudget.journal.book import LEVEL, Journal
from waterbudget.journal.entries import LogRequest
from waterbudget.site.model import Site
from waterbudget.tables.read import named

AMOUNT = re.compile(r"(?i)([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(mm|cm|m|l|min)?")
UNIT = re.compile(r"(?i)mm|cm|m|l|min")
RAIN, MAINS = ("rain", "gauge"), "mains"
OF_LEVELS, OF_RUNS = {"mm", "cm", "m", "l"}, {"min"}
FORM = "62cm butt, rain 6.5, north 10"


class Said(NamedTuple):
    """An amount with its unit in small letters, "" without one, and what it is of, "" where nobody said."""

    thing: str
    amount: str
    unit: str

    def __str__(self) -> str:
        """As it was said."""
        return f"{self.thing} {self.amount}{self.unit}".strip()


def request_of(site: Site, words: Sequence[str], last_units: Mapping[str, str]) -> LogRequest:
    """What is to be logged. last_units: the unit of the last level of each store, for a level without one.

    Raises InputError where an amount or a name is missing, or what is said may mean several things.
    """
    found: dict[str, list[str]] = {"levels": [], "gauge": [], "ran": [], "mains": []}
    said = list(_said(words))
    stores = [_store(site, one) for one in said]
    for one, store in zip(said, stores, strict=True):
        head, _, rest = one.thing.partition(" ")
        if _is_rain(site, one):
            found["gauge"].append(one.amount)
        elif head.lower() == MAINS:
            found["mains"].append(f"{_mains_store(site, rest)}{one.amount}{one.unit}")
        elif store or not one.thing:
            name = store or _store_left(site, one, {store for store in stores if store})
            found["levels"].append(f"{name}={one.amount}{one.unit or _unit(site, name, one, last_units)}")
        else:
            found["ran"].append(f"{_zone(site, one)}={one.amount}")
    if len(found["gauge"]) > 1:
        raise InputError("rain: is said twice; log what the gauge held once")
    gauge_mm = float(found["gauge"][0]) if found["gauge"] else None
    return LogRequest(tuple(found["levels"]), gauge_mm, tuple(found["ran"]), tuple(found["mains"]))


def last_units(journal: Journal) -> dict[str, str]:
    """The unit of the last level of each store."""
    return {line.entry.name: line.entry.unit for line in journal.counting if line.entry.kind == LEVEL}


def _said(words: Sequence[str]) -> Iterator[Said]:
    """Amounts with their names, which stand before them throughout a stretch, or behind them."""
    for stretch in _stretches(_parts(words)):
        begins_with_name, ends_with_name = isinstance(stretch[0], str), isinstance(stretch[-1], str)
        if begins_with_name and ends_with_name:
            raise InputError(f"{shown(stretch[-1])}: how much? Write it like {FORM}")
        parts = stretch
        if not begins_with_name and not ends_with_name:
            yield Said("", *parts[0])
            parts = parts[1:]
        for one, other in zip(parts[::2], parts[1::2], strict=True):
            name, amount = (one, other) if isinstance(one, str) else (other, one)
            if isinstance(name, str) and not isinstance(amount, str):
                yield Said(name, *amount)


def _parts(words: Sequence[str]) -> list[str | tuple[str, str]]:
    """Names, words that follow each other joined, and amounts with their units."""
    parts: list[str | tuple[str, str]] = []
    for word in " ".join(words).replace("=", " ").split():
        amount = AMOUNT.fullmatch(word)
        if amount:
            parts.append((amount[1].replace(",", "."), (amount[2] or "").lower()))
        elif UNIT.fullmatch(word) and parts and not isinstance(parts[-1], str) and not parts[-1][1]:
            parts[-1] = (parts[-1][0], word.lower())
        elif parts and isinstance(parts[-1], str):
            parts[-1] = f"{parts[-1]} {word}"
        else:
            parts.append(word)
    return parts


def _stretches(parts: list[str | tuple[str, str]]) -> Iterator[list[str | tuple[str, str]]]:
    """Parts in which names and amounts take turns."""
    stretch: list[str | tuple[str, str]] = []
    for part in parts:
        if stretch and isinstance(part, str) == isinstance(stretch[-1], str):
            yield stretch
            stretch = []
        stretch.append(part)
    if stretch:
        yield stretch


def _is_rain(site: Site, said: Said) -> bool:
    """Whether rain is meant. Raises InputError where a store or a line may be, too."""
    if said.thing.lower() not in RAIN:
        return False
    if said.unit not in {"", "mm"}:
        raise InputError(f"{said}: write rain in millimetres, as in rain 6.5")
    alike = [*_meant(said.thing, [tank.name for tank in site.tank]), *_meant(said.thing, _zones(site))]
    if alike:
        raise InputError(f'{said}: may be the gauge or "{alike[0]}"; write --gauge {said.amount}, or the whole name')
    return True


def _store(site: Site, said: Said) -> str:
    """The store of which a level is told; "" where it is something else. Raises InputError where it may be both."""
    head = said.thing.partition(" ")[0].lower()
    if not said.thing or head in {*RAIN, MAINS} or said.unit in OF_RUNS:
        return ""
    stores, zones = _meant(said.thing, [tank.name for tank in site.tank]), _meant(said.thing, _zones(site))
    if said.unit in OF_LEVELS:
        return named(said.thing, [tank.name for tank in site.tank], "tank")
    if stores and zones:
        listed = " or ".join(f'"{name}"' for name in (*stores, *zones))
        raise InputError(f"{said}: {shown(said.thing)} may be {listed}; write more of the name, or 40cm, 40L or 10min")
    return named(said.thing, [tank.name for tank in site.tank], "tank") if stores else ""


def _store_left(site: Site, said: Said, told: set[str]) -> str:
    """The only store that nobody named beside an amount without a name."""
    left = [tank.name for tank in site.tank if tank.name not in told]
    if said.unit not in OF_LEVELS or len(left) != 1:
        raise InputError(f"{said}: of what? Write it like {FORM}")
    return left[0]


def _unit(site: Site, name: str, said: Said, last_units: Mapping[str, str]) -> str:
    """The unit of a level that was told without: litres where no depth can be told, else that of the last level."""
    tank = next(tank for tank in site.tank if tank.name == name)
    unit = "L" if tank.shape is None else last_units.get(name)
    if unit is None:
        raise InputError(f"{said}: centimetres or litres? Write {said.amount}cm or {said.amount}L")
    return unit


def _zone(site: Site, said: Said) -> str:
    if said.unit in OF_LEVELS or _meant(said.thing, _zones(site)):
        return named(said.thing, _zones(site), "zone")
    return named(said.thing, [*(tank.name for tank in site.tank), *_zones(site)], "store or zone")


def _mains_store(site: Site, rest: str) -> str:
    return f"{named(rest, [tank.name for tank in site.tank], 'tank')}=" if rest else ""


def _zones(site: Site) -> list[str]:
    return [zone.name for zone in site.zone]


def _meant(word: str, names: Sequence[str]) -> list[str]:
    """Those of the names that a word may be the beginning of."""
    try:
        return [named(word, names, "")]
    except InputError:
        folded = word.casefold()
        return [name for name in names if any(part.startswith(folded) for part in name.casefold().split())]
