"""Why a line is open or shut today, and how a bed stands, in words."""

import datetime as dt

from waterbudget.answers.english import litres
from waterbudget.answers.near import dated_near, day_near, minutes, since
from waterbudget.change.beds import BedToday
from waterbudget.change.now import Now, Opening
from waterbudget.change.why import Reason
from waterbudget.simulate.books import SHORT_L
from waterbudget.units import WEEK_DAYS

NEARLY = 0.8  # of the easy water, from which a bed is nearly thirsty
ALIKE: dict[Reason, str] = {
    "kept shut": "as you logged",
    "moist": "the soil is still moist",
    "no minutes": "its plan has no minutes today",
}


def line_state(one: Opening, found: Now) -> str:
    """What a line does today: open 12 minutes: Bean bed is nearly thirsty."""
    reason = one.why.reason
    if reason == "due":
        more = " more" if one.ran else ""
        return f"open {minutes(one.minutes)}{more}: {why_open(one)}"
    if reason == "wait":
        return f"wait: {why_wait(one)}"
    if reason == "done":
        return f"done: {minutes(one.ran or 0.0)} run today"
    return f"shut: {why_shut(one, found)}"


def why_open(one: Opening) -> str:
    """Why a line is to be opened, and what of its water comes from the mains."""
    why = one.why
    if why.bed is None or why.used is None or why.used < NEARLY:
        state = "it is its day"
    else:
        state = f"{why.bed} is {'thirsty' if why.used > 1.0 else 'nearly thirsty'}"
    mains_l = one.mains_l + one.unmet_l
    return f"{state}; {litres(mains_l)} L have to come from the mains" if mains_l > SHORT_L else state


def why_wait(one: Opening) -> str:
    """What a line waits for."""
    return "" if one.wait is None else f"{one.wait.rain_mm:.0f} mm of rain do it instead"


def why_shut(one: Opening, found: Now) -> str:
    """Why a line is shut."""
    why, today = one.why, found.known.today
    if why.reason == "season":
        return "not its season" if why.day is None else f"its season begins on {dated_near(why.day, today)}"
    if why.reason == "not its day":
        return "not its day" if why.day is None else f"next due {_on(why.day, today)}"
    if why.reason == "rain":
        return _rain(why.rain_mm or 0.0, why.day or today, why.wet_days or 1, today)
    if why.reason in ALIKE:
        return ALIKE[why.reason]
    zone = next(zone for zone in found.known.site.zone if zone.name == one.name)
    return f"{zone.tank} is empty{' and mains water is banned' if why.reason == 'ban' else ''}"


def _on(day: dt.date, today: dt.date) -> str:
    return "tomorrow" if (day - today).days == 1 else f"on {day_near(today, day)}"


def _rain(rain_mm: float, first: dt.date, wet_days: int, today: dt.date) -> str:
    fell = f"{rain_mm:.1f} mm fell"
    if wet_days > 1:
        return f"{fell} since {dated_near(first, today)}"
    return f"{fell} yesterday" if (today - first).days == 1 else f"{fell} on {dated_near(first, today)}"


def bed_state(bed: BedToday, today: dt.date) -> str:
    """How a bed stands: fine, thirsty in 2 days, thirsty since Tuesday."""
    if not bed.planted:
        return "bare"
    if bed.thirsty_since is not None:
        return (
            "thirsty since today" if bed.thirsty_since == today else f"thirsty since {since(bed.thirsty_since, today)}"
        )
    if bed.thirsty_in_days is None or bed.thirsty_in_days > WEEK_DAYS:
        return "fine"
    return {0: "thirsty today", 1: "thirsty tomorrow"}.get(
        bed.thirsty_in_days, f"thirsty in {bed.thirsty_in_days} days"
    )
