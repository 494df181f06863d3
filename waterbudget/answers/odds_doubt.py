"""How far the odds hang on what nobody measured, in a line."""

from collections.abc import Iterator
from operator import attrgetter
from typing import TypeAlias

from typing_extensions import TypedDict

from waterbudget.answers.doubt import OtherChoices, ends_of, if_rain, if_surface, other_choices
from waterbudget.answers.english import capital, count
from waterbudget.review.odds_doubt import OddsDoubt, Summers


class SummersFacts(TypedDict):
    """What another choice would make of the recorded summers."""

    short_years: int
    half_days: int


OddsDoubtFacts: TypeAlias = OtherChoices[SummersFacts]


def odds_doubt_facts(found: OddsDoubt) -> OddsDoubtFacts:
    """The same as plain values."""
    return other_choices(found.other_coefficient, found.other_release, _facts)


def _facts(one: Summers) -> SummersFacts:
    return {"short_years": one.short_years, "half_days": one.half_days}


def how_sure(found: OddsDoubt | None) -> Iterator[str]:
    """Between what the recorded summers may lie, in a line; nothing where they hang on nothing."""
    if found is None:
        return
    short, half = (_by(found, name) for name in ("short_years", "half_days"))
    if len(short) > 1:
        years = count(found.years, "recorded summer")
        yield f"It may run short in {min(short)} to {max(short)} of {years}: {ends_of(short)}."
    elif len(half) > 1:
        yield f"In half the summers it may be {min(half)} to {count(max(half), 'day')}: {ends_of(half)}."


def _by(found: OddsDoubt, name: str) -> dict[int, str]:
    number = attrgetter(name)
    told = {number(found.other_release): if_rain(found.release)}
    if found.other_coefficient is not None:
        told[number(found.other_coefficient)] = if_surface(found.coefficient)
    return told | {number(found.now): ""}


def doubts(found: OddsDoubt | None) -> Iterator[str]:
    """Each choice by itself."""
    if found is not None:
        if found.other_coefficient is not None:
            yield _told(if_surface(found.coefficient), found.other_coefficient, found)
        yield _told(if_rain(found.release), found.other_release, found)


def _told(condition: str, other: Summers, found: OddsDoubt) -> str:
    if other == found.now:
        return f"{capital(condition)}: the recorded summers are all the same."
    years = count(found.years, "recorded summer")
    short = f"short in {other.short_years} of {years}, not {found.now.short_years}"
    half = f"in half of them it lasts {count(other.half_days, 'day')} at most"
    if other.short_years == found.now.short_years:
        short = f"short in {other.short_years} of {years} as well"
    if other.half_days == found.now.half_days:
        return f"{capital(condition)}: {short}; {half} as well."
    return f"{capital(condition)}: {short}; {half}, not {found.now.half_days}."
