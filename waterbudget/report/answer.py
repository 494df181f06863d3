"""What a command shows that is not yet made of blocks."""

from typing import NamedTuple


class Answer(NamedTuple):
    """text is the result; notes are for people and go elsewhere."""

    text: str
    notes: tuple[str, ...]
