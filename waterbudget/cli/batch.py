"""waterbudget batch."""

import sys
from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, full_option, json_option, overwrite_option


@click.command()
@click.argument("sites", type=FILE)
@click.option("--out", type=FILE, required=True, metavar="FILE", help="Write a row a site there: .parquet or .csv.")
@click.option(
    "--template", type=FILE, metavar="SITE", help="Site that the rows change; default: site.toml beside SITES."
)
@click.option("--weather", metavar="GRID", help="Weather by place: netCDF, zarr, or a folder of weather files.")
@click.option("--by", metavar="COLUMN", help="Sum the gardens by this column, too.")
@click.option("--series", type=FILE, metavar="FILE", help="Write sums of every day there: .parquet or .csv.")
@click.option("--sizes", metavar="0,200,350", help="Litres to try of one tank of each site; or FROM:TO:STEPS.")
@click.option("--plot", type=FILE, metavar="FILE", help="Draw the mains water: .png, .svg or .pdf.")
@click.option("--workers", type=click.IntRange(1), metavar="N", help="Processes on this machine; default: its cores.")
@click.option("--scheduler", metavar="tcp://HOST:PORT", help="Run on the workers of a Dask scheduler instead.")
@click.option(
    "--partition", type=click.IntRange(1), default=1000, show_default=True, metavar="ROWS", help="Sites in a go."
)
@overwrite_option
@full_option
@json_option
def batch(
    sites: Path,
    out: Path,
    template: Path | None,
    weather: str | None,
    by: str | None,
    series: Path | None,
    sizes: str | None,
    plot: Path | None,
    workers: int | None,
    scheduler: str | None,
    partition: int,
    *,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """What do very many gardens ask of mains and drain, and how long does the stored rain last at each?

    SITES is a folder of site files, or a CSV file with a row a site: the column name, and columns that change keys of
    the template, such as "tank.Shed butt.capacity_l" (a blank cell leaves the key as it is); weight is how many gardens
    a row stands for. With --sizes the column size_tank names the tank. With --weather a site takes the nearest cell to
    its latitude_deg and longitude_deg, or that of the column cell. A site with a fault becomes a row with its error.

    When stopped, the same command goes on where it was. Needs: pip install 'waterbudget[batch]'

    \b
    Example: waterbudget batch data_demo/sites.csv --out results.parquet
    Example: waterbudget batch data_demo/sites.csv --out sizes.csv --sizes 500,1000,2000 --workers 2
    """  # noqa: D301
    from waterbudget.answers.batch import answer
    from waterbudget.batch.run import open_batch, run_batch
    from waterbudget.errors import WaterbudgetError
    from waterbudget.output import refuse_outputs
    from waterbudget.render.figures.batch import batch as draw

    refuse_outputs(None, plot, overwrite=overwrite)
    asked = open_batch(sites, template=template, sizes=sizes, partition=partition, weather=weather, by=by)
    with click.progressbar(length=len(asked.entries), label="Sites", file=sys.stderr) as bar:
        try:
            done = run_batch(
                asked,
                out,
                workers=workers,
                scheduler=scheduler,
                series=series,
                overwrite=overwrite,
                progress=bar.update,
            )
        except KeyboardInterrupt:
            raise WaterbudgetError(
                "stopped; finished partitions are kept, and the same command goes on from there"
            ) from None
    drawn = picture(plot if done.together else None, partial(draw, done))
    deliver(answer(done), drawn, overwrite=overwrite, as_json=as_json, full=full)
