"""What the look-ups of crops, soils and roofs have in common: the lines to write, the chosen row, and a wrong word."""

import json
from collections.abc import Callable, Iterable
from typing import TypeVar

from waterbudget.answers.blocks import Bullets
from waterbudget.errors import InputError
from waterbudget.tables.read import UnknownKeyError, nearest

FEW = 6  # rows up to which all that is known of each is told

Row = TypeVar("Row")


def snippet(where: str, *lines: str) -> Bullets:
    """Lines for the site file."""
    return Bullets("paste", f"Write in your site file, {where}:", lines)


def exact(find: Callable[[str], Row], word: str) -> Row | None:
    """The row that a word names, None where it names none."""
    try:
        return find(word)
    except UnknownKeyError:
        return None


def nothing(kind: str, word: str | None, names: Iterable[str], command: str) -> InputError:
    """What to raise where no row holds a word: it names the nearest."""
    near = ", ".join(quoted(name) for name in nearest(word or "", names))
    return InputError(
        f"no {kind} is called {quoted(word or '')}; {f'nearest: {near}; ' if near else ''}"
        f"waterbudget {command} lists them all"
    )


def quoted(text: str) -> str:
    """A text as the site file has it."""
    return json.dumps(text, ensure_ascii=False)
