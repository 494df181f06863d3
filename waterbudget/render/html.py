"""An answer as a section of a web page: its pictures beside its words and tables."""

import base64
import re
from collections.abc import Callable, Collection, Mapping
from importlib.resources import files
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.blocks import Answer, Block, Bullets, Kind, Picture, Table
from waterbudget.errors import plain

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATE = "answer.html.j2"
SVG, PNG = ".svg", ".png"
MEDIA = {SVG: "image/svg+xml", PNG: "image/png"}
UNIT = re.compile(r"(?<=\d) (?=(?:L|mm|m|m²|kg|%|°C|days?)\b|%|°C)")


class Placed(NamedTuple):
    """Where a picture is that comes after its page, and the box that is kept for it [px]."""

    address: str
    width: int
    height: int


class Shown(NamedTuple):
    """A picture as a page holds it: its address, what it shows in words, and the box kept for it, if any [px]."""

    address: str
    words: str
    box: tuple[int, int] | None = None


def section(
    answer: Answer,
    pictures: Mapping[str, Callable[[], bytes] | Placed],
    *,
    without: Collection[Kind] = (),
) -> str:
    """An answer as a section of HTML.

    pictures: what draws each by its name, as an SVG, or where it is; a picture without is left out. without: kinds of
    sentences that the page has elsewhere.
    """
    shown = [
        _shown(pictures[block.name], block.words)
        for block in answer.blocks
        if isinstance(block, Picture) and block.name in pictures
    ]
    told = [
        (type(block).__name__, block)
        for block in answer.blocks
        if not isinstance(block, Picture) and _is_wanted(block, without)
    ]
    template = environment().from_string((files("waterbudget.render") / TEMPLATE).read_text("utf-8"))
    return template.render(answer=answer, pictures=shown, blocks=told, zip=zip)


def _shown(picture: Callable[[], bytes] | Placed, words: str) -> Shown:
    if isinstance(picture, Placed):
        return Shown(picture.address, words, (picture.width, picture.height))
    return Shown(address(picture(), SVG), words)


def _is_wanted(block: Block, without: Collection[Kind]) -> bool:
    if isinstance(block, Bullets):
        return bool(block.lines) and block.kind not in without
    return bool(block.rows) if isinstance(block, Table) else True


def environment() -> "Environment":
    """What all templates are filled with: names are escaped, nothing is missing in silence."""
    from jinja2 import Environment, StrictUndefined

    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.filters["together"] = together
    return made


def together(words: str) -> str:
    """A sentence as a page says it, its numbers kept on one line with their units."""
    return UNIT.sub("\N{NO-BREAK SPACE}", plain(words))


def address(content: bytes, suffix: str) -> str:
    """A picture as the address that holds all of it."""
    return f"data:{MEDIA[suffix]};base64,{base64.b64encode(content).decode()}"
