"""waterbudget odds."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture, progress_bar
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument, start_option


@click.command()
@site_argument
@click.option("--years", type=int, metavar="N", help="Summers to draw with blocks or chain; default: 500.")
@click.option(
    "--method",
    type=click.Choice(["records", "blocks", "chain"]),
    default="records",
    show_default=True,
    help="Every recorded summer; or summers drawn from blocks of recorded days, or from a chain of wet and dry days.",
)
@click.option("--from", "first", metavar="MM-DD", help="First day of the season; default: 05-01, in the south 11-01.")
@click.option("--to", "last", metavar="MM-DD", help="Last day of the season; default: 09-30, in the south 03-31.")
@start_option
@click.option("--warmer", type=float, default=0.0, metavar="°C", help="Degrees added to every day.")
@click.option("--rain", type=float, default=1.0, metavar="FACTOR", help="Every rain times this: 0.85 is 15 % less.")
@click.option("--seed", type=int, metavar="N", help="Another draw of summers; default: 1.")
@click.option("--rules", is_flag=True, help="Try simple watering rules in every recorded summer, too; takes a while.")
@click.option(
    "--plot", type=FILE, metavar="FILE", help="Draw chances and store levels, or the rules: .png, .svg or .pdf."
)
@click.option("--out", type=FILE, metavar="FILE.csv", help="Write a table of a row a year.")
@overwrite_option
@full_option
@json_option
def odds(
    site: Path | None,
    years: int | None,
    method: str,
    first: str | None,
    last: str | None,
    start_l: tuple[tuple[str, float], ...],
    warmer: float,
    rain: float,
    seed: int | None,
    plot: Path | None,
    out: Path | None,
    *,
    rules: bool,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """How likely is it that the stored rain lasts, and how much mains water do bad summers take?

    SITE is a site file whose weather holds several years; five or more of them give chances, fewer give counts.

    \b
    Example: waterbudget odds data_demo/years/site.toml
    Example: waterbudget odds data_demo/years/site.toml --rules
    Example: waterbudget odds data_demo/years/site.toml --method blocks --warmer 2 --rain 0.85
    """  # noqa: D301
    from waterbudget.answers.odds import answer
    from waterbudget.odds.study import find_odds
    from waterbudget.odds.summers import Wanted
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.odds import odds as draw
    from waterbudget.render.figures.rules import rules as draw_rules
    from waterbudget.review.odds_doubt import find_odds_doubt
    from waterbudget.rows.table import csv_of
    from waterbudget.simulate.opened import open_site

    wanted = Wanted(method, years, first, last, warmer, rain, seed)
    refuse_outputs(out, plot, overwrite=overwrite)
    opened = open_site(site, every_year=True)
    with progress_bar("Summers", shown=rules) as progress:
        found = find_odds(
            opened, wanted, dict(start_l), keep_levels=plot is not None, with_rules=rules, progress=progress
        )
    table = {out: csv_of(found.asked.by_year())} if out is not None else {}
    contents = table | picture(plot, partial(draw_rules if rules else draw, found))
    told = answer(found, find_odds_doubt(found))
    deliver(told, contents, overwrite=overwrite, as_json=as_json, full=full)
