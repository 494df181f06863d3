"""Lines of a journal that a spreadsheet has saved in its own way, brought back to how they were written."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress

from waterbudget.rows.dates import DAY_FIRST, ISO, ORDERS, dates_of, orders_shown, written_date

Cells = tuple[str, ...]
CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::[0-9]{2})?\s*([AaPp]?)")
HALF_A_DAY_H = 12


def as_written(lines: Mapping[int, Cells], *, written_at: int, date: int, value: int) -> dict[int, Cells]:
    """The cells of each line, by its row, with dates as YYYY-MM-DD, times with their zone and decimals with a point.

    written_at, date, value: the numbers of these columns. A cell that holds none of this stays as it is. Raises
    ValueError, naming a row, where the dates do not tell which of their numbers is the day.
    """
    dates = [cells[date] for cells in lines.values()]
    moments = [cells[written_at] for cells in lines.values()]
    order = None if all(map(ISO.fullmatch, dates)) else _order(dates, moments)
    days = _dates(lines, dates, "date", order)
    written = _dates(lines, moments, "written_at", order or DAY_FIRST)
    new = {}
    for (row, cells), day, moment in zip(lines.items(), days, written, strict=True):
        changed = list(cells)
        changed[date] = cells[date] if day is None else day.isoformat()
        changed[written_at] = cells[written_at] if moment is None else _with_zone(cells[written_at], moment)
        changed[value] = cells[value].replace(",", ".")  # no thousands were ever marked
        new[row] = tuple(changed)
    return new


def _order(dates: Sequence[str], moments: Sequence[str]) -> str | None:
    """The order of the dates; where they do not show it, that in which most were logged on their own day."""
    pairs = [(one, moment) for cell, moment in zip(dates, moments, strict=True) if (one := written_date(cell))]
    orders = orders_shown([one for one, _ in pairs])
    if len(orders) > 1:
        logged = {order: sum(str(one[ORDERS.index(order)]) == moment[:10] for one, moment in pairs) for order in orders}
        orders = [order for order in orders if logged[order] == max(logged.values())]
    return orders[0] if len(orders) == 1 else None


def _dates(lines: Mapping[int, Cells], cells: Sequence[str], name: str, order: str | None) -> list[dt.date | None]:
    rows = list(lines)
    return dates_of(cells, lambda number: f"row {rows[number]}: {name}", order)


def _with_zone(cell: str, day: dt.date) -> str:
    """The time of a cell as YYYY-MM-DDTHH:MM:SS and its zone, that of this place where it tells none."""
    with suppress(ValueError):
        moment = dt.datetime.fromisoformat(cell)
        return cell if moment.tzinfo else moment.astimezone().isoformat()
    clock = CLOCK.search(cell)
    if clock is None:
        return cell
    hour = int(clock[1]) % HALF_A_DAY_H + (HALF_A_DAY_H if clock[3] in "Pp" else 0) if clock[3] else int(clock[1])
    with suppress(ValueError):
        return dt.datetime.combine(day, dt.time(hour, int(clock[2]))).astimezone().isoformat()
    return cell
