"""waterbudget weather."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.options import FILE, Date, json_option, overwrite_option, site_argument, tell
from waterbudget.cli.say import note


@click.command()
@site_argument
@click.option("--from", "first", type=Date(), help="First day; default: ten whole years.")
@click.option("--to", "last", type=Date(), help="Last day; default: the end of the last whole year.")
@click.option("--station", metavar="ID", help="A station of your own choice; default: the nearest with rain.")
@click.option("--fill", is_flag=True, help="Mend gaps: rain of the next station, other readings across 3 days.")
@click.option("--out", type=FILE, metavar="FILE", help="Write the days as a weather file (CSV).")
@click.option("--refresh", is_flag=True, help="Fetch again what the cache holds.")
@overwrite_option
@json_option
def weather(
    site: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    station: str | None,
    out: Path | None,
    *,
    fill: bool,
    refresh: bool,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Fetch the weather of the nearest station, and see how complete it is.

    SITE is a site file; without it site.toml of this folder is taken. What was fetched is kept in the cache, from
    which waterbudget run takes it without a network. The environment variable WATERBUDGET_CACHE names another folder
    for the cache.

    \b
    Example: waterbudget weather data_demo/site.toml
    Example: waterbudget weather data_demo/site.toml --fill --out station.csv
    """  # noqa: D301
    from waterbudget.report.weather import answer_weather

    answer = answer_weather(
        site,
        first,
        last,
        station,
        out,
        fill=fill,
        refresh=refresh,
        overwrite=overwrite,
        as_json=as_json,
        progress=note,
    )
    tell(answer)
