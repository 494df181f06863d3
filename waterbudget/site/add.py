"""Add a part to a site file, or to the text of one."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import SiteError
from waterbudget.rows.text import read_text
from waterbudget.site.edit import changed
from waterbudget.site.links import Raw
from waterbudget.site.model import Site
from waterbudget.site.override import raw_site
from waterbudget.site.parts import Known, Part
from waterbudget.site.read import load_site, site_in
from waterbudget.site.write import write_changes

MOST_BYTES = 1_000_000  # of a file of replies


class Added(NamedTuple):
    """A part that was added: the site file as it is now, the head of the part, and the copy of what it was."""

    path: Path
    site: Site
    part: Part
    copy: Path


def add_part(path: Path, part: Part, known: Known) -> Added:
    """Add a part to a site file. Raises SiteError and OutputError as `write_changes`; then the file stays as it is."""
    site = load_site(path)
    if raw_site(path) != known.garden:
        raise SiteError(f"{path}: was changed in the meantime; try again")
    copy = write_changes(path, site, part.edits(known))
    return Added(path, load_site(path), part, copy)


def with_part(text: str, part: Part, known: Known, where: str | Path) -> str:
    """The text of a site file with a part added. Raises SiteError where the part does not fit; where: its name."""
    after = changed(text, part.edits(known))
    if after is None:
        raise SiteError(f"{where}: the {part.kind} could not be added")
    site_in(after, where)
    return after


def replies_in(path: Path) -> Raw:
    """The replies that a TOML file holds, by the keys of the questions. Raises SiteError where it cannot be read."""
    text = read_text(path, "file of replies", "name one", "save it as UTF-8", SiteError, MOST_BYTES)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SiteError(f"{path}: {error}; write key = value, with text in quotes") from None


def replies_said(said: tuple[str, ...]) -> Mapping[str, object]:
    """Replies written as KEY=VALUE. Raises SiteError where one has no equals sign."""
    parted = [one.partition("=") for one in said]
    if wrong := [key for key, equals, _ in parted if not equals]:
        raise SiteError(f'"{wrong[0]}" is no reply; write KEY=VALUE, with quotes round it: "name=Shed butt"')
    return {key.strip(): value for key, _, value in parted}
