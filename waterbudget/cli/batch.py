"""waterbudget batch."""

import sys
from pathlib import Path

import click

from waterbudget.cli.options import FILE, overwrite_option
from waterbudget.cli.say import say


@click.command()
@click.argument("sites", type=FILE)
@click.option("--out", type=FILE, required=True, metavar="FILE.parquet", help="Write a row a site there.")
@click.option(
    "--template", type=FILE, metavar="SITE", help="Site that the rows change; default: site.toml beside SITES."
)
@click.option("--sizes", metavar="FROM:TO:STEPS", help="Capacities in litres to try of one tank of each site.")
@click.option("--workers", type=click.IntRange(1), metavar="N", help="Processes on this machine; default: its cores.")
@click.option("--scheduler", metavar="tcp://HOST:PORT", help="Run on the workers of a Dask scheduler instead.")
@click.option(
    "--partition", type=click.IntRange(1), default=250, show_default=True, metavar="ROWS", help="Sites in a go."
)
@overwrite_option
def batch(
    sites: Path,
    out: Path,
    template: Path | None,
    sizes: str | None,
    workers: int | None,
    scheduler: str | None,
    partition: int,
    *,
    overwrite: bool,
) -> None:
    """How long does the stored rain last at very many sites?

    SITES is a folder of site files, or a CSV file with a row a site: the column name, and columns that change keys of
    the template, such as "tank.Shed butt.capacity_l" (a blank cell leaves the key as it is). With --sizes the column
    size_tank names the tank. A site with a fault becomes a row with its error.

    When stopped, the same command goes on where it was. Needs: pip install 'waterbudget[batch]'

    \b
    Example: waterbudget batch data_demo/sites.csv --out results.parquet
    Example: waterbudget batch data_demo/sites.csv --out sizes.parquet --sizes 500:5000:10 --workers 2
    """  # noqa: D301
    from waterbudget.batch.run import open_batch
    from waterbudget.report.batch import answer_batch

    asked = open_batch(sites, template=template, sizes=sizes, partition=partition)
    with click.progressbar(length=len(asked.entries), label="Sites", file=sys.stderr) as bar:
        text = answer_batch(asked, out, workers=workers, scheduler=scheduler, overwrite=overwrite, progress=bar.update)
    say(text)
