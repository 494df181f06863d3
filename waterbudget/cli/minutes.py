"""waterbudget minutes."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument


@click.command()
@site_argument
@click.option("--bed", metavar="BED", help="For one bed alone, as if it had a valve of its own.")
@click.option("--card", type=FILE, metavar="FILE", help="Draw the card for the shed wall: .png, .svg or .pdf.")
@overwrite_option
@full_option
@json_option
def minutes(
    site: Path | None, bed: str | None, card: Path | None, *, overwrite: bool, full: bool, as_json: bool
) -> None:
    """How many minutes, how often and in how many pulses should each line run, month by month?

    SITE is a site file. Settings of the clock are tried on every recorded summer of its weather, with what soil, roots
    and jets of each bed make of them; the best stands beside the present plan.

    \b
    Example: waterbudget minutes data_demo/years/site.toml
    Example: waterbudget minutes data_demo/site.toml --bed "Potato bed" --card card.png
    """  # noqa: D301
    from waterbudget.answers.minutes import answer
    from waterbudget.output import refuse_outputs
    from waterbudget.plan.minutes import find_minutes
    from waterbudget.render.figures.minutes import minutes as draw
    from waterbudget.simulate.opened import open_site

    refuse_outputs(None, card, overwrite=overwrite)
    found = find_minutes(open_site(site, every_year=True), bed)
    deliver(answer(found), picture(card, partial(draw, found)), overwrite=overwrite, as_json=as_json, full=full)
