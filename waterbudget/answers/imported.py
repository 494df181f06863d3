"""What was understood of a gardener's own table of weather, what was mended in it, and where it goes."""

import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path

from typing_extensions import TypedDict

from waterbudget.answers.english import capital, count, in_words, listed, span
from waterbudget.answers.facts import Common, period
from waterbudget.blocks import Answer, Block, Bullets, Column, Table
from waterbudget.rows.cells import quoted
from waterbudget.simulate.imported import INVENTED, OWN, SAME, WeatherImport
from waterbudget.weather.quality import quality_notes
from waterbudget.weather.table.readings import Readings
from waterbudget.weather.table.understand import Understood

SHOWN_CELLS, SHOWN_DAYS = 4, 4
SHORT = {  # what a column is, in two words
    "rain_mm": "rain",
    "et0_mm": "ET0",
    "tmin_c": "lowest temperature",
    "tmax_c": "highest temperature",
    "tmean_c": "mean temperature",
    "rh_mean_pct": "mean humidity",
    "rh_min_pct": "lowest humidity",
    "rh_max_pct": "highest humidity",
    "wind_m_s": "mean wind",
    "solar_mj_m2": "solar radiation",
    "sun_hours": "sunshine",
}
ROWS = {"day": "one row a day", "hour": "several rows a day, put together", "week": "one row a week, spread evenly"}


class Understanding(TypedDict):
    """A column: its heading, what it is in a weather file, its unit, whether that is a guess, and its days."""

    heading: str
    column: str
    unit: str
    unit_is_assumed: bool
    days: int


class Facts(Common):
    """An import for machines. rows: what a row is. lacking: columns that a run needs. file: what would be written."""

    table: str
    rows: str
    columns: list[Understanding]
    ignored: list[str]
    lacking: list[str]
    file: str
    replaces: str
    days: int


def answer(found: WeatherImport) -> Answer:
    """What would be written, for a look before it is."""
    understood = found.understood
    return Answer(
        "imported",
        f"{found.site.site.name}, weather from {understood.name}",
        tuple(verdict(found)),
        tuple(blocks(found)),
        facts(found),
    )


def facts(found: WeatherImport) -> Facts:
    """The same as plain values."""
    understood, daily = found.understood, found.ready.daily
    return {
        "site": found.site.site.name,
        "period": period(daily.index[0].date(), daily.index[-1].date()),
        "table": understood.name,
        "rows": understood.rhythm,
        "columns": [
            {
                "heading": one.column.called,
                "column": one.name,
                "unit": one.unit.shown,
                "unit_is_assumed": one.is_assumed,
                "days": int(understood.daily[one.name].notna().sum()) if one.name in understood.daily else 0,
            }
            for one in understood.readings
        ],
        "ignored": ignored(understood),
        "lacking": list(understood.lacking),
        "file": str(found.target),
        "replaces": found.replaces,
        "days": len(daily),
    }


def verdict(found: WeatherImport) -> Iterator[str]:
    """What the table is taken for, and where it would go."""
    yield taken_for(found)
    yield f"It goes to {found.target}{REPLACES[found.replaces]}."


def taken_for(found: WeatherImport) -> str:
    """What the table is taken for, and what that is enough for."""
    understood, daily = found.understood, found.ready.daily
    first, last = daily.index[0].date(), daily.index[-1].date()
    if understood.is_gauge:
        lacking = f"It has no {listed([SHORT[name] for name in understood.lacking], 'and no')}, so it"
        where = "with your usual temperatures, in place of the invented weather"
        return (
            f"{count(len(daily), 'day')} of rain, {span(first, last)}. {lacking} stands for your own rain gauge, "
            f"{where if found.stands_alone else 'beside other weather'}."
        )
    what = listed([SHORT[name] for name in daily if name in SHORT])
    return f"{count(len(daily), 'day')}, {span(first, last)}: {what}. That is enough for a run."


REPLACES: Mapping[str, str] = {
    "": "",
    SAME: ", which holds the same already",
    INVENTED: ", in place of the invented weather that came with the starter",
    OWN: ", in place of the file of your own that is there (--overwrite)",
}


def blocks(found: WeatherImport) -> Iterator[Block]:
    """First rows, columns, what to look at, what was mended."""
    understood = found.understood
    yield rows_table(understood)
    yield columns_table(understood)
    yield Bullets("warn", "Look at this", tuple(doubts(found)), full=False)
    done = [*left_out(understood), *found.ready.notes]
    yield Bullets("tell", "What was done", tuple(done), full=False)


def rows_table(understood: Understood) -> Table:
    """The first rows as they stand in the table."""
    heads = [one.column.called for one in understood.readings]
    columns = (
        Column("date", "Day"),
        *(Column(one.name, head) for one, head in zip(understood.readings, heads, strict=True)),
    )
    return Table("First rows", columns, understood.first_rows)


def columns_table(understood: Understood) -> Table:
    """What each column is taken for."""
    columns = (
        Column("heading", "Your heading"),
        Column("column", "is taken for", is_text=True),
        Column("unit", "in", is_text=True),
        Column("days", "days read"),
    )
    rows = tuple(
        (
            one.column.called,
            f"{SHORT[one.name]} ({one.name})",
            f"{one.unit.shown}{' (a guess)' if one.is_assumed else ''}",
            int(understood.daily[one.name].notna().sum()) if one.name in understood.daily else 0,
        )
        for one in understood.readings
    )
    others = ignored(understood)
    below = (f"Left aside: {listed([quoted(one) for one in others])}.",) if others else ()
    return Table("Columns", columns, rows, below)


def ignored(understood: Understood) -> list[str]:
    """The headings of columns that do not count."""
    return [one.called for one in understood.layout.columns if not one.meaning.column]


def doubts(found: WeatherImport) -> Iterator[str]:
    """What was taken for granted, and what looks odd."""
    for guess in guessed_units(found.understood):
        yield f'{guess} If it is wrong, put the unit into the heading, such as "Rain (in)".'
    yield from assumed(found.understood)
    yield from found.lacking_for_et0
    yield from oddities(found)
    if found.weather is not None:
        yield f"ET0 comes from {found.weather.et0.method}. Likely error: {found.weather.et0.likely_error}."


def guessed_units(understood: Understood) -> Iterator[str]:
    """The columns that tell no unit, in a sentence."""
    guessed = [one for one in understood.readings if one.is_assumed]
    if guessed:
        told = listed([f"{quoted(one.column.called)} in {one.unit.shown}" for one in guessed])
        yield f"No unit is told for {told}: that is a guess by the size of the numbers."


def assumed(understood: Understood) -> Iterator[str]:
    """What was taken for granted of dates and days."""
    if understood.days.year is not None:
        yield f"The dates have no year, so the {understood.days.year} of the title was taken."
    if understood.rhythm == "hour":
        yield "The rows are parts of days: they were put together from midnight to midnight by the table's own clock."
    if understood.rhythm == "week":
        yield "The rows are weeks: the rain of each was spread evenly over its days. Daily readings tell more."
    yield from dry_days(understood)


def oddities(found: WeatherImport) -> Iterator[str]:
    """What looks odd in the days."""
    if found.understood.rhythm != "week":  # spread rain is the same for days
        yield from quality_notes(found.ready.daily)


def dry_days(understood: Understood) -> Iterator[str]:
    """Days that were taken for dry."""
    blank = sum(one.dry_blanks for one in understood.readings)
    if blank:
        yield f"The rain column never says 0, so {count(blank, 'blank cell')} in it {_was(blank)} taken for dry days."
    if understood.dry_between:
        yield (
            f"Only days with rain stand there, so the {count(understood.dry_between, 'day')} between them "
            f"{_was(understood.dry_between)} taken for dry."
        )


def left_out(understood: Understood) -> Iterator[str]:
    """Cells and rows that do not count, and why."""
    for one in understood.readings:
        yield from _marks(one)
    if understood.odd:
        told = [f"row {odd.row} {SHORT[odd.column]} {quoted(odd.cell)}" for odd in understood.odd[:SHOWN_CELLS]]
        yield f"Left out, as no such reading can be: {listed(_and_more(told, len(understood.odd)))}."
    if understood.crossed:
        days = [in_words(day, year=True) for day in understood.crossed[:SHOWN_DAYS]]
        yield f"Left out, as the lowest was above the highest: {listed(_and_more(days, len(understood.crossed)))}."
    if understood.dateless:
        told = [f"row {row} ({quoted(cell)})" for row, cell in understood.dateless[:SHOWN_CELLS]]
        yield f"Left out, as there is no date: {listed(_and_more(told, len(understood.dateless)))}."
    if understood.repeated:
        yield f"Rows that stand there twice count once: {understood.repeated}."


def _marks(one: Readings) -> Iterator[str]:
    if one.traces:
        yield f"{capital(SHORT[one.name])}: {count(one.traces, 'trace')} {_was(one.traces)} taken for 0."
    if one.codes:
        told = f"{count(one.codes, 'number')} like 9999 {_was(one.codes)} taken for no reading"
        yield f"{capital(SHORT[one.name])}: {told}."


def _was(number: int) -> str:
    return "was" if number == 1 else "were"


def _and_more(told: list[str], number: int) -> list[str]:
    return [*told, f"{number - len(told)} more"] if number > len(told) else told


def kept_notes(written: tuple[Path, ...], found: WeatherImport) -> tuple[str, ...]:
    """What was done in the end."""
    path = shlex.quote(str(found.path))
    files = [str(path) for path in written]
    return (
        f"Written: {listed(files)}." if files else "Nothing to write: it is there already.",
        f"Next: waterbudget check {path}",
    )
