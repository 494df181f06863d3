"""waterbudget add."""

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from waterbudget.cli.ask import ask_part, is_terminal
from waterbudget.cli.options import FILE, site_argument
from waterbudget.cli.say import note, say

if TYPE_CHECKING:
    from collections.abc import Mapping

KINDS = ("store", "roof", "zone", "bed", "hens")


@click.command()
@click.argument("kind", type=click.Choice(KINDS, case_sensitive=False))
@site_argument
@click.option("--with", "said", multiple=True, metavar="KEY=VALUE", help="A reply in advance, such as area_m2=12.")
@click.option("--from", "source", type=FILE, metavar="FILE", help="A TOML file of replies: key = value.")
def add(kind: str, site: Path | None, said: tuple[str, ...], source: Path | None) -> None:
    """Add a store, a roof, a watering line, a bed or hens to a site file.

    On a terminal it asks, each question with a default; with --with or --from, or without a terminal, it does not. The
    rest of the file stays as it is, to the letter, and a copy of what it was is kept.

    \b
    Example: waterbudget add store data_demo/site.toml --with "name=Bean butt" --with capacity_l=200
    Example: waterbudget add bed data_demo/site.toml --with "area_m2=3 x 1.2" --with crop=beetroot
    """  # noqa: D301
    from waterbudget.answers.added import lines, next_step
    from waterbudget.render.text import window
    from waterbudget.simulate.opened import own_site
    from waterbudget.site.add import add_part, replies_in, replies_said
    from waterbudget.site.kinds import PARTS
    from waterbudget.site.override import raw_site
    from waterbudget.site.parts import replied

    path, part = own_site(site), PARTS[kind]
    garden = raw_site(path)
    words: Mapping[str, object] = {**(replies_in(source) if source else {}), **replies_said(said)}
    asks = is_terminal() and not words
    added = add_part(path, part, ask_part(part, garden) if asks else replied(part, garden, words))
    note(f"The old file is kept as {added.copy}.")
    for told in lines(added):
        say(textwrap.fill(told, window(), subsequent_indent="  ", break_on_hyphens=False))
    say(next_step(added))
