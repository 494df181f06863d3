"""How far the verdict of a hot spell hangs on choices, on the stores' first morning, and on what the crops do then."""

from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.doubt import DoubtFacts, doubt_facts, doubt_sentence, range_sentence
from waterbudget.answers.english import finely, percent
from waterbudget.review.spell_doubt import SHARE, SpellDoubt
from waterbudget.spell.study import Study

NOTICED = 0.005  # of the yield, below which two figures are alike
STAGES = (
    "By growth stage is the same with the Ky of what each crop does on each day (FAO-33 Table 24, from memory): the "
    "initial and development stage count as vegetative, the first half of mid-season as flowering, its second as yield "
    "formation, the late season as ripening (ours)."
)


class MorningFacts(TypedDict):
    """The store whose litres on the first morning sway the days most."""

    tank: str
    lower_days: int
    higher_days: int


class SpellDoubtFacts(DoubtFacts):
    """Other choices, and the store to dip; null where none tells."""

    morning: MorningFacts | None


def spell_doubt_facts(found: SpellDoubt) -> SpellDoubtFacts:
    """The same as plain values."""
    morning = found.morning
    told: MorningFacts | None = None
    if morning is not None:
        told = {"tank": morning.tank, "lower_days": morning.less_days, "higher_days": morning.more_days}
    return {**doubt_facts(found.choices), "morning": told}


def how_sure(doubt: SpellDoubt | None) -> Iterator[str]:
    """Between which days the verdict may lie, in a line; nothing where it hangs on nothing."""
    if doubt is None:
        return
    one = doubt.morning
    less, more = f"with {percent(SHARE)} less", f"with {percent(SHARE)} more there"
    others = {} if one is None else {more: one.more_days, f"{less} in {one.tank}": one.less_days}
    line = range_sentence(doubt.choices, others)
    if line is not None:
        yield line


def _by_stage(found: Study) -> Iterator[str]:
    """What the best plan loses by the stages of the crops, and what that is."""
    if found.by_stage is not None:
        season, stage = found.found.least_harm, float(found.by_stage[-1])
        told = f"By growth stage the best plan would lose {finely(stage)} of the yield, not {finely(season)}. "
        yield f"{told if abs(season - stage) >= NOTICED else ''}{STAGES}"


def doubts(found: Study, doubt: SpellDoubt | None) -> Iterator[str]:
    """Each choice by itself, and what growth stages are."""
    if doubt is not None:
        yield doubt_sentence(doubt.choices)
        one = doubt.morning
        if one is not None:
            yield (
                f"With {percent(SHARE)} less in {one.tank} on the first morning it lasts {one.less_days} days, with "
                f"{percent(SHARE)} more {one.more_days}: dip it."
            )
    yield from _by_stage(found)
