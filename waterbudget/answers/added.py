"""A part that was added to a garden, in words."""

import shlex
from collections.abc import Iterator

from waterbudget.answers.understood import newest
from waterbudget.site.add import Added
from waterbudget.tables.cautions import cautions

CARE = {  # by kind of part: topic and subject of what the hand has to know there
    "store": (("weight", "base"), ("drowning", "openings"), ("drinking", "labels")),
    "roof": (("edible crops", "roofs to avoid"),),
    "zone": (("legionella", "temperature"), ("edible crops", "use")),
    "hens": (("hens", "drinking"), ("hens", "backflow")),
}
MAINS = ("mains top-up", "type")


def lines(added: Added) -> Iterator[str]:
    """What was added, and what to mind."""
    yield f"Added {newest(added.site, added.part.head)}"
    yield from (f"Take care. {told}" for told in care(added))


def next_step(added: Added) -> str:
    """The command that comes next."""
    return f"Next: waterbudget check {shlex.quote(str(added.path))}"


def care(added: Added) -> Iterator[str]:
    """The cautions of what was added."""
    has_mains = added.part.head == "tank" and added.site.tank[-1].mains != "none"
    yield from care_of(added.part.kind, has_mains=has_mains)


def care_of(kind: str, *, has_mains: bool) -> Iterator[str]:
    """The cautions of a kind of part. has_mains: whether it is a store that mains water may help."""
    for topic, subject in (*CARE.get(kind, ()), *((MAINS,) if has_mains else ())):
        yield from (one.caution for one in cautions(topic) if one.subject == subject)
