"""What to do in a garden today: what to open, how long the stores last, how the beds stand, and why."""

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from functools import partial

from waterbudget.answers.care import AIR_GAP, NO_MIST
from waterbudget.answers.english import count, in_words, listed, litres, percent, weekly_work
from waterbudget.answers.events import Event
from waterbudget.answers.facts import Common, Period, period
from waterbudget.answers.near import ago, day_near, minutes
from waterbudget.answers.today_basis import ages, assumptions, usual_et0, usual_rain
from waterbudget.answers.today_doubt import TodayDoubtFacts, how_sure, today_doubt_facts
from waterbudget.answers.today_facts import (
    BedFacts,
    DayFacts,
    MoveFacts,
    StoreFacts,
    SunkFacts,
    ZoneFacts,
    of_bed,
    of_day,
    of_move,
    of_store,
    of_zone,
)
from waterbudget.answers.today_why import bed_state, line_state
from waterbudget.blocks import Answer, Bullets, Column, Picture, Table
from waterbudget.change.beds import BedToday, Sunk
from waterbudget.change.doubt import Doubt
from waterbudget.change.known import DAY
from waterbudget.change.move import Move
from waterbudget.change.now import Coming, Now, Opening, Store
from waterbudget.change.wait import Wait
from waterbudget.errors import Said
from waterbudget.simulate.books import SHORT_L
from waterbudget.units import WEEK_DAYS

MOST_BEDS = 8  # rows of the short screen
LEAST_RAIN_MM = 1.0  # of all forecast days
LEAST_SAVING = 0.10  # of a zone's minutes, to be worth a line


class Facts(Common):
    """Today for machines. period: today and six days more."""

    today: str
    is_example: bool
    weather_to: str | None
    weather_age_days: int | None
    forecast: Period | None
    forecast_source: str | None
    normal: str
    usual_rain: str | None
    usual_rain_mm_per_week: float | None
    rain_today_mm: float
    looked_days: int
    lasts_dry_days: int | None
    lasts_usual_days: int | None
    work_minutes_per_week: float
    stores: list[StoreFacts]
    zones: list[ZoneFacts]
    beds: list[BedFacts]
    moves: list[MoveFacts]
    sunk: list[SunkFacts]
    coming: list[DayFacts]
    doubt: TodayDoubtFacts | None


def answer(found: Now, doubt: Doubt | None = None) -> Answer:
    """Today in words."""
    today = found.known.today
    return Answer(
        "today",
        f"{found.known.site.site.name}, {today:%A} {in_words(today, year=True)}",
        tuple(" ".join(sentences) for sentences in (list(to_do(found)), list(lasting(found))) if sentences),
        (
            Bullets("help", "", (*helps(found), *how_sure(found, doubt))),
            Bullets("warn", "", tuple(ages(found))),
            lines(found),
            stores(found),
            *beds(found),
            picture(found),
            week(found),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "", tuple(cautions(found)), full=False),
        ),
        facts(found, doubt),
        found.notes,
    )


# ---- The verdict -----------------------------------------------------------------------------------------------------


def to_do(found: Now) -> Iterator[str]:
    """What to open today, and what to wait for."""
    if found.to_open:
        yield f"Open {listed([f'{one.name} for {opening(one)}' for one in found.to_open])}."
    for one in found.without_water:
        yield f"There is no water for {one.name}: bring {litres(one.unmet_l)} L by can, or let it wait."
    if not (found.to_open or found.without_water or found.waiting):
        more = "more " if any(one.ran for one in found.openings) else ""
        yield f"Nothing {more}to water today." if found.openings else "No line to open: this garden has none."
    for one in found.waiting:
        if one.wait is not None:
            yield f"Leave {one.name} shut{waiting(one.wait, found)}."
    if found.to_open and (rain := raining(found)):
        yield rain


def opening(one: Opening) -> str:
    """How long a zone is to be opened, or opened again."""
    return minutes(one.minutes) + (" more" if one.ran else "")


def waiting(wait: Wait, found: Now) -> str:
    """Which rain makes up for a watering, and that its beds can wait for it."""
    if found.fallen_mm and found.ahead.forecast is None:
        return f": {wait.rain_mm:.0f} mm of rain have fallen today, which is as good"
    come = "have fallen or are forecast" if found.fallen_mm else "are forecast"
    by = evening(wait.day, found)
    return f" and wait: {wait.rain_mm:.0f} mm of rain {come} by {by}, and no bed of it is thirsty before"


def evening(day: dt.date, found: Now) -> str:
    """An evening near by."""
    away = (day - found.known.today).days
    return {0: "this evening", 1: "tomorrow evening"}.get(away, f"the evening of {in_words(day)}")


def raining(found: Now) -> str:
    """Whether rain is a reason to wait; nothing where neither a forecast nor usual rain tells."""
    coming = [day for day in found.coming if day.is_forecast]
    if coming:
        rain_mm = sum(day.rain_mm for day in coming)
        days = count(len(coming), "day")
        if rain_mm < LEAST_RAIN_MM:
            return f"No rain to speak of is forecast for {days}: waiting does not pay."
        which = f" with {listed([one.name for one in found.to_open])}" if found.waiting else ""
        return f"{rain_mm:.0f} mm are forecast in {days}, too little or too late to wait{which}."
    usual_mm = found.ahead.normal.week_mm
    if usual_mm is None:
        return ""
    return f"There is no forecast; {usual_mm:.0f} mm of rain are usual in this week, on no certain day."


def lasting(found: Now) -> Iterator[str]:
    """How long the stores last when it stays dry, and with the usual rain; and the time that the week takes."""
    if found.lasts == 0:
        yield f"{_short(found, 0)} short today already."
    elif found.lasts is None:
        yield f"If it stays dry the stores last for all of the next {found.looked} days."
    else:
        day = found.known.today + found.lasts * DAY
        yield (
            f"If it stays dry the stores last {count(found.lasts, 'more day')}: "
            f"on {in_words(day)} {_short(found, found.lasts)} short."
        )
        yield from _with_rain(found)
    if found.week_minutes:
        yield f"The next seven days take {weekly_work(found.week_minutes).removesuffix(' a week')}."


def _short(found: Now, lasts: int) -> str:
    short = [store.name for store in found.stores if store.lasts == lasts]
    return f"{listed(short)} {'runs' if len(short) == 1 else 'run'}"


def _with_rain(found: Now) -> Iterator[str]:
    """How much longer they last with the forecast, or the usual rain."""
    dry = found.lasts
    told = [("With the usual rain", found.lasts_usual)] if found.ahead.usual is not None else []
    if found.ahead.forecast is not None:
        told.insert(0, ("With the rain that is forecast", found.lasts_expected))
    for what, days in told:
        if days is None:
            yield f"{what} they last more than {found.looked} days."
        elif days != dry:
            yield f"{what} it is {count(days, 'day')}."


# ---- What would help -------------------------------------------------------------------------------------------------


def helps(found: Now) -> Iterator[str]:
    """Water to move today, and minutes to save."""
    for move in found.moves:
        yield move_words(move, found)
    for sunk in found.sunk:
        if sunk.enough <= 1.0 - LEAST_SAVING:
            yield sunk_words(sunk)


def move_words(move: Move, found: Now) -> str:
    """What to move."""
    water = f"Move {litres(move.litres)} L from {move.from_tank} to {move.to_tank} today"
    took = minutes(move.minutes)
    if move.name is not None:
        return f"{water} ({move.name}; {took})."
    last = f"more than {found.looked} dry days" if move.lasts is None else count(move.lasts, "dry day")
    return f"{water} ({took} by can): then the stores last {last}."


def sunk_words(sunk: Sunk) -> str:
    """What sinks, and how many minutes less would do."""
    return (
        f"{percent(sunk.share)} of what {sunk.zone} gives this week sinks below the roots: you can cut its minutes by "
        f"{percent(1.0 - sunk.enough)}."
    )


# ---- The tables ------------------------------------------------------------------------------------------------------


def lines(found: Now) -> Table:
    """A row for each zone: open or shut, and why."""
    columns = (
        Column("zone", "Lines"),
        Column("today", "today", is_text=True),
        Column("next_day", "next", write=partial(day_near, found.known.today), is_text=True),
    )
    return Table(
        "Lines today", columns, tuple((one.name, line_state(one, found), one.next_day) for one in found.openings)
    )


def stores(found: Now) -> Table:
    """A row for each store."""
    columns = (
        Column("tank", "Stores"),
        Column("level_l", "now", write=_in_litres, is_text=False),
        Column("level_share", "full", write=percent),
        Column("lasts_dry_days", "lasts, dry", write=_in_days, none=f"over {found.looked} days", is_text=False),
        Column("lasts_usual_days", "usual rain", write=_in_days, none=_unlimited(found), is_text=False),
        Column("read", "from", is_text=True),
    )
    rows = tuple(
        (
            store.name,
            store.level_l,
            store.level_l / store.capacity_l,
            store.lasts,
            store.usual,
            basis(store, found),
        )
        for store in found.stores
    )
    return Table("Stores now", columns, rows)


def _in_litres(level_l: float) -> str:
    return f"{litres(level_l)} L"


def _in_days(days: int) -> str:
    return count(days, "day") if days else "short today"


def _thirsty_in(days: int) -> str:
    return count(days, "day") if days else "now"


def _unlimited(found: Now) -> str:
    return "–" if found.ahead.usual is None else f"over {found.looked} days"


def basis(store: Store, found: Now) -> str:
    """Where a level comes from."""
    if store.read is None:
        return "never dipped"
    return f"dipped {ago(store.read.day, found.known.today)}"


def beds(found: Now) -> Iterator[Table]:
    """A row for each bed; where they are many the driest first, and all of them on the full screen."""
    if len(found.beds) > MOST_BEDS:
        soonest = sorted(
            found.beds, key=lambda bed: math.inf if bed.unwatered_in_days is None else bed.unwatered_in_days
        )
        left_out = count(len(found.beds) - MOST_BEDS, "more bed")
        yield _beds("The driest beds", soonest[:MOST_BEDS], found, (Said(f"{left_out}: --full", f"{left_out}."),))
    yield _beds("Beds today", found.beds, found, full=len(found.beds) > MOST_BEDS)


def _beds(
    title: str, some: Sequence[BedToday], found: Now, below: tuple[str, ...] = (), *, full: bool = False
) -> Table:
    columns = (
        Column("bed", "Beds"),
        Column("state", "with the plan, no rain", is_text=True),
        Column("unwatered_in_days", "thirsty with neither in", write=_thirsty_in, none="–", is_text=False),
    )
    rows = tuple(
        (bed.name, bed_state(bed, found.known.today), bed.unwatered_in_days if bed.planted else None) for bed in some
    )
    return Table(title, columns, rows, below, full)


def picture(found: Now) -> Picture:
    """How long each store lasts, and when each bed goes thirsty."""
    told = " ".join(lasting(found))
    return Picture("today", f"How long each store lasts, and when each bed goes thirsty without water. {told}")


def week(found: Now) -> Table:
    """A row for each of the next days: the weather that is counted with, and what the plan opens."""
    columns = (
        Column("date", "Days ahead", write=lambda day: f"{day:%a} {day.day} {day:%b}"),
        Column("weather", "weather", is_text=True),
        Column("rain_mm", "rain", "mm", "{:.1f}".format),
        Column("et0_mm", "ET0", "mm", "{:.1f}".format),
        Column("opened", "by the plan, minutes", is_text=True, most=40, none="–"),
    )
    rows = tuple(
        (
            day.day,
            weather_of(day, found),
            day.rain_mm,
            day.et0_mm,
            "; ".join(f"{name} {number:.0f}" for name, number in day.minutes.items()) or None,
        )
        for day in found.coming
    )
    return Table("The week ahead", columns, rows, full=True)


def weather_of(day: Coming, found: Now) -> str:
    """What the weather of a day ahead is."""
    if day.is_forecast:
        return "forecast"
    return "usual, your gauge" if found.fallen_mm and day.day == found.known.today else "usual, dry"


def cautions(found: Now) -> Iterator[str]:
    """The cautions that today's watering calls for."""
    if found.to_open:
        yield NO_MIST
    if any(one.mains_l + one.unmet_l > SHORT_L for one in found.openings):
        yield AIR_GAP


# ---- For machines ----------------------------------------------------------------------------------------------------


def facts(found: Now, doubt: Doubt | None = None) -> Facts:
    """Today as plain values."""
    known, ahead = found.known, found.ahead
    measured = known.weather is not None
    return {
        "site": known.site.site.name,
        "period": period(known.today, known.today + (WEEK_DAYS - 1) * DAY),
        "today": known.today.isoformat(),
        "is_example": known.is_example,
        "weather_to": known.last.isoformat() if measured else None,
        "weather_age_days": (known.today - known.last).days if measured else None,
        "forecast": None if ahead.forecast is None else period(*ahead.forecast),
        "forecast_source": ahead.source or None,
        "normal": usual_et0(ahead.normal),
        "usual_rain": usual_rain(ahead.normal),
        "usual_rain_mm_per_week": ahead.normal.week_mm,
        "rain_today_mm": found.fallen_mm,
        "looked_days": found.looked,
        "lasts_dry_days": found.lasts,
        "lasts_usual_days": found.lasts_usual,
        "work_minutes_per_week": found.week_minutes,
        "stores": [of_store(store, known.today) for store in found.stores],
        "zones": [of_zone(one) for one in found.openings],
        "beds": [of_bed(bed) for bed in found.beds],
        "moves": [of_move(move) for move in found.moves],
        "sunk": [{"zone": one.zone, "sunk_share": one.share, "enough_share": one.enough} for one in found.sunk],
        "coming": [of_day(day) for day in found.coming],
        "doubt": today_doubt_facts(doubt),
    }


def events(found: Now) -> Iterator[Event]:
    """An event for each of the next days on which a zone opens by the plan; today only those that are to be opened."""
    for day in found.coming:
        to_open = {one.name for one in found.to_open}
        opened = {
            name: number for name, number in day.minutes.items() if day.day != found.known.today or name in to_open
        }
        if opened:
            words = listed([f"{name} {minutes(number)}" for name, number in opened.items()])
            weather = "forecast" if day.is_forecast else "the season's normal"
            yield Event(day.day, f"Water: {words}", f"{found.known.site.site.name}; by {weather}. Ask again that day.")
