"""What to write into a site file for a change: lines of TOML, each under a remark that says where it belongs."""

import datetime as dt
import json
from collections.abc import Iterable
from typing import Any

from waterbudget.site.links import Keys, Raw
from waterbudget.site.read import ONCE


def toml_lines(table: Raw, changes: Iterable[tuple[Keys, object]]) -> list[str]:
    """Lines to paste into the site file that these tables come from, for keys with new values and for new tables."""
    places: dict[Keys, list[str]] = {}
    for place, value in changes:
        if isinstance(value, dict):
            new = [f"{key} = {toml_value(one)}" for key, one in value.items()]
            places[place] = [f"[[{place[0]}]]", *new]
        else:
            *above, key = place
            places.setdefault(tuple(above), [f"# in {_where(table, tuple(above))}:"]).append(
                f"{key} = {toml_value(value)}"
            )
    return [line for lines in places.values() for line in lines]


def toml_value(value: object) -> str:
    """A value as TOML writes it."""
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, str | bool):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value)


def _where(table: Raw, place: Keys) -> str:
    """The table of a place: [[bed.planting]] "lettuce" of "Salad bed"."""
    if place[0] in ONCE:
        return f"[{place[0]}]"
    head = ".".join(part for part in place if isinstance(part, str))
    inner: Any = table
    names = []
    for part in place:
        inner = inner[part]
        if isinstance(inner, dict):
            names.append(f'"{inner.get("name") or inner.get("crop") or part}"')
    return f"[[{head}]] {' of '.join(reversed(names))}"
