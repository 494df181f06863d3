"""The screens of log and fit: what was written down, what is in the journal, and measured against modelled levels."""

import datetime as dt
import json
import shlex
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.book import (
    GAUGE,
    LEVEL,
    MAINS,
    RAN,
    UNDO,
    Journal,
    Line,
    append,
    journal_path,
    read_journal,
)
from waterbudget.journal.dip import cm_of, litres_of
from waterbudget.journal.entries import Said, entries_of, refuse_earlier, undoing
from waterbudget.report.answer import Answer
from waterbudget.report.text import short_name
from waterbudget.report.words import (
    WIDTH,
    count,
    listed,
    screen,
    shortened,
    wrapped,
)
from waterbudget.simulate.opened import HERE
from waterbudget.site.model import Site
from waterbudget.site.read import load_site

SHOWN_READINGS = 24
CALLED = {LEVEL: "level", GAUGE: "rain in the gauge", RAN: "run", MAINS: "mains water", UNDO: "undoes"}
OF = {  # what is fitted, and its unit
    "runoff_coefficient": ("Runoff coefficient of", ""),
    "first_flush_l": ("First flush of", "L a day"),
    "loss_l_per_day": ("Leak of", "L a day"),
    "flow_l_min": ("Flow of", "L/min"),
    "start_l": ("First level of", "L"),
}
ERROR_FIGURES = 2


@dataclass(frozen=True)
class Asked:
    """What else is wanted of the journal: to see it, to take a line back (the last, or the one of a number)."""

    show: bool = False
    undo: bool = False
    number: int | None = None
    as_json: bool = False


# ---- log -----------------------------------------------------------------------------------------------------------


def answer_log(path: Path | None, said: Said, asked: Asked) -> Answer:
    """Write lines into the journal of a site, take one back or show it; with nothing of these tell what to log.

    Raises InputError for what the user can mend.
    """
    _refuse_mixed(said, asked)
    if said.is_nothing and not (asked.show or asked.undo):
        return _what_to_log(path)
    path = own_site(path)
    site, file, today = load_site(path), journal_path(path), dt.datetime.now().astimezone().date()
    added: tuple[Line, ...] = ()
    if asked.undo:
        added = append(file, lambda journal: [undoing(journal, asked.number, today)])
    elif not said.is_nothing:
        entries = entries_of(site, said, today)

        def in_order(journal: Journal) -> list[Any]:
            refuse_earlier(journal, entries)
            return list(entries)

        added = append(file, in_order)
    journal = read_journal(file)
    shown = journal.lines if asked.show else added
    if asked.as_json:
        return Answer(journal_json(site, journal, shown), journal.damaged)
    text = journal_screen(site, journal) if asked.show else added_screen(site, journal, added)
    return Answer(text, journal.damaged)


def own_site(path: Path | None) -> Path:
    """The site file that was named, else site.toml of this folder. Raises InputError where neither is there."""
    if path is None and not HERE.exists():
        raise InputError(f"{HERE}: there is none here; name your site file, or start one: waterbudget new my-garden")
    return path or HERE


def _refuse_mixed(said: Said, asked: Asked) -> None:
    faults = []
    if asked.undo and not said.is_nothing:
        faults.append("--undo: stands alone; take the line back first, then log what is right")
    if asked.number is not None and not asked.undo:
        faults.append("--line: goes with --undo")
    if said.is_nothing and (said.note or said.day is not None):
        faults.append("--note and --on: go with a reading; add --tank, --gauge, --ran or --mains")
    if faults:
        raise InputError(faults)


def added_screen(site: Site, journal: Journal, added: Sequence[Line]) -> str:
    """What was just written, and below it what that takes back."""
    undone = [line for line in journal.lines if journal.undone_by.get(line.number) in {new.number for new in added}]
    return screen([f"Logged in {journal.path}:"], lines_table(site, journal, [*added, *undone]))


def journal_screen(site: Site, journal: Journal) -> str:
    """All lines of the journal, the newest last."""
    if not journal.lines:
        return f"{journal.path} holds no line yet. What to log: waterbudget log"
    count_of = f"{journal.path}: {count(len(journal.lines), 'line')}, {len(journal.counting)} of them count"
    in_order = sorted(journal.lines, key=lambda line: (line.entry.date, line.number))
    return screen([count_of], lines_table(site, journal, in_order))


def lines_table(site: Site, journal: Journal, lines: Sequence[Line]) -> list[str]:
    """A row a line; a level in litres and, where the tank has a shape, in depth."""
    head = ("Line", "day", "what", "of", "amount", "depth", "remark")
    rows = [head, *(_line_row(site, journal, line) for line in lines)]
    left = {"day", "what", "of", "remark"}
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    return [
        shortened(
            "  ".join(cell.ljust(width) if name in left else cell.rjust(width) for cell, width, name in cells).rstrip(),
            WIDTH,
        )
        for cells in (zip(row, widths, head, strict=True) for row in rows)
    ]


def _line_row(site: Site, journal: Journal, line: Line) -> tuple[str, ...]:
    entry = line.entry
    in_l, in_cm = _level(site, line)
    if entry.kind == UNDO:
        amount, of = "", f"line {entry.value:.0f}"
    elif entry.kind == LEVEL:
        amount, of = "–" if in_l is None else f"{in_l:,.0f} L", short_name(entry.name)
    else:
        amount, of = f"{entry.value:g} {entry.unit}", short_name(entry.name)
    by = journal.undone_by.get(line.number)
    remark = "; ".join([*([f"undone by line {by}"] if by else []), *([entry.note] if entry.note else [])])
    depth = "" if in_cm is None else f"{in_cm:.1f} cm"
    return (str(line.number), entry.date.isoformat(), CALLED[entry.kind], of, amount, depth, remark)


def _level(site: Site, line: Line) -> tuple[float | None, float | None]:
    """Litres and depth of a level, None where they cannot be told."""
    tank = next((tank for tank in site.tank if tank.name == line.entry.name), None)
    if line.entry.kind != LEVEL or tank is None:
        return None, None
    return litres_of(tank, line.entry), cm_of(tank, line.entry)


def journal_json(site: Site, journal: Journal, lines: Sequence[Line]) -> str:
    """Lines as JSON, with litres and depth of the levels; undone_by: the line that takes a line back."""
    told = []
    for line in lines:
        in_l, in_cm = _level(site, line)
        told.append(
            {
                "line": line.number,
                "written_at": line.written_at.isoformat(),
                **line.entry._asdict(),
                "date": line.entry.date.isoformat(),
                "level_l": in_l,
                "depth_cm": in_cm,
                "undone_by": journal.undone_by.get(line.number),
            }
        )
    return json.dumps(
        {"journal": str(journal.path), "lines": told, "damaged": journal.damaged}, indent=2, ensure_ascii=False
    )


def _what_to_log(path: Path | None) -> Answer:
    """What can be logged, in the words of this garden."""
    notes: tuple[str, ...] = ()
    if path is None and not HERE.exists():
        notes = ("No site.toml here, so the names are those of the built-in example.",)
        site, named = load_site(site_path()), ""
    else:
        site, named = load_site(own_site(path)), "" if path is None else f" {shlex.quote(str(path))}"
    log = f"waterbudget log{named}"
    tank = next((tank for tank in site.tank if tank.inside is not None), site.tank[0])
    level = f"{tank.name}={'38cm' if tank.inside is not None else f'{tank.capacity_l / 2:g}L'}"
    what = {
        "How full a store is, in the evening; by a dip stick if the site gives the store a shape, else in litres": (
            f"{log} --tank {shlex.quote(level)}"
        ),
        "The day's rain in the gauge, in millimetres, before you empty it; 0 for a dry day": f"{log} --gauge 6.5",
        **(
            {
                "How many minutes a line ran on a day, if not by its plan; 0 if it was kept shut": (
                    f"{log} --ran {shlex.quote(f'{site.zone[0].name}={site.zone[0].minutes:g}')}"
                )
            }
            if site.zone
            else {}
        ),
        "How many litres of mains water were let into a store, by its meter": (
            f"{log} --mains {shlex.quote(f'{tank.name}=120')}"
        ),
    }
    lines = [part for words, command in what.items() for part in (wrapped(f"{words}:"), f"    {command}")]
    names = [
        wrapped(f"Stores: {listed([one.name for one in site.tank])}."),
        *([wrapped(f"Lines: {listed([one.name for one in site.zone])}.")] if site.zone else []),
        wrapped("All of it may stand in one command. It is of today unless you add --on 2031-06-01."),
        wrapped(
            "Levels of every few days, some of them soon after rain, let waterbudget fit check the model. There and in "
            "waterbudget today what you log goes before the plan and the weather of its day."
        ),
    ]
    then = ["To look at it, and to take the last line back:", f"    {log} --show", f"    {log} --undo"]
    return Answer(screen(["What to log:"], lines, names, then), notes)
