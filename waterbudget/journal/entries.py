"""From what somebody says, such as "Shed butt=38cm", to entries of the journal that can be true."""

import datetime as dt
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from waterbudget.errors import InputError, Said, cut
from waterbudget.journal.book import CONTROL, GAUGE, LEVEL, MAINS, RAN, UNDO, Entry, Journal
from waterbudget.journal.dip import ROUNDING_CM, full_cm
from waterbudget.site.model import FIRST_YEAR, Site, Tank
from waterbudget.tables.read import named
from waterbudget.units import CM_PER_M

AMOUNT = re.compile(r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?([A-Za-z]*)")
IN_CM = {"mm": 0.1, "cm": 1.0, "m": CM_PER_M}
DAY_MIN, MOST_RAIN_MM, MOST_MAINS_L = 1440.0, 2000.0, 1e6  # of a day; rain as in the weather file
LONGEST_NOTE = 200  # letters
LATE_DAYS = 14


@dataclass(frozen=True)
class LogRequest:
    """What is to be logged, as it was typed.

    levels: TANK=38cm or TANK=420L. gauge_mm: rain in the gauge. ran: ZONE=MINUTES. mains: LITRES or TANK=LITRES.
    day: of all of it, None for today.
    """

    levels: tuple[str, ...] = ()
    gauge_mm: float | None = None
    ran: tuple[str, ...] = ()
    mains: tuple[str, ...] = ()
    day: dt.date | None = None
    note: str = ""

    @property
    def is_nothing(self) -> bool:
        """Whether there is nothing to log."""
        return not (self.levels or self.ran or self.mains or self.gauge_mm is not None)


class Where(NamedTuple):
    """What a fault is about: a field of LogRequest, and how the command names it with what was written there."""

    field: str
    option: str


class Fault(NamedTuple):
    """A fault of what is to be logged, in words that name no option."""

    where: Where
    said: str


class EntryError(InputError):
    """Faults of what is to be logged; its lines are those of the command, its parts are for any other place."""

    def __init__(self, parts: Iterable[Fault]) -> None:
        self.parts = tuple(parts)
        super().__init__(f"{where.option}: {said}" for where, said in self.parts)


def entries_of(site: Site, request: LogRequest, today: dt.date) -> list[Entry]:
    """The entries, those of a kind in the order given. Raises EntryError with a line for each that cannot be."""
    day = request.day or today
    faults = [*_day_faults(day, today), *_note_faults(request.note)]
    entries: list[Entry] = []
    for kind, words in _each(request):
        try:
            name, value, unit = _understood(site, kind, words)
        except EntryError as error:
            faults += error.parts
        else:
            entries.append(Entry(day, kind, name, value, unit, request.note.strip()))
    if faults:
        raise EntryError(faults)
    return entries


def refuse_earlier(journal: Journal, entries: Iterable[Entry], today: dt.date) -> None:
    """Raises EntryError for each entry of an earlier day than the last of its kind, and of its tank or zone.

    Those of the last LATE_DAYS are taken all the same: they may have waited on a phone, or in somebody's head.
    """
    last = {(line.entry.kind, line.entry.name): line for line in journal.counting}
    faults = []
    for entry in entries:
        line = last.get((entry.kind, entry.name))
        if line is not None and entry.date < line.entry.date and (today - entry.date).days > LATE_DAYS:
            of = f" of {entry.name}" if entry.name else ""
            faults.append(
                Fault(
                    Where("day", "--on"),
                    f"{entry.date} lies before the last {entry.kind}{of}, of {line.entry.date}; log it in order: undo "
                    f"line {line.number} first (--undo --line {line.number})",
                )
            )
    if faults:
        raise EntryError(faults)


def undoing(journal: Journal, number: int | None, today: dt.date) -> Entry:
    """The entry that takes a line back, by default the last written that counts.

    Raises InputError where there is none, or it does not count already.
    """
    counting = {line.number: line for line in journal.counting}
    if not counting:
        raise InputError(f"{journal.path}: holds no line to undo")
    if number is None:
        number = max(counting)
    if number in journal.undone_by:
        undone = f"{number} is undone already, by line {journal.undone_by[number]}"
        raise InputError(Said(f"--line: {undone}", f"Line {undone}"))
    if number not in counting:
        none = f"{number} is no line that can be undone"
        raise InputError(Said(f"--line: {none}; --show lists them, the last is {max(counting)}", f"Line {none}"))
    return Entry(today, UNDO, "", float(number), "line")


def _each(request: LogRequest) -> Iterator[tuple[str, str]]:
    for kind, words in ((LEVEL, request.levels), (RAN, request.ran), (MAINS, request.mains)):
        yield from ((kind, one) for one in words)
    if request.gauge_mm is not None:
        yield GAUGE, f"{request.gauge_mm!r}"


def _understood(site: Site, kind: str, words: str) -> tuple[str, float, str]:
    """Name, value and unit of what was said."""
    if kind == GAUGE:
        gauge = Where("gauge_mm", f"--gauge: {float(words):g}")
        return "", _within(float(words), MOST_RAIN_MM, gauge, "millimetres"), "mm"
    thing, equals, amount = (part.strip() for part in words.rpartition("="))
    words = cut(words)
    if kind == LEVEL:
        where = Where("levels", f"--tank {words}")
        tank = _tank(site, thing, where, "TANK=38cm or TANK=420L")
        return tank.name, *_level(tank, amount, where)
    if kind == RAN:
        where = Where("ran", f"--ran {words}")
        name = _named(thing, [zone.name for zone in site.zone], "zone", where, "ZONE=MINUTES")
        minutes, _ = _amount(amount, ("", "min"), where, f'minutes, as in "{name}=5"')
        return name, _within(minutes, DAY_MIN, where, "minutes of the day"), "min"
    where = Where("mains", f"--mains {words}")
    if not equals and len(site.tank) > 1:
        listed = " or ".join(f'"{tank.name}={amount}"' for tank in site.tank)
        raise _fault(where, f"name the store that it ran into: write {listed}")
    name = _tank(site, thing, where, "TANK=LITRES").name if equals else ""
    litres, _ = _amount(amount, ("", "L", "l"), where, 'litres, as in 120 or "TANK=120"')
    return name, _within(litres, MOST_MAINS_L, where, "litres"), "L"


def _level(tank: Tank, amount: str, where: Where) -> tuple[float, str]:
    form = f'a depth or litres, as in "{tank.name}=38cm" or "{tank.name}=420L"'
    value, unit = _amount(amount, (*IN_CM, "L", "l"), where, form)
    if unit not in IN_CM:
        return _within(value, tank.all_l, where, f"litres that {tank.name} holds"), "L"
    most_cm = full_cm(tank)
    if most_cm is None:
        raise _fault(
            where,
            f"the site gives {tank.name} no shape to tell litres from a depth; "
            f'log litres ("{tank.name}=420L"), or add shape = "…" and its sizes to the site file',
        )
    depth_cm = round(value * IN_CM[unit], 6)
    if depth_cm > most_cm + ROUNDING_CM:
        raise _fault(
            where,
            f"deeper than {tank.name}, which is {most_cm:g} cm deep; measure from its floor, or correct the sizes in "
            "the site file",
        )
    return depth_cm, "cm"


def _tank(site: Site, thing: str, where: Where, form: str) -> Tank:
    tanks = {tank.name: tank for tank in site.tank}
    return tanks[_named(thing, list(tanks), "tank", where, form)]


def _named(thing: str, known: Sequence[str], kind: str, where: Where, form: str) -> str:
    """The name that was meant, by a beginning that no other has, whatever its case."""
    listed = ", ".join(f'"{name}"' for name in known) or "none in the site file"
    if not thing:
        quoted = f'{where.option.split()[0]} "{form.replace(form.partition("=")[0], known[0] if known else "…", 1)}"'
        raise _fault(
            where,
            f"names no {kind}; write {form}, with one of these: {listed}, and quotes round it where a name has blanks: "
            f"{quoted}",
        )
    try:
        return named(thing, known, kind)
    except InputError as error:
        raise _fault(where, str(error)) from None


def _amount(amount: str, units: Sequence[str], where: Where, form: str) -> tuple[float, str]:
    match = AMOUNT.fullmatch(amount)
    if match is None or match[2] not in units:
        raise _fault(where, f"write {form}; decimals take a point")
    return float(match[1]), match[2]


def _within(value: float, most: float, where: Where, what: str) -> float:
    if not (math.isfinite(value) and 0.0 <= value <= most):
        raise _fault(where, f"write 0 to {most:_.15g} {what}")
    return value


def _fault(where: Where, said: str) -> EntryError:
    return EntryError([Fault(where, said)])


def _day_faults(day: dt.date, today: dt.date) -> Iterator[Fault]:
    where = Where("day", "--on")
    if day > today:
        yield Fault(where, f"{day} lies in the future, today is {today}; log what was seen")
    elif day.year < FIRST_YEAR:
        yield Fault(where, f"{day} is before {FIRST_YEAR}; write a day of this garden")


def _note_faults(note: str) -> Iterator[Fault]:
    where = Where("note", "--note")
    if CONTROL.search(note):
        yield Fault(where, "write it without line breaks, tabs and other control characters")
    elif len(note) > LONGEST_NOTE:
        yield Fault(where, f"has {len(note)} letters; write at most {LONGEST_NOTE}")
