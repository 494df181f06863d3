"""When a run's stores stop being enough, and on which days mains water came or was lacking."""

import datetime as dt
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result

if TYPE_CHECKING:
    import pandas as pd


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
    first = min(days)
    today = result.tanks[result.tanks["date"] == first]
    floats = [tank.name for tank in result.site.tank if tank.mains == "float"]
    opened = list(today.loc[(today["mains_l"] > SHORT_L) & today["tank"].isin(floats), "tank"])
    short = list(today.loc[today["short_l"] > SHORT_L, "tank"])
    return Ending(dt.date.fromisoformat(first), short, opened)


def given_by_mains(result: Result) -> Occasions | None:
    """The days on which a store got mains water; None without one."""
    return _occasions(result.tanks, "mains_l")


def not_given(result: Result) -> Occasions | None:
    """The days on which a zone or draw did not get all that it asked for; None without one."""
    return _occasions(result.zones, "unmet_l")


def _occasions(frame: "pd.DataFrame", column: str) -> Occasions | None:
    days = frame.loc[frame[column] > SHORT_L, "date"].unique()
    return Occasions(len(days), days[0].date(), days[-1].date()) if len(days) else None
