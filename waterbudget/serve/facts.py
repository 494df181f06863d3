"""What Today says: numbers as `waterbudget today` has them, and sentences; page and JSON show the same object."""

import datetime as dt
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import count, in_words, listed, litres, percent
from waterbudget.answers.near import minutes
from waterbudget.answers.today import lasting
from waterbudget.answers.today_why import line_state
from waterbudget.change.now import Now, Opening, Store
from waterbudget.journal.book import GAUGE, LEVEL, RAN, UNDO, Journal, Line
from waterbudget.journal.dip import litres_of
from waterbudget.serve.shelf import Garden
from waterbudget.site.model import Site

SCHEMA = 1
DAY = dt.timedelta(days=1)
SOON_DAYS = 7


class StoreCard(TypedDict):
    """A store: its level and how many whole days it gives all it is asked for when it stays dry, null for very long."""

    name: str
    level_l: float
    capacity_l: float
    lasts_dry_days: int | None
    level: str
    full: str
    until: str
    read: str


class LineCard(TypedDict):
    """A line today: minutes that it is still to be opened, 0 for shut, and those that it ran; and why."""

    name: str
    minutes: float
    ran: float | None
    is_open: bool
    says: str


class Today(TypedDict):
    """The garden today. lasts_dry_days: whole days from today on which no store is short, null for very long."""

    schema: int
    site: str
    today: str
    lasts_dry_days: int | None
    heading: str
    lasting: str
    stores: list[StoreCard]
    lines: list[LineCard]
    rests_on: str
    entries: str
    notices: list[str]


def today(garden: Garden) -> Today | None:
    """Today in numbers and words; None where it cannot be reckoned."""
    found, journal = garden.found, garden.journal
    if found is None or journal is None:
        return None
    return {
        "schema": SCHEMA,
        "site": found.known.site.site.name,
        "today": found.known.today.isoformat(),
        "lasts_dry_days": found.lasts,
        "heading": heading(found),
        "lasting": " ".join(lasting(found)),
        "stores": [store_card(store, found) for store in found.stores],
        "lines": [line_card(one, found) for one in found.openings],
        "rests_on": rests_on(found),
        "entries": f"{_entries(journal, found.known.today)} today.",
        "notices": list(notices(garden)),
    }


def heading(found: Now) -> str:
    """What to do now."""
    if found.to_open:
        more = [f"{one.name} for {minutes(one.minutes)}{' more' if one.ran else ''}" for one in found.to_open]
        return f"Open {listed(more)}."
    if found.waiting:
        return f"Leave {listed([one.name for one in found.waiting])} shut and wait for the rain."
    return f"Nothing {'more ' if any(one.ran for one in found.openings) else ''}to water today."


def saved(found: Now, site: Site, lines: tuple[Line, ...]) -> str:
    """What was written, and how long the stores last now."""
    return f"Saved: {listed([_said(site, line) for line in lines])}. {' '.join(lasting(found))}"


class Written(TypedDict):
    """What was written into the journal: numbers of its lines, a sentence, and Today as it is now."""

    lines: list[int]
    saved: str
    today: Today | None


def written(garden: Garden, lines: tuple[Line, ...]) -> Written:
    """What was written, and how long the stores last now."""
    said = "Saved."
    if garden.found is not None and garden.site is not None:
        said = saved(garden.found, garden.site, lines) if lines else " ".join(lasting(garden.found))
    return {"lines": [line.number for line in lines], "saved": said, "today": today(garden)}


def _said(site: Site, line: Line) -> str:
    entry = line.entry
    if entry.kind == LEVEL:
        tank = next((tank for tank in site.tank if tank.name == entry.name), None)
        level_l = None if tank is None else litres_of(tank, entry)
        depth = f"{entry.value:g} cm, " if entry.unit == "cm" else ""
        return f"{entry.name} {depth}{'–' if level_l is None else litres(level_l)} L"
    if entry.kind == GAUGE:
        return f"{entry.value:g} mm in the gauge"
    if entry.kind == RAN:
        return f"{entry.name} ran {minutes(entry.value)}"
    if entry.kind == UNDO:
        return f"line {entry.value:.0f} taken back"
    return f"{litres(entry.value)} L of mains water{f' into {entry.name}' if entry.name else ''}"


def store_card(store: Store, found: Now) -> StoreCard:
    """A store."""
    until = "lasts"
    if store.lasts is not None:
        until = "short today" if store.lasts == 0 else f"dry by {in_words(found.known.today + store.lasts * DAY)}"
    return {
        "name": store.name,
        "level_l": store.level_l,
        "capacity_l": store.capacity_l,
        "lasts_dry_days": store.lasts,
        "level": f"{litres(store.level_l)} L",
        "full": f"{percent(store.level_l / store.capacity_l)} full",
        "until": until,
        "read": _read(store, found),
    }


def _read(store: Store, found: Now) -> str:
    if store.read is None:
        return f"never dipped: reckoned since {in_words(found.known.first)}"
    away = (found.known.today - store.read.day).days
    return {0: "dipped today", 1: "dipped yesterday"}.get(away, f"dipped {count(away, 'day')} ago")


def line_card(one: Opening, found: Now) -> LineCard:
    """A line."""
    return {
        "name": one.name,
        "minutes": one.minutes,
        "ran": one.ran,
        "is_open": is_due(one),
        "says": line_says(one, found),
    }


def is_due(one: Opening) -> bool:
    """Whether a line is to be opened today."""
    return one.why.reason == "due"


def line_says(one: Opening, found: Now) -> str:
    """What a line is to do today, and why."""
    following = "" if one.next_day is None else f", next {near(one.next_day, found.known.today)}"
    return f"{line_state(one, found)}{'' if is_due(one) else following}"


def near(day: dt.date, today: dt.date) -> str:
    """A day as people say it who stand near it: tomorrow, on Sunday, on 14 July."""
    away = (day - today).days
    if 1 < away < SOON_DAYS:
        return f"on {day:%A}"
    return {0: "today", 1: "tomorrow"}.get(away, f"on {in_words(day)}")


def rests_on(found: Now) -> str:
    """What weather it stands on."""
    told = found.ahead.forecast
    forecast = " No forecast." if told is None else f" Forecast to {in_words(told.last)}."
    return f"Weather to {in_words(found.known.last)}.{forecast}"


def _entries(journal: Journal, day: dt.date) -> str:
    number = sum(1 for line in journal.counting if line.entry.date == day)
    return f"{number:,} {'entry' if number == 1 else 'entries'}"


def notices(garden: Garden) -> Iterator[str]:
    """What is not as it should be."""
    if garden.site_faults:
        yield f"The garden file has a fault, so this is the garden as it was: {'; '.join(garden.site_faults)}"
    yield from garden.notes
