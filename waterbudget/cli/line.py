"""waterbudget line."""

from pathlib import Path

import click

from waterbudget.cli.options import FILE, json_option, overwrite_option, site_argument, tell


@click.command()
@site_argument
@click.argument("zone", required=False)
@click.option("--level-l", type=float, metavar="LITRES", help="Litres in its store; default: those of the first day.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw flow and pressure along the hose: .png, .svg or .pdf.")
@overwrite_option
@json_option
def line(
    site: Path | None, zone: str | None, level_l: float | None, plot: Path | None, *, overwrite: bool, as_json: bool
) -> None:
    """What does each jet of a watering line give, how evenly, and how long should it run?

    ZONE is the name of a zone with a [[zone.line]]; it can be left out where there is only one.

    \b
    Example: waterbudget line data_demo/hose/site.toml
    Example: waterbudget line data_demo/hose/site.toml "North line" --level-l 200
    """  # noqa: D301
    from waterbudget.report.line import answer_line

    answer = answer_line(site, zone, level_l, plot, overwrite=overwrite, as_json=as_json)
    tell(answer)
