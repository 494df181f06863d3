"""A year of a station as it is kept: its columns in our units, its text, and whether a kept file is whole."""

import gzip
import io
import sqlite3
import zlib
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Hashable

    import pandas as pd

COLUMNS = {
    "prcp": "rain_mm",
    "tmin": "tmin_c",
    "tmax": "tmax_c",
    "temp": "tmean_c",
    "rhum": "rh_mean_pct",
    "wspd": "wind_m_s",
    "tsun": "sun_hours",
}
PARAMETERS = {column: parameter for parameter, column in COLUMNS.items()}
PER_OUR_UNIT = {"wind_m_s": 3.6, "sun_hours": 60.0}  # km/h in a m/s, minutes in an hour


class KeptYear(NamedTuple):
    """The days of a year, and whom to thank for them."""

    daily: "pd.DataFrame"
    credit: str


def in_our_units(table: "pd.DataFrame | None") -> "pd.DataFrame":
    """The library's table in our names and units, without what a model made up."""
    import pandas as pd
    from meteostat.core.providers import provider_service
    from meteostat.enumerations import Grade

    if table is None:
        table = pd.DataFrame(columns=[x for name in COLUMNS for x in (name, f"{name}_source")])
    modelled = {str(p.id) for p in provider_service.providers if p.grade in (Grade.FORECAST, Grade.ANALYSIS)}
    daily = pd.DataFrame(index=pd.DatetimeIndex(table.index, name="date"))
    for name, column in COLUMNS.items():
        source = table[f"{name}_source"].astype(object).fillna("").astype(str)
        # The library leaves out the days of models, but not those mixed of readings and a model.
        observed = ~source.isin([text for text in source.unique() if modelled & set(text.split())])
        value = table[name].astype("float64")  # its own whole-number types wrap round in arithmetic
        daily[column] = value.where(observed).to_numpy() / PER_OUR_UNIT.get(column, 1.0)
        daily[f"{column}_source"] = source.where(observed & value.notna(), "").to_numpy()
    return daily


def values_of(year: KeptYear) -> int:
    """How many readings a year has."""
    return int(year.daily[list(PARAMETERS)].notna().to_numpy().sum())


def read_year(path: Path) -> KeptYear | None:
    """A kept year, or None where there is none or it is damaged."""
    import pandas as pd

    try:
        head, _, text = gzip.decompress(path.read_bytes()).decode().partition("\n")
        numbers: dict[Hashable, str] = dict.fromkeys(PARAMETERS, "float64")
        kinds = numbers | {f"{column}_source": "str" for column in PARAMETERS}
        daily = pd.read_csv(io.StringIO(text), index_col="date", dtype=kinds, float_precision="round_trip")
        daily.index = pd.to_datetime(daily.index, format="%Y-%m-%d")
        sources = [f"{column}_source" for column in PARAMETERS]
        daily[sources] = daily[sources].fillna("")
        columns = [x for column in PARAMETERS for x in (column, f"{column}_source")]
        return KeptYear(daily[columns], head.removeprefix("# "))
    except (OSError, EOFError, zlib.error, ValueError, KeyError):
        return None


def fetched_on(path: Path) -> datetime | None:
    """When a file was fetched; None where there is none."""
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, tz=UTC)
    except OSError:
        return None


def is_sound(path: Path) -> bool:
    """Whether the file is a whole list of stations."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as db:
            answer = db.execute("PRAGMA quick_check").fetchone()
            db.execute("SELECT 1 FROM stations, names, inventory, identifiers LIMIT 1")
    except sqlite3.Error:
        return False
    return bool(answer == ("ok",))
