"""Summers in words: which were tried, how often something happens in them, what was changed in their weather."""

import datetime as dt
import functools

import numpy as np

from waterbudget.answers.english import count, listed, percent
from waterbudget.odds.chances import on_grid
from waterbudget.odds.outcomes import Odds
from waterbudget.odds.study import OddsFinding
from waterbudget.odds.summers import BLOCKS, CHAIN
from waterbudget.units import BoolArray

DRAWN = {BLOCKS: "in blocks of days", CHAIN: "by a chain of wet and dry days"}


def one(found: OddsFinding) -> str:
    """A summer, or a season that the reader chose."""
    return "summer" if found.wanted.start_md is None and found.wanted.end_md is None else "season"


def changes(found: OddsFinding) -> list[str]:
    """What is changed in the weather of the years; empty for weather as it was recorded."""
    wanted, told = found.wanted, []
    if wanted.warmer_c != 0.0:
        told.append(f"{abs(wanted.warmer_c):g} °C {'warmer' if wanted.warmer_c > 0.0 else 'cooler'}")
    if wanted.rain_factor != 1.0:
        told.append(f"with {wanted.rain_factor:g} times the rain")
    return told


def made(found: OddsFinding) -> str:
    """The same in a word or two, such as made warmer and drier."""
    warmer_c, more_rain = found.wanted.warmer_c, found.wanted.rain_factor - 1.0
    words = ["warmer" if warmer_c > 0.0 else "cooler"] if warmer_c else []
    words += ["wetter" if more_rain > 0.0 else "drier"] if more_rain else []
    return f"made {listed(words)}" if words else ""


def years_tried(found: OddsFinding) -> str:
    """Which years were tried and what was changed in them: 10 recorded summers, 1979 to 1988, 2 °C warmer."""
    recorded, drawn = found.recorded, found.drawn
    of = f"{len(recorded.days_lasted)} recorded {one(found)}s, {named(recorded, 0)} to {named(recorded, -1)}"
    if drawn is not None:
        of = f"{count(len(drawn.days_lasted), one(found))} drawn {DRAWN[drawn.years.method]} from {of}"
    return ", ".join([of, *changes(found)])


def named(odds: Odds, year: int) -> str:
    """A recorded year by its number, one that passes New Year by both: 1976, or 1976-77."""
    first, last = (int(str(day)[:4]) for day in odds.years.dates[[0, -1], year])
    return str(first) if first == last else f"{first}-{last % 100:02d}"


def day_of(odds: Odds, number: float, year: int) -> dt.date | None:
    """A day counted from 0 of a year, None for never."""
    told = odds.day(number, year)
    return None if told is None else dt.date.fromisoformat(told)


# ---- How often -------------------------------------------------------------------------------------------------------


def of_years(odds: Odds, happens: BoolArray) -> str:
    """How often something happens, in the years that stand behind it, such as 10 of 12."""
    of, share = odds.years.years_behind, float(happens.mean())
    if 0.0 < share < 1.0 / of:
        return f"fewer than 1 of {of}"
    if 1.0 - 1.0 / of < share < 1.0:
        return f"more than {of - 1} of {of}"
    return f"{round(float(on_grid(share, of)) * of)} of {of}"


def in_years(found: OddsFinding, happens: BoolArray) -> str:
    """The same as people say it: all 10 summers, or 8 of the 10 summers."""
    odds = found.asked
    if np.all(happens):
        return f"all {odds.years.years_behind} {one(found)}s"
    if found.drawn is not None:
        return f"{of_years(odds, happens)} {one(found)}s"
    return f"{happens.sum()} of the {happens.size} {one(found)}s"


def chance(share: float, behind: int) -> str:
    """A chance in per cent, no finer than one year of those behind it."""
    if 0.0 < share < 1.0 / behind:
        return f"under {percent(1.0 / behind)}"
    if 1.0 - 1.0 / behind < share < 1.0:
        return f"over {percent(1.0 - 1.0 / behind)}"
    return percent(float(on_grid(share, behind)))


def chance_of(behind: int) -> "functools.partial[str]":
    """How a chance is written in a table."""
    return functools.partial(chance, behind=behind)
