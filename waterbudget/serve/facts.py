"""What Today says: the numbers of `waterbudget today`, and sentences; page and JSON show the same object."""

import datetime as dt
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers import today as answer
from waterbudget.answers.english import count, in_words, listed, litres, percent
from waterbudget.answers.near import ago, minutes
from waterbudget.answers.today_doubt import how_sure
from waterbudget.answers.today_why import bed_state, line_state
from waterbudget.change.doubt import find_doubt
from waterbudget.change.known import DAY
from waterbudget.change.now import Now, Opening, Store
from waterbudget.errors import plain
from waterbudget.journal.book import GAUGE, LEVEL, RAN, UNDO, Journal, Line
from waterbudget.journal.dip import litres_of
from waterbudget.serve.clock import Clock
from waterbudget.serve.shelf import Garden
from waterbudget.site.model import Site

SCHEMA = 1
STALE = dt.timedelta(hours=24)


class StoreCard(TypedDict):
    """A store in words, and how full it is, 0 to 1."""

    name: str
    level: str
    full: str
    full_share: float
    until: str
    is_running_out: bool
    read: str


class LineCard(TypedDict):
    """A line in words."""

    name: str
    is_due: bool
    says: str


class BedCard(TypedDict):
    """A bed in words."""

    name: str
    is_thirsty: bool
    says: str


class Today(TypedDict):
    """The garden today in words, as the page shows it; facts: in numbers, as `waterbudget today --json` has them."""

    schema: int
    heading: str
    also: list[str]
    lasting: list[str]
    helps: list[str]
    stores: list[StoreCard]
    lines: list[LineCard]
    beds: list[BedCard]
    rests_on: str
    entries: str
    notices: list[str]
    facts: answer.Facts


class Written(TypedDict):
    """What was written into the journal: numbers of its lines, a sentence, and Today as it is now."""

    lines: list[int]
    saved: str
    today: Today | None


def today(garden: Garden) -> Today | None:
    """Today in numbers and words; None where it cannot be reckoned."""
    found, journal = garden.found, garden.journal
    if found is None or journal is None:
        return None
    heading, *also = answer.to_do(found)
    doubt = find_doubt(found)
    by_thirst = sorted(found.beds, key=lambda bed: -(bed.used or 0.0))
    return {
        "schema": SCHEMA,
        "heading": heading,
        "also": also,
        "lasting": list(answer.lasting(found)),
        "helps": [*answer.helps(found), *how_sure(found, doubt)],
        "stores": [_store(store, found) for store in found.stores],
        "lines": [_line(one, found) for one in found.openings],
        "beds": [
            {
                "name": bed.name,
                "is_thirsty": bed.thirsty_since is not None or bed.thirsty_in_days == 0,
                "says": bed_state(bed, found.known.today),
            }
            for bed in by_thirst
        ],
        "rests_on": rests_on(garden, found),
        "entries": f"{_entries(journal, found.known.today)} today.",
        "notices": list(notices(garden, found, journal)),
        "facts": answer.facts(found, doubt),
    }


def _store(store: Store, found: Now) -> StoreCard:
    until = f"lasts more than {found.looked} days"
    if store.lasts is not None:
        until = "short today" if store.lasts == 0 else f"dry by {in_words(found.known.today + store.lasts * DAY)}"
    return {
        "name": store.name,
        "level": f"{litres(store.level_l)} L",
        "full": f"{percent(store.level_l / store.capacity_l)} full",
        "full_share": store.level_l / store.capacity_l,
        "until": until,
        "is_running_out": store.lasts is not None,
        "read": "never dipped, only reckoned"
        if store.read is None
        else f"dipped {ago(store.read.day, found.known.today)}",
    }


def _line(one: Opening, found: Now) -> LineCard:
    return {"name": one.name, "is_due": one.why.reason == "due", "says": line_state(one, found)}


def rests_on(garden: Garden, found: Now) -> str:
    """How old the weather is, and whether there is a forecast."""
    known, forecast = found.known, found.ahead.forecast
    if known.weather is None:
        weather = "No weather is known; the usual stands in, with the rain of your gauge."
    elif known.bridged:
        since = count(known.bridged, "day")
        weather = (
            f"Weather to {in_words(known.last)}; of the {since} since then only the rain of your gauge counts, so the "
            "beds may be moister than told here."
        )
    else:
        weather = f"Weather to {in_words(known.last)}."
    if forecast is None:
        return f"{weather} No forecast."
    if garden.fetched is None:
        return f"{weather} Forecast to {in_words(forecast.last)}."
    return f"{weather} {_forecast_of(garden.fetched.at, Clock.now())}"


def _forecast_of(at: dt.datetime, now: dt.datetime) -> str:
    if now - at > STALE:
        return f"Forecast of {at:%A}: do not count on it."
    return f"Forecast of {at:%H:%M}{'' if at.date() == now.date() else ' yesterday'}."


def _entries(journal: Journal, day: dt.date) -> str:
    number = sum(1 for line in journal.counting if line.entry.date == day)
    return f"{number:,} {'entry' if number == 1 else 'entries'}"


def notices(garden: Garden, found: Now, journal: Journal) -> Iterator[str]:
    """What is not as it should be."""
    if garden.site_faults:
        yield f"The garden file has a fault, so this is the garden as it was: {'; '.join(garden.site_faults)}."
    if found.known.is_example:
        yield (
            f"The weather of this garden is invented and of days to come, so today is told for "
            f"{in_words(found.known.today, year=True)}."
        )
    later = [line for line in journal.counting if line.entry.date > found.known.today]
    if later and not garden.is_set:
        yield (
            f"The journal has a line of {in_words(later[-1].entry.date, year=True)}, but here it is "
            f"{in_words(found.known.today, year=True)}: is the computer's clock right? Later lines do not count yet."
        )
    yield from journal.damaged
    yield from filter(None, map(plain, found.notes))


# ---- What was written ------------------------------------------------------------------------------------------------


def written(garden: Garden, said_today: Today | None, lines: tuple[Line, ...]) -> Written:
    """What was written, and how long the stores last now."""
    said = "Noted."
    if garden.found is not None and garden.site is not None and lines:
        said = saved(garden.found, garden.site, lines)
    return {"lines": [line.number for line in lines], "saved": said, "today": said_today}


def saved(found: Now, site: Site, lines: tuple[Line, ...]) -> str:
    """What was written, and how long the stores last now."""
    return f"Saved: {listed([line_words(site, line) for line in lines])}. {next(answer.lasting(found))}"


def line_words(site: Site, line: Line) -> str:
    """What a line of the journal says."""
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
