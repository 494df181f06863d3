"""waterbudget compare."""

import datetime as dt
from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, first_option, full_option, json_option, last_option, overwrite_option


@click.command()
@click.argument("sites", nargs=-1, type=FILE)
@click.option(
    "--with",
    "withs",
    multiple=True,
    metavar="KEY=VALUE",
    help="A change of the first site, as in zone.north.minutes=3; with semicolons between them several in one.",
)
@first_option
@last_option
@click.option("--plot", type=FILE, metavar="FILE", help="Draw all levels in one picture: .png, .svg or .pdf.")
@click.option("--ics", type=FILE, metavar="FILE.ics", help="Write a calendar of the days that need mains water.")
@overwrite_option
@full_option
@json_option
def compare(
    sites: tuple[Path, ...],
    withs: tuple[str, ...],
    first: dt.date | None,
    last: dt.date | None,
    plot: Path | None,
    ics: Path | None,
    *,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """Which plan is better: the present one, this change, or another site file?

    SITES are site files, the present plan first; without any, site.toml of this folder is taken, else the built-in
    example. Each --with is a plan of its own, and all of them together are one more. KEY is KIND.NAME.KEY of the site
    file; of the name a part is enough that no other has.

    \b
    Example: waterbudget compare data_demo/site.toml --with zone.north.minutes=3 --with tank.class.capacity_l=2000
    Example: waterbudget compare data_demo/site.toml data_demo/allotment/site.toml --plot plans.png --ics plans.ics
    """  # noqa: D301
    from waterbudget.answers.compare import answer, events
    from waterbudget.change.variants import find_compare
    from waterbudget.output import refuse_outputs
    from waterbudget.render.calendar import calendar_bytes, refuse_calendar
    from waterbudget.render.figures.compare import compare as draw

    refuse_calendar(ics, overwrite=overwrite)
    refuse_outputs(None, plot, overwrite=overwrite)
    found = find_compare(sites, withs, first, last)
    contents = picture(plot, partial(draw, found))
    if ics is not None:
        contents[ics] = calendar_bytes(events(found))
    deliver(answer(found), contents, overwrite=overwrite, as_json=as_json, full=full)
