"""waterbudget fit."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument


@click.command()
@site_argument
@click.option("--write", is_flag=True, help="Take what fits best into the site file; a copy of it as it was is kept.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw measured against modelled levels: .png, .svg or .pdf.")
@overwrite_option
@full_option
@json_option
def fit(site: Path | None, plot: Path | None, *, write: bool, overwrite: bool, full: bool, as_json: bool) -> None:
    """Check the model against the levels in the journal, and find the numbers that fit them best.

    SITE is a site file; without it site.toml of this folder is taken. From the logged levels beside it (waterbudget
    log) it finds runoff coefficient, first flush, leak and flow, and how sure they are. It writes nothing unless told.

    \b
    Example: waterbudget fit data_demo/journal/site.toml
    Example: waterbudget fit data_demo/journal/site.toml --plot fit.png --write
    """  # noqa: D301
    from waterbudget.answers.fit import answer
    from waterbudget.journal.fit import find_fit
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.fit import fit as draw

    refuse_outputs(None, plot, overwrite=overwrite)
    found = find_fit(site)
    drawn = picture(plot, partial(draw, found))
    copy = found.write() if write else None
    deliver(answer(found, copy=copy), drawn, overwrite=overwrite, as_json=as_json, full=full)
