"""Find out what to do in a garden today, from its site, its weather and its journal."""

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from waterbudget.change.ahead import days_ahead
from waterbudget.change.eve import Readings
from waterbudget.change.forecast import station_forecast
from waterbudget.change.known import DAY, RUN_UP_DAYS, Known, known_on, own_or_example
from waterbudget.change.now import Now, now
from waterbudget.change.outlook import read_forecast
from waterbudget.errors import InputError, Said
from waterbudget.journal.book import LEVEL, Journal, Line, journal_path, read_journal
from waterbudget.journal.clock import real_today
from waterbudget.journal.diary import LET_IN, actions_of, diary_of, gauged
from waterbudget.journal.dip import too_much
from waterbudget.journal.readings import levels_of
from waterbudget.weather.days import Weather


@dataclass(frozen=True)
class Ask:
    """What is asked of today. on: another day, None for the real one. forecast: a file of the days ahead.

    network: whether a station may be asked for weather and forecast; else the cache alone is.
    """

    on: dt.date | None = None
    forecast: Path | None = None
    network: bool = True


def find_today(path: Path | None, ask: Ask | None = None, *, progress: Callable[[str], None] | None = None) -> Now:
    """What to do in a garden today; progress: told of each download.

    Raises InputError for what the user can mend, NetworkError where weather cannot be had in any other way.
    """
    ask = ask or Ask()
    own = own_or_example(path)
    journal, real = read_journal(journal_path(own)), real_today()
    known = known_on(path, ask.on, real, journal, network=ask.network, progress=progress)
    told = ""
    weather: Weather | None = None
    if ask.forecast is not None:
        weather = read_forecast(ask.forecast, known)
    elif ask.on is None and ask.network:
        weather, told = station_forecast(known)
    if ask.on is None and not known.is_example:
        _refuse(journal.path, _in_the_future(journal, real))
    found = found_of(known, weather, journal)
    return replace(found, notes=(*known.notes, *journal.damaged, *found.notes, *([told] if told else [])))


def found_of(known: Known, forecast: Weather | None, journal: Journal) -> Now:
    """A garden today as its journal up to today has it; its notes tell what in there does not count.

    The rain of the gauge goes before that of the weather on days that are over, and adds to what is forecast of today.
    Raises InputError where the last level of a store cannot be, or neither weather nor a level is known.
    """
    site, today = known.site, known.today
    _refuse(journal.path, _too_much(known, journal))
    notes: list[str] = []
    levels = levels_of(site, journal, notes)
    known = _begun(known, levels, journal)
    diary = diary_of(site, journal).until(today)
    over = diary.until(today - DAY)
    if known.weather is not None:
        known = replace(known, weather=gauged(known.weather, over))
    ahead = days_ahead(known, forecast).read(over.rain_mm)
    actions = actions_of(site, diary, known.first, ahead.weather.last_day)
    for tank in site.tank:
        if tank.mains != LET_IN and diary.mains_l[tank.name]:
            own = "float valve" if tank.mains == "float" else "hose"
            notes.append(
                f"{tank.name}: logged mains water is not let in again, as the model opens its {own} by itself."
            )
    found = now(known, ahead, levels, actions, diary.rain_mm.get(today, 0.0))
    return replace(found, notes=(*notes, *diary.notes))


def _begun(known: Known, levels: Readings, journal: Journal) -> Known:
    """Where no weather is known a run begins with the evening from which on every store that was read is known."""
    if known.weather is not None:
        return known
    newest = [max(day for day in days if day <= known.today) for days in levels.values() if min(days) <= known.today]
    if not newest:
        tank = known.site.tank[0].name
        nothing = f"either weather nor a level is known up to {known.today}; dip a store first"
        typed = f'{journal.path}: n{nothing}: waterbudget log --tank "{tank}=…"'
        raise InputError(Said(typed, f"N{nothing}."))
    earliest = known.today - RUN_UP_DAYS * DAY
    return replace(known, begin=max(earliest, min(min(newest) + DAY, known.today - DAY)))


def _too_much(known: Known, journal: Journal) -> Iterator[tuple[Line, str]]:
    """Last levels that their stores cannot hold."""
    tanks = {tank.name: tank for tank in known.site.tank}
    last = {
        line.entry.name: line
        for line in journal.counting
        if line.entry.kind == LEVEL and line.entry.date <= known.today and line.entry.name in tanks
    }
    for name, line in last.items():
        if fault := too_much(tanks[name], line.entry):
            yield line, f"{fault}; correct the sizes in the site file, or"


def _in_the_future(journal: Journal, today: dt.date) -> Iterator[tuple[Line, str]]:
    """Lines of days to come."""
    for line in journal.counting:
        if line.entry.date > today:
            yield line, f"{line.entry.date} lies in the future, today is {today};"


def _refuse(path: Path, faults: Iterator[tuple[Line, str]]) -> None:
    told = [
        Said(
            f"{path}: line {line.number}: {fault} take it back: waterbudget log --undo --line {line.number}",
            f"Line {line.number} of the journal: {fault} take it back in the journal.",
        )
        for line, fault in faults
    ]
    if told:
        raise InputError(told)
