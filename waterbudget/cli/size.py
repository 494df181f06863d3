"""waterbudget size."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument


@click.command()
@site_argument
@click.option("--tank", metavar="NAME", help="The store in question; default: the one that runs short most.")
@click.option("--from-l", type=float, default=100.0, show_default=True, metavar="L", help="Smallest size to try.")
@click.option("--to-l", type=float, default=5000.0, show_default=True, metavar="L", help="Largest size to try.")
@click.option("--steps", type=int, default=60, show_default=True, metavar="N", help="How many sizes to try.")
@click.option(
    "--target", type=float, default=0.95, show_default=True, metavar="SHARE", help="Share of the demand to be met."
)
@click.option(
    "--worth-l",
    type=float,
    default=100.0,
    show_default=True,
    metavar="L",
    help="Mains water a year that another 100 L must save to be worth it.",
)
@click.option("--options", type=FILE, metavar="FILE.csv", help="For sale: name, capacity_l, price.")
@click.option("--none-yet", is_flag=True, help="The store is only planned: reckon them against no store at all.")
@click.option("--water-price", type=float, metavar="PRICE", help="Of a cubic metre of mains water.")
@click.option("--roofs", is_flag=True, help="Map sizes against roof areas: a second downpipe, or litres?")
@click.option(
    "--method",
    type=click.Choice(["records", "blocks", "chain"]),
    default="records",
    show_default=True,
    help="The recorded days; or years drawn from blocks of recorded days, or from a chain of wet and dry days.",
)
@click.option("--years", type=int, metavar="N", help="Years to draw with blocks or chain, 100 or more; default: 100.")
@click.option("--seed", type=int, metavar="N", help="Another draw of years; default: 1.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw what each size does: .png, .svg or .pdf.")
@click.option("--out", type=FILE, metavar="FILE.csv", help="Write a table of a row a size.")
@overwrite_option
@full_option
@json_option
def size(
    site: Path | None,
    tank: str | None,
    from_l: float,
    to_l: float,
    steps: int,
    target: float,
    worth_l: float,
    options: Path | None,
    water_price: float | None,
    method: str,
    years: int | None,
    seed: int | None,
    plot: Path | None,
    out: Path | None,
    *,
    none_yet: bool,
    roofs: bool,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """What size of butt or tank is enough, and where do more litres stop helping?

    SITE is a site file, best with weather of many years. Every size is run through all of its days.

    \b
    Example: waterbudget size data_demo/years/site.toml
    Example: waterbudget size data_demo/site.toml --tank "Shed butt" --options data_demo/prices.csv --roofs
    """  # noqa: D301
    from waterbudget.answers.size import answer
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.sizes import sizes as draw
    from waterbudget.review.size import Question, find_size
    from waterbudget.rows.table import csv_of
    from waterbudget.simulate.opened import open_site
    from waterbudget.sizing.sizes import Sweep

    sweep = Sweep(from_l, to_l, steps, target, worth_l)
    question = Question(tank, options, none_yet, water_price, roofs, method, years, seed)
    refuse_outputs(out, plot, overwrite=overwrite)
    found = find_size(open_site(site, every_year=True), sweep, question)
    table = {out: csv_of(found.study.sizes.by_size())} if out is not None else {}
    contents = table | picture(plot, partial(draw, found))
    deliver(answer(found), contents, overwrite=overwrite, as_json=as_json, full=full)
