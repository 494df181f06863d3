"""waterbudget crops, soils and roofs: look up the keys of a site file."""

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import json_option


@click.command()
@click.argument("word", nargs=-1)
@json_option
def crops(word: tuple[str, ...], *, as_json: bool) -> None:
    """Crops that a planting can name, with their FAO-56 numbers; WORD narrows the list.

    \b
    Example: waterbudget crops courgette
    """  # noqa: D301
    from waterbudget.answers.crops import answer

    deliver(answer(" ".join(word) or None), as_json=as_json)


@click.command()
@click.argument("word", nargs=-1)
@json_option
def soils(word: tuple[str, ...], *, as_json: bool) -> None:
    """Soils that a bed can name, with the water they hold; WORD narrows the list.

    \b
    Example: waterbudget soils loam
    """  # noqa: D301
    from waterbudget.answers.soils import answer

    deliver(answer(" ".join(word) or None), as_json=as_json)


@click.command()
@click.argument("word", nargs=-1)
@json_option
def roofs(word: tuple[str, ...], *, as_json: bool) -> None:
    """Roof coverings that a roof can name, with their runoff; WORD narrows the list.

    \b
    Example: waterbudget roofs tile
    """  # noqa: D301
    from waterbudget.answers.roofs import answer

    deliver(answer(" ".join(word) or None), as_json=as_json)
