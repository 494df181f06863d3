"""waterbudget odds."""

from pathlib import Path

import click

from waterbudget.cli.options import FILE, json_option, overwrite_option, site_argument, start_option, tell


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
@click.option("--plot", type=FILE, metavar="FILE", help="Draw chances and store levels: .png, .svg or .pdf.")
@click.option("--out", type=FILE, metavar="FILE.csv", help="Write a table of a row a year.")
@overwrite_option
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
    overwrite: bool,
    as_json: bool,
) -> None:
    """How likely is it that the stored rain lasts, and how much mains water do bad summers take?

    SITE is a site file whose weather holds several years; five or more of them give chances, fewer give counts.

    \b
    Example: waterbudget odds data_demo/years/site.toml
    Example: waterbudget odds data_demo/years/site.toml --method blocks --warmer 2 --rain 0.85
    """  # noqa: D301
    from waterbudget.odds.summers import Wanted
    from waterbudget.report.odds import answer_odds

    wanted = Wanted(method, years, first, last, warmer, rain, seed)
    answer = answer_odds(site, wanted, dict(start_l), out, plot, overwrite=overwrite, as_json=as_json)
    tell(answer)
