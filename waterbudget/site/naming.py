"""Where one part of a garden names another: who hangs on a store, a line or a bed, and what a new name changes."""

from collections.abc import Iterator
from typing import NamedTuple

from waterbudget.site.edit import Change
from waterbudget.site.links import REFERENCES, Keys, Raw

NAMING = (  # head, key, the kind that it names
    *REFERENCES,
    ("zone.line.jets", "bed", "bed"),
    ("effort", "by_hose", "zone"),
    ("effort", "by_can", "zone"),
    ("effort", "by_can", "draw"),
    ("effort", "by_battery", "zone"),
)


class Mention(NamedTuple):
    """A key that names a part: its place, and its value, which is the name or a list that holds it."""

    place: Keys
    value: str | list[str]


def tables_of(garden: Raw, head: str) -> Iterator[tuple[Keys, Raw]]:
    """All tables with a head, such as "bed.planting", with the place of each."""
    found: list[tuple[Keys, Raw]] = [((), garden)]
    for key in head.split("."):
        inner = [((*place, key), table[key]) for place, table in found if key in table]
        found = []
        for place, there in inner:
            found += (
                [((*place, n), one) for n, one in enumerate(there)] if isinstance(there, list) else [(place, there)]
            )
    yield from found


def names_for(garden: Raw, head: str, key: str) -> list[str] | None:
    """The names that a key may hold; None where it names no part."""
    kinds = [kind for at, name, kind in NAMING if (at, name) == (head, key)]
    return [table["name"] for kind in kinds for _, table in tables_of(garden, kind)] if kinds else None


def mentions(garden: Raw, kind: str, name: str) -> Iterator[Mention]:
    """Every key that names a part of a kind."""
    for head, key, target in NAMING:
        for place, table in tables_of(garden, head) if target == kind else ():
            value = table.get(key)
            if value == name or (isinstance(value, list) and name in value):
                yield Mention((*place, key), value)


def renamed(garden: Raw, kind: str, old: str, new: str) -> list[Change]:
    """What else changes where a part gets another name."""
    return [
        Change(place, new if isinstance(value, str) else [new if one == old else one for one in value])
        for place, value in mentions(garden, kind, old)
    ]
