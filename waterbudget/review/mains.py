"""When a run's stores stop being enough, and on which days mains water came or was lacking."""

import datetime as dt
from typing import NamedTuple

from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result


class Ending(NamedTuple):
    """The first day on which the stored rain is not enough: the stores short, and those whose float valve opens."""

    day: dt.date
    short: list[str]
    opened: list[str]


class Occasions(NamedTuple):
    """On how many days something happened, the first and the last of them."""

    days: int
    first: dt.date
    last: dt.date


def ending(result: Result) -> Ending | None:
    """The end of the stored rain; None where it lasts."""
    days = [result.summary[first] for first in ("first_short", "first_mains") if result.summary[first] is not None]
    if not days:
        return None
    first = dt.date.fromisoformat(min(days))
    today = (first - result.weather.first_day).days
    mains_l, short_l = result.each["tanks.mains_l"][today], result.each["tanks.short_l"][today]
    tanks = result.site.tank
    floats = [number for number, tank in enumerate(tanks) if tank.mains == "float"]
    opened = [tanks[number].name for number in floats if mains_l[number] > SHORT_L]
    short = [tank.name for tank, litres in zip(tanks, short_l, strict=True) if litres > SHORT_L]
    return Ending(first, short, opened)


def given_by_mains(result: Result) -> Occasions | None:
    """The days on which a store got mains water; None without one."""
    return _occasions(result, "tanks.mains_l")


def not_given(result: Result) -> Occasions | None:
    """The days on which a zone or draw did not get all that it asked for; None without one."""
    return _occasions(result, "outlets.unmet_l")


def _occasions(result: Result, name: str) -> Occasions | None:
    if not result.each:
        return None
    days = result.weather.days[(result.each[name] > SHORT_L).any(axis=1)]
    return Occasions(len(days), days[0].item(), days[-1].item()) if len(days) else None
