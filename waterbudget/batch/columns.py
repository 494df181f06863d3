"""Rows of a sheet whose numbers are checked and laid out as columns: what differs in size alone, not in layout.

The first row of a layout is checked with the whole model. Of the others the numbers are held against the ranges of the
same model; a row that might not pass goes through the whole model too, which tells what is wrong with it.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from pydantic.fields import FieldInfo

from waterbudget.site.keys import Column
from waterbudget.site.links import Raw
from waterbudget.site.model import Site
from waterbudget.site.read import TABLES
from waterbudget.units import Array, BoolArray

SIZES = {  # keys whose values are sizes alone: nothing else of a site hangs on how large they are
    "roof": {"area_m2", "runoff_coefficient", "loss_mm", "first_flush_l", "filter_efficiency"},
    "tank": {"capacity_l", "dead_l", "start_l", "loss_l_per_day", "float_below_l", "float_to_l"},
    "inflow": {"l_per_day"},
    "transfer": {"l_per_day", "keep_l", "below_l"},
    "zone": {"flow_l_min", "minutes", "hot_minutes", "hot_above_c", "dry_at", "leave_mm", "efficiency"},
    "draw": {"l_per_day"},
    "bed": {"area_m2", "et_factor", "start_depleted", "rain_share"},
    "site": {"latitude_deg", "longitude_deg"},
}
IN_A_LIST = 3  # parts of a place: kind of table, its number, key
UP_TO_CAPACITY = ("dead_l", "start_l", "float_below_l", "float_to_l")
PLAIN = re.compile(r"-?(?:0|[1-9][0-9]{0,11})(?:\.[0-9]{1,12})?")  # numbers that every reader takes for the same

Key = tuple[str, int, str]  # kind of table, its number, key


class Sized(NamedTuple):
    """A column of sizes: its place among the columns, its key, and the template's value, None for none."""

    number: int
    key: Key
    value: float | None


def sized_columns(template: Raw, columns: Sequence[Column]) -> list[Sized]:
    """The columns that hold sizes alone; none where a watering line makes flows hang on more than them."""
    if any(zone.get("line") for zone in template.get("zone", [])):
        return []
    found = []
    for number, column in enumerate(columns):
        if column.place is None:
            continue
        kind: str | int
        table: str | int
        if column.place[0] == "site":
            kind, table, key = "site", 0, column.place[1]
            value = template["site"].get(key)
        elif len(column.place) == IN_A_LIST:
            kind, table, key = column.place
            value = template[str(kind)][table].get(key)
        else:
            continue
        if key in SIZES.get(str(kind), ()):
            found.append(Sized(number, (str(kind), int(table), str(key)), value))
    return found


def layout_of(cells: Sequence[str], sized: Iterable[Sized], own: Sequence[int]) -> tuple[object, ...]:
    """What rows must have in common to be checked as columns: every cell that is no size, and which sizes are given.

    own: numbers of further columns that no layout hangs on. On which side of the equator a row lies decides its months.
    """
    layout: list[object] = list(cells)
    for number in own:
        layout[number] = None
    for column in sized:
        cell = cells[column.number]
        is_south = column.key[-1] == "latitude_deg" and cell.startswith("-")
        layout[column.number] = bool(cell) or column.value is not None, is_south
    return tuple(layout)


def read_sizes(rows: Sequence[Sequence[str]], sized: Sequence[Sized]) -> tuple[dict[Key, Array], BoolArray]:
    """The sizes of rows of one layout, (row,) by key; and which rows are written plainly, within all ranges."""
    sizes: dict[Key, Array] = {}
    good = np.ones(len(rows), dtype=np.bool_)
    for column in sized:
        cells = [row[column.number] for row in rows]
        if not any(cells):
            continue  # the template's value, or none, in every row
        given = np.nan if column.value is None else column.value
        if not isinstance(given, int | float):
            return {}, np.zeros(len(rows), dtype=np.bool_)
        values = np.array([_number(cell, given) for cell in cells])
        good &= _within(values, _field(column.key))
        sizes[column.key] = values
    return sizes, good


def laid_out(site: Site, sizes: Mapping[Key, Array]) -> Site:
    """A checked site with arrays of sizes, (lane,), in place of its own; those of its place stay."""
    changes: dict[str, dict[int, dict[str, Array]]] = {}
    for (kind, number, key), values in sizes.items():
        if kind != "site":
            changes.setdefault(kind, {}).setdefault(number, {})[key] = values
    return site.model_copy(
        update={
            kind: [
                table.model_copy(update=numbered.get(number, {})) for number, table in enumerate(getattr(site, kind))
            ]
            for kind, numbered in changes.items()
        }
    )


def fits(site: Site) -> BoolArray:
    """Of a site with arrays of sizes the lanes that hold across the keys of a tank, as the whole model asks."""
    good: Any = np.bool_(True)  # noqa: FBT003 - an array's first value
    for tank in site.tank:
        levels: dict[str, Any] = {key: getattr(tank, key) for key in UP_TO_CAPACITY}
        for level_l in levels.values():
            good = good & (np.bool_(True) if level_l is None else np.asarray(level_l) <= tank.capacity_l)  # noqa: FBT003
        below_l, to_l = levels["float_below_l"], levels["float_to_l"]
        if below_l is not None and to_l is not None:
            good = good & (np.asarray(to_l) >= below_l)
    return np.asarray(good)


def _number(cell: str, given: float) -> float:
    if not cell:
        return given
    return float(cell) if PLAIN.fullmatch(cell) else np.nan


def _field(key: Key) -> FieldInfo:
    return TABLES[key[0]].model_fields[key[2]]


def _within(values: Array, field: FieldInfo) -> BoolArray:
    """Which values are numbers within the range that the model gives a key."""
    good = np.isfinite(values)
    for bound in _bounds(field):
        for name, holds in (("gt", np.greater), ("ge", np.greater_equal), ("lt", np.less), ("le", np.less_equal)):
            if (limit := getattr(bound, name, None)) is not None:
                good &= holds(values, limit)
    return good


def _bounds(field: FieldInfo) -> Iterator[object]:
    """The limits of a key, those inside an alternative of its type included."""
    yield from field.metadata
    waiting = [field.annotation]
    while waiting:
        hint: Any = waiting.pop()
        for limits in getattr(hint, "__metadata__", ()):
            yield from getattr(limits, "metadata", [limits])
        waiting += getattr(hint, "__args__", ())
