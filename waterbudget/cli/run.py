"""waterbudget run."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.options import (
    FILE,
    first_option,
    json_option,
    last_option,
    overwrite_option,
    site_argument,
    start_option,
    tell,
)


@click.command()
@site_argument
@first_option
@last_option
@start_option
@click.option("--out", type=FILE, metavar="FOLDER", help="Write the daily tables (CSV) and summary.json there.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw the store levels: .png, .svg or .pdf.")
@overwrite_option
@json_option
def run(
    site: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    start_l: tuple[tuple[str, float], ...],
    out: Path | None,
    plot: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
) -> None:
    """How long does the stored rain last, and when is mains water needed?

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example.

    \b
    Example: waterbudget run data_demo/site.toml
    Example: waterbudget run data_demo/site.toml --from 2031-06-01 --start-l "Shed butt=150" --json
    """  # noqa: D301
    from waterbudget.report.answer import answer_run

    answer = answer_run(site, first, last, dict(start_l), out, plot, overwrite=overwrite, as_json=as_json)
    tell(answer)
