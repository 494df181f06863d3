"""waterbudget bucket."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import FILE, json_option

if TYPE_CHECKING:
    from waterbudget.line.fieldtest import PumpFigure


@click.command()
@click.argument("site", type=FILE)
@click.argument("zone")
@click.option("--litres", type=float, required=True, metavar="L", help="Litres in the bucket at its mark.")
@click.option("--seconds", type=float, required=True, metavar="S", help="Seconds until it was full.")
@click.option("--jets", type=int, metavar="N", help="Only the first N jets from the tee were open; default: all.")
@click.option("--level-l", type=float, metavar="LITRES", help="Litres in the store; default: those of the first day.")
@click.option("--mark-l", type=float, default=0.2, show_default=True, metavar="L", help="Error of the mark.")
@click.option("--stopwatch-s", type=float, default=1.0, show_default=True, metavar="S", help="Error of the watch.")
@click.option(
    "--also",
    metavar="JETS,SECONDS",
    help="A second bucket, with other jets open, tells the pump, too: 12jets,95s; of other litres 12jets,95s,5L.",
)
@click.option(
    "--find",
    type=click.Choice(["greatest_l_h", "shutoff_m"]),
    help="With --also: which figure of the pump to find; the other is believed. Default: greatest_l_h.",
)
@click.option("--write", is_flag=True, help="Put the result into the site file; the old one is kept beside it.")
@json_option
def bucket(
    site: Path,
    zone: str,
    litres: float,
    seconds: float,
    jets: int | None,
    level_l: float | None,
    mark_l: float,
    stopwatch_s: float,
    also: str | None,
    find: "PumpFigure | None",
    *,
    write: bool,
    as_json: bool,
) -> None:
    """What flows, by bucket and watch, and which jets explain it?

    Lead all the water of the ZONE into a bucket and time it. SITE is the site file. Time a second bucket with the far
    jets shut, and the two tell what the pump gives, too.

    \b
    Example: waterbudget bucket data_demo/hose/site.toml "North line" --litres 10 --seconds 120
    Example: waterbudget bucket data_demo/hose/site.toml "North line" --litres 10 --seconds 138 --also 12jets,330s
    """  # noqa: D301
    from waterbudget.answers.bucket import answer
    from waterbudget.hose.bucket import BucketReading, find_bucket

    reading = BucketReading(litres, seconds, mark_l, stopwatch_s, jets, level_l, also, find)
    found = find_bucket(site, zone, reading)
    deliver(answer(found, copy=found.write() if write else None), as_json=as_json)
