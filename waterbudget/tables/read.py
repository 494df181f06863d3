"""The packaged tables: rows with their source and page, and the finding of a row by a word somebody typed."""

import csv
import re
from collections.abc import Iterable
from difflib import get_close_matches
from functools import cache, lru_cache
from importlib.resources import files

from waterbudget.errors import InputError, shown

_NAMED_AT_MOST = 5
WORDS_KEPT = 512  # words whose row is remembered: gardens ask for the same few again and again
_LIKENESS = 0.6  # difflib's own mark for a good match


class UnknownKeyError(InputError, ValueError):
    """A word that no row of a table answers to; a ValueError too, so that it may be raised in a pydantic validator.

    kind: what was looked for ("crop"). key: the word. nearest: what may have been meant, the likeliest first.
    """

    def __init__(self, kind: str, key: str, nearest: list[str]) -> None:
        self.kind = kind
        self.key = key
        self.nearest = nearest
        meant = ", ".join(f'"{name}"' for name in nearest)
        super().__init__(
            f"unknown {kind} {shown(key)}; " + (f"nearest: {meant}" if meant else "nothing is spelt like it")
        )


@cache
def read_rows(name: str) -> list[dict[str, str]]:
    """Rows of the packaged table `name` (no suffix) in print order; read once, so treat them as read-only."""
    return list(csv.DictReader((files("waterbudget.tables") / f"{name}.csv").read_text("utf-8").splitlines()))


def find(word: str, known: Iterable[str], kind: str) -> str:
    """The name in `known` that `word` spells, whatever its case, blanks, punctuation and English plural.

    Raises UnknownKeyError, naming the nearest, where there is none. kind: what is looked for, for that message.
    """
    names, wanted = list(known), _closed_up(word)
    for name in names:
        if _closed_up(name) == wanted:
            return name
    raise UnknownKeyError(kind, word, nearest(word, names))


def spelt_alike(one: str, other: str) -> bool:
    """Whether two words differ at most in case, blanks, punctuation and English plural."""
    return _closed_up(one) == _closed_up(other)


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Names in `known` spelt most like `word`, the closest first, then the shortest that hold it; at most five."""
    names = {_fold(name): name for name in known}
    wanted = _fold(word)
    close = get_close_matches(wanted, names, n=_NAMED_AT_MOST, cutoff=_LIKENESS)
    holding = sorted((name for name in names if wanted and wanted in name), key=len)
    return [names[name] for name in dict.fromkeys([*close, *holding])][:_NAMED_AT_MOST]


def holds(word: str | None, *texts: str) -> bool:
    """Whether one of the texts holds `word`, compared as `find` compares; no word is held by any text."""
    return word is None or any(_fold(word) in _fold(text) for text in texts)


@lru_cache(maxsize=8 * WORDS_KEPT)
def _closed_up(text: str) -> str:
    return _fold(text).replace(" ", "")


@lru_cache(maxsize=8 * WORDS_KEPT)
def _fold(text: str) -> str:
    words = re.findall(r"[^\W_]+", re.sub("['\u2019]", "", text.casefold()))
    return " ".join(_singular(word) for word in words)


def _singular(word: str) -> str:
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("oes", "shes", "ches", "sses", "xes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith(("ss", "us")) else word
