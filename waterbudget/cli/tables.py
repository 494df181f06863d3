"""waterbudget crops, soils and roofs: look up the keys of a site file."""

import click


@click.command()
@click.argument("word", required=False)
def crops(word: str | None) -> None:
    """Crops that a planting can name, with their FAO-56 numbers; WORD narrows the list.

    \b
    Example: waterbudget crops courgette
    """  # noqa: D301
    from waterbudget.report.lookup import crops_screen

    click.echo(crops_screen(word))


@click.command()
@click.argument("word", required=False)
def soils(word: str | None) -> None:
    """Soils that a bed can name, with the water they hold; WORD narrows the list.

    \b
    Example: waterbudget soils loam
    """  # noqa: D301
    from waterbudget.report.lookup import soils_screen

    click.echo(soils_screen(word))


@click.command()
@click.argument("word", required=False)
def roofs(word: str | None) -> None:
    """Roof coverings that a roof can name, with their runoff; WORD narrows the list.

    \b
    Example: waterbudget roofs tile
    """  # noqa: D301
    from waterbudget.report.lookup import roofs_screen

    click.echo(roofs_screen(word))
