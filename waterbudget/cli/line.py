"""waterbudget line."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument


@click.command()
@site_argument
@click.argument("zone", required=False)
@click.option("--level-l", type=float, metavar="LITRES", help="Litres in its store; default: those of the first day.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw flow and pressure along the hose: .png, .svg or .pdf.")
@overwrite_option
@full_option
@json_option
def line(
    site: Path | None,
    zone: str | None,
    level_l: float | None,
    plot: Path | None,
    *,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """What does each jet of a watering line give, how evenly, and how long should it run?

    ZONE is the name of a zone with a [[zone.line]]; it can be left out where there is only one.

    \b
    Example: waterbudget line data_demo/hose/site.toml
    Example: waterbudget line data_demo/hose/site.toml "North line" --level-l 200
    """  # noqa: D301
    from waterbudget.answers.line import answer
    from waterbudget.hose.line import find_line
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.line import line as draw
    from waterbudget.simulate.opened import open_site

    refuse_outputs(None, plot, overwrite=overwrite)
    found = find_line(open_site(site), zone, level_l)
    deliver(answer(found), picture(plot, partial(draw, found)), overwrite=overwrite, as_json=as_json, full=full)
