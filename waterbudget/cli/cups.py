"""waterbudget cups."""

from pathlib import Path

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import FILE, full_option, json_option


@click.command()
@click.argument("site", type=FILE)
@click.argument("zone")
@click.argument("cups_csv", type=FILE)
@click.option("--minutes", type=float, metavar="MIN", help="Minutes that the water ran; default: a run of the zone.")
@click.option("--mouth-cm", type=float, default=7.0, show_default=True, metavar="CM", help="Width of a cup's mouth.")
@click.option("--need-mm", type=float, default=10.0, show_default=True, metavar="MM", help="Depth that the beds need.")
@click.option("--write", is_flag=True, help="Put the beds' shares into the site file; the old one is kept beside it.")
@full_option
@json_option
def cups(
    site: Path,
    zone: str,
    cups_csv: Path,
    minutes: float | None,
    mouth_cm: float,
    need_mm: float,
    *,
    write: bool,
    full: bool,
    as_json: bool,
) -> None:
    """How evenly does a zone water, by cups set out on its beds?

    Set equal cups out evenly, run the ZONE, and write what each caught to CUPS_CSV, with the columns bed,caught_ml.

    \b
    Example: waterbudget cups data_demo/hose/site.toml "North line" data_demo/hose/cups.csv
    """  # noqa: D301
    from waterbudget.answers.cups import answer
    from waterbudget.hose.cups import CupSetting, find_cups

    found = find_cups(site, zone, cups_csv, CupSetting(minutes, mouth_cm, need_mm), every_bed=write)
    deliver(answer(found, copy=found.write() if write else None), as_json=as_json, full=full)
