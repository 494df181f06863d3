"""Change values in a site file and nothing else in it: every other letter, remarks and blanks too, stays as it is.

The text is cut at the heads of its tables, and only the lines below one head are taken apart to change a number among
them. So tables of several kinds may stand in any order.
"""

import json
import math
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from copy import deepcopy
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from waterbudget.errors import SiteError
from waterbudget.output import alone, write_files
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import Site
from waterbudget.site.override import put
from waterbudget.site.read import dotted, load_site, site_in

if TYPE_CHECKING:
    from tomlkit.items import Trivia

HEAD = re.compile(r"^[ \t]*\[.*\n?", re.MULTILINE)
BOM = "\ufeff"
FIGURES = 3
KEPT_COPIES = 5


class Change(NamedTuple):
    """What is to be written: where it stands, such as ("zone", 0, "line", 0, "jets", 2, "k_l_h"), and its value.

    A value of None takes the key out, if it is there.
    """

    place: Keys
    value: float | str | tuple[float, ...] | None

    def __str__(self) -> str:
        """As a person would write it."""
        return f"take out {dotted(self.place)}" if self.value is None else f"{dotted(self.place)} = {self.in_toml}"

    @property
    def in_toml(self) -> str:
        """The value as TOML writes it."""
        if isinstance(self.value, str):
            return json.dumps(self.value, ensure_ascii=False).replace("\x7f", "\\u007f")  # JSON leaves DEL as it is
        if isinstance(self.value, tuple):
            return f"[{', '.join(map(written, self.value))}]"
        return "" if self.value is None else written(self.value)


class Piece(NamedTuple):
    """The head of a table and the lines below it up to the next head; the first piece of a file has neither."""

    place: Keys
    head: str
    body: str


def written(value: float, figures: int = FIGURES) -> str:
    """A number in so many figures, as a site file has it."""
    decimals = figures - 1 - math.floor(math.log10(abs(value))) if value else 0
    return repr(round(value, max(decimals, 0))).removesuffix(".0")


def write_changes(path: Path, site: Site, changes: Sequence[Change]) -> Path:
    """Write the changes into a site file; returns the copy of the file as it was, which is laid beside it.

    site: as it was read from the file. Of several copies the last few are kept. Raises SiteError where the file has
    become another one, the changes cannot be had without touching something else, or would make it a file that nobody
    can read; OutputError where it cannot be written. Then it stays as it is.
    """
    with alone(path):
        if load_site(path) != site:
            raise SiteError(f"{path}: was changed in the meantime; try again")
        before = path.read_bytes()
        after = changed(before.decode("utf-8"), changes)
        if after is None:
            by_hand = ", ".join(map(str, changes))
            raise SiteError(
                f"{path}: not written, as its tables stand there in an unusual form; change by hand: {by_hand}"
            )
        _refuse_unreadable(after, path)
        copies = _copies(path)
        last = max(copies, default=0)
        if last and copies[last].read_bytes() == before:  # as a writer leaves it that was killed
            write_files({path: after.encode("utf-8")}, overwrite=True)
        else:
            last += 1
            copies[last] = path.with_name(f"{path.name}.bak{last if last > 1 else ''}")
            write_files({copies[last]: before, path: after.encode("utf-8")}, overwrite=True, like=path)
        for number in sorted(copies)[:-KEPT_COPIES]:
            with suppress(OSError):
                copies[number].unlink()
    return copies[last]


def changed(text: str, changes: Sequence[Change]) -> str | None:
    """The text of a site file with the changes; None where a table is not there, or more than they would change."""
    from tomlkit.exceptions import TOMLKitError

    mark, text = (BOM if text.startswith(BOM) else ""), text.removeprefix(BOM)
    wanted, line_end = deepcopy(tomllib.loads(text)), "\r\n" if "\r\n" in text else "\n"
    pieces = list(_pieces(text))
    for change in changes:
        head, *keys = change.place
        if head not in wanted and len(keys) == 1 and change.value is not None:
            pieces.append(_new_piece(str(head), pieces[-1], line_end))
        _put(wanted, change)
        number = _nearest(pieces, change.place)
        try:
            pieces[number] = _changed_piece(pieces[number], change, line_end)
        except TOMLKitError:
            return None
    after = "".join(piece.head + piece.body for piece in pieces)
    return mark + after if _is(after, wanted) else None


def _refuse_unreadable(text: str, path: Path) -> None:
    """Raises SiteError where the text is no site file that the next command could read."""
    try:
        site_in(text.removeprefix(BOM), path)
    except SiteError as error:
        raise SiteError(f"{fault}; nothing was written" for fault in error.faults) from error


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


def _with_line(piece: Piece, body: Sequence[tuple[Any, Any]], line: str, line_end: str) -> Piece:
    """A line added after the last key, before the remarks and blank lines that follow it."""
    last = max((number for number, (key, _) in enumerate(body) if key is not None), default=-1)
    after = "".join(item.as_string() for _, item in body[last + 1 :])
    before = piece.body.removesuffix(after)
    if not (piece.head + before).endswith("\n") and piece.head + before:
        before += line_end
    return piece._replace(body=f"{before}{line}{line_end}{after}")


def _copies(path: Path) -> dict[int, Path]:
    """The copies that are there, by their number: site.toml.bak, site.toml.bak2 ..."""
    name = re.compile(re.escape(path.name) + r"\.bak([1-9][0-9]{0,8})?")
    found = ((name.fullmatch(one.name), one) for one in path.parent.iterdir())
    return {int(match[1] or 1): one for match, one in found if match}
