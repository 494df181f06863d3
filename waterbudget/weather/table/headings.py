"""What the heading of a column means, by the words of tables/headings.csv, in whatever order they stand."""

import re
import unicodedata
from functools import cache
from typing import NamedTuple

from waterbudget.tables.read import read_rows
from waterbudget.weather.table.units import Unit, unit_in, without_unit
from waterbudget.weather.table.units import unit as unit_named

DATE, YEAR, MONTH, DAY, YEARDAY, HOUR = CALENDAR = ("date", "year", "month", "day", "yearday", "hour")
OTHER = "other"  # something else, whatever else the heading says
QUANTITIES = ("et0", "rain", "humidity", "radiation", "sun", "wind", "temperature")
STATISTICS = ("min", "max", "mean")
COLUMN_OF = {  # what, and its least, greatest or mean; None where it is not said
    ("rain", None): "rain_mm",
    ("et0", None): "et0_mm",
    ("temperature", "min"): "tmin_c",
    ("temperature", "max"): "tmax_c",
    ("temperature", "mean"): "tmean_c",
    ("temperature", None): "tmean_c",
    ("humidity", "min"): "rh_min_pct",
    ("humidity", "max"): "rh_max_pct",
    ("humidity", "mean"): "rh_mean_pct",
    ("humidity", None): "rh_mean_pct",
    ("wind", "mean"): "wind_m_s",
    ("wind", None): "wind_m_s",
    ("sun", None): "sun_hours",
    ("radiation", "mean"): "solar_mj_m2",
    ("radiation", None): "solar_mj_m2",
}
OF_UNIT = {"temperature": "tmean_c", "rain": "rain_mm", "humidity": "rh_mean_pct", "wind": "wind_m_s"}
HEIGHT = re.compile(r"(?<![0-9.])([0-9]{1,2})\s*(?:m|metres|meter)(?![a-z])", re.IGNORECASE)


class Meaning(NamedTuple):
    """What a column holds by its heading.

    column: one of CALENDAR, or of the weather file, "" for neither. unit: None where the heading names none.
    is_tentative: by a sign alone that may stand for something else. weekly: whether its date is that of a week; begins:
    of the first day of it. height_m: of wind readings.
    """

    column: str = ""
    unit: Unit | None = None
    is_tentative: bool = False
    weekly: bool = False
    begins: bool = False
    height_m: float | None = None


def folded(heading: str) -> str:
    """A heading in small plain letters and figures, a blank between its words."""
    spaced = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", heading.replace("ß", "ss"))
    plain = unicodedata.normalize("NFKD", spaced).encode("ascii", "ignore").decode().casefold()
    return " ".join(re.findall("[a-z0-9]+", plain))


def meaning(heading: str) -> Meaning:
    """What a heading means; nothing where none of its words is known, or they contradict each other."""
    text = folded(heading)
    whole = folded(without_unit(re.sub(r"[(\[{].*?[)\]}]", " ", heading)))
    said = _said(text)
    means, tentative = _whole(text) or (None if said & {*STATISTICS} else _whole(whole)) or ("", False)
    said = set(means.split()) or said
    if OTHER in said or not said:
        unit = None if OTHER in said else unit_in(heading)
        alone = unit is not None and (not whole or unit_named(heading.strip()) is not None)
        return Meaning(OF_UNIT.get(unit.kind, ""), unit, is_tentative=True) if unit and alone else Meaning()
    what = next((one for one in (*QUANTITIES, *CALENDAR) if one in said), None)
    if what in CALENDAR:
        return Meaning(str(what), None, tentative, "week" in said, "begins" in said)
    return _reading(heading, what, said, is_tentative=tentative)


def _reading(heading: str, what: str | None, said: set[str], *, is_tentative: bool) -> Meaning:
    statistics = [one for one in STATISTICS if one in said]
    if what is None:  # as in "high" and "low" of an almanac
        unit = next((found for kind in OF_UNIT if (found := unit_in(heading, kind))), None)
        if unit is None and statistics not in (["min"], ["max"]):
            return Meaning()
        what = "temperature" if unit is None else unit.kind
    if what == "sun" and statistics == ["min"]:  # minutes
        statistics = []
    if len(statistics) > 1:
        return Meaning()
    column = COLUMN_OF.get((what, statistics[0] if statistics else None), "")
    unit = unit_in(heading, "rain" if what == "et0" else what)
    height = HEIGHT.search(heading.replace("_", " ")) if what == "wind" else None
    return Meaning(column, unit if column else None, is_tentative, height_m=float(height[1]) if height else None)


@cache
def _words() -> dict[str, str]:
    return {row["words"]: row["means"] for row in read_rows("headings") if row["whole"] == "no"}


@cache
def _signs() -> dict[str, tuple[str, bool]]:
    """What a whole heading means, and whether it is a sign that may stand for something else."""
    rows = [row for row in read_rows("headings") if row["whole"] == "yes"]
    return {row["words"]: (row["means"], row["means"] in CALENDAR and len(row["words"]) <= len("dd")) for row in rows}


def _whole(text: str) -> tuple[str, bool] | None:
    return _signs().get(text)


def _said(text: str) -> set[str]:
    """All that the words of a heading mean, the longest known rows of words first."""
    said: set[str] = set()
    words = text.split()
    place = 0
    while place < len(words):
        for end in range(len(words), place, -1):
            if means := _words().get(" ".join(words[place:end])):
                said |= set(means.split())
                place = end
                break
        else:
            place += 1
    return said
