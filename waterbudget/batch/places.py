"""Which cell each site takes its weather from: the nearest, or that of its column cell."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from waterbudget.batch.sites import CELL, Entry, Sheet
from waterbudget.weather.grid import Cells, Grid, unknown_cell

PLACE = ("latitude_deg", "longitude_deg")
NO_PLACE = "is missing; write where the site lies, or name its cell in the column cell"


def placed(sheet: Sheet, entries: Sequence[Entry], cells: Cells) -> list[Entry]:
    """The entries with the number of their cell; one that has none gets that as its fault."""
    numbered = {name: number for number, name in enumerate(cells.names)}
    found: list[Entry] = []
    waiting: dict[int, tuple[float, float]] = {}
    for entry in entries:
        name = "" if entry.fault else sheet.cell(entry, CELL)
        if entry.fault:
            found.append(entry)
        elif name:
            found.append(_in_cell(entry, numbered.get(name), f"{CELL}: {unknown_cell(name, cells)}"))
        elif not isinstance(cells, Grid):
            found.append(
                entry._replace(fault=f"{CELL}: is blank; write the name of a file in {cells.path} without .csv")
            )
        else:
            place = sheet.place_of(entry)
            latitude_deg, longitude_deg = (place[key] for key in PLACE)
            if latitude_deg is None or longitude_deg is None:
                lacking = next(key for key in PLACE if place[key] is None)
                found.append(entry._replace(fault=f"{lacking}: {NO_PLACE}"))
            else:
                waiting[len(found)] = latitude_deg, longitude_deg
                found.append(entry)
    if waiting and isinstance(cells, Grid):
        _to_nearest(found, waiting, cells)
    return found


def _in_cell(entry: Entry, number: int | None, fault: str) -> Entry:
    return entry._replace(fault=fault) if number is None else entry._replace(at=number)


def _to_nearest(found: list[Entry], waiting: dict[int, tuple[float, float]], grid: Grid) -> None:
    """Give those that wait for it the nearest cell, unless it lies too far off."""
    places: Any = np.array(list(waiting.values()))
    numbers, off_km, reach_km = grid.nearest(places[:, 0], places[:, 1])
    for n, number, off, reach in zip(waiting, numbers.tolist(), off_km.tolist(), reach_km.tolist(), strict=True):
        far = (
            f"site: lies {off:,.0f} km from the nearest cell of {grid.path}, {grid.names[number]}, which reaches "
            f"{reach:,.0f} km; give a grid that covers it, or name a cell in the column cell"
        )
        found[n] = _in_cell(found[n], number if off <= reach else None, far)
