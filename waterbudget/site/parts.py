"""Parts of a garden, such as a store or a bed: the questions about one, and the edits of a site file that add it.

A question is read with what is known of the garden, so that a name is new where it has to be and known where it has to.
"""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from waterbudget.errors import InputError
from waterbudget.site import replies
from waterbudget.site.dates import MonthDay
from waterbudget.site.edit import Edit
from waterbudget.site.links import Raw
from waterbudget.site.season import season_of
from waterbudget.tables.read import nearest


class Known(NamedTuple):
    """What is known when a question is asked: the tables of the garden, and the replies to the questions before."""

    garden: Raw
    replies: Mapping[str, Any]

    def names(self, head: str) -> list[str]:
        """The names of all tables with a head."""
        return [table["name"] for table in self.garden.get(head, [])]

    def capacity_l(self, tank: str) -> float:
        """Litres that a store holds, all that are joined."""
        table = next(table for table in self.garden["tank"] if table["name"] == tank)
        return float(table["capacity_l"] * table.get("joined", 1))

    @property
    def season(self) -> dict[str, MonthDay]:
        """First and last day of watering and the day of planting."""
        return season_of(self.latitude_deg)

    @property
    def latitude_deg(self) -> float:
        """Degrees north; 0 where the site file tells none."""
        return float(self.garden["site"].get("latitude_deg", 0.0))


class PartQuestion(NamedTuple):
    """One question about a part.

    key: its name beside the question, for a reply given without asking. read: the value of the words. suggest: what
    stands in brackets; an empty text where it has to be told.
    """

    key: str
    ask: str
    hint: str
    read: Callable[[str, Known], object]
    suggest: Callable[[Known], str]

    def answered(self, words: str, known: Known) -> Known:
        """What is known with this reply. Raises InputError saying what would be right."""
        return known._replace(replies={**known.replies, self.key: self.read(words.strip(), known)})


class Part(NamedTuple):
    """A kind of part: how a person calls it, its head in the site file, what to ask, and the edits that add it."""

    kind: str
    head: str
    questions: tuple[PartQuestion, ...]
    edits: Callable[[Known], list[Edit]]


def replied(part: Part, garden: Raw, words: Mapping[str, object]) -> Known:
    """The replies of somebody who is not asked; what they leave out is what stands in brackets.

    Raises InputError for what is unknown, missing or cannot be read.
    """
    keys = [question.key for question in part.questions]
    for key in words:
        if key not in keys:
            near = nearest(key, keys)[:1]
            advice = f"did you mean {near[0]}?" if near else f"there is {', '.join(keys)}"
            raise InputError(f"{part.kind}: {replies.quoted(key)} is nothing that is asked; {advice}")
    known = Known(garden, {})
    for question in part.questions:
        said = as_words(words[question.key]) if question.key in words else question.suggest(known)
        try:
            known = question.answered(said, known)
        except InputError as error:
            if question.key in words or said:
                raise InputError(f"{part.kind}: {question.key}: {error}") from None
            ask = f"{question.ask[:1].lower()}{question.ask[1:]}"
            raise InputError(f'{part.kind}: {question.key} is missing; add --with "{question.key}=…" ({ask})') from None
    return known


def as_words(value: object) -> str:
    """A value of a file as somebody would have typed it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return " ".join(map(as_words, value))
    return repr(value).removesuffix(".0") if isinstance(value, float) else str(value)
