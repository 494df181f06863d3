"""The opened garden, kept as long as its files stay what they are, and read once however many ask."""

import datetime as dt
import hashlib
import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from waterbudget.change.known import known_on
from waterbudget.change.now import Now
from waterbudget.change.today import found_of
from waterbudget.errors import InputError, SiteError, WaterbudgetError
from waterbudget.journal.book import Journal, journal_path, read_journal
from waterbudget.serve.clock import Clock
from waterbudget.site.model import Site
from waterbudget.site.read import load_site

Stamp = tuple[int, int, int] | None  # of a file: when it was changed, its size, its number


@dataclass(frozen=True, eq=False)
class Garden:
    """A garden as it stands.

    site: the last one without a fault, None where there is none yet. mark: of the site file as it was read. found:
    today, None where it cannot be reckoned. site_faults: of the file as it is now; faults: why there is no today.
    is_set: whether the day was named, in place of the real one.
    """

    path: Path
    today: dt.date
    mark: str
    site: Site | None
    site_faults: tuple[str, ...]
    journal: Journal | None
    found: Now | None
    faults: tuple[str, ...]
    is_set: bool

    @property
    def is_there(self) -> bool:
        """Whether somebody has begun a garden here."""
        return self.site is not None or bool(self.site_faults)


class Kept(NamedTuple):
    """A garden with the day and the files that it is of."""

    day: dt.date
    stamps: dict[Path, Stamp]
    garden: Garden


class Shelf:
    """Keeps one garden; everything that may be slow runs in the caller's thread, one at a time."""

    def __init__(self, path: Path, clock: Clock) -> None:
        """Of a site file, which need not be there yet."""
        self.path, self.clock = path, clock
        self._lock = threading.Lock()
        self._kept: Kept | None = None

    def garden(self) -> Garden:
        """The garden as its files have it now."""
        with self._lock:
            today, before = self.clock.today(), self._kept and self._kept.garden
            stamps = self._stamps(before)
            if self._kept is None or (self._kept.day, self._kept.stamps) != (today, stamps):
                garden = self._read(before)
                self._kept = Kept(today, self._stamps(garden) | stamps, garden)
            return self._kept.garden

    def stamps(self) -> object:
        """What stays the same as long as the files of the garden do."""
        return tuple(self._stamps(self.garden()).items())

    def _stamps(self, garden: Garden | None) -> dict[Path, Stamp]:
        """Of all files that a garden is read from."""
        site = None if garden is None else garden.site
        beside = [] if site is None else [site.weather.file, site.weather.gauge]
        files = [self.path, journal_path(self.path), *(self.path.parent / name for name in beside if name)]
        return {file: _stamp(file) for file in files}

    def _read(self, before: Garden | None) -> Garden:
        """Everything anew; a site file with a fault leaves the garden as it was."""
        site, site_faults = None if before is None else before.site, tuple[str, ...]()
        today, mark = self.clock.today(), mark_of(self.path)
        try:
            site = load_site(self.path)
        except SiteError as error:
            site_faults = error.faults if self.path.exists() else ()
            site = site if self.path.exists() else None
        garden = Garden(self.path, today, mark, site, site_faults, None, None, (), self.clock.on is not None)
        if site is None:
            return garden
        try:
            journal = read_journal(journal_path(self.path))
        except InputError as error:
            return replace(garden, faults=error.faults)
        return self._reckoned(replace(garden, journal=journal), journal, before)

    def _reckoned(self, garden: Garden, journal: Journal, before: Garden | None) -> Garden:
        if garden.site_faults:
            known = None if before is None or before.found is None else before.found.known
            if known is None:
                return replace(garden, faults=garden.site_faults)
            return replace(garden, found=found_of(known, None, journal), today=known.today)
        try:
            known = known_on(self.path, self.clock.on, self.clock.today(), journal, network=False)
            found = found_of(known, None, journal)
        except WaterbudgetError as error:
            return replace(garden, faults=tuple(str(error).splitlines()))
        return replace(garden, found=found, today=known.today)


def mark_of(path: Path) -> str:
    """What tells one state of a file from another."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    except OSError:
        return ""


def _stamp(path: Path) -> Stamp:
    try:
        state = path.stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size, state.st_ino
