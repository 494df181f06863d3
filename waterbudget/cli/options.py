"""Options that several commands share."""

import datetime as dt
import math
from pathlib import Path

import click

from waterbudget.errors import shown

FILE = click.Path(path_type=Path)


class Date(click.ParamType[dt.date]):
    """A date as YYYY-MM-DD."""

    name = "date"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> dt.date:
        """The date, or a usage error that shows the right form."""
        if isinstance(value, dt.date):
            return value
        try:
            return dt.datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007
        except ValueError:
            self.fail(f"{shown(value)} is no date; write YYYY-MM-DD, such as 2031-05-01", param, ctx)


class Millimetres(click.ParamType[float]):
    """Rain in millimetres, with a point or a comma, with or without its unit."""

    name = "mm"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number, or a usage error that shows the right form."""
        if isinstance(value, float):
            return value
        words = str(value).strip().lower().removesuffix("mm").rstrip().replace(",", ".")
        try:
            return float(words)
        except ValueError:
            self.fail(f"{shown(value)} is no rain; write millimetres, such as 6.5", param, ctx)


class TankLitres(click.ParamType[tuple[str, float]]):
    """A tank's name and litres, as NAME=LITRES."""

    name = "tank=litres"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, float]:
        """The name and the litres, or a usage error that shows the right form."""
        if isinstance(value, tuple):
            return value
        tank, equals, litres = str(value).rpartition("=")
        try:
            number = float(litres)
        except ValueError:
            number = math.nan
        if not (equals and tank.strip() and math.isfinite(number)):
            self.fail(f'{shown(value)} is no level; write TANK=LITRES, such as "Shed butt=150"', param, ctx)
        return tank.strip(), number


site_argument = click.argument("site", required=False, type=FILE)
first_option = click.option("--from", "first", type=Date(), help="First day; default: the weather's first.")
last_option = click.option("--to", "last", type=Date(), help="Last day; default: the weather's last.")
start_option = click.option(
    "--start-l", "start_l", type=TankLitres(), multiple=True, metavar="TANK=LITRES", help="Litres in a tank on day one."
)
overwrite_option = click.option("--overwrite", is_flag=True, help="Replace files that are there already.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON for machines.")
full_option = click.option("--full", is_flag=True, help="Show all: details, what is assumed, cautions.")
