"""How close the best plan of a spell comes to the best there can be, what ten litres are worth, and what would help."""

import math
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import finely, listed
from waterbudget.answers.unaided import SEEN
from waterbudget.spell.rationing import fewer_litres
from waterbudget.spell.study import Study

TEN_L = 10.0
GAIN = 0.005  # of the yield: what a change must be worth to be worth a line


class Worth(TypedDict):
    """A store or a draw, and what ten litres more in it, or less for it, save."""

    name: str
    saved_by_ten_litres: float


class MoveFacts(TypedDict):
    """Water moved at will from one store to another."""

    from_tank: str
    to_tank: str
    yield_at_risk: float


class ForesightFacts(TypedDict):
    """The least that any plan could leave at risk without mains water, null where none is known.

    is_proven: whether that can be reached; else time ran out, and it is the best bound so far.
    is_exact: whether water use is known before the watering. with_valves: with a valve for each bed; with_rations: with
    the draws that may get less; null where there is nothing to tell.
    """

    yield_at_risk: float | None
    is_proven: bool
    is_exact: bool
    with_valves_yield_at_risk: float | None
    with_rations_yield_at_risk: float | None
    move: MoveFacts | None
    tanks: list[Worth]
    draws: list[Worth]


def foresight_facts(found: Study) -> ForesightFacts:
    """What could be done at best as plain values."""
    foreseen = found.foreseen
    best, move, names = foreseen.best, foreseen.move, found.eve.garden.names
    draws = names.outlets[found.eve.garden.structure.zones :]
    return {
        "yield_at_risk": _known(best.yield_at_risk),
        "is_proven": best.is_proven,
        "is_exact": foreseen.prospect.is_exact,
        "with_valves_yield_at_risk": _known(foreseen.valves),
        "with_rations_yield_at_risk": _known(foreseen.rationed),
        "move": None
        if move is None or math.isnan(move.yield_at_risk)
        else {
            "from_tank": names.tanks[move.giver],
            "to_tank": names.tanks[move.taker],
            "yield_at_risk": move.yield_at_risk,
        },
        "tanks": [
            {"name": name, "saved_by_ten_litres": TEN_L * float(worth)}
            for name, worth in zip(names.tanks, best.worth_per_l, strict=True)
            if not math.isnan(worth)
        ],
        "draws": [
            {"name": name, "saved_by_ten_litres": TEN_L * float(worth)}
            for name, worth in zip(draws, best.draw_worth_per_l, strict=True)
            if not math.isnan(worth)
        ],
    }


def _known(share: float | None) -> float | None:
    return None if share is None or math.isnan(share) else share


def closeness(found: Study) -> str:
    """How close the best plan comes to the best there can be, after what it loses; empty where that is not known."""
    best = found.foreseen.best.yield_at_risk
    harm = found.found.least_harm
    if math.isnan(best) or harm < SEEN or not found.site.zone:
        return ""
    if best < SEEN:
        knew = "; somebody who knew the weather could lose nothing"
        return knew if found.foreseen.best.is_proven else ""
    if harm - best < SEEN:
        return ", and no plan could lose less, not even one that knew the weather"
    about = "" if found.foreseen.prospect.is_exact else "about "
    moving = " without moving water" if found.moving is not None else ""
    return f"; no plan, even one that knew the weather, could lose less than {about}{finely(best)}{moving}"


def ten_litres(found: Study) -> Iterator[str]:
    """What ten litres more are worth, store by store; nothing where nothing is at risk."""
    names, best = found.eve.garden.names.tanks, found.foreseen.best
    if math.isnan(best.yield_at_risk) or best.yield_at_risk < SEEN:
        return
    saved = TEN_L * best.worth_per_l
    helps = [f"{finely(share)} in {name}" for name, share in zip(names, saved, strict=True) if share >= SEEN]
    idle = [f"nothing in {name}" for name, share in zip(names, saved, strict=True) if share < SEEN]
    if helps:
        yield f"Ten litres more save {listed([*helps, *idle])}."


def worth(found: Study) -> Iterator[str]:
    """What moving, rationing, a larger store or more valves would help, at best.

    Each line is about the best that could be done, so none is told where nothing is at risk.
    """
    foreseen, names = found.foreseen, found.eve.garden.names
    best = foreseen.best
    if math.isnan(best.yield_at_risk) or best.yield_at_risk < SEEN:
        return
    yield from _full(found)
    move = foreseen.move
    if move is not None and best.yield_at_risk - move.yield_at_risk >= GAIN:
        yield (
            f"Move water from {names.tanks[move.giver]} to {names.tanks[move.taker]}: "
            f"at best only {finely(move.yield_at_risk)} would be lost."
        )
    if foreseen.rationed is not None and best.yield_at_risk - foreseen.rationed >= GAIN:
        fewer = listed([draw.name for draw in fewer_litres(found.site)])
        yield f"Give {fewer} less: at best {finely(foreseen.rationed)} would be lost."
    if best.yield_at_risk - foreseen.valves >= GAIN:
        yield f"With a valve for each bed at best {finely(foreseen.valves)} would be lost."


def _full(found: Study) -> Iterator[str]:
    """The stores where more water would help and has no room."""
    saved, room_l = TEN_L * found.foreseen.best.worth_per_l, found.foreseen.room_l
    full = [
        name for tank, name in enumerate(found.eve.garden.names.tanks) if saved[tank] >= SEEN and room_l[tank] < TEN_L
    ]
    if full:
        is_ = "is" if len(full) == 1 else "are"
        yield f"{listed(full)} {is_} full on the first morning: only a larger store helps."


def _unproven(found: Study) -> str:
    """Why the best there can be is not known, and what is known of it."""
    best, names = found.foreseen.best, found.eve.garden.names
    if best.at_odds is not None:
        kind, number = best.at_odds
        name = (names.beds if kind == "bed" else names.tanks)[number]
        return (
            f"How close these come to the best there can be is not known: the numbers of {name} contradict each other."
        )
    if best.yield_at_risk >= SEEN:
        return f"The solver ran out of time: the best there can be loses {finely(best.yield_at_risk)} or more."
    return "The solver found no best plan in its time, so how close these come to it is not known."


def how_it_is_found(found: Study) -> Iterator[str]:
    """What the bound rests on, and what it could not tell."""
    best, prospect = found.foreseen.best, found.foreseen.prospect
    if not found.site.zone:
        return
    if not best.is_proven:
        yield _unproven(found)
        return
    told = (
        "The best there can be is found by a linear programme that knows the weather, opens each valve for any litres"
    )
    mains = " and takes no mains water" if not prospect.drained else ""
    yield f"{told}{mains}. What ten litres are worth holds for the next few litres."
    if prospect.drained:
        names = [found.eve.garden.names.tanks[tank] for tank in prospect.drained]
        yield (
            f"Other draws alone empty {listed(names)}: there it lets them have less, and mains water in as the site "
            "file has it, so it may be too kind."
        )
    if not prospect.is_exact:
        yield (
            "It is approximate: the wet surface is taken as under the present plan, and what each bed gets of its "
            "line as from a full store."
        )
