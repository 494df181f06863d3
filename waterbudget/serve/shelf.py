"""The opened garden, kept as long as its files stay what they are, and read once however many ask."""

import datetime as dt
import hashlib
import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from waterbudget.change.forecast import station_forecast
from waterbudget.change.known import Known, known_on
from waterbudget.change.now import Now
from waterbudget.change.today import found_of
from waterbudget.errors import InputError, SiteError, WaterbudgetError
from waterbudget.journal.book import Journal, journal_path, read_journal
from waterbudget.serve.clock import Clock
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.weather.days import Weather

Stamp = tuple[int, int, int] | None  # of a file: when it was changed, its size, its number
Stamps = dict[Path, Stamp]
CHANGED = "The garden was changed meanwhile. Look again"


class Fetched(NamedTuple):
    """What the stations told: the weather up to yesterday, and the forecast, None where there is none."""

    known: Known
    forecast: Weather | None
    told: str
    at: dt.datetime


@dataclass(frozen=True, eq=False)
class Garden:
    """A garden as it stands.

    site: the last one without a fault, None where there is none yet. mark: of the site file as it was read. known: what
    is known of it before anything was logged. found: today, None where it cannot be reckoned. site_faults: of the file
    as it is now; faults: why there is no today. is_set: whether the day was named, in place of the real one.
    """

    path: Path
    today: dt.date
    mark: str = ""
    site: Site | None = None
    site_faults: tuple[str, ...] = ()
    known: Known | None = None
    journal: Journal | None = None
    found: Now | None = None
    faults: tuple[str, ...] = ()
    fetched: Fetched | None = None
    is_set: bool = False

    @property
    def is_there(self) -> bool:
        """Whether somebody has begun a garden here."""
        return self.site is not None or bool(self.site_faults)

    @property
    def is_of_station(self) -> bool:
        """Whether its weather has to be fetched."""
        weather = None if self.site is None else self.site.weather
        return weather is not None and weather.file is None and (weather.station is not None or weather.nearest)


class Kept(NamedTuple):
    """A garden with the day and the files that it is of."""

    day: dt.date
    stamps: Stamps
    garden: Garden


class Shelf:
    """Keeps one garden; everything that may be slow runs in the caller's thread, one at a time."""

    def __init__(self, path: Path, clock: Clock) -> None:
        """Of a site file, which need not be there yet."""
        self.path, self.clock = path, clock
        self._lock = threading.Lock()
        self._kept: Kept | None = None
        self._fetched: Fetched | None = None

    def garden(self) -> Garden:
        """The garden as its files have it now."""
        with self._lock:
            today = self.clock.today()
            stamps = self._stamps(None if self._kept is None else self._kept.garden)
            if self._kept is None or (self._kept.day, self._kept.stamps) != (today, stamps):
                garden = self._read(today, stamps)
                self._kept = Kept(today, self._stamps(garden) | stamps, garden)
            return self._kept.garden

    def is_current(self, garden: Garden) -> bool:
        """Whether a garden is what would be read now; a few looks at the disk, no more."""
        kept = self._kept
        return (
            kept is not None
            and kept.garden is garden
            and (kept.day, kept.stamps) == (self.clock.today(), self._stamps(garden))
        )

    def to_write_to(self) -> Garden:
        """The garden for who adds to its journal: as it was last read, where day and other files are the same."""
        kept = self._kept
        if kept is None or kept.garden.found is None:
            return self.garden()
        now = self.clock.today(), _without(self._stamps(kept.garden))
        return kept.garden if now == (kept.day, _without(kept.stamps)) else self.garden()

    def bring(self, fetched: Fetched) -> None:
        """Take in what the stations told."""
        with self._lock:
            self._fetched = fetched
            self._kept = None if self._kept is None else self._kept._replace(day=dt.date.min)  # so it is read anew

    def stamps(self) -> object:
        """What stays the same as long as the files of the garden do."""
        return tuple(self._stamps(self.garden()).items())

    def _stamps(self, garden: Garden | None) -> Stamps:
        """Of all files that a garden is read from, its journal the last."""
        site = None if garden is None else garden.site
        beside = [] if site is None else [site.weather.file, site.weather.gauge]
        files = [self.path, *(self.path.parent / name for name in beside if name), journal_path(self.path)]
        return {file: _stamp(file) for file in files}

    def _read(self, today: dt.date, stamps: Stamps) -> Garden:
        """Everything anew but what is of files that stayed the same; a site file with a fault leaves what was known."""
        before = None if self._kept is None else self._kept.garden
        garden = Garden(self.path, today, mark_of(self.path), fetched=self._fetched, is_set=self.clock.on is not None)
        try:
            garden = replace(garden, site=self._site(stamps))
        except SiteError as error:
            if not self.path.exists():
                return garden
            garden = replace(garden, site_faults=error.plain, site=None if before is None else before.site)
        if garden.site is None:
            return garden
        try:
            journal = read_journal(journal_path(self.path))
            garden = replace(garden, journal=journal, known=self._known(garden, journal, stamps))
            found = found_of(garden.known, self._forecast(garden), journal) if garden.known else None
        except WaterbudgetError as error:
            return replace(garden, faults=error.plain if isinstance(error, InputError) else (str(error),))
        return replace(garden, found=found, today=today if found is None else found.known.today)

    def _site(self, stamps: Stamps) -> Site:
        """The site file, which is not read again for a line of the journal. Raises SiteError."""
        before = self._kept
        is_same = before is not None and before.stamps.get(self.path) == stamps[self.path] is not None
        if before is not None and before.garden.site is not None and is_same and not before.garden.site_faults:
            return before.garden.site
        return load_site(self.path)

    def _known(self, garden: Garden, journal: Journal, stamps: Stamps) -> Known | None:
        """What is known of the garden but for its journal, which says little of it."""
        before = self._kept
        is_same = before is not None and (before.day, _without(before.stamps)) == (garden.today, _without(stamps))
        if before is not None and (garden.site_faults or (is_same and not _is_example(before.garden))):
            return before.garden.known
        fetched = self._fetched
        if fetched is not None and fetched.known.site == garden.site and fetched.known.today == garden.today:
            return fetched.known
        return known_on(self.path, self.clock.on, self.clock.today(), journal, network=False)

    def _forecast(self, garden: Garden) -> Weather | None:
        fetched = self._fetched
        return fetched.forecast if fetched is not None and garden.known is fetched.known else None


def fetch(path: Path, today: dt.date) -> Fetched:
    """Ask the stations for the weather up to yesterday and for a forecast, for a process of its own: it takes long, and
    sets what belongs to a whole process.

    Raises InputError for what the user can mend, NetworkError where the stations cannot be asked.
    """
    known = known_on(path, None, today)
    forecast, told = station_forecast(known)
    return Fetched(known, forecast, told, Clock.now())


def mark_of(path: Path) -> str:
    """What tells one state of a file from another."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    except OSError:
        return ""


def refuse_changed(path: Path, mark: str | None) -> None:
    """Raises InputError where a file is no longer what it was when it had the mark."""
    if mark != mark_of(path):
        raise InputError(CHANGED)


def _without(stamps: Stamps) -> Stamps:
    """The stamps of all files but the journal."""
    return dict(list(stamps.items())[:-1])


def _is_example(garden: Garden) -> bool:
    return garden.known is None or garden.known.is_example


def _stamp(path: Path) -> Stamp:
    try:
        state = path.stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size, state.st_ino
