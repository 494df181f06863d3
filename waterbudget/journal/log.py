"""Write into the journal of a site, take a line back, or look at it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.book import LEVEL, Entry, Journal, Line, append, journal_path, read_journal
from waterbudget.journal.clock import real_today
from waterbudget.journal.dip import cm_of, litres_of
from waterbudget.journal.entries import LogRequest, entries_of, refuse_earlier, undoing
from waterbudget.journal.one_line import last_units, request_of
from waterbudget.simulate.opened import HERE, own_site
from waterbudget.site.model import Site
from waterbudget.site.read import load_site


@dataclass(frozen=True)
class LogOptions:
    """What else is wanted of the journal: to see it, to take a line back (the last, or the one of a number)."""

    show: bool = False
    undo: bool = False
    number: int | None = None


NOTHING_ELSE = LogOptions()


class Depth(NamedTuple):
    """A level in litres and depth, None where they cannot be told or the line has none."""

    level_l: float | None
    depth_cm: float | None


@dataclass(frozen=True, eq=False)
class Logbook:
    """A journal with its site, and what of it is to be seen.

    journal: None where nothing was asked of it. path: of the site file that was named. lines: those that were added,
    with what they take back; all, by their days, where it was to be shown.
    """

    site: Site
    path: Path | None
    journal: Journal | None = None
    lines: tuple[Line, ...] = ()
    is_whole: bool = False

    @property
    def is_example(self) -> bool:
        """Whether there is no site here, so that the built-in example stands in."""
        return self.path is None and not HERE.exists()

    def depth(self, line: Line) -> Depth:
        """Litres and depth of a level."""
        tank = next((tank for tank in self.site.tank if tank.name == line.entry.name), None)
        if line.entry.kind != LEVEL or tank is None:
            return Depth(None, None)
        return Depth(litres_of(tank, line.entry), cm_of(tank, line.entry))


def find_log(
    path: Path | None, request: LogRequest, options: LogOptions = NOTHING_ELSE, words: Sequence[str] = ()
) -> Logbook:
    """Write lines into the journal of a site, take one back or show it; with nothing of these leave it alone.

    words: an evening in one line (`one_line.py`), to be logged with the request. Raises InputError for what the user
    can mend.
    """
    if words:
        request = _with_words(path, request, words)
    _refuse_mixed(request, options)
    if request.is_nothing and not (options.show or options.undo):
        return Logbook(load_site(site_path() if path is None and not HERE.exists() else own_site(path)), path)
    path = own_site(path)
    site, file, today = load_site(path), journal_path(path), real_today()
    added: tuple[Line, ...] = ()
    if options.undo:
        added = append(file, lambda journal: [undoing(journal, options.number, today)])
    elif not request.is_nothing:
        entries = entries_of(site, request, today)

        def in_order(journal: Journal) -> list[Entry]:
            refuse_earlier(journal, entries, today)
            return list(entries)

        added = append(file, in_order)
    journal = read_journal(file)
    if options.show:
        by_day = sorted(journal.lines, key=lambda line: line.in_order)
        return Logbook(site, path, journal, tuple(by_day), is_whole=True)
    undoes = {line.number for line in added}
    undone = [line for line in journal.lines if journal.undone_by.get(line.number) in undoes]
    return Logbook(site, path, journal, (*added, *undone))


def _with_words(path: Path | None, request: LogRequest, words: Sequence[str]) -> LogRequest:
    """The request with what was said in one line. Raises InputError for what cannot be, and for missing quotes."""
    for option, values in (("--tank", request.levels), ("--ran", request.ran)):
        for value in values:
            if "=" not in value and "=" in words[0]:
                raise InputError(f'{option} {value}: put quotes round it, as in {option} "{value} {words[0]}"')
    path = own_site(path)
    file = journal_path(path)
    units = last_units(read_journal(file)) if file.exists() else {}
    said = request_of(load_site(path), words, units)
    if said.gauge_mm is not None and request.gauge_mm is not None:
        raise InputError("--gauge: is said twice; log what the gauge held once")
    return replace(
        request,
        levels=(*request.levels, *said.levels),
        gauge_mm=request.gauge_mm if said.gauge_mm is None else said.gauge_mm,
        ran=(*request.ran, *said.ran),
        mains=(*request.mains, *said.mains),
    )


def _refuse_mixed(request: LogRequest, options: LogOptions) -> None:
    faults = []
    if options.undo and not request.is_nothing:
        faults.append("--undo: stands alone; take the line back first, then log what is right")
    if options.number is not None and not options.undo:
        faults.append("--line: goes with --undo")
    if request.is_nothing and (request.note or request.day is not None):
        faults.append("--note and --on: go with a reading; add --tank, --gauge, --ran or --mains")
    if faults:
        raise InputError(faults)
