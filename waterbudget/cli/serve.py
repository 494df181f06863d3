"""waterbudget serve."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.options import FILE, Date
from waterbudget.cli.say import note, say


@click.command()
@click.argument("site", required=False, type=FILE)
@click.option("--phone", is_flag=True, help="Let phones in the same Wi-Fi in, by a square to scan.")
@click.option("--address", metavar="IP", help="With --phone: this computer's address, where it has several.")
@click.option("--name", "names", multiple=True, help="Another name of this computer, such as garden.local.")
@click.option("--port", type=click.IntRange(0, 65535), help="Default: 8787, or the next that is free.")
@click.option("--on", type=Date(), metavar="DATE", help="A day to take for today.")
@click.option("--no-open", is_flag=True, help="Open no browser here.")
@click.option("--new-key", is_flag=True, help="Make a new key: every phone has to scan the square again.")
def serve(
    site: Path | None,
    address: str | None,
    names: tuple[str, ...],
    port: int | None,
    on: dt.date | None,
    *,
    phone: bool,
    no_open: bool,
    new_key: bool,
) -> None:
    """Open the garden in a browser, here and on phones in the same Wi-Fi, until you press Ctrl+C.

    SITE is a site file, by default site.toml of this folder; where there is none yet, the page helps to set one up.

    \b
    Example: waterbudget serve data_demo/site.toml --on 2031-07-05 --no-open
    """  # noqa: D301
    from waterbudget.serve.start import Wanted, start

    start(site, Wanted(phone, address, names, port, on, opens=not no_open, new_key=new_key), say, note)
