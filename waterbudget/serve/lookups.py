"""Words that a box may hold, from the packaged tables, each with what is known of it."""

from functools import lru_cache

from typing_extensions import TypedDict

from waterbudget.answers.crops import in_a_line, written_as
from waterbudget.site.boxes import Lookup
from waterbudget.tables.coverings import search_coverings
from waterbudget.tables.crops import search_crops
from waterbudget.tables.everyday import everyday_words
from waterbudget.tables.read import begins
from waterbudget.tables.soils import search_soils


class Word(TypedDict):
    """A word of a table, and what is known of it in a line, "" for nothing."""

    word: str
    says: str


@lru_cache
def looked_up(kind: Lookup, *, south: bool) -> tuple[Word, ...]:
    """All words of a table. south: whether the garden lies south of the equator."""
    if kind == "crop":
        crops = sorted({written_as(crop).lower(): crop for crop in search_crops()}.items())
        return tuple({"word": name, "says": in_a_line(crop, south=south)} for name, crop in crops)
    rows = search_coverings() if kind == "covering" else search_soils()
    names: list[Word] = [{"word": row.name.lower(), "says": ""} for row in rows]
    names += [{"word": one.word, "says": one.name.lower()} for one in everyday_words(kind)]
    return tuple(names)


def crops_that_begin(words: str, *, south: bool) -> tuple[Word, ...]:
    """The crops of which a word begins so, all of them for nothing."""
    return tuple(one for one in looked_up("crop", south=south) if begins(words, one["word"]))
