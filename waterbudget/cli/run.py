"""waterbudget run."""

import datetime as dt
from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import (
    FILE,
    first_option,
    full_option,
    json_option,
    last_option,
    overwrite_option,
    site_argument,
    start_option,
)


@click.command()
@site_argument
@first_option
@last_option
@start_option
@click.option("--out", type=FILE, metavar="FOLDER", help="Write the daily tables (CSV) and summary.json there.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw the store levels: .png, .svg or .pdf.")
@overwrite_option
@full_option
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
    full: bool,
    as_json: bool,
) -> None:
    """How long does the stored rain last, and when is mains water needed?

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example.

    \b
    Example: waterbudget run data_demo/site.toml
    Example: waterbudget run data_demo/site.toml --full
    Example: waterbudget run data_demo/site.toml --from 2031-06-01 --start-l "Shed butt=150" --json
    """  # noqa: D301
    from waterbudget.answers.run import answer
    from waterbudget.output import refuse_outputs
    from waterbudget.review.doubt import find_doubt
    from waterbudget.simulate.opened import open_site
    from waterbudget.simulate.run import run as run_site

    refuse_outputs(None, plot, overwrite=overwrite)
    opened = open_site(site, first, last)
    result = run_site(opened.site, opened.weather, start_l=dict(start_l))
    doubt = find_doubt(opened.site, opened.weather, dict(start_l), result.summary)
    contents = result.contents(out) if out is not None else {}
    if plot is not None:
        from waterbudget.render.figures.level import level

        contents |= picture(plot, partial(level, result))
    deliver(answer(result, opened.notes, doubt), contents, overwrite=overwrite, as_json=as_json, full=full)
