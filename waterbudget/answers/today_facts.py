"""The parts of a garden today as plain values, for machines."""

import datetime as dt

from typing_extensions import TypedDict

from waterbudget.change.beds import BedToday
from waterbudget.change.move import Move
from waterbudget.change.now import Coming, Opening, Store
from waterbudget.change.why import Reason


class ReadFacts(TypedDict):
    """The last level that was read, and what was reckoned for the same evening."""

    date: str
    level_l: float
    reckoned_l: float | None


class StoreFacts(TypedDict):
    """A store now. read: null where the site's start_l stands in. Days from today; null for longer than was looked."""

    name: str
    capacity_l: float
    level_l: float
    read: ReadFacts | None
    age_days: int | None
    lasts_dry_days: int | None
    lasts_usual_days: int | None
    lasts_expected_days: int | None


class WhyFacts(TypedDict):
    """Why a zone is open or shut; day: of the rain, else of its next opening. bed: its driest."""

    reason: Reason
    day: str | None
    rain_mm: float | None
    wet_days: int | None
    bed: str | None
    raw_used: float | None


class WaitFacts(TypedDict):
    """Rain that is worth waiting for, by the evening of a day, and the driest bed until then."""

    day: str
    rain_mm: float
    bed: str
    raw_used: float


class ZoneFacts(TypedDict):
    """A zone today. minutes_run: logged, null for none; minutes: still to run, and where their litres come from."""

    name: str
    minutes_run: float | None
    minutes: float
    store_l: float
    mains_l: float
    unmet_l: float
    next_day: str | None
    why: WhyFacts
    wait: WaitFacts | None


class BedFacts(TypedDict):
    """A bed today. Days until it is thirsty if it stays dry; null for not in the days ahead."""

    name: str
    zone: str | None
    planted: bool
    raw_used: float | None
    thirsty_since: str | None
    thirsty_in_days: int | None
    unwatered_in_days: int | None
    usual_in_days: int | None


class MoveFacts(TypedDict):
    """Water to be moved today; name: null where the site has no such transfer."""

    name: str | None
    from_tank: str
    to_tank: str
    moved_l: float
    work_minutes: float
    lasts_dry_days: int | None


class SunkFacts(TypedDict):
    """Water of a zone that sinks past the roots this week; enough_share: of its minutes that would do."""

    zone: str
    sunk_share: float
    enough_share: float


class DayFacts(TypedDict):
    """A day from today on, with the minutes of each zone that opens."""

    date: str
    rain_mm: float
    et0_mm: float
    is_forecast: bool
    minutes: dict[str, float]
    work_minutes: float


def of_store(store: Store, today: dt.date) -> StoreFacts:
    """A store."""
    read = store.read
    return {
        "name": store.name,
        "capacity_l": store.capacity_l,
        "level_l": store.level_l,
        "read": read and {"date": read.day.isoformat(), "level_l": read.level_l, "reckoned_l": read.reckoned_l},
        "age_days": None if read is None else (today - read.day).days,
        "lasts_dry_days": store.lasts,
        "lasts_usual_days": store.usual,
        "lasts_expected_days": store.expected,
    }


def of_zone(one: Opening) -> ZoneFacts:
    """A zone."""
    why, wait = one.why, one.wait
    return {
        "name": one.name,
        "minutes_run": one.ran,
        "minutes": one.minutes,
        "store_l": one.store_l,
        "mains_l": one.mains_l,
        "unmet_l": one.unmet_l,
        "next_day": _iso(one.next_day),
        "why": {
            "reason": why.reason,
            "day": _iso(why.day),
            "rain_mm": why.rain_mm,
            "wet_days": why.wet_days,
            "bed": why.bed,
            "raw_used": why.used,
        },
        "wait": wait
        and {"day": wait.day.isoformat(), "rain_mm": wait.rain_mm, "bed": wait.bed, "raw_used": wait.driest},
    }


def of_bed(bed: BedToday) -> BedFacts:
    """A bed."""
    return {
        "name": bed.name,
        "zone": bed.zone,
        "planted": bed.planted,
        "raw_used": bed.used,
        "thirsty_since": _iso(bed.thirsty_since),
        "thirsty_in_days": bed.thirsty_in_days,
        "unwatered_in_days": bed.unwatered_in_days,
        "usual_in_days": bed.usual_in_days,
    }


def of_move(move: Move) -> MoveFacts:
    """Water to be moved."""
    return {
        "name": move.name,
        "from_tank": move.from_tank,
        "to_tank": move.to_tank,
        "moved_l": move.litres,
        "work_minutes": move.minutes,
        "lasts_dry_days": move.lasts,
    }


def of_day(day: Coming) -> DayFacts:
    """A day ahead."""
    return {
        "date": day.day.isoformat(),
        "rain_mm": day.rain_mm,
        "et0_mm": day.et0_mm,
        "is_forecast": day.is_forecast,
        "minutes": dict(day.minutes),
        "work_minutes": day.work_minutes,
    }


def _iso(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()
