"""A part of a garden as a form: its boxes with their words and faults, the parts inside it, what each is called."""

import re
from collections.abc import Iterable, Mapping
from urllib.parse import quote

from typing_extensions import TypedDict

from waterbudget.answers.added import care_of
from waterbudget.answers.crops import as_planted
from waterbudget.answers.english import capital, count
from waterbudget.errors import plain
from waterbudget.journal.book import Journal
from waterbudget.site.beds import Planting
from waterbudget.site.boxes import (
    OPTIONAL,
    Box,
    boxes,
    head_of,
    how_many,
    inner_heads,
    needed_inside,
    table_at,
    words_of,
)
from waterbudget.site.keys import called
from waterbudget.site.kinds import PARTS
from waterbudget.site.links import Fault, Keys, Raw
from waterbudget.site.read import ONCE, TABLES

ASKED_FOR = {head: [part for part in PARTS.values() if part.head == head] for head in TABLES}
NAMES = {  # of a table and of several; another one goes by its head
    "tank": ("store", "Stores"),
    "roof": ("roof", "Roofs"),
    "zone": ("line", "Lines"),
    "zone.line": ("pipe", "Pipe and jets"),
    "zone.line.jets": ("bed's jets", "Jets, bed by bed"),
    "bed": ("bed", "Beds"),
    "bed.planting": ("planting", "What grows in it"),
    "draw": ("use", "Hens, cans and other uses"),
    "inflow": ("inflow", "Springs and other inflows"),
    "transfer": ("transfer", "Water moved between stores"),
    "ban": ("ban", "Bans on mains water"),
    "site": ("place", "Place"),
    "usual": ("usual temperatures", "Usual temperatures"),
    "effort": ("your minutes", "Your minutes"),
    "model": ("reckoning", "How it is reckoned"),
}


BESIDE = {  # what else can be done about a part, and where; n is its number
    "zone": (("Time its flow with a jug", "/garden/flow/{n}"),),
    "weather": (("Weather from a file", "/garden/weather"),),
}


class FormBox(TypedDict):
    """A box of a form. options: what may be chosen, (word, how it is shown). ticked: those that are. listed: as options
    of a text, with a word on each. rows: of a text of several lines, 0 for one.
    """

    name: str
    label: str
    about: str
    kind: str
    options: list[tuple[str, str]]
    ticked: list[str]
    lookup: str
    usual: str
    value: str
    fault: str
    is_needed: bool


class Link(TypedDict):
    """A part that has a page of its own."""

    name: str
    path: str


class Group(TypedDict):
    """Parts of a kind. adds: where another is asked for, none of single ones."""

    name: str
    links: list[Link]
    adds: list[Link]


class Form(TypedDict):
    """A page of boxes. first: what matters first; more: the rest. elsewhere: faults that belong to no box.

    says: what is understood of it. groups: the parts inside it. links: what else can be done about it. take_away: where
    it can go, "" for nowhere. cares: what the hand has to know.
    """

    title: str
    says: str
    first: list[FormBox]
    more: list[FormBox]
    elsewhere: list[str]
    more_of: str
    groups: list[Group]
    links: list[Link]
    cares: list[str]
    take_away: str
    action: str
    button: str


# ---- What the pages show ---------------------------------------------------------------------------------------------


def name_of(place: Keys, garden: Raw) -> str:
    """What a person calls the table at a place."""
    head, table = head_of(place), table_at(garden, place) or {}
    own = next((table[key] for key in ("name", "crop", "bed", "from") if isinstance(table.get(key), str)), None)
    if own is not None:
        return capital(own)
    return _many(head) if head in ONCE else f"{capital(_one(head))} {int(place[-1]) + 1}"


def _one(head: str) -> str:
    return NAMES[head][0] if head in NAMES else head.rpartition(".")[2]


def _many(head: str) -> str:
    return NAMES[head][1] if head in NAMES else capital(head.rpartition(".")[2])


def path_of(place: Keys) -> str:
    """A place in an address: ("bed", 0, "planting", 1) is bed/1/planting/2."""
    return "/".join(str(part + 1) if isinstance(part, int) else quote(part) for part in place)


def place_in(path: str) -> Keys | None:
    """The place that an address names; None where it is none."""
    place = tuple(int(part) - 1 if part.isdecimal() else part for part in path.split("/"))
    is_one = head_of(place) in TABLES and isinstance(place[0], str)
    return place if is_one and not any(isinstance(part, int) and part < 0 for part in place) else None


def groups_of(garden: Raw, place: Keys = ()) -> list[Group]:
    """The parts inside a table, or of the whole garden, kind by kind."""
    heads = inner_heads(head_of(place)) if place else [head for head in TABLES if head and "." not in head]
    several = sorted((head for head in heads if head not in ONCE), key=[*NAMES, *heads].index)
    holder = table_at(garden, place) or {}
    found: list[Group] = []
    for head in several:
        key = head.rpartition(".")[2]
        places = [(*place, key, number) for number in range(len(holder.get(key, [])))]
        found.append(
            {
                "name": _many(head),
                "links": [_link(one, garden) for one in places],
                "adds": _adds(head, (*place, key), is_first=not places),
            }
        )
    single = [head for head in heads if head in ONCE]
    if single:
        found.append({"name": "All else", "links": [_link((head,), garden) for head in single], "adds": []})
    return found


def _adds(head: str, place: Keys, *, is_first: bool) -> list[Link]:
    """Where one more of a kind is asked for: a few questions where there are any, else its boxes."""
    another = _add_one(head, is_first=is_first)
    parts = ASKED_FOR[head]
    if any(part.kind in {_one(head), head} for part in parts):
        return [{"name": another, "path": f"/garden/add/{part.kind}"} for part in parts]
    asked: list[Link] = [{"name": f"Add {part.kind}", "path": f"/garden/add/{part.kind}"} for part in parts]
    return [*asked, {"name": another, "path": f"/garden/new/{path_of(place)}"}]


def _link(place: Keys, garden: Raw) -> Link:
    return {
        "name": _many(head_of(place)) if head_of(place) in ONCE else name_of(place, garden),
        "path": f"/garden/edit/{path_of(place)}",
    }


def _to(link: tuple[str, str], place: Keys) -> Link:
    name, path = link
    return {"name": name, "path": path.format(n=int(place[-1]) + 1 if isinstance(place[-1], int) else "")}


def _add_one(head: str, *, is_first: bool) -> str:
    article = "an" if _one(head)[0] in "aeio" else "a"  # no u: a use
    return f"Add {article if is_first else 'another'} {_one(head)}"


def form_box(box: Box, value: str, fault: str, before: str = "") -> FormBox:
    """A box as it is shown."""
    options = [(one, one.replace("_", " ")) for one in (("yes", "no") if box.kind == "yes" else box.choices)]
    ticked = value.splitlines()
    options += [(one, one) for one in (ticked if box.kind in {"choice", "several"} else ()) if one not in dict(options)]
    if box.kind in {"choice", "yes"} and not box.is_needed:
        options.insert(0, ("", f"as usual: {box.usual.replace('_', ' ')}" if box.usual else "not told"))
    return {
        "name": before + box.key,
        "label": capital(box.label),
        "about": "" if box.lookup or not box.about else f"{capital(box.about)}.",
        "kind": box.kind,
        "options": options,
        "ticked": ticked,
        "lookup": box.lookup or "",
        "usual": box.usual if box.kind not in {"choice", "yes"} else "",
        "value": value,
        "fault": fault,
        "is_needed": box.is_needed,
    }


def form_of_part(
    place: Keys, garden: Raw, told: Mapping[str, str], faults: Iterable[Fault], journal: Journal | None
) -> Form:
    """The form of a part that is there, or of an optional single one that may be."""
    head, table = head_of(place), table_at(garden, place) or {}
    asked = boxes(head, garden)
    beside, elsewhere = _parted(faults, place, {box.key: box.label for box in asked}, garden)
    shown = [
        (box, form_box(box, told.get(box.key, words_of(table.get(box.key))), beside.get(box.key, ""))) for box in asked
    ]
    first = [one for box, one in shown if _is_first(box, table)]
    lines = _logged(journal, str(table.get("name", "")))
    if lines and first and first[0]["name"] == "name":
        have = "has" if lines == 1 else "have"
        first[0]["about"] = (
            f"{count(lines, 'line')} of the journal {have} this name, and would not count under another."
        )
    return {
        "title": name_of(place, garden),
        "says": _says(head, table, garden),
        "first": first or [one for _, one in shown],
        "more": [one for box, one in shown if not _is_first(box, table)] if first else [],
        "elsewhere": elsewhere,
        "more_of": "More" if head in ONCE else f"More about this {_one(head)}",
        "groups": groups_of(garden, place),
        "links": [_to(link, place) for link in BESIDE.get(head, ())],
        "cares": _cares(head),
        "take_away": f"/garden/take-away/{path_of(place)}" if table and (head not in ONCE or head in OPTIONAL) else "",
        "action": f"/garden/edit/{path_of(place)}",
        "button": "Save",
    }


def form_of_new(place: Keys, garden: Raw, told: Mapping[str, str], faults: Iterable[Fault]) -> Form:
    """The form of one more table of a kind, with those inside it that it needs."""
    head = head_of(place)
    asked = [("", box) for box in boxes(head, garden)]
    for inner in needed_inside(head):
        asked += [(f"{inner.rpartition('.')[2]}.", box) for box in boxes(inner, garden)]
    number = how_many(garden, place)
    beside, elsewhere = _parted(
        faults, (*place, number), {before + box.key: box.label for before, box in asked}, garden
    )
    shown = [
        (box, form_box(box, told.get(before + box.key, ""), beside.get(before + box.key, ""), before))
        for before, box in asked
    ]
    return {
        "title": _add_one(head, is_first=number == 0),
        "says": "",
        "first": [one for box, one in shown if box.is_needed or box.lookup],
        "more": [one for box, one in shown if not box.is_needed and not box.lookup],
        "elsewhere": elsewhere,
        "more_of": f"More about this {_one(head)}",
        "groups": [],
        "links": [],
        "cares": _cares(head),
        "take_away": "",
        "action": f"/garden/new/{path_of(place)}",
        "button": "Add it",
    }


def _says(head: str, table: Raw, garden: Raw) -> str:
    """What the model makes of a planting, "" of anything else."""
    if head != "bed.planting":
        return ""
    south = garden["site"].get("latitude_deg", 0.0) < 0.0
    return f"{capital(as_planted(Planting.model_validate(table), south=south))}."


def _cares(head: str) -> list[str]:
    """The cautions of a kind; of a store with those of mains water, which its form offers."""
    return [one for part in ASKED_FOR[head] for one in care_of(part.kind, has_mains=head == "tank")]


def _is_first(box: Box, table: Raw) -> bool:
    return box.is_needed or box.key in table


def _logged(journal: Journal | None, name: str) -> int:
    return 0 if journal is None or not name else sum(line.entry.name == name for line in journal.counting)


def _parted(
    faults: Iterable[Fault], place: Keys, labels: Mapping[str, str], garden: Raw
) -> tuple[dict[str, str], list[str]]:
    """Faults by the box that they belong to, and all others; both name boxes as the form does."""
    beside, elsewhere = dict[str, str](), list[str]()
    for at, said in faults:
        words = _in_labels(plain(said), labels)
        inside = at[len(place) :] if at[: len(place)] == place else ()
        key = ".".join(part for part in inside if isinstance(part, str))
        if key in labels:
            beside[key] = f"{beside[key]} {capital(words)}." if key in beside else f"{capital(words)}."
        else:
            where = "" if inside == () and at == place else f"{called(at, garden)}: "
            elsewhere.append(f"{capital(where + words)}.")
    return beside, elsewhere


def _in_labels(words: str, labels: Mapping[str, str]) -> str:
    """A fault with the names of boxes in place of keys."""
    keys = "|".join(sorted((re.escape(key) for key in labels if "_" in key), key=len, reverse=True))
    return re.sub(rf"\b({keys})\b", lambda match: f"“{labels[match[0]]}”", words) if keys else words
