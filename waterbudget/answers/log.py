"""What was written into the journal, what stands in it, and what can be."""

import shlex
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import count, listed
from waterbudget.answers.facts import Common
from waterbudget.blocks import Answer, Block, Bullets, Column, Paragraph, Table
from waterbudget.journal.book import GAUGE, LEVEL, MAINS, RAN, UNDO, Journal, Line
from waterbudget.journal.log import Logbook

CALLED = {LEVEL: "level", GAUGE: "rain in the gauge", RAN: "run", MAINS: "mains water", UNDO: "undoes"}


class Entry(TypedDict):
    """A line of the journal; undone_by: the line that takes it back."""

    line: int
    written_at: str
    date: str
    kind: str
    name: str
    value: float
    unit: str
    note: str
    level_l: float | None
    depth_cm: float | None
    undone_by: int | None


class Facts(Common):
    """The journal for machines. damaged: a sentence for each line that cannot be read."""

    journal: str | None
    lines: list[Entry]
    damaged: list[str]


def answer(logbook: Logbook) -> Answer:
    """What was written or is to be seen; what to log where nothing was asked of the journal."""
    journal = logbook.journal
    if journal is None:
        notes = ("No site.toml here, so the names are those of the built-in example.",) if logbook.is_example else ()
        verdict = "All of it may stand in one command. It is of today unless you add --on 2031-06-01."
        return Answer("log", "What to log", (verdict,), tuple(guide(logbook)), facts(logbook), notes)
    blocks = (lines_table(logbook, journal),) if logbook.lines else ()
    return Answer("log", "", (verdict_of(logbook, journal),), blocks, facts(logbook), journal.damaged)


def facts(logbook: Logbook) -> Facts:
    """The lines as plain values."""
    journal = logbook.journal
    undone_by = {} if journal is None else journal.undone_by
    return {
        "site": logbook.site.site.name,
        "period": None,
        "journal": None if journal is None else str(journal.path),
        "lines": [
            {
                "line": line.number,
                "written_at": line.written_at.isoformat(),
                "date": line.entry.date.isoformat(),
                "kind": line.entry.kind,
                "name": line.entry.name,
                "value": line.entry.value,
                "unit": line.entry.unit,
                "note": line.entry.note,
                "level_l": logbook.depth(line).level_l,
                "depth_cm": logbook.depth(line).depth_cm,
                "undone_by": undone_by.get(line.number),
            }
            for line in logbook.lines
        ],
        "damaged": [] if journal is None else list(journal.damaged),
    }


def verdict_of(logbook: Logbook, journal: Journal) -> str:
    """What the lines below are."""
    if not logbook.is_whole:
        return f"Logged in {journal.path}:"
    if not journal.lines:
        none = "no line that can be read" if journal.damaged else "no line yet"
        return f"{journal.path} holds {none}. What to log: waterbudget log"
    return f"{journal.path}: {count(len(journal.lines), 'line')}, {len(journal.counting)} of them count"


def lines_table(logbook: Logbook, journal: Journal) -> Table:
    """A row a line; a level in litres and, where the tank has a shape, in depth."""
    columns = (
        Column("line", "Line", is_text=False),
        Column("date", "day", is_text=True),
        Column("kind", "what", is_text=True, write=CALLED.__getitem__),
        Column("name", "of", is_text=True, most=24),
        Column("amount", "amount"),
        Column("depth_cm", "depth", write="{:.1f} cm".format, none=""),
        Column("note", "remark", is_text=True),
    )
    rows = tuple(
        (
            line.number,
            line.entry.date,
            line.entry.kind,
            f"line {line.entry.value:.0f}" if line.entry.kind == UNDO else line.entry.name,
            amount(logbook, line),
            logbook.depth(line).depth_cm,
            remark(journal, line),
        )
        for line in logbook.lines
    )
    return Table("Lines of the journal", columns, rows)


def amount(logbook: Logbook, line: Line) -> str:
    """What a line says, with its unit; a level in litres."""
    entry, level_l = line.entry, logbook.depth(line).level_l
    if entry.kind == UNDO:
        return ""
    if entry.kind == LEVEL:
        return "–" if level_l is None else f"{level_l:,.0f} L"
    return f"{entry.value:g} {entry.unit}"


def remark(journal: Journal, line: Line) -> str:
    """What takes a line back, and the note on it."""
    by = journal.undone_by.get(line.number)
    return "; ".join([*([f"undone by line {by}"] if by else []), *([line.entry.note] if line.entry.note else [])])


def guide(logbook: Logbook) -> Iterator[Block]:
    """What can be logged, in the words of this garden."""
    site = logbook.site
    log = f"waterbudget log{'' if logbook.path is None else f' {shlex.quote(str(logbook.path))}'}"
    tank = next((tank for tank in site.tank if tank.inside is not None), site.tank[0])
    level = f"{tank.name}={'38cm' if tank.inside is not None else f'{tank.all_l / 2:g}L'}"
    yield Bullets(
        "paste",
        "How full a store is, in the evening; by a dip stick if the site gives the store a shape, else in litres:",
        (f"{log} --tank {shlex.quote(level)}",),
    )
    yield Bullets(
        "paste",
        "The day's rain in the gauge, in millimetres, before you empty it; 0 for a dry day:",
        (f"{log} --gauge 6.5",),
    )
    if site.zone:
        run = f"{site.zone[0].name}={site.zone[0].minutes:g}"
        yield Bullets(
            "paste",
            "How many minutes a line ran on a day, if not by its plan; 0 if it was kept shut:",
            (f"{log} --ran {shlex.quote(run)}",),
        )
    yield Bullets(
        "paste",
        "How many litres of mains water were let into a store, by its meter:",
        (f"{log} --mains {shlex.quote(f'{tank.name}=120')}",),
    )
    yield Bullets("paste", "To look at it, and to take the last line back:", (f"{log} --show", f"{log} --undo"))
    lines = f" Lines: {listed([one.name for one in site.zone])}." if site.zone else ""
    yield Paragraph(f"Stores: {listed([one.name for one in site.tank])}.{lines}")
    yield Paragraph(
        "Levels of every few days, some of them soon after rain, let waterbudget fit check the model. There and in "
        "waterbudget today what you log goes before the plan and the weather of its day."
    )
