"""waterbudget today."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.options import FILE, Date, json_option, overwrite_option, site_argument, tell
from waterbudget.cli.say import note


@click.command()
@site_argument
@click.option("--forecast", type=FILE, metavar="FILE.csv", help="Weather file of the days ahead, as a weather file.")
@click.option("--on", type=Date(), metavar="DATE", help="Another day; default: today.")
@click.option("--ics", type=FILE, metavar="FILE.ics", help="Write a calendar of what the plan opens this week.")
@overwrite_option
@json_option
def today(
    site: Path | None, forecast: Path | None, on: dt.date | None, ics: Path | None, *, overwrite: bool, as_json: bool
) -> None:
    """What is to be watered today, how much is left, and is it worth waiting for rain?

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example. The last levels of
    journal.csv beside it count (waterbudget log), else start_l on the first day of the weather; its runs, mains water
    and rain count too. The weather of a station is fetched up to yesterday, and a forecast where the station has one;
    else give --forecast.

    \b
    Example: waterbudget today data_demo/journal/site.toml --on 2031-07-02
    Example: waterbudget today data_demo/site.toml --on 2031-07-02 --ics week.ics
    """  # noqa: D301
    from waterbudget.report.today import answer_today

    answer = answer_today(site, forecast, on, ics, overwrite=overwrite, as_json=as_json, progress=note)
    tell(answer)
