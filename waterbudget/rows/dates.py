"""Dates as people and spreadsheets write them; which of two numbers is the day, the other dates of the file tell."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from waterbudget.rows.cells import Where, quoted

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = ORDERS = ("day first", "month first", "year first")
FIRST_YEAR, LAST_YEAR = 1700, 2200  # pandas counts nanoseconds from 1970, which reach from 1677 to 2262
ISO = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")
WRITE = "write YYYY-MM-DD, such as 2031-05-01"
TIME_AT_THE_END = re.compile(
    r"[ T]+[0-9]{1,2}[:h][0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|UTC|[-+][0-9]{2}:?[0-9]{2})?$",
    re.IGNORECASE,
)
BETWEEN, ORDINAL, YEAR = r"[-/. ]+", r"(?:st|nd|rd|th|er|º|\.)?", r"([0-9]{4}|[0-9]{2})"
WORD = r"([^\W\d_]{3,10})"
WEEKDAY = re.compile(r"[^\W\d_]{2,10}(?:[.,]+ *| +(?=[0-9]))")
FULL_YEAR_FIRST = re.compile(rf"([0-9]{{4}}){BETWEEN}([0-9]{{1,2}}){BETWEEN}([0-9]{{1,2}})\.?")
YEAR_AT_AN_END = re.compile(rf"([0-9]{{1,2}})({BETWEEN})([0-9]{{1,2}}){BETWEEN}{YEAR}\.?")
PACKED = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})")
PACKED_YEAR_LAST = re.compile(r"([0-9]{2})([0-9]{2})([0-9]{4})")
MONTH_IN_LETTERS = (  # and which groups are day, month and year
    (re.compile(rf"([0-9]{{1,2}}){ORDINAL}[-/. ]*(?:de )?{WORD}[-/., ]*(?:del? )?{YEAR}\.?"), (1, 2, 3)),
    (re.compile(rf"{WORD}[-/. ]*([0-9]{{1,2}}){ORDINAL}[-/., ]+{YEAR}"), (2, 1, 3)),
    (re.compile(rf"([0-9]{{4}})[-/. ]*{WORD}[-/., ]*([0-9]{{1,2}})"), (3, 2, 1)),
)
MONTHS = (  # how they begin in English, German, French and Spanish
    ("jan", "jän", "ene"),
    ("feb", "fév", "fev"),
    ("mar", "mär", "mrz"),
    ("apr", "avr", "abr"),
    ("may", "mai"),
    ("jun", "juin"),
    ("jul", "juil"),
    ("aug", "aoû", "aou", "ago"),
    ("sep",),
    ("oct", "okt"),
    ("nov",),
    ("dec", "dez", "déc", "dic"),
)
WEEKDAYS = (  # how they begin, Monday first
    ("mon", "mo", "lun"),
    ("tue", "di", "mar"),
    ("wed", "mi", "mer", "mié"),
    ("thu", "do", "jeu", "jue"),
    ("fri", "fr", "ven", "vie"),
    ("sat", "sa", "sáb"),
    ("sun", "so", "dim", "dom"),
)
OF_LAST_CENTURY = 69  # and above: 68 is 2068, 69 is 1969, as strptime has it
STEPS_THAT_TELL = 2
KEPT = 4096  # days; the hours of a day have the same


class AmbiguousDateError(ValueError):
    """Dates that do not tell their order. said: why, without what would be right."""

    def __init__(self, said: str) -> None:
        self.said = said
        super().__init__(f"{said}; {WRITE}")


class Written(NamedTuple):
    """The day that a cell means in each order; None for one that no year has."""

    day_first: dt.date | None
    month_first: dt.date | None
    year_first: dt.date | None


def iso_dates(cells: Sequence[str], where: Where) -> list[str]:
    """The cells with their dates as YYYY-MM-DD; what holds none stays as it is.

    where: what each cell is called. Raises ValueError as `dates_of`.
    """
    if all(ISO.fullmatch(cell) for cell in cells):
        return list(cells)
    dates = dates_of(cells, where)
    return [cell if date is None else date.isoformat() for cell, date in zip(cells, dates, strict=True)]


def dates_of(cells: Sequence[str], where: Where, order: str | None = None) -> list[dt.date | None]:
    """The date of each cell, None where it holds none or one that does not exist.

    where: what each cell is called. order: one of ORDERS, by default the one that the cells show. Raises
    AmbiguousDateError, in words that name a cell, where they show none.
    """
    written = [written_date(cell) for cell in cells]
    orders = [order] if order else orders_shown([one for one in written if one is not None])
    if len(orders) > 1:
        raise AmbiguousDateError(_untold(cells, where, written, [ORDERS.index(each) for each in orders]))
    place = ORDERS.index(orders[0])
    return [None if one is None else one[place] for one in written]


def date_in(cell: str) -> dt.date:
    """The date of a cell, YYYY-MM-DD. Raises ValueError saying what is wrong with it and what would be right."""
    if not cell:
        raise ValueError(f"is blank; {WRITE}")
    try:
        date = dt.date.fromisoformat(cell if ISO.fullmatch(cell) else "")
    except ValueError:
        exists_not = written_date(cell) is not None
        told = "a day that does not exist; correct it" if exists_not else WRITE
        raise ValueError(f"is {quoted(cell)}{', ' if exists_not else '; '}{told}") from None
    if not FIRST_YEAR <= date.year <= LAST_YEAR:
        raise ValueError(f"is {quoted(cell)}; write a year from {FIRST_YEAR} to {LAST_YEAR}")
    return date


def written_date(cell: str) -> Written | None:
    """What a cell may mean, with a weekday before or a time of day behind or without; None where it is no date."""
    text = cell.strip()
    match = TIME_AT_THE_END.search(text) if ":" in text or "h" in text else None
    return _written(text[: match.start()] if match else text)


@lru_cache(maxsize=KEPT)
def _written(text: str) -> Written | None:
    bare = WEEKDAY.sub("", text, count=1)
    return _named(text) or _on(text, _numbered(bare)) or _named(bare)


def _on(text: str, written: Written | None) -> Written | None:
    """What a cell may mean by the day of the week before its figures, where that leaves any day."""
    if written is None or (match := WEEKDAY.match(text)) is None:
        return written
    days = [day for day in written if day and match[0].lower().startswith(WEEKDAYS[day.weekday()])]
    fitting = Written(*(day if day in days else None for day in written))
    return fitting if days else written


def orders_shown(written: Sequence[Written]) -> list[str]:
    """The orders that dates may be in: one where they show it, several where they do not.

    It is the one in which most of them exist; else the one in which they follow each other, day by day or at least all
    up or all down.
    """
    known = [one for one in written if any(one)]
    exist = {order: sum(one[place] is not None for one in known) for place, order in enumerate(ORDERS)}
    likely = [order for order in ORDERS if exist[order] == max(exist.values())]
    days = {order: [one[ORDERS.index(order)] for one in known] for order in likely}
    if YEAR_FIRST in likely and len(likely) > 1 and not _day_by_day(days[YEAR_FIRST]):
        likely.remove(YEAR_FIRST)  # in two figures hardly anybody begins with it
    if all(days[order] == days[likely[0]] for order in likely):
        return likely[:1]
    for fits in (_day_by_day, _one_way):
        fitting = [order for order in likely if fits(days[order])]
        if len(fitting) == 1:
            return fitting
    return likely


def _untold(cells: Sequence[str], where: Where, written: Sequence[Written | None], places: Sequence[int]) -> str:
    """Why the order of the dates cannot be told; places: of the orders that it may be."""
    only: dict[int, int] = {}
    either: dict[str, str] = {}
    for number, one in enumerate(written):
        exist = [place for place in places if one is not None and one[place] is not None]
        if len(exist) == 1:
            only.setdefault(exist[0], number)
        elif one is not None and len(days := dict.fromkeys(str(one[place]) for place in exist)) > 1:
            either.setdefault(f"{where(number)} is {quoted(cells[number])}", " or ".join(days))
    if only:
        first, second, *_ = [f"{where(number)} is {quoted(cells[number])}" for number in only.values()]
        return f"{first} and {second}, so day and month change places"
    cell, may_be = next(iter(either.items()))
    return f"{cell}, which may be {may_be}, and no other date tells"


def _day_by_day(days: Iterable[dt.date | None]) -> bool:
    steps = _steps(days)
    return STEPS_THAT_TELL <= sum(abs(step) == 1 for step in steps) > len(steps) / 2


def _one_way(days: Iterable[dt.date | None]) -> bool:
    steps = _steps(days)
    return len(steps) >= STEPS_THAT_TELL and (all(step > 0 for step in steps) or all(step < 0 for step in steps))


def _steps(days: Iterable[dt.date | None]) -> list[int]:
    """Days from each date to the next other one."""
    steps = [(later - day).days for day, later in pairwise([day for day in days if day is not None])]
    return [step for step in steps if step]


def _named(text: str) -> Written | None:
    """A date with its month in letters."""
    for pattern, (day, month, year) in MONTH_IN_LETTERS:
        match = pattern.fullmatch(text)
        number = month_number(match[month]) if match else None
        if match and number:
            return _certain(_date(match[year], number, match[day]))
    return None


def month_number(word: str) -> int | None:
    """The number of the month that a word names, whole or cut short; None for any other word."""
    return next((number for number, begins in enumerate(MONTHS, 1) if word.lower().startswith(begins)), None)


def _numbered(text: str) -> Written | None:
    """A date in figures alone."""
    if (match := FULL_YEAR_FIRST.fullmatch(text)) or (match := PACKED.fullmatch(text)):
        date = _date(*match.groups())
        if (last := PACKED_YEAR_LAST.fullmatch(text)) and date is None:
            day, month, year = last.groups()
            return Written(_date(year, month, day), _date(year, day, month), None)
        return _certain(date)
    match = YEAR_AT_AN_END.fullmatch(text)
    if match is None:
        return None
    one, between, two, three = match.groups()
    day_first = _date(three, two, one)
    if "." in between and len(three) > 2:  # noqa: PLR2004 -- nobody puts the month first with dots
        return _certain(day_first)
    year_first = _date(one, two, three) if len(one) == len(three) else None
    return Written(day_first, day_first if "." in between else _date(three, one, two), year_first)


def _certain(date: dt.date | None) -> Written:
    return Written(date, date, date)


def _date(year: str, month: str | int, day: str) -> dt.date | None:
    number = int(year)
    if len(year) == len("YY"):
        number += 1900 if number >= OF_LAST_CENTURY else 2000
    try:
        return dt.date(number, int(month), int(day))
    except ValueError:
        return None
