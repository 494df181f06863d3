"""What is compared: a site as it is, with some of its keys changed, and other sites."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from waterbudget.change.trial import Outcome, try_all
from waterbudget.errors import InputError, cut, shown
from waterbudget.simulate.opened import Opened, open_site, unwatered
from waterbudget.site.keys import Column, columns_of, put
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import Site
from waterbudget.site.override import checked_site, raw_site, value_of
from waterbudget.site.read import load_site
from waterbudget.tables.read import named, nearest

LETTERS = "ABCDEF"  # no more stand side by side on a screen, and can be told apart in a picture
AS_IT_IS, ALL = "as it is", "all of these changes"
ONCE = ("model", "prices")  # tables without a name
NAMED = ("roof", "tank", "inflow", "transfer", "ban", "zone", "draw", "bed")  # a ban goes by its number
FIXED = ("site", "weather")  # what all that is compared has in common
FORM = 'write KIND.NAME.KEY=VALUE, such as "zone.North line.minutes=3"'
PLANTING = re.compile(r"(.+)(\.planting\.[0-9]+)")
ALIKE_L = 1.0  # of mains water: less is told as alike
QUOTED = re.compile("""(["'])(.*)\\1""")


class Change(NamedTuple):
    """A key of a site with another value. head: what it is called. was: None for a key that was left out."""

    head: str
    place: Keys
    was: object
    now: object


@dataclass(frozen=True, eq=False)
class Variant:
    """One of those compared. changes: what differs from the first; none for the first and for other site files."""

    letter: str
    name: str
    site: Site
    changes: tuple[Change, ...]
    outcome: Outcome


@dataclass(frozen=True, eq=False)
class Comparison:
    """The variants, the present plan first. notes: what to know about the sites and their weather."""

    opened: Opened
    variants: tuple[Variant, ...]
    notes: tuple[str, ...]

    @property
    def present(self) -> Variant:
        """The site as it is."""
        return self.variants[0]

    @property
    def best(self) -> Variant:
        """The one that needs least mains water without letting plants go thirstier than in the present plan.

        Of those that need as little, the one whose valves are open for the shortest time; else the first.
        """
        sound = [one for one in self.variants if not one.outcome.is_thirstier_than(self.present.outcome)]
        least_l = min(one.outcome.needed_l for one in sound)
        alike = [one for one in sound if one.outcome.needed_l <= least_l + ALIKE_L]
        return min(alike, key=lambda one: round(one.outcome.minutes, 6))


class _Wanted(NamedTuple):
    name: str
    site: Site
    changes: tuple[Change, ...] = ()


def find_compare(
    paths: Sequence[Path], withs: Sequence[str], first: dt.date | None = None, last: dt.date | None = None
) -> Comparison:
    """Run the first site as it is, with each of the changes, with all of them together, and the other sites.

    All of them have the first one's weather, so that nothing but the gardens differs.

    paths: site files; without one site.toml of this folder, else the built-in example. withs: each a change or, with
    semicolons between them, several that go together. Raises InputError with every fault of what is asked for.
    """
    present = open_site(paths[0] if paths else None, first, last)
    others = [load_site(path) for path in paths[1:]]
    wanted = [_Wanted(AS_IT_IS, present.site), *_changed(present, withs)]
    wanted += [_Wanted(other.site.name, other) for other in others]
    if len(wanted) == 1:
        raise InputError(
            f'there is nothing to compare with; add --with "{_example(present.site)}" or the like, or another site file'
        )
    return _side_by_side(present, wanted, [note for other in others for note in unwatered(other)])


def compare_changes(present: Opened, named: Sequence[tuple[str, tuple[Change, ...]]]) -> Comparison:
    """The present plan beside changes of it, each under a name of its own; as `find_compare`.

    Raises SiteError for a change that no site may have, InputError for more than can be told apart.
    """
    changed = (
        _Wanted(name, present.site.changed({change.head: change.now for change in changes}), changes)
        for name, changes in named
    )
    return _side_by_side(present, [_Wanted(AS_IT_IS, present.site), *changed])


def _side_by_side(present: Opened, wanted: Sequence[_Wanted], notes: Sequence[str] = ()) -> Comparison:
    """notes: on the sites beside those on the present one."""
    if len(wanted) > len(LETTERS):
        raise InputError(
            f"{len(wanted)} plans, the present one among them, are too many to tell apart; "
            f"compare {len(LETTERS)} at a time"
        )
    outcomes = try_all([one.site for one in wanted], present.weather, keep_levels=True)
    variants = (Variant(letter, *one, ran) for letter, one, ran in zip(LETTERS, wanted, outcomes, strict=False))
    return Comparison(present, tuple(variants), tuple(dict.fromkeys((*present.notes, *notes))))


def read_changes(table: Raw, words: str) -> tuple[Change, ...]:
    """The changes that a text names, with semicolons between them.

    Raises InputError with a line for each that names no key of the site, with the nearest one.
    """
    changes: list[Change] = []
    faults: list[str] = []
    for one in words.split(";"):
        try:
            changes.append(_read_change(table, one.strip()))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return tuple(changes)


def told(change: Change) -> str:
    """A change in words: zone.North line.minutes 10 → 3."""
    return f"{change.head}{'' if change.was is None else f' {_shown(change.was)}'} → {_shown(change.now)}"


def _shown(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _changed(present: Opened, withs: Sequence[str]) -> list[_Wanted]:
    """The present site with each of the changes and, where they do not contradict each other, with all of them."""
    if not withs:
        return []
    table = raw_site(present.path)
    wanted: list[_Wanted] = []
    faults: list[str] = []
    for words in withs:
        try:
            changes = read_changes(table, words)
            wanted.append(_Wanted("; ".join(map(told, changes)), _site_with(table, changes), changes))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(dict.fromkeys(faults))
    every = tuple(change for one in wanted for change in one.changes)
    if len(wanted) > 1 and len({change.place for change in every}) == len(every):
        wanted.append(_Wanted(ALL, _site_with(table, every), every))
    return wanted


def _site_with(table: Raw, changes: Iterable[Change]) -> Site:
    changed = deepcopy(table)
    for change in changes:
        put(changed, change.place, change.now)
    return checked_site(changed, "--with")


def _read_change(table: Raw, words: str) -> Change:
    head, equals, written = (part.strip() for part in words.partition("="))
    if not (head and equals and written):
        raise InputError(f"--with: {shown(words)} is no change; {FORM}")
    column = _column(table, head)
    if column.place is None:
        raise AssertionError("every column of a site has its place")
    quoted = QUOTED.fullmatch(written)
    return Change(
        column.head, column.place, _value_at(table, column.place), value_of(column, quoted[2] if quoted else written)
    )


def _value_at(table: Raw, place: Keys) -> object:
    inner: object = table
    for part in place:
        if isinstance(part, str):
            inner = inner.get(part) if isinstance(inner, dict) else None
        else:
            inner = inner[part] if isinstance(inner, list) else None
    return inner


def _column(table: Raw, head: str) -> Column:
    """The key that is meant: a name in any case, or a part of it that no other has."""
    kind, _, rest = head.partition(".")
    if kind in FIXED:
        raise InputError(
            f"--with: {cut(head)}: what is compared has place and weather in common; compare two site files"
        )
    if kind not in (*NAMED, *ONCE):
        near = nearest(kind, [*NAMED, *ONCE])[:1]
        raise InputError(
            f"--with: {cut(head)}: {shown(kind)} is no kind of table; "
            + (f'did you mean "{near[0]}"?' if near else f"there are {', '.join([*NAMED, *ONCE])}")
        )
    full = f"{kind}.{rest}" if kind in ONCE else f"{kind}.{_named(table, kind, rest, head)}"
    known = columns_of(Site, table)
    if full in known:
        return known[full]
    above, _, key = full.rpartition(".")
    keys = [one.rpartition(".")[2] for one in known if one.rpartition(".")[0] == above]
    near = nearest(key, keys)[:1]
    raise InputError(
        f"--with: {cut(head)}: {shown(key)} is no key of {cut(above)}; "
        + (f'did you mean "{near[0]}"?' if near else f"there are {', '.join(keys)}" if keys else FORM)
    )


def _named(table: Raw, kind: str, rest: str, head: str) -> str:
    """What stands behind the kind, with the name as the site spells it."""
    word, _, key = rest.rpartition(".")
    planting = PLANTING.fullmatch(word)
    word, inner = (planting[1], planting[2]) if planting else (word, "")
    names = [one.get("name", str(number)) for number, one in enumerate(table.get(kind, []), start=1)]
    if not word:
        raise InputError(f"--with: {cut(head)}: names no {kind} or no key; {FORM}")
    try:
        name = named(word, names, kind)
    except InputError as error:
        raise InputError(f"--with: {cut(head)}: {error}") from None
    return f"{name}{inner}.{key}"


def _example(site: Site) -> str:
    if site.zone:
        return f"zone.{site.zone[0].name}.minutes=3"
    return f"tank.{site.tank[0].name}.capacity_l=2000"
