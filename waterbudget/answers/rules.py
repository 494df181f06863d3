"""Simple watering rules over the recorded summers in words: the best, how far from foresight, year by year."""

import math
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import capital, finely, litres
from waterbudget.blocks import Bullets, Column, Table
from waterbudget.odds.rules import PRESENT, Rule, Rules
from waterbudget.units import Array

LIKE = 0.0005  # of the yield: half of the last digit shown
TRIED = (
    "A rule is the same for all lines, with the minutes of the site file. In each summer stands the rule that was best "
    "in all the others. No rule is taken that gives other draws less than the present plan does, and foresight gives "
    "them no less either."
)
FORESIGHT = "Foresight is a linear programme that knows the whole summer and opens each valve for any litres."
AT_WILL = (
    "It may let a store run over into another before it is full, so it may be too kind: in Brackenfold's twelve "
    "summers by 0.3 points in the mean, and by 1.4 at most."
)


class RuleFacts(TypedDict):
    """A rule for all zones: what opens the valve, at which depletion, and when water is moved; null for none."""

    trigger: str
    leave_mm: float | None
    dry_at: float | None
    from_tank: str | None
    to_tank: str | None
    below_l: float | None
    keep_l: float | None
    yield_at_risk: float


class RuleYear(TypedDict):
    """A summer: the present plan, the rule that was best in all the others, and the least under any plan."""

    year: str
    present_yield_at_risk: float
    yield_at_risk: float
    least_yield_at_risk: float | None


class RulesFacts(TypedDict):
    """Rules in the recorded summers, without mains water; the yields at risk are means over them."""

    rules_tried: int
    present_yield_at_risk: float
    best: RuleFacts
    yield_at_risk: float
    least_yield_at_risk: float | None
    with_moves_yield_at_risk: float | None
    years: list[RuleYear]


def blocks(found: Rules) -> Iterator[Bullets | Table]:
    """What the rules come to, and every summer."""
    yield Bullets("help", "Simple rules for all lines, without mains water", tuple(sentences(found)))
    yield by_year(found)
    yield Bullets("assume", "How rules were tried", (f"{len(found.rules)} rules tried. {TRIED}", _foresight(found)))


def sentences(found: Rules) -> Iterator[str]:
    """Present plan, the best rules and foresight, as means over the summers."""
    present = float(found.harm[0].mean())
    yield f"Your plan loses {finely(present)} of the yield in a mean summer."
    plain, moving = (float(found.of_each_year(one).mean()) for one in (found.unmoved, found.chosen))
    best = int(found.harm[[n for n, rule in enumerate(found.rules) if rule.move is None]].mean(axis=1).argmin())
    unmoved = [rule for rule in found.rules if rule.move is None][best]
    if unmoved == PRESENT or plain > present - LIKE:
        yield "No simple rule without moving water does better."
    else:
        yield f"{capital(in_words(found, unmoved))}: {finely(plain)}."
    if found.rules[found.best].move is not None and moving < min(plain, present) - LIKE:
        yield f"{capital(in_words(found, found.rules[found.best]))}: {finely(moving)}."
    yield foresight_words(found)


def _foresight(found: Rules) -> str:
    """What the bounds rest on, and how far off they may be."""
    runs_over = any(tank.overflow_to is not None for tank in found.site.tank)
    return f"{FORESIGHT} {AT_WILL}" if runs_over else FORESIGHT


def foresight_words(found: Rules) -> str:
    """What somebody could do who knew each summer."""
    bound, moved = _mean(found.bound), _mean(found.moved_bound)
    if bound is None or moved is None:
        return "How much better somebody could do who knew each summer is not known: the solver did not end in time."
    about = "" if found.is_exact else "about "
    moves = f", and moving water {finely(moved)}" if moved < bound - LIKE else ""
    return f"Somebody who knew each summer could lose no less than {about}{finely(bound)}{moves}."


def in_words(found: Rules, rule: Rule) -> str:
    """A rule as people say it."""
    if rule.trigger == "refill":
        leaves = f", less {rule.amount:g} mm left for rain" if rule.amount else ""
        opens = f"give what the soil lacks{leaves}"
    elif rule.trigger == "dry":
        opens = f"water only when a bed has used {rule.amount:g} of its readily available water"
    else:
        opens = "keep your plan"
    if rule.move is None:
        return opens
    tanks = found.site.tank
    leave = f", but leave {litres(rule.move.keep_l)} L there" if rule.move.keep_l else ""
    return (
        f"{opens}, and when {tanks[rule.move.taker].name} holds less than {litres(rule.move.below_l)} L, fill it from "
        f"{tanks[rule.move.giver].name}{leave}"
    )


def by_year(found: Rules) -> Table:
    """Each summer: present plan, the best rule of the others, foresight, and how far the rule is from it."""
    chosen = found.of_each_year(found.chosen)
    columns = (
        Column("year", "Summer"),
        Column("present_yield_at_risk", "now", "at risk", finely),
        Column("yield_at_risk", "best rule", "at risk", finely),
        Column("least_yield_at_risk", "foresight", "at risk", finely),
        Column("gap", "between", "points", _points),
    )
    bounds = found.moved_bound
    rows = [
        (str(year), float(now), float(best), _or_none(bound), _or_none(best - bound))
        for year, now, best, bound in zip(found.years.label, found.harm[0], chosen, bounds, strict=True)
    ]
    least = _mean(bounds)
    mean = float(chosen.mean())
    gap = None if least is None else mean - least
    rows.append(("mean", float(found.harm[0].mean()), mean, least, gap))
    return Table("Yield at risk in every summer, without mains water", columns, tuple(rows))


def rules_facts(found: Rules | None) -> RulesFacts | None:
    """Rules as plain values; None where they were not asked for."""
    if found is None:
        return None
    best, chosen = found.rules[found.best], found.of_each_year(found.chosen)
    tanks = found.site.tank
    return {
        "rules_tried": len(found.rules),
        "present_yield_at_risk": float(found.harm[0].mean()),
        "best": {
            "trigger": best.trigger,
            "leave_mm": best.amount if best.trigger == "refill" else None,
            "dry_at": best.amount if best.trigger == "dry" else None,
            "from_tank": None if best.move is None else tanks[best.move.giver].name,
            "to_tank": None if best.move is None else tanks[best.move.taker].name,
            "below_l": None if best.move is None else best.move.below_l,
            "keep_l": None if best.move is None else best.move.keep_l,
            "yield_at_risk": float(found.harm[found.best].mean()),
        },
        "yield_at_risk": float(chosen.mean()),
        "least_yield_at_risk": _mean(found.bound),
        "with_moves_yield_at_risk": _mean(found.moved_bound),
        "years": [
            {
                "year": str(year),
                "present_yield_at_risk": float(now),
                "yield_at_risk": float(one),
                "least_yield_at_risk": _or_none(bound),
            }
            for year, now, one, bound in zip(found.years.label, found.harm[0], chosen, found.moved_bound, strict=True)
        ],
    }


def _points(share: float) -> str:
    return f"{100 * share:.1f}"


def _mean(values: Array) -> float | None:
    return _or_none(float(values.mean()))


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else float(value)
