"""A gardener's table of weather as the page shows it: its first rows, a menu over each column, and what is missing.

The importer is that of the command; here is what it leaves open, asked in the words of a page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from typing_extensions import TypedDict

from waterbudget.answers.english import capital, count, in_words, listed, span
from waterbudget.answers.imported import SHORT, assumed, guessed_units, left_out, oddities, taken_for
from waterbudget.errors import WeatherError
from waterbudget.rows.cells import quoted
from waterbudget.rows.dates import DAY_FIRST, MONTH_FIRST, YEAR_FIRST
from waterbudget.simulate.imported import WeatherImport, import_of
from waterbudget.weather.files import COLUMNS
from waterbudget.weather.table.columns import Layout, TableColumn, table_in
from waterbudget.weather.table.faults import TableError, TableGapsError
from waterbudget.weather.table.grid import grids_of
from waterbudget.weather.table.headings import DATE, DAY, HOUR, MONTH, YEAR, YEARDAY
from waterbudget.weather.table.understand import FIRST_ROWS, Hints, Understood, understand_grids
from waterbudget.weather.table.units import kind_of, units_of

MOST_COLUMNS = 40  # on a page
SHOWN_GAPS = 3
LEAVE_OUT = "none"
CALENDAR = {
    DATE: "the day",
    HOUR: "the time of day",
    YEAR: "the year",
    MONTH: "the month",
    DAY: "the day of the month",
    YEARDAY: "the day of the year",
}
MENU = {LEAVE_OUT: "leave it out", **CALENDAR, **SHORT}
ORDERS = {
    DAY_FIRST: "Dates: the day comes first",
    MONTH_FIRST: "Dates: the month comes first",
    YEAR_FIRST: "Dates: the year comes first",
}
DECIMALS = {",": "Numbers: a decimal comma, 1,5", ".": "Numbers: a decimal point, 1.5"}
SAYS = {  # what a table leaves open, where nothing of the fault itself belongs into the sentence
    "date": "None of these columns is known to hold the day. Choose the one that does.",
    "readings": "None of these columns is known for rain or temperature. Choose what they are.",
    "weekly": "It has a row a week, and only rain can be spread over the days of one. Leave the other columns out.",
}


@dataclass(frozen=True)
class Picks:
    """What somebody chose: what each column holds and what it is in, by its number; and how dates and decimals go."""

    what: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    order: str | None = None
    decimals: str | None = None
    dry_blanks: bool = False


@dataclass(frozen=True, eq=False)
class Look:
    """A table with what was chosen of it.

    found: as it would come in, None where it cannot yet. understood: its days, None where they cannot be told. fault:
    why, in words.
    """

    name: str
    layout: Layout
    picks: Picks
    found: WeatherImport | None = None
    understood: Understood | None = None
    fault: str = ""


class PickedColumn(TypedDict):
    """A column with its menus. what, unit: what is chosen, "" for a unit as it seems; seems: how that is."""

    number: int
    heading: str
    what: str
    unit: str
    units: list[str]
    seems: str


class Picker(TypedDict):
    """The menus of a table, and what they make of it.

    rows: cells of the first rows, a list a row. more: columns that are not shown. fault: "" for none. says: what it is
    taken for; first_day: of the first row. notes: what to look at.
    """

    name: str
    columns: list[PickedColumn]
    rows: list[list[str]]
    more: int
    picks: Picks
    fault: str
    says: str
    first_day: str
    notes: list[str]
    replaces: str


def picks_of(form: Mapping[str, str]) -> Picks:
    """What a form says; what it cannot say counts as not said."""
    what = {key.removeprefix("what-"): name for key, name in form.items() if key.startswith("what-") and name in MENU}
    units = {key.removeprefix("unit-"): name for key, name in form.items() if key.startswith("unit-") and name}
    order, decimals = form.get("order"), form.get("decimals")
    return Picks(
        what,
        units,
        order if order in ORDERS else None,
        decimals if decimals in DECIMALS else None,
        form.get("dry") == "yes",
    )


def look(path: Path, name: str, content: bytes, picks: Picks) -> Look:
    """A table as it would come into the garden of a site file.

    Raises WeatherError where no choice could help it: no table, no text, too large.
    """
    grids = grids_of(content, name)
    guessed = {str(one.number): _what(one) for one in table_in(grids, name, {}, {}).columns}
    changed = {number: what for number, what in picks.what.items() if guessed.get(number, what) != what}
    hints = Hints(changed, picks.units, picks.order, picks.decimals, picks.dry_blanks)
    looked = Look(name, table_in(grids, name, hints.columns, hints.units), picks)
    try:
        understood = understand_grids(grids, name, hints)
        looked = replace(looked, layout=understood.layout, understood=understood)
        return replace(looked, found=import_of(path, understood))
    except TableError as error:
        return replace(looked, fault=_left_open(error))
    except TableGapsError as error:
        return replace(looked, fault=" ".join(_gaps(error)))
    except WeatherError as error:
        return replace(looked, fault=f"{error.plain[0]}.")


def as_shown(looked: Look) -> Picks:
    """What the menus of its page say, touched or not."""
    facts = picker(looked)
    return replace(
        looked.picks,
        what={str(one["number"]): one["what"] for one in facts["columns"]},
        units={str(one["number"]): one["unit"] for one in facts["columns"] if one["unit"]},
    )


def picker(looked: Look) -> Picker:
    """The facts of its page."""
    columns = looked.layout.columns[:MOST_COLUMNS]
    cells = [looked.layout.cells(one)[:FIRST_ROWS] for one in columns]
    found, understood = looked.found, looked.understood
    return {
        "name": looked.name,
        "columns": [_column(one, looked) for one in columns],
        "rows": [list(row) for row in zip(*cells, strict=True)],
        "more": len(looked.layout.columns) - len(columns),
        "picks": looked.picks,
        "fault": looked.fault,
        "says": "" if found is None else taken_for(found),
        "first_day": "" if understood is None else in_words(understood.first_rows[0][0], year=True),
        "notes": [] if understood is None else list(_notes(understood, found)),
        "replaces": found.target.name if found is not None and found.needs_overwrite else "",
    }


def _what(column: TableColumn) -> str:
    return column.meaning.column or LEAVE_OUT


def _column(column: TableColumn, looked: Look) -> PickedColumn:
    name, picked = column.meaning.column, looked.picks.units.get(str(column.number), "")
    units = list(units_of(kind_of(name))) if name in COLUMNS else []
    readings = () if looked.understood is None else looked.understood.readings
    read = next((one for one in readings if one.column.number == column.number), None)
    told = column.meaning.unit.shown if column.meaning.unit else ""
    if read is not None:
        told = f"{read.unit.shown}, a guess" if read.is_assumed else read.unit.shown
    return {
        "number": column.number,
        "heading": column.called,
        "what": _what(column),
        "unit": picked if picked in units else "",
        "units": units if len(units) > 1 else [],
        "seems": told if told and not picked else "as it seems",
    }


def _notes(understood: Understood, found: WeatherImport | None) -> Iterator[str]:
    """What was taken for granted, what was left out, and what looks odd."""
    for guess in guessed_units(understood):
        yield f"{guess} If it is wrong, choose another."
    yield from assumed(understood)
    yield from left_out(understood)
    if found is None:
        return
    for name, days in found.bridged.items():
        yield f"{capital(SHORT[name])}: {count(days, 'missing day')} bridged between the days beside."
    for name in found.given_up:
        yield f"{capital(SHORT[name])} is left out, as too many of its days are missing."
    if found.lacking_for_et0:
        site = found.site.site
        place = (("latitude", site.latitude_deg), ("height above the sea", site.elevation_m))
        missing = [word for word, known in place if known is None]
        yield (
            f"How thirsty the air is cannot be told without the garden's {listed(missing)}: add that to the garden."
            if missing
            else "How thirsty the air is cannot be told from these readings: look at their units."
        )
    yield from oddities(found)


def _left_open(error: TableError) -> str:
    """What somebody has to choose."""
    heads = listed([quoted(head) for head in error.heads])
    if error.kind == "double":
        what = listed([SHORT.get(name) or CALENDAR[name] for name in error.names])
        return f"{heads} may both be {what}. Choose which one counts, and leave the other out."
    if error.kind == "swapped":
        return f"{heads}: the lowest is above the highest on most days. Choose them the other way round."
    if error.kind == "needed":
        lacking = listed([SHORT[name] for name in error.names])
        return f"No column is known for {lacking}. Choose which one it is, or add it to the table and send that."
    if error.kind == "order":
        return f"{capital(error.said)}. Choose below which number comes first."
    if error.kind == "decimals":
        return f"{capital(error.said)}. Choose below how the numbers are written."
    return SAYS[error.kind]


def _gaps(error: TableGapsError) -> Iterator[str]:
    """Days that are missing, and what to do about them."""
    for name, runs in error.gaps.items():
        told = [in_words(first, year=True) if first == last else span(first, last) for first, last in runs[:SHOWN_GAPS]]
        more = [f"{len(runs) - SHOWN_GAPS} more"] if len(runs) > SHOWN_GAPS else []
        yield f"{capital(SHORT[name])} is missing: {listed([*told, *more])}."
    if "rain_mm" in error.gaps:
        yield "If it was dry then, say so below; else write the rain into the table and send that."
    if set(error.gaps) - {"rain_mm"}:
        yield "Gaps of more than three days cannot be bridged: write what is missing into the table and send that."
