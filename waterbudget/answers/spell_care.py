"""The cautions of a hot spell."""

from collections.abc import Iterator

from waterbudget.answers.care import AIR_GAP, NO_MIST, NOT_TO_DRINK, PLUMBER
from waterbudget.spell.study import Study
from waterbudget.tables.cautions import cautions

BAN = ("hosepipe ban", "mains")  # topic and subject of the caution


def at_hand(found: Study) -> Iterator[str]:
    """The cautions that the hand needs at once."""
    if found.site.zone:
        yield NO_MIST
    if not found.found.trial.lasts[0]:
        yield AIR_GAP
    if found.moving is not None:
        yield "Stay with a siphon or pump, shut it off after, and lift the hose out."
    if found.rationing is not None or found.both is not None:
        yield "Never ration what animals drink."


def more_cautions(found: Study) -> Iterator[str]:
    """The other cautions that heat and the answer call for."""
    yield NOT_TO_DRINK
    if not found.found.trial.lasts[0]:
        yield PLUMBER
        topic, subject = BAN
        yield from (one.caution for one in cautions(topic) if one.subject == subject)
