"""An imported table made ready for a run: its gaps closed as those of a station are, and written as a weather file."""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from waterbudget.errors import WeatherError
from waterbudget.rows.table import csv_of
from waterbudget.weather.files import COLUMNS, TEMPERATURES
from waterbudget.weather.gaps import BRIDGED, BRIDGED_DAYS, RAIN, GapsError, WaysOut, mend, missing_lines
from waterbudget.weather.table.faults import TableError, TableGapsError
from waterbudget.weather.table.understand import Understood

if TYPE_CHECKING:
    import pandas as pd

DECIMALS = 6
OF_A_TABLE = WaysOut(
    "Write the rain of these days into the table, 0 for a dry one, or add --dry-blanks if all of them were dry",
    f"Only gaps of up to {BRIDGED_DAYS} days between two readings are bridged: write what is missing into the table, "
    "or take other days with --from and --to",
)


@dataclass(frozen=True, eq=False)
class Mended:
    """Days without a gap. daily: values, and `<column>_source` with `interpolated` on days that were bridged.

    notes: what was done, a sentence each.
    """

    daily: "pd.DataFrame"
    notes: tuple[str, ...]


def mended(understood: Understood, first: dt.date | None = None, last: dt.date | None = None) -> Mended:
    """The days of a table from the first to the last, by default all, ready for a run.

    Days without rain in a gauge's table stay out. Raises WeatherError where a gap cannot be closed, or the table has
    none of the days, or no rain, or neither temperatures nor ET0.
    """
    import pandas as pd

    name = understood.name
    daily = understood.daily.loc[pd.Timestamp(first or understood.first) : pd.Timestamp(last or understood.last)]
    if daily.dropna(how="all").empty:
        raise WeatherError(
            f"{name}: has {understood.first} to {understood.last}, none of the days asked for; change --from and --to"
        )
    if understood.is_gauge:
        return Mended(daily[[RAIN]].dropna().assign(**{f"{RAIN}_source": ""}), ())
    if understood.lacking:
        lacking = understood.lacking
        raise TableError(
            "needed",
            name,
            f"holds no {' and no '.join(lacking)}",
            f'; add what is missing, or say which column it is, as in --columns "HEADING={lacking[0]}"',
            names=lacking,
        )
    kept, notes = _without_hopeless(daily)
    try:
        closed, done = mend(kept, (), OF_A_TABLE)
    except GapsError as error:
        raise TableGapsError(name, error.faults, error.missing) from None
    return Mended(closed, (*done, *notes))


def weather_bytes(ready: Mended, source: str) -> bytes:
    """The days as a weather file, or a gauge's, with what each comes from in its column `source`."""
    names = [name for name in COLUMNS if name in ready.daily]
    table = ready.daily[names].round(DECIMALS)
    bridged = {name: ready.daily[f"{name}_source"] == BRIDGED for name in names}
    told = [
        ", ".join([source, *(f"{name} bridged" for name in names if bridged[name].iloc[row])])
        for row in range(len(table))
    ]
    return csv_of(table.assign(source=told), "date")


def _without_hopeless(daily: "pd.DataFrame") -> "tuple[pd.DataFrame, list[str]]":
    """The days without quantities that a run can do without and whose gaps cannot be closed; a note for each."""
    needed = {RAIN, *(["et0_mm"] if not set(TEMPERATURES) <= set(daily) else TEMPERATURES)}
    notes = []
    for name in [name for name in daily if name not in needed]:
        try:
            mend(daily[[name]], (), OF_A_TABLE)
        except GapsError:
            (line,) = missing_lines(daily[[name]])
            notes.append(f"{line}; too many in a row to bridge, so {name} is left out altogether.")
            daily = daily.drop(columns=name)
    return daily, notes
