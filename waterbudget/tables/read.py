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


def named(word: str, names: Iterable[str], kind: str) -> str:
    """The name of a thing of this garden that is meant: spelt as `find` takes it, or begun as no other is.

    What is begun is a name or a word in it, in any case: "shed" and "butt" both are "Shed butt" where no other store
    has such a word. Raises InputError saying which there are.
    """
    names, wanted = list(names), _begun(word)
    exact = [name for name in names if name == word] or [name for name in names if _closed_up(name) == _closed_up(word)]
    whole = [name for name in names if wanted and _begun(name).startswith(wanted)]
    inside = [name for name in names if wanted and f" {wanted}" in _begun(name)]
    meant = exact or whole or inside
    if len(meant) == 1 or exact:
        return meant[0]
    if meant:
        listed = " or ".join(f'"{name}"' for name in meant)
        raise InputError(f"{shown(word)} may be {listed}; write more of the name")
    near = nearest(word, names)[:1] or _nearest_word(word, names)
    there = ", ".join(f'"{name}"' for name in names) or "none"
    raise InputError(f"{shown(word)} is no {kind}; " + (f'did you mean "{near[0]}"?' if near else f"there is {there}"))


def _nearest_word(word: str, names: Iterable[str]) -> list[str]:
    """The name that has a word spelt most like it."""
    having = {part: name for name in names for part in name.split()}
    return [having[part] for part in nearest(word, having)][:1]


def _begun(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", re.sub("['\u2019]", "", text.casefold())))


def begins(words: str, name: str) -> bool:
    """Whether a name, or a word in it, begins so, in any case."""
    return f" {_begun(words)}" in f" {_begun(name)}"


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
