"""waterbudget fit."""

from pathlib import Path

import click

from waterbudget.cli.options import FILE, json_option, overwrite_option, site_argument, tell


@click.command()
@site_argument
@click.option("--write", is_flag=True, help="Take what fits best into the site file; a copy of it as it was is kept.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw measured against modelled levels: .png, .svg or .pdf.")
@overwrite_option
@json_option
def fit(site: Path | None, plot: Path | None, *, write: bool, overwrite: bool, as_json: bool) -> None:
    """Check the model against the levels in the journal, and find the numbers that fit them best.

    SITE is a site file; without it site.toml of this folder is taken. From the logged levels beside it (waterbudget
    log) it finds runoff coefficient, first flush, leak and flow, and how sure they are. It writes nothing unless told.

    \b
    Example: waterbudget fit data_demo/journal/site.toml
    Example: waterbudget fit data_demo/journal/site.toml --plot fit.png --write
    """  # noqa: D301
    from waterbudget.report.journal import answer_fit

    answer = answer_fit(site, plot, write=write, overwrite=overwrite, as_json=as_json)
    tell(answer)
