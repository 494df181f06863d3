"""What the look-ups of crops, soils and roofs have in common: the lines to write, the chosen row, and a wrong word."""

import json
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from waterbudget.answers.english import capital
from waterbudget.blocks import Bullets, Paragraph
from waterbudget.errors import InputError
from waterbudget.tables.everyday import everyday_words
from waterbudget.tables.read import UnknownKeyError, nearest

FEW = 6  # rows up to which all that is known of each is told

Row = TypeVar("Row")


def snippet(where: str, *lines: str) -> Bullets:
    """Lines for the site file."""
    return Bullets("paste", f"Write in your site file, {where}:", lines)


def also_called(kind: str, shown: Sequence[str]) -> list[Paragraph]:
    """Everyday words for the rows that are shown, and, where they are few, what is noted on the words."""
    words = [one for one in everyday_words(kind) if one.name in shown]
    if not words:
        return []
    called = {name: [one.word for one in words if one.name == name] for name in shown}
    names = "; ".join(f"{name}: {', '.join(called[name])}" for name in shown if called[name])
    noted: dict[str, list[str]] = {}
    for one in words:
        if one.note and len(shown) <= FEW:
            noted.setdefault(one.note, []).append(one.word)
    notes = (f"Note on {', '.join(those)}: {note}." for note, those in noted.items())
    return [Paragraph(" ".join((f"Everyday names are understood, too. {capital(names)}.", *notes)))]


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
