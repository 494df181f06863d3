"""waterbudget weather."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import FILE, Date, json_option, overwrite_option, site_argument
from waterbudget.cli.say import note
from waterbudget.errors import InputError


@click.command()
@site_argument
@click.option("--from", "first", type=Date(), help="First day; default: ten whole years.")
@click.option("--to", "last", type=Date(), help="Last day; default: the end of the last whole year.")
@click.option("--station", metavar="ID", help="A station of your own choice; default: the nearest with rain.")
@click.option("--fill", is_flag=True, help="Mend gaps: rain of the next station, other readings across 3 days.")
@click.option("--out", type=FILE, metavar="FILE", help="Write the days as a weather file (CSV).")
@click.option("--refresh", is_flag=True, help="Fetch again what the cache holds.")
@click.option("--import", "table", type=FILE, metavar="FILE", help="Bring in a table of your own: CSV or .xlsx.")
@click.option(
    "--columns",
    multiple=True,
    metavar="HEADING=NAME",
    help='What a column is: "Wet=rain_mm"; by number if it has none.',
)
@click.option("--day-first/--month-first", default=None, help="How the table writes dates, where it does not show it.")
@click.option("--dry-blanks", is_flag=True, help="A day of the table without any rain written down was dry.")
@click.option("--yes", is_flag=True, help="Write the table without asking; also over a starter's invented weather.")
@overwrite_option
@json_option
def weather(
    site: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    station: str | None,
    out: Path | None,
    table: Path | None,
    columns: tuple[str, ...],
    *,
    fill: bool,
    refresh: bool,
    day_first: bool | None,
    dry_blanks: bool,
    yes: bool,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Fetch the weather of the nearest station and see how complete it is; or bring in a table of your own.

    SITE is a site file; without it site.toml of this folder is taken. What was fetched is kept in the cache, from
    which waterbudget run takes it without a network. The environment variable WATERBUDGET_CACHE names another folder
    for the cache.

    With --import nothing is fetched. A table has a heading over each column and a row a day: a spreadsheet of your own,
    or what a weather service lets you download. What was understood is shown first.

    \b
    Example: waterbudget weather data_demo/site.toml
    Example: waterbudget weather data_demo/site.toml --fill --out station.csv
    Example: waterbudget weather data_demo/site.toml --import data_demo/rain_book.csv --yes
    """  # noqa: D301
    from waterbudget.answers.weather import answer
    from waterbudget.cli.imported import bring_in
    from waterbudget.output import refuse_existing
    from waterbudget.simulate.fetched import fetch_weather, write_usual, write_weather
    from waterbudget.simulate.opened import HERE
    from waterbudget.site.read import load_site

    if table is not None:
        if station or fill or refresh:
            raise InputError("--import: goes without --station, --fill and --refresh, as nothing is fetched")
        bring_in(
            site,
            table,
            (first, last),
            out,
            columns,
            day_first=day_first,
            dry_blanks=dry_blanks,
            yes=yes,
            overwrite=overwrite,
            as_json=as_json,
        )
        return
    if out is not None:
        refuse_existing([out], overwrite=overwrite)  # before anything is fetched
    path = site or HERE
    looked = fetch_weather(
        path, load_site(path), first, last, station=station, fill=fill, refresh=refresh, progress=note
    )
    if out is not None:
        write_weather(looked, out, overwrite=overwrite)
    deliver(answer(looked, out, write_usual(looked) if fill else ()), as_json=as_json, full=True)
