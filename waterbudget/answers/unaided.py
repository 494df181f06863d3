"""How far the present plan is from the best there can be on stored rain alone, in words."""

import math
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import finely
from waterbudget.plan.unaided import Unaided

SEEN = 0.0005  # of the yield: half of the last digit shown


class UnaidedFacts(TypedDict):
    """Without mains water: the present plan's yield at risk, and the least under any plan that serves draws alike."""

    yield_at_risk: float
    least_yield_at_risk: float | None


def unaided_words(found: Unaided | None) -> Iterator[str]:
    """What stored rain alone leaves at risk, and what nobody could save; nothing where that was not reckoned."""
    if found is None:
        return
    if found.yield_at_risk < SEEN:
        yield "On stored rain alone your plan would lose nothing."
        return
    told = f"On stored rain alone your plan would lose {finely(found.yield_at_risk)} of the yield"
    if math.isnan(found.least) or found.least < SEEN:
        yield f"{told}; somebody who knew the weather could lose nothing." if found.is_proven else f"{told}."
        return
    yield f"{told}; no plan, even one that knew the weather, could lose less than {least_words(found)}."


def least_words(found: Unaided) -> str:
    """The least that any plan could lose, and what no plan does for it."""
    about, moving = "" if found.is_exact else "about ", " without moving water" if found.could_move else ""
    return f"{about}{finely(found.least)}{moving}"


def unaided_facts(found: Unaided | None) -> UnaidedFacts | None:
    """The same as plain values."""
    if found is None:
        return None
    least = None if math.isnan(found.least) else found.least
    return {"yield_at_risk": found.yield_at_risk, "least_yield_at_risk": least}
