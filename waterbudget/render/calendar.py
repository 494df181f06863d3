"""Calendar files: whole-day events that a phone's calendar takes in."""

import datetime as dt
import hashlib
from collections.abc import Iterable
from pathlib import Path

from waterbudget.answers.events import Event
from waterbudget.errors import OutputError
from waterbudget.output import refuse_existing

MAKER = "-//waterbudget//EN"
CALENDAR = ".ics"


def refuse_calendar(ics: Path | None, *, overwrite: bool) -> None:
    """Raises OutputError where a calendar that is asked for cannot be had; None is not asked for."""
    if ics is None:
        return
    if ics.suffix.lower() != CALENDAR:
        raise OutputError(
            f"{ics}: can't write a calendar as {ics.suffix or 'a file without an ending'}; use {CALENDAR}"
        )
    refuse_existing([ics], overwrite=overwrite)


def calendar_bytes(events: Iterable[Event], *, written_at: dt.datetime | None = None) -> bytes:
    """The events as the content of an .ics file; the same ones always have the same ids, so that they replace theirs.

    written_at: with its time zone, by default now. Source: RFC 5545, by the icalendar library.
    """
    from icalendar import Calendar
    from icalendar import Event as Entry

    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    stamp = (written_at or dt.datetime.now(tz=dt.UTC)).astimezone(dt.UTC)
    for event in events:
        entry = Entry()
        said = f"{event.day} {event.days} {event.summary}"
        entry.add("uid", f"{hashlib.sha256(said.encode()).hexdigest()[:32]}@waterbudget")
        entry.add("dtstamp", stamp)
        entry.add("dtstart", event.day)
        entry.add("dtend", event.day + dt.timedelta(days=event.days))
        entry.add("summary", event.summary)
        if event.description:
            entry.add("description", event.description)
        entry.add("transp", "TRANSPARENT")  # nobody is busy all day with it
        calendar.add_component(entry)
    content: bytes = calendar.to_ical()
    return content
