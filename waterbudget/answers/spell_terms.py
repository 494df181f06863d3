"""A hot spell without mains water, or without anybody there, in words."""

from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import count, finely, in_words, listed, litres, span
from waterbudget.answers.facts import Period, period
from waterbudget.answers.spell_plans import dates
from waterbudget.blocks import Bullets
from waterbudget.site.model import Tank
from waterbudget.spell.away import Away
from waterbudget.spell.saving import Saving
from waterbudget.spell.study import Study

SHARES = {1 / 4: "a quarter", 1 / 3: "a third", 1 / 2: "half", 2 / 3: "two thirds", 3 / 4: "three quarters"}
NOTHING = 0.005  # of the yield: what is as good as nothing
FEW = 3  # names of what to give up first


class SavingFacts(TypedDict):
    """When to begin with which share of the present minutes, null where saving does not help.

    give_up: draws and beds, those first for which a litre does least.
    """

    first_day: str | None
    minutes_share: float
    yield_at_risk: float
    unsaved_yield_at_risk: float
    give_up: list[str]


class Hand(TypedDict):
    """A zone or draw and the days on which somebody must see to it."""

    name: str
    hand_days: int


class Leave(TypedDict):
    """A store, what it must hold on the first morning for all that is asked of it, and what it can hold."""

    name: str
    leave_l: float
    capacity_l: float


class AwayFacts(TypedDict):
    """Days on which nobody is there."""

    period: Period
    by_itself: list[str]
    outlets: list[Hand]
    tanks: list[Leave]
    alone_yield_at_risk: float
    timed_yield_at_risk: float


def terms(found: Study) -> Iterator[Bullets]:
    """The blocks of what was asked besides: saving without mains water, and being away."""
    if found.saving is not None:
        ban = found.spell.ban
        when = f"Under the ban, {span(*ban)}" if ban else "Without any mains water"
        yield Bullets("help", when, tuple(saving_words(found, found.saving)))
    if found.away is not None:
        yield Bullets("help", f"While you are away, {span(*found.away.stretch)}", tuple(away_words(found, found.away)))


def saving_words(found: Study, saving: Saving) -> Iterator[str]:
    """When to begin saving, what is lost then, and what to give up first."""
    lost = "nothing is" if saving.yield_at_risk < NOTHING else f"{finely(saving.yield_at_risk)} of the yield is"
    if saving.share == 1.0 and saving.yield_at_risk < NOTHING:
        yield "Go on as now: nothing is lost."
        return
    if saving.share == 1.0:
        yield f"Shorter runs would save nothing: {finely(saving.without)} of the yield is lost either way."
    else:
        yield (
            f"Start on {in_words(dates(found)[saving.from_day])} with {SHARES[saving.share]} of the minutes: "
            f"then {lost} lost, without saving {finely(saving.without)}."
        )
    if saving.give_up:
        yield f"Give up first, in this order: {listed(saving.give_up[:FEW])}. A litre does least there."


def away_words(found: Study, away: Away) -> Iterator[str]:
    """What needs a hand, what level to leave with, and how far timers carry."""
    needs = [f"{name} on {count(days, 'day')}" for name, days in away.hands.items()]
    if needs:
        yield f"Somebody must see to {listed(needs)}."
    else:
        yield "Nothing needs a hand."
    if not found.site.zone:
        return
    alone = f"only {listed(away.by_itself)} waters by itself" if away.by_itself else "nothing runs by itself"
    if len(away.by_itself) > 1:
        alone = f"only {listed(away.by_itself)} water by themselves"
    yield f"If nobody comes, {alone}, and {finely(away.alone.yield_at_risk)} of the yield is at risk."
    timed = away.timed.yield_at_risk
    runs = "runs" if len(away.timed.short) == 1 else "run"
    short = f", and {listed(away.timed.short)} {runs} short" if away.timed.short else ""
    if timed < NOTHING:
        yield f"A timer at every line carries it{short}."
    else:
        yield f"With a timer at every line {finely(timed)} of the yield is at risk{short}."
    levels = [f"{litres(needed_l)} L in {tank.name}" for tank, needed_l in _stores(found, away)]
    small = [
        f"{tank.name} holds only {litres(tank.all_l)} L"
        for tank, needed_l in _stores(found, away)
        if needed_l > tank.all_l
    ]
    yield f"All that is asked for takes {listed(levels)} on the day you leave{f'; {listed(small)}' if small else ''}."


def _stores(found: Study, away: Away) -> list[tuple[Tank, float]]:
    return list(zip(found.site.tank, away.needed_l.tolist(), strict=True))


def saving_facts(found: Study) -> SavingFacts | None:
    """Saving as plain values; None where it was not asked for."""
    saving = found.saving
    if saving is None:
        return None
    return {
        "first_day": None if saving.share == 1.0 else dates(found)[saving.from_day].isoformat(),
        "minutes_share": saving.share,
        "yield_at_risk": saving.yield_at_risk,
        "unsaved_yield_at_risk": saving.without,
        "give_up": list(saving.give_up),
    }


def away_facts(found: Study) -> AwayFacts | None:
    """Being away as plain values; None where it was not asked for."""
    away = found.away
    if away is None:
        return None
    return {
        "period": period(*away.stretch),
        "by_itself": list(away.by_itself),
        "outlets": [{"name": name, "hand_days": days} for name, days in away.hands.items()],
        "tanks": [
            {"name": tank.name, "leave_l": needed_l, "capacity_l": tank.all_l}
            for tank, needed_l in _stores(found, away)
        ],
        "alone_yield_at_risk": away.alone.yield_at_risk,
        "timed_yield_at_risk": away.timed.yield_at_risk,
    }
