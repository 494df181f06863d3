"""What is known of a garden on a day: its site, its journal, and the weather of the days before."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from waterbudget.errors import Said, WeatherError, plain
from waterbudget.example import site_path
from waterbudget.journal.book import Journal, journal_path, read_journal
from waterbudget.simulate.fetched import cached_weather, spot_of, told_offline
from waterbudget.simulate.opened import HERE, open_site, unwatered
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.weather.days import Weather
from waterbudget.weather.place import close_gaps, measured_at, notes_of, station_weather
from waterbudget.weather.shelf import NetworkError

RUN_UP_DAYS = 150  # before today, to know how dry the beds are
FORGOTTEN_DAYS = 366  # after which weather says nothing of how dry the beds are
LATE_DAYS = 7  # by which the last readings of a station come in
DAY = dt.timedelta(days=1)


@dataclass(frozen=True, eq=False)
class Known:
    """A site, and its weather of the days before today; begin: the first day of a run where none of it is known.

    weather: None where there is none. record: weather of any days, from which the usual is taken, None for that same
    weather. station: id of the station that the weather is of, None for a file. is_example: whether another day than
    the real one is told, as the weather is invented.
    """

    path: Path
    site: Site
    weather: Weather | None
    today: dt.date
    station: str | None
    notes: tuple[str, ...]
    record: Weather | None = None
    begin: dt.date | None = None
    is_example: bool = False

    @property
    def first(self) -> dt.date:
        """The first day of a run up to today."""
        if self.weather is not None:
            return self.weather.first_day
        return self.begin or self.today - DAY

    @property
    def last(self) -> dt.date:
        """The last day whose weather is known, the eve of the first where none is."""
        return self.first - DAY if self.weather is None else self.weather.last_day

    @property
    def bridged(self) -> int:
        """Days before today whose weather is not known yet."""
        return (self.today - self.last).days - 1

    def then(self, ahead: Weather) -> Weather:
        """The known weather with days that follow it; of the columns those that both have."""
        return ahead if self.weather is None else self.weather.then(ahead)


def own_or_example(path: Path | None) -> Path:
    """The site file that is named, else site.toml of this folder, else the built-in example's."""
    return path or (HERE if HERE.exists() else site_path())


def known_on(
    path: Path | None,
    on: dt.date | None,
    now: dt.date,
    journal: Journal | None = None,
    *,
    network: bool = True,
    progress: Callable[[str], None] | None = None,
) -> Known:
    """A site and its weather before a day.

    on: the day that is asked about, None for today, which is now. Only where all weather lies in the future, as in an
    invented garden, and nothing was logged yet, None is the day after that weather. journal: of the site, by default
    the one beside it. network: whether a station may be asked; else the cache alone is. progress: told of each
    download. Raises InputError where the day is out of reach.
    """
    own = own_or_example(path)
    site = load_site(own)
    journal = read_journal(journal_path(own)) if journal is None else journal
    if site.weather.file is None and (site.weather.station is not None or site.weather.nearest):
        return _of_station(own, site, on or now, now, network=network, progress=progress)
    if site.weather.file is None and site.weather.gauge is None and site.usual is not None:
        return Known(own, site, None, on or now, None, tuple(unwatered(site)))
    opened = open_site(path, every_year=True)
    first, last = opened.weather.first_day, opened.weather.last_day
    notes = list(opened.notes)
    today, is_example = on or now, False
    if on is None and first > now and not any(line.entry.date <= now for line in journal.counting):
        today, is_example = last + DAY, True
        invented = (
            f"The weather of this garden is of days to come, {first} to {last}, so it is invented: this is the day "
            "after it."
        )
        notes.append(Said(f"{invented} Another day: --on DATE.", invented))
    is_of_use = first < today <= last + FORGOTTEN_DAYS * DAY
    weather = opened.weather.between(None, min(last, today - DAY)) if is_of_use else None
    return Known(
        opened.path, opened.site, weather, today, None, tuple(notes), weather or opened.weather, None, is_example
    )


def _of_station(
    path: Path, site: Site, today: dt.date, now: dt.date, *, network: bool, progress: Callable[[str], None] | None
) -> Known:
    if today > now:
        later = f"{today} lies in the future, today is {now}; choose a day of which weather is known"
        raise WeatherError(Said(f"--on: {later}", later))
    first, last = today - RUN_UP_DAYS * DAY, today - DAY
    if network:
        try:
            return _measured(path, site, first, last, progress)
        except NetworkError as error:
            missing = error
    else:
        missing = NetworkError(f"{path}: the station was not asked")
    why = str(missing).partition("\n")[0]
    try:
        record, told = cached_weather(path, site, None, None, every_year=True)
    except WeatherError:
        if site.usual is None:
            raise missing from None
        note = f"No weather could be had ({why}): the usual temperatures stand in."
        return Known(path, site, None, today, None, (*unwatered(site), note))
    begins, ends = record.first_day, record.last_day
    known = record.between(None, min(ends, last)) if begins < today else None
    note = f"The station could not be asked ({why}): its weather is that which was fetched before."
    return Known(path, site, known, today, None, (*unwatered(site), *told, note), known or record)


def _measured(path: Path, site: Site, first: dt.date, last: dt.date, progress: Callable[[str], None] | None) -> Known:
    spot = spot_of(path, site)
    gauge = None if site.weather.gauge is None else path.parent / site.weather.gauge
    with told_offline(path):
        measured = measured_at(spot, first, last, station=site.weather.station, gauge=gauge, progress=progress)
    neighbours = measured.fetched.neighbours
    for late in range(LATE_DAYS + 1):
        closed = close_gaps(
            measured.daily.iloc[: len(measured.daily) - late], neighbours, fill=late > 0 or site.weather.fill
        )
        if not closed.gaps:
            weather, more = station_weather(closed.daily, spot, measured.fetched)
            notes = (*unwatered(site), *notes_of(measured, closed, spot), *more)
            return Known(path, site, weather, last + DAY, measured.fetched.station.id, notes)
    ways = Said("give a weather file, or add fill = true", "bring in weather from a file, or let gaps be filled")
    raise WeatherError(Said(f"{path}: {line}", f"{path.name}: {plain(line)}") for line in (*closed.gaps, ways))
