"""What gardeners call roof coverings and soils, and the row of the table that each name stands for."""

from typing import NamedTuple

from waterbudget.tables.read import UnknownKeyError, find, holds, nearest, read_rows


class Everyday(NamedTuple):
    """An everyday word. name: that of the row it stands for. note: what was taken; empty where nothing is in doubt."""

    word: str
    name: str
    note: str


def everyday_words(kind: str) -> list[Everyday]:
    """All words of a kind ("covering" or "soil"), in the order of the table."""
    return [Everyday(row["word"], row["name"], row["note"]) for row in read_rows("everyday") if row["kind"] == kind]


def find_name(key: str, names: list[str], kind: str) -> str:
    """The name in the table that `key` spells or stands for.

    Raises UnknownKeyError, naming the nearest, those of the table first.
    """
    words = {everyday.word: everyday.name for everyday in everyday_words(kind)}
    try:
        found = find(key, [*names, *words], kind)
    except UnknownKeyError:
        raise UnknownKeyError(kind, key, [*nearest(key, names), *nearest(key, words)]) from None
    return words.get(found, found)


def names_that_hold(word: str | None, kind: str) -> set[str]:
    """The names that an everyday word stands for which holds `word`; none without a word."""
    return {one.name for one in everyday_words(kind) if word is not None and holds(word, one.word)}
