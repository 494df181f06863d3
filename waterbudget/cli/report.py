"""waterbudget report."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import FILE, first_option, last_option, overwrite_option, site_argument, start_option

FURTHER = "odds, size, hotspell, minutes, improve, compare, today, line, fit, batch"


@click.command()
@site_argument
@first_option
@last_option
@start_option
@click.option(
    "-o", "--out", type=FILE, metavar="FILE", default="report.html", show_default=True, help="The page to write."
)
@click.option("--with", "further", metavar="WORDS", help=f"Also answer {FURTHER}; with commas between.")
@click.option("--change", "changes", multiple=True, metavar="KEY=VALUE", help="With compare: a change of the plan.")
@click.option("--sheet", type=FILE, metavar="FILE.csv", help="With batch: sites that change keys of this one.")
@overwrite_option
def report(
    site: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    start_l: tuple[tuple[str, float], ...],
    out: Path,
    further: str | None,
    changes: tuple[str, ...],
    sheet: Path | None,
    *,
    overwrite: bool,
) -> None:
    """Write the whole answer as one web page, to read on any screen or print on two sheets.

    The page needs no internet, and holds the watering plan as a card for the shed wall. Odds need weather of several
    summers.

    \b
    Example: waterbudget report data_demo/site.toml -o report.html
    Example: waterbudget report data_demo/site.toml -o july.html --with hotspell
    """  # noqa: D301
    from waterbudget.report.ask import find_report, refuse_report

    refuse_report(out, overwrite=overwrite)
    html, told = find_report(site, first, last, dict(start_l), further, changes, sheet)
    deliver(told, {out: html.encode()}, overwrite=overwrite)
