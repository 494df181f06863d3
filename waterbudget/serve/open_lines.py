"""Lines that are open, kept on the computer: all phones see them, and a flat battery loses none.

They lie beside the site file, as its journal does, which takes the minutes when a line is shut.
"""

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from waterbudget.errors import InputError
from waterbudget.journal.book import RAN, Entry, Line, append, journal_path, read_journal
from waterbudget.journal.entries import DAY_MIN, EntryError, Fault, Where
from waterbudget.output import alone, write_files
from waterbudget.serve.clock import Clock
from waterbudget.serve.entries import Key, Sent, Words
from waterbudget.serve.shelf import Garden

NAME = "open-lines.json"
STOP = "-stop"  # behind the key of the start: the minutes of a run are written once, whoever shuts it


class OpenLine(BaseModel):
    """A line that is open. minutes: those that it was opened for."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: Key
    started_at: AwareDatetime
    minutes: float = Field(ge=0.0, allow_inf_nan=False)

    def open_s(self, now: dt.datetime) -> float:
        """Seconds since it was opened; a clock that was set back makes them 0."""
        return max(0.0, (now - self.started_at).total_seconds())


class OneLine(Sent):
    """The name of a line that is opened or shut."""

    line: Words


FILE = TypeAdapter(dict[str, OpenLine])


def open_lines(site_path: Path) -> dict[str, OpenLine]:
    """The lines that are open, by name. Raises InputError where the file that keeps them cannot be read."""
    path = site_path.with_name(NAME)
    try:
        return FILE.validate_json(path.read_bytes())
    except FileNotFoundError:
        return {}
    except (OSError, ValidationError):
        raise InputError(f"{path}: cannot be read as the list of open lines; remove it, and open them anew") from None


def open_line(garden: Garden, clock: Clock, wanted: OneLine) -> tuple[Line, ...]:
    """Note that a line was opened; one that is open, or was shut again since, stays as it is. Writes no line yet.

    Raises EntryError where there is no such line, OutputError where it cannot be written.
    """
    minutes = planned_minutes(garden, wanted.line)
    path = garden.path.with_name(NAME)
    with alone(path):
        lines = open_lines(garden.path)
        was_shut = read_journal(journal_path(garden.path)).sent_as(f"{wanted.key}{STOP}")
        if wanted.line not in lines and not was_shut:
            started_at = clock.now() - dt.timedelta(seconds=wanted.ago_s)
            _write(path, lines | {wanted.line: OpenLine(key=wanted.key, started_at=started_at, minutes=minutes)})
    return ()


def shut_line(garden: Garden, clock: Clock, wanted: OneLine) -> tuple[Line, ...]:
    """Write the minutes that a line was open, once; nothing where it is shut already, or was open for no time at all.

    Raises EntryError where there is no such line, OutputError where it cannot be written.
    """
    planned_minutes(garden, wanted.line)
    path = garden.path.with_name(NAME)
    with alone(path):
        lines = open_lines(garden.path)
        opened = lines.get(wanted.line)
        if opened is None:
            return ()
        shut_at = clock.now() - dt.timedelta(seconds=wanted.ago_s)
        minutes = min(round(opened.open_s(shut_at) / 60.0, 1), DAY_MIN)
        written: tuple[Line, ...] = ()
        if minutes > 0.0:
            day = clock.day(garden.today, opened.open_s(clock.now()))
            entry = Entry(day, RAN, wanted.line, minutes, "min")
            key = f"{opened.key}{STOP}"
            written = append(journal_path(garden.path), lambda _: [entry], key=key, ago_s=wanted.ago_s)
        _write(path, {name: one for name, one in lines.items() if name != wanted.line})
    return written


def planned_minutes(garden: Garden, line: str) -> float:
    """The minutes of today's plan, else those of one run. Raises EntryError where there is no such line."""
    zones = [] if garden.site is None else garden.site.zone
    for number, zone in enumerate(zones):
        if zone.name == line:
            today = 0.0 if garden.found is None else garden.found.openings[number].minutes
            return today or zone.minutes
    raise EntryError([Fault(Where("line", "line"), "this garden has no such line any more")])


def _write(path: Path, lines: Mapping[str, OpenLine]) -> None:
    told = json.dumps(FILE.dump_python(dict(lines), mode="json"), ensure_ascii=False, indent=2)
    write_files({path: f"{told}\n".encode()}, overwrite=True)
