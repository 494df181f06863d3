"""The site file as forms: a box for every key of a table, made from the model, and the edits that filled boxes ask for.

No key is listed here: a key that the model gets has its box, by its type, its range and its description.
"""

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping, Sequence
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, NamedTuple, TypeAlias, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from waterbudget.errors import InputError
from waterbudget.site import replies
from waterbudget.site.dates import MonthDay
from waterbudget.site.edit import Change, Edit, Gone, NewTable, Value
from waterbudget.site.heads import keys_in
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import Site
from waterbudget.site.naming import names_for, renamed
from waterbudget.site.read import ONCE, TABLES
from waterbudget.site.table import Table
from waterbudget.site.words import CoveringKey, CropKey, FileName, SoilKey

Kind: TypeAlias = Literal["text", "number", "yes", "choice", "several", "lines", "numbers", "points", "day", "file"]
Lookup: TypeAlias = Literal["crop", "covering", "soil"]
LOOKUPS: tuple[tuple[Any, Lookup], ...] = ((CropKey, "crop"), (CoveringKey, "covering"), (SoilKey, "soil"))
BESIDE = re.compile(r"(?!journal\.)[^/\\:.][^/\\:]*\.csv", re.IGNORECASE)  # so that no form reaches another folder


class Box(NamedTuple):
    """A box of a form. key: as the site file writes it. label: with its unit. about: what else is to be known.

    choices: what may be chosen. lookup: the packaged table that has more. usual: what stands in where it is left empty,
    "" for nothing. is_needed: whether it may not be left empty.
    """

    key: str
    label: str
    about: str
    kind: Kind
    choices: tuple[str, ...]
    lookup: Lookup | None
    usual: str
    is_needed: bool


class Filled(NamedTuple):
    """A form as it was filled in: the edits that it asks for, and what is wrong in words, by key."""

    edits: list[Edit]
    faults: dict[str, str]


def head_of(place: Keys) -> str:
    """The head of the table at a place: ("bed", 0, "planting", 1) is one of "bed.planting"."""
    return ".".join(part for part in place if isinstance(part, str))


def boxes(head: str, garden: Raw) -> list[Box]:
    """The boxes of all keys that hold a value, in the order of the model; garden: has the names to choose from."""
    found = []
    for key, field in keys_in(Site, head).items():
        kind = _kind(field.annotation)
        if kind is not None:
            found.append(_box(head, key, field, kind, garden))
    return found


def inner_heads(head: str) -> list[str]:
    """The heads of the tables that stand inside one."""
    return [inner for inner in TABLES if inner.rpartition(".")[0] == head and inner]


def needed_inside(head: str) -> list[str]:
    """Those of which a table needs one, such as the jets of a line."""
    fields = TABLES[head].model_fields
    return [inner for inner in inner_heads(head) if fields[inner.rpartition(".")[2]].is_required()]


def table_at(garden: Raw, place: Keys) -> Raw | None:
    """The table at a place; None where there is none."""
    inner: Any = garden
    try:
        for part in place:
            inner = inner[part]
    except LookupError:
        return None
    return inner if isinstance(inner, dict) else None


def how_many(garden: Raw, place: Keys) -> int:
    """How many tables of a kind there are at a place such as ("bed", 0, "planting")."""
    *holder, key = place
    return len((table_at(garden, tuple(holder)) or {}).get(str(key), []))


def words_of(value: object) -> str:
    """A value as a box shows it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        apart = " " if value and all(isinstance(one, int | float) for one in value) else "\n"
        return apart.join(map(words_of, value))
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return "" if value is None else str(value)


def filled(garden: Raw, place: Keys, told: Mapping[str, str]) -> Filled:
    """What a form asks for of the table at a place, which an optional single one need not be there for.

    told: what stands in each box, by its key. A box that is missing, or left as it was shown, changes nothing.
    """
    table, head = table_at(garden, place) or {}, head_of(place)
    edits, faults = list[Edit](), dict[str, str]()
    left = dict(table)
    for box in boxes(head, garden):
        words = _tidy(told.get(box.key, words_of(table.get(box.key))))
        if words == _tidy(words_of(table.get(box.key))):
            continue
        try:
            value = _read(box, words)
        except InputError as error:
            faults[box.key] = error.plain[0]
            continue
        edits.append(Change((*place, box.key), value, None))
        left[box.key] = value
        if box.key == "name" and isinstance(value, str):
            edits += renamed(garden, head, table["name"], value)
    if edits and place[0] in OPTIONAL and all(value is None for value in left.values()):
        return Filled([Gone(place)] if table else [], faults)
    return Filled(edits, faults)


def added(garden: Raw, place: Keys, told: Mapping[str, str]) -> Filled:
    """What a form asks for that adds a table behind the last of its kind, with those inside it that it needs.

    told: the words by key, of tables inside it by "jets.count".
    """
    head = head_of(place)
    values, faults = _values(head, garden, told, "")
    edits: list[Edit] = [NewTable(place, values)]
    number = how_many(garden, place)
    for inner in needed_inside(head):
        key = inner.rpartition(".")[2]
        inside, wrong = _values(inner, garden, told, f"{key}.")
        edits.append(NewTable((*place, number, key), inside))
        faults |= wrong
    return Filled(edits, faults)


def _values(head: str, garden: Raw, told: Mapping[str, str], before: str) -> tuple[Raw, dict[str, str]]:
    values, faults = Raw(), dict[str, str]()
    for box in boxes(head, garden):
        try:
            value = _read(box, _tidy(told.get(before + box.key, "")))
        except InputError as error:
            faults[before + box.key] = error.plain[0]
            continue
        if value is not None:
            values[box.key] = value
    return values, faults


# ---- From type to box ----------------------------------------------------------------------------------------------


def _box(head: str, key: str, field: FieldInfo, kind: Kind, garden: Raw) -> Box:
    described = field.description or key
    names = names_for(garden, head, key)
    choices = tuple(names) if names is not None else _choices(field.annotation)
    if names is not None:
        kind = "several" if kind == "lines" else "choice"
    usual = "" if field.is_required() else words_of(_default(field))
    lookup = next((table for key_of, table in LOOKUPS if key_of in _hints(field.annotation)), None)
    is_needed = field.is_required()
    return Box(key, field.title or described, described if field.title else "", kind, choices, lookup, usual, is_needed)


def _default(field: FieldInfo) -> object:
    return field.get_default(call_default_factory=True)  # type: ignore[call-overload,unused-ignore]


def _hints(hint: Any) -> list[Any]:  # noqa: ANN401 - a special form of typing
    """A type and all that it is made of."""
    return [hint, *(inner for part in get_args(hint) for inner in _hints(part))]


def _plain(hint: Any) -> Any:  # noqa: ANN401 - a special form of typing
    """A type without what may be left out and how it is checked."""
    if get_origin(hint) is Annotated:
        return _plain(get_args(hint)[0])
    if get_origin(hint) in {Union, UnionType}:
        some = [part for part in get_args(hint) if part is not NoneType]
        return _plain(some[0]) if len(some) == 1 else hint
    return hint


def _kind(hint: Any) -> Kind | None:  # noqa: ANN401 - a special form of typing
    """How a value of a type is asked for; None of tables."""
    plain = _plain(hint)
    if FileName in _hints(hint):
        return "file"
    if get_origin(plain) is list:
        return _kind_of_list(_plain(get_args(plain)[0]))
    if get_origin(plain) is Literal:
        return "choice"
    if MonthDay in _hints(plain) or dt.date in _hints(plain):
        return "day"
    kinds: dict[Any, Kind] = {bool: "yes", int: "number", float: "number", str: "text"}
    return None if isinstance(plain, type) and issubclass(plain, Table) else kinds[plain]


def _kind_of_list(plain: Any) -> Kind | None:  # noqa: ANN401 - a special form of typing
    if get_origin(plain) is list:
        return "points"
    if get_origin(plain) is Literal:
        return "several"
    kinds: dict[Any, Kind] = {int: "numbers", float: "numbers", str: "lines"}
    return None if issubclass(plain, Table) else kinds[plain]


def _choices(hint: Any) -> tuple[str, ...]:  # noqa: ANN401 - a special form of typing
    return next((get_args(part) for part in _hints(hint) if get_origin(part) is Literal), ())


OPTIONAL = {head for head in ONCE if _default(TABLES[""].model_fields[head]) is None}  # single tables


# ---- From words to value -------------------------------------------------------------------------------------------


def _tidy(words: str) -> str:
    return "\n".join(line.strip() for line in words.strip().splitlines())


def _read(box: Box, words: str) -> Value | None:
    """The value of tidy words, None where there are none. Raises InputError saying what would be right."""
    if not words:
        if box.is_needed:
            raise InputError("it cannot be left empty")
        return None
    return READERS[box.kind](words)


def _number(words: str) -> float:
    value = replies.number(words, "a number, such as 12 or 0.5")
    return int(words) if words.lstrip("+-").isdecimal() and math.isfinite(value) else value


def _numbers(words: str) -> Sequence[float]:
    return [_number(word) for word in words.split()]


def _lines(words: str) -> list[str]:
    return [line for line in words.splitlines() if line]


def _file(words: str) -> str:
    if not BESIDE.fullmatch(words):
        raise InputError("write the name of a table that lies beside the garden's file, such as weather.csv")
    return words


def _day(words: str) -> str | dt.date:
    """A full date as such; all else stays words, for the checks."""
    try:
        return dt.date.fromisoformat(words)
    except ValueError:
        return words


READERS: dict[Kind, Callable[[str], Value]] = {
    "text": str,
    "choice": str,
    "yes": replies.yes,
    "number": _number,
    "numbers": _numbers,
    "points": lambda words: [_numbers(line) for line in _lines(words)],
    "several": _lines,
    "lines": _lines,
    "file": _file,
    "day": _day,
}
