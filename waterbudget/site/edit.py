"""Change the text of a site file where it is asked for; every other letter stays, remarks and blanks too.

The text is cut at the heads of its tables, and only the lines below one head are taken apart to change a number among
them. So tables of several kinds may stand in any order.
"""

import datetime as dt
import json
import math
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from copy import deepcopy
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from waterbudget.site.keys import put
from waterbudget.site.links import Keys, Raw
from waterbudget.site.read import dotted

if TYPE_CHECKING:
    from tomlkit.items import Trivia

HEAD = re.compile(r"^[ \t]*\[.*\n?", re.MULTILINE)
BOM = "\ufeff"
FIGURES = 3

Value: TypeAlias = bool | float | str | dt.date | Sequence["Value"]


class Change(NamedTuple):
    """What is to be written: where it stands, such as ("zone", 0, "line", 0, "jets", 2, "k_l_h"), and its value.

    A value of None takes the key out, if it is there. figures: in how many of them numbers are written, None for all.
    """

    place: Keys
    value: Value | None
    figures: int | None = FIGURES

    def __str__(self) -> str:
        """As a person would write it."""
        return f"take out {dotted(self.place)}" if self.value is None else f"{dotted(self.place)} = {self.in_toml}"

    @property
    def in_toml(self) -> str:
        """The value as TOML writes it."""
        return "" if self.value is None else _in_toml(self.value, self.figures)


class NewTable(NamedTuple):
    """A table that is to be added behind the last of its kind, such as ("tank",) or ("bed", 0, "planting").

    values: by key, as `tomllib` would read them.
    """

    place: Keys
    values: Raw

    def __str__(self) -> str:
        """As a person would write it."""
        return f"add [[{self.head}]] with {', '.join(self.lines)}"

    @property
    def head(self) -> str:
        """What stands in its brackets."""
        return ".".join(part for part in self.place if isinstance(part, str))

    @property
    def lines(self) -> list[str]:
        """A line a key."""
        import tomlkit

        return [f"{key} = {tomlkit.item(value).as_string()}" for key, value in self.values.items()]


class Gone(NamedTuple):
    """A table that is to be taken out with the tables inside it, such as ("tank", 1)."""

    place: Keys

    def __str__(self) -> str:
        """As a person would write it."""
        return f"take out {dotted(self.place)}"


Edit: TypeAlias = Change | NewTable | Gone


class Piece(NamedTuple):
    """The head of a table and the lines below it up to the next head; the first piece of a file has neither."""

    place: Keys
    head: str
    body: str


def written(value: float, figures: int = FIGURES) -> str:
    """A number in so many figures, as a site file has it."""
    decimals = figures - 1 - math.floor(math.log10(abs(value))) if value else 0
    return repr(round(value, max(decimals, 0))).removesuffix(".0")


def _in_toml(value: Value, figures: int | None) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")  # JSON leaves DEL as it is
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Sequence):
        return f"[{', '.join(_in_toml(one, figures) for one in value)}]"
    return repr(value).removesuffix(".0") if figures is None else written(value, figures)


def changed(text: str, edits: Sequence[Edit]) -> str | None:
    """The text of a site file with the edits; None where a table is not there, or more than they would change."""
    from tomlkit.exceptions import TOMLKitError

    mark, text = (BOM if text.startswith(BOM) else ""), text.removeprefix(BOM)
    wanted, line_end = deepcopy(tomllib.loads(text)), "\r\n" if "\r\n" in text else "\n"
    for edit in edits:
        try:
            text = _edited(text, edit, wanted, line_end)
        except (TOMLKitError, LookupError):
            return None
    return mark + text if _is(text, wanted) else None


def _edited(text: str, edit: Edit, wanted: Raw, line_end: str) -> str:
    """The text with one edit, which is made in the tables that are wanted, too."""
    pieces = list(_pieces(text))
    if isinstance(edit, NewTable):
        put(wanted, edit.place, [*_inner(wanted, edit.place[:-1]).get(edit.place[-1], []), deepcopy(edit.values)])
        pieces = _with_table(pieces, edit, line_end)
    elif isinstance(edit, Gone):
        *kind, number = edit.place
        rows = _inner(wanted, kind)
        del rows[number]
        if not rows:
            del _inner(wanted, kind[:-1])[kind[-1]]
        pieces = _without_table(pieces, edit.place, line_end)
    else:
        head, *keys = edit.place
        if head not in wanted and len(keys) == 1 and edit.value is not None:
            pieces.append(_new_piece(str(head), pieces[-1], line_end))
        _put(wanted, edit)
        number = _nearest(pieces, edit.place)
        pieces[number] = _changed_piece(pieces[number], edit, line_end)
    return "".join(piece.head + piece.body for piece in pieces)


def _inner(table: Raw, place: Sequence[str | int]) -> Any:  # noqa: ANN401 - whatever stands there
    inner: Any = table
    for part in place:
        inner = inner[part]
    return inner


def _put(table: Raw, change: Change) -> None:
    if change.value is None:
        inner: Any = table
        for part in change.place[:-1]:
            inner = inner.get(part, {}) if isinstance(part, str) else inner[part]
        inner.pop(change.place[-1], None)
    else:
        put(table, change.place, tomllib.loads(f"value = {change.in_toml}")["value"])


def _is(text: str, wanted: Raw) -> bool:
    try:
        return tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        return False


# ---- Where a number stands -----------------------------------------------------------------------------------------


def _pieces(text: str) -> Iterator[Piece]:
    """The text cut at its heads; a line that looks like one in a list or a text of several lines is none."""
    numbers: Counter[Keys] = Counter()
    place, head, begin = Keys(), "", 0
    for match in HEAD.finditer(text):
        body = text[begin : match.start()]
        if _is_whole(body):
            yield Piece(place, head, body)
            place, head, begin = _place(match[0], numbers), match[0], match.end()
    yield Piece(place, head, text[begin:])


def _is_whole(lines: str) -> bool:
    try:
        tomllib.loads(lines)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _place(head: str, numbers: Counter[Keys]) -> Keys:
    """The place of a table; numbers: how many of each kind there were so far, to which this one is added."""
    place, table = Keys(), tomllib.loads(head)
    while table:
        ((key, inner),) = table.items()
        place = (*place, key)
        if isinstance(inner, list):
            (table,) = inner
            numbers[place] += 1
        else:
            table = inner
        if place in numbers:
            place = (*place, numbers[place] - 1)
    return place


def _nearest(pieces: Sequence[Piece], place: Keys) -> int:
    """The piece of the innermost table that has a head of its own and holds the place."""
    holding = [number for number, piece in enumerate(pieces) if place[: len(piece.place)] == piece.place]
    return max(holding, key=lambda number: len(pieces[number].place))


# ---- Changing it ---------------------------------------------------------------------------------------------------


def _changed_piece(piece: Piece, change: Change, line_end: str) -> Piece:
    import tomlkit
    from tomlkit.items import InlineTable, Item

    document = tomlkit.parse(piece.body)
    *outer, key = keys = change.place[len(piece.place) :]
    table: Any = document
    around = []
    for part in outer:
        if change.value is None and part not in table:
            return piece
        table = table[part]
        around.append(table)
    if change.value is None:
        if key in table:
            table.remove(key)
        return piece._replace(body=document.as_string())
    if key not in table and not isinstance(table, InlineTable):
        line = f"{'.'.join(map(str, keys))} = {change.in_toml}"
        return _with_line(piece, document.body, line, line_end)
    table[key] = tomlkit.value(change.in_toml)
    wider = len(document.as_string()) - len(piece.body)
    for item in (*around, table[key]):
        if isinstance(item, Item) and item.trivia.comment and "\n" not in item.as_string():
            _keep_in_line(item.trivia, wider)
    return piece._replace(body=document.as_string())


def _keep_in_line(trivia: "Trivia", wider: int) -> None:
    """Let the remark behind a value stand where it stood, if blanks are left."""
    if not trivia.comment_ws.strip(" "):
        trivia.comment_ws = " " * max(1, len(trivia.comment_ws) - wider)


def _new_piece(head: str, last: Piece, line_end: str) -> Piece:
    """A table that the file has not yet, empty, for below the last piece."""
    before = "" if f"{last.head}{last.body}".endswith("\n") or not f"{last.head}{last.body}" else line_end
    return Piece((head,), f"{before}{line_end}[{head}]{line_end}", "")


def _with_table(pieces: list[Piece], new: NewTable, line_end: str) -> list[Piece]:
    """The pieces with a table behind the last of its kind, before the remarks that head what follows."""
    holder = new.place[:-1]
    alike = [n for n, piece in enumerate(pieces) if piece.place[: len(new.place)] == new.place]
    around = [n for n, piece in enumerate(pieces) if holder and piece.place[: len(holder)] == holder]
    if holder and not around:
        raise LookupError(new.head)
    at = max(alike or around or range(len(pieces)))
    own, after = _parted(pieces[at], line_end)
    written = pieces[at].head + own
    before = "" if written.endswith(line_end) or not written else line_end
    apart = line_end if written.strip() else ""
    lines = line_end.join([f"[[{new.head}]]", *new.lines, ""])
    added = Piece((*new.place, -1), f"{before}{apart}{lines}", after)
    return [*pieces[:at], pieces[at]._replace(body=own), added, *pieces[at + 1 :]]


def _without_table(pieces: list[Piece], place: Keys, line_end: str) -> list[Piece]:
    """The pieces without a table and those inside it; the remarks that head what follows stay."""
    inside = [n for n, piece in enumerate(pieces) if piece.place[: len(place)] == place]
    if not inside or inside[0] == 0:
        raise LookupError(dotted(place))
    left = []
    for number, piece in enumerate(pieces):
        if number not in inside:
            left.append(piece)
        elif number == inside[-1]:
            before, (_, after) = left.pop(), _parted(piece, line_end)
            body = f"{before.body}{after.removeprefix(line_end)}"
            is_at_the_end = number == len(pieces) - 1 and body.endswith(2 * line_end)
            left.append(before._replace(body=body.removesuffix(line_end) if is_at_the_end else body))
    return left


def _parted(piece: Piece, line_end: str) -> tuple[str, str]:
    """The lines of a table, with the remarks right below its last key; and what stands behind, from a blank line on."""
    import tomlkit

    body = tomlkit.parse(piece.body).body
    last = max((number for number, (key, _) in enumerate(body) if key is not None), default=-1)
    rest = "".join(item.as_string() for _, item in body[last + 1 :])
    own, blank, after = f"{line_end}{rest}".partition(f"{line_end}{line_end}")
    own = own.removeprefix(line_end) + (line_end if blank and own else "")
    keys = piece.body.removesuffix(rest)
    return keys + own, f"{line_end}{after}" if blank else ""


def _with_line(piece: Piece, body: Sequence[tuple[Any, Any]], line: str, line_end: str) -> Piece:
    """A line added after the last key, before the remarks and blank lines that follow it."""
    last = max((number for number, (key, _) in enumerate(body) if key is not None), default=-1)
    after = "".join(item.as_string() for _, item in body[last + 1 :])
    before = piece.body.removesuffix(after)
    if not (piece.head + before).endswith("\n") and piece.head + before:
        before += line_end
    return piece._replace(body=f"{before}{line}{line_end}{after}")
