"""How far a verdict hangs on what nobody measured, in a line."""

from collections.abc import Callable, Mapping
from typing import Generic, TypeAlias, TypeVar

from typing_extensions import TypedDict

from waterbudget.answers.english import count, listed, litres
from waterbudget.review.doubt import Doubt, Outcome

OutcomeT = TypeVar("OutcomeT")
FactsT = TypeVar("FactsT")
SURFACE = {
    "single": "If the jets keep the soil wet all day",
    "dual": "If the soil's own evaporation is left to the crop's coefficient",
}
RAIN = {
    "after_spill": "If the day's rain can be drawn at once",
    "before_spill": "If the day's rain counts from tomorrow",
}


class OtherOutcome(TypedDict):
    """What another choice would make of the verdict."""

    days_lasted: int
    needed_l: float


class OtherChoices(TypedDict, Generic[FactsT]):
    """The other crop coefficient, where it may count, and the other release rule."""

    other_coefficient: FactsT | None
    other_release: FactsT


DoubtFacts: TypeAlias = OtherChoices[OtherOutcome]


def other_choices(
    coefficient: OutcomeT | None, release: OutcomeT, facts: Callable[[OutcomeT], FactsT]
) -> OtherChoices[FactsT]:
    """What the other choices give as plain values."""
    return {"other_coefficient": None if coefficient is None else facts(coefficient), "other_release": facts(release)}


def doubt_facts(found: Doubt) -> DoubtFacts:
    """The same as plain values."""
    return other_choices(found.other_coefficient, found.other_release, _facts)


def _facts(one: Outcome) -> OtherOutcome:
    return {"days_lasted": one.days_lasted, "needed_l": one.needed_l}


def doubt_sentence(found: Doubt) -> str:
    """One line on both choices."""
    told = []
    if found.other_coefficient is not None:
        told.append(f"{SURFACE[found.coefficient]}: {_instead(found.other_coefficient, found.now)}.")
    told.append(f"{RAIN[found.release]}: {_instead(found.other_release, found.now)}.")
    return " ".join(told)


def range_sentence(found: Doubt, others: Mapping[str, int] | None = None) -> str | None:
    """Between which days the stored rain may last; None where nothing makes a difference to that.

    others: further days by their condition, such as "with 20 % less in the butt".
    """
    told = {days: words for words, days in (others or {}).items()}
    told[found.other_release.days_lasted] = if_rain(found.release)
    if found.other_coefficient is not None:
        told[found.other_coefficient.days_lasted] = if_surface(found.coefficient)
    told[found.now.days_lasted] = ""
    low, high = min(told), max(told)
    return None if low == high else f"The stores may last {low:,} to {count(high, 'day')}: {ends_of(told)}."


def ends_of(told: Mapping[int, str]) -> str:
    """The lowest and the highest of some numbers with their conditions; those without one are left out."""
    return listed([f"{end:,} {told[end]}" for end in (min(told), max(told)) if told[end]])


def if_surface(coefficient: str) -> str:
    """The condition under which the other crop coefficient holds."""
    return _lower(SURFACE[coefficient])


def if_rain(release: str) -> str:
    """The condition under which the other release rule holds."""
    return _lower(RAIN[release])


def _lower(words: str) -> str:
    return f"{words[:1].lower()}{words[1:]}"


def _instead(other: Outcome, now: Outcome) -> str:
    if other.days_lasted != now.days_lasted:
        return f"{other.days_lasted:,} instead of {count(now.days_lasted, 'day')}"
    other_l, now_l = litres(other.needed_l), litres(now.needed_l)
    if other_l == now_l:
        return f"{count(now.days_lasted, 'day')} all the same"
    return f"{count(now.days_lasted, 'day')} all the same, but {other_l} instead of {now_l} L from the mains"
