"""Change numbers in a site file and nothing else in it: every other letter, remarks and blanks too, stays as it is."""

import math
import re
import tomllib
from collections.abc import Iterator, Sequence
from copy import deepcopy
from pathlib import Path
from typing import Any, NamedTuple

from waterbudget.errors import SiteError
from waterbudget.output import write_files
from waterbudget.site.model import Site
from waterbudget.site.read import load_site

HEAD = re.compile(r"\s*\[")
KEY = re.compile(r"\s*[A-Za-z0-9_-]+\s*=")
FIGURES = 3


class Change(NamedTuple):
    """A number to be written: the table's kind and number, from 0, its key and value."""

    kind: str
    number: int
    key: str
    value: float

    def __str__(self) -> str:
        """As a person would write it."""
        return f"{self.kind}[{self.number + 1}].{self.key} = {written(self.value)}"


def written(value: float, figures: int = FIGURES) -> str:
    """A number in so many figures, as a site file has it."""
    decimals = figures - 1 - math.floor(math.log10(abs(value))) if value else 0
    return repr(round(value, max(decimals, 0))).removesuffix(".0")


def write_changes(path: Path, site: Site, changes: Sequence[Change]) -> Path:
    """Write the changes into a site file; returns the copy of the file as it was, which is laid beside it.

    site: as it was read from the file. Raises SiteError where the file has become another one, or writes a table in a
    way that cannot be changed line by line; OutputError where it cannot be written. Then it stays as it is.
    """
    if load_site(path) != site:
        raise SiteError(f"{path}: was changed in the meantime; try again")
    before = path.read_bytes()
    after = changed(before.decode("utf-8"), changes)
    if after is None:
        by_hand = ", ".join(map(str, changes))
        raise SiteError(f"{path}: not written, as its tables stand there in an unusual form; change by hand: {by_hand}")
    copy = next(copy for copy in _copies(path) if not copy.exists())
    write_files({copy: before})
    write_files({path.resolve(): after.encode("utf-8")}, overwrite=True)
    return copy


def changed(text: str, changes: Sequence[Change]) -> str | None:
    """The text of a site file with the changes, None where that cannot be had by changing or adding single lines."""
    wanted = deepcopy(_parsed(text))
    lines = text.split("\n")
    for change in changes:
        wanted[change.kind][change.number][change.key] = float(written(change.value))
        block = _block(lines, change)
        if block is None:
            return None
        _put(lines, block, change)
    after = "\n".join(lines)
    try:
        is_as_wanted = _parsed(after) == wanted
    except tomllib.TOMLDecodeError:
        return None
    return after if is_as_wanted else None


def _parsed(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))


def _block(lines: Sequence[str], change: Change) -> range | None:
    """The lines under the head of a table, up to the next head."""
    heads = [row for row, line in enumerate(lines) if HEAD.match(line)]
    own = re.compile(rf"\s*\[\[\s*{change.kind}\s*\]\]")
    mine = [row for row in heads if own.match(lines[row])]
    if change.number >= len(mine):
        return None
    begin = mine[change.number]
    return range(begin + 1, next((row for row in heads if row > begin), len(lines)))


def _put(lines: list[str], block: range, change: Change) -> None:
    """Change the key's line; where it has none, add one after the last of the table's own."""
    own = re.compile(rf"(\s*{change.key}\s*=\s*)([^#]*?)(\s*)(#.*)?")
    value, last = written(change.value), block.start - 1
    for row in block:
        if match := own.fullmatch(lines[row]):
            opening, old, blanks, remark = match.groups()
            gap = " " * max(1, len(old + blanks) - len(value)) if remark else blanks
            lines[row] = f"{opening}{value}{gap}{remark or ''}"
            return
        if KEY.match(lines[row]) and _is_whole(lines[row]):
            last = row
    end = "\r" if lines[last].endswith("\r") else ""
    lines.insert(last + 1, f"{change.key} = {value}{end}")


def _is_whole(line: str) -> bool:
    """Whether a line holds a key with all of its value."""
    try:
        tomllib.loads(line.rstrip("\r"))
    except tomllib.TOMLDecodeError:
        return False
    return True


def _copies(path: Path) -> Iterator[Path]:
    """Names for the copy: site.toml.bak, site.toml.bak2 ..."""
    yield path.with_name(f"{path.name}.bak")
    number = 2
    while True:
        yield path.with_name(f"{path.name}.bak{number}")
        number += 1
