"""waterbudget today."""

import datetime as dt
from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, Date, full_option, json_option, overwrite_option, site_argument
from waterbudget.cli.say import note


@click.command()
@site_argument
@click.option("--forecast", type=FILE, metavar="FILE.csv", help="The days ahead: date and rain, in mm or in words.")
@click.option("--on", type=Date(), metavar="DATE", help="Another day; default: today.")
@click.option("--ics", type=FILE, metavar="FILE.ics", help="Write a calendar of what the plan opens this week.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw how long stores and beds last: .png, .svg or .pdf.")
@overwrite_option
@full_option
@json_option
def today(
    site: Path | None,
    forecast: Path | None,
    on: dt.date | None,
    ics: Path | None,
    plot: Path | None,
    *,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """What is to be watered today, how much is left, and is it worth waiting for rain?

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example. The last levels of
    journal.csv beside it count (waterbudget log), and its runs, mains water and rain, too. On days since the weather
    ends no rain but your gauge's counts, and the usual ET0. Where all weather is of days to come, as in an example, it
    tells the day after it. In a forecast file rain may be none, some or a lot.

    \b
    Example: waterbudget today data_demo/journal/site.toml --on 2031-07-02
    Example: waterbudget today data_demo/site.toml --on 2031-07-02 --ics week.ics
    """  # noqa: D301
    from waterbudget.answers.today import answer, events
    from waterbudget.change.doubt import find_doubt
    from waterbudget.change.today import Ask, find_today
    from waterbudget.output import refuse_outputs
    from waterbudget.render.calendar import calendar_bytes, refuse_calendar
    from waterbudget.render.figures.today import today as draw

    refuse_calendar(ics, overwrite=overwrite)
    refuse_outputs(None, plot, overwrite=overwrite)
    found = find_today(site, Ask(on, forecast), progress=note)
    contents = picture(plot, partial(draw, found))
    if ics is not None:
        contents[ics] = calendar_bytes(events(found))
    deliver(answer(found, find_doubt(found)), contents, overwrite=overwrite, as_json=as_json, full=full)
