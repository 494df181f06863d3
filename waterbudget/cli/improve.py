"""waterbudget improve."""

from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option, site_argument
from waterbudget.cli.say import note


@click.command()
@site_argument
@click.option("--options", type=FILE, metavar="FILE.csv", help="Butts for sale: name, capacity_l, price.")
@click.option(
    "--price", "prices", multiple=True, metavar="KIND=MONEY", help="What a measure costs in all, as in mulch=30."
)
@click.option("--water-price", type=float, metavar="PRICE", help="Of a cubic metre of mains water.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw what each saves: .png, .svg or .pdf.")
@overwrite_option
@full_option
@json_option
def improve(
    site: Path | None,
    options: Path | None,
    prices: tuple[str, ...],
    water_price: float | None,
    plot: Path | None,
    *,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """What would save most mains water, time and money? Every measure is tried, what costs nothing comes first.

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example.

    \b
    Example: waterbudget improve data_demo/site.toml
    Example: waterbudget improve data_demo/allotment/site.toml --options data_demo/prices.csv --price "shade net=45"
    """  # noqa: D301
    from waterbudget.answers.improve import answer
    from waterbudget.change.improve import Costs, find_improve
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.improve import improve as draw
    from waterbudget.simulate.opened import open_site

    refuse_outputs(None, plot, overwrite=overwrite)
    costs = Costs(options, prices, water_price)
    found = find_improve(open_site(site, every_year=True), costs, note)
    deliver(answer(found), picture(plot, partial(draw, found)), overwrite=overwrite, as_json=as_json, full=full)
