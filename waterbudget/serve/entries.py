"""From what a phone sends to lines of the journal: forms and JSON alike, each once however often it is sent."""

import datetime as dt
import secrets
from collections.abc import Mapping
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from waterbudget.answers.english import capital
from waterbudget.errors import InputError
from waterbudget.journal.book import KEY, Entry, Journal, Line, append, journal_path
from waterbudget.journal.entries import LONGEST_NOTE, EntryError, Fault, LogRequest, Where, entries_of, refuse_earlier
from waterbudget.journal.entries import undoing as undoing_of
from waterbudget.serve.clock import Clock
from waterbudget.serve.shelf import Garden

LATEST_S = 14 * 86400.0
MOST = 5  # things in one go
DAY = dt.timedelta(days=1)

Key = Annotated[str, Field(pattern=f"^{KEY.pattern}$", description="of this entry alone; sent again it is not doubled")]
Seconds = Annotated[float, Field(ge=0.0, le=LATEST_S, allow_inf_nan=False)]
Words = Annotated[str, Field(max_length=200)]
Things = Annotated[tuple[Words, ...], Field(max_length=MOST)]


class Sent(BaseModel):
    """What every post brings. key: see Key. ago_s: seconds since it was said, by the phone that had to wait."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: Key
    ago_s: Seconds = 0.0


class NewEntries(Sent):
    """Lines for the journal."""

    levels: Things = Field(default=(), description='STORE=38cm or STORE=420L, such as "Shed butt=210L"')
    gauge_mm: float | None = Field(default=None, description="the day's rain in the gauge, mm")
    ran: Things = Field(default=(), description="LINE=MINUTES")
    mains: Things = Field(default=(), description="STORE=LITRES of mains water let in, or LITRES")
    day: dt.date | Literal["yesterday"] | None = Field(default=None, description="the day it was; default: when said")
    note: str = Field(default="", max_length=LONGEST_NOTE)


class Undo(Sent):
    """The number of a line that is taken back."""

    line: int = Field(ge=1)


class Refused(NamedTuple):
    """Why something was not written, and of which field."""

    fault: str
    field: str | None


def new_key() -> str:
    """A key for a form that is sent without script."""
    return secrets.token_hex(8)


def refused(error: InputError | ValidationError) -> Refused:
    """A fault in the words of a page."""
    if isinstance(error, EntryError):
        where, said = error.parts[0]
        return Refused(f"{capital(said)}.", where.field)
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False, include_context=False)[0]
        field = str(first["loc"][0]) if first["loc"] else None
        return Refused(f"{'' if field is None else f'{field}: '}{first['msg']}.", field)
    return Refused(f"{error.plain[0]}.", None)


def from_form(form: Mapping[str, Any]) -> NewEntries:
    """What a form says that was sent without script. Raises ValidationError, EntryError."""
    told = {name: str(value).strip() for name, value in form.items()}
    found: dict[str, Any] = {"key": told.get("key", ""), "day": told.get("day") or None}
    if told.get("value"):
        found["levels"] = (f"{told.get('store', '')}={told['value']}{told.get('unit', 'L')}",)
    if told.get("minutes"):
        found["ran"] = (f"{told.get('line', '')}={told['minutes']}",)
    if told.get("mains_l"):
        found["mains"] = (f"{told.get('store', '')}={told['mains_l']}",)
    if told.get("gauge_mm"):
        try:
            found["gauge_mm"] = float(told["gauge_mm"])
        except ValueError:
            where = Where("gauge_mm", "--gauge")
            raise EntryError([Fault(where, "write the millimetres in the gauge, such as 6.5")]) from None
    return NewEntries.model_validate(found)


def write_entries(garden: Garden, clock: Clock, new: NewEntries) -> tuple[Line, ...]:
    """Write lines into the journal of a garden, or find them there if they were sent before.

    Raises EntryError for what cannot be true, OutputError where it cannot be written.
    """
    if garden.site is None:
        raise InputError("No garden here yet; set one up first")
    said_on = clock.day(garden.today, new.ago_s)
    day = said_on - DAY if isinstance(new.day, str) else new.day
    request = LogRequest(new.levels, new.gauge_mm, new.ran, new.mains, day, new.note)
    if request.is_nothing:
        raise EntryError([Fault(Where("levels", "--tank"), "there is nothing in it to write down")])
    entries = entries_of(garden.site, request, said_on)

    def in_order(journal: Journal) -> list[Entry]:
        refuse_earlier(journal, entries, garden.today)
        return entries

    return append(journal_path(garden.path), in_order, key=new.key, ago_s=new.ago_s)


def undo(garden: Garden, _: Clock, wanted: Undo) -> tuple[Line, ...]:
    """Take a line back. Raises InputError where it cannot be, OutputError where it cannot be written."""
    return append(
        journal_path(garden.path), lambda journal: [undoing_of(journal, wanted.line, garden.today)], key=wanted.key
    )
