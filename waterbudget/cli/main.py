"""The command group: which commands there are, and how faults are told."""

import sys
from io import TextIOWrapper
from typing import Any

import click

from waterbudget.cli.batch import batch
from waterbudget.cli.bucket import bucket
from waterbudget.cli.check import check
from waterbudget.cli.compare import compare
from waterbudget.cli.cups import cups
from waterbudget.cli.fit import fit
from waterbudget.cli.hotspell import hotspell
from waterbudget.cli.improve import improve
from waterbudget.cli.line import line
from waterbudget.cli.log import log
from waterbudget.cli.new import new
from waterbudget.cli.odds import odds
from waterbudget.cli.report import report
from waterbudget.cli.run import run
from waterbudget.cli.size import size
from waterbudget.cli.tables import crops, roofs, soils
from waterbudget.cli.today import today
from waterbudget.cli.weather import weather
from waterbudget.errors import InputError, WaterbudgetError

WRONG_INPUT, OUR_FAILURE = 2, 1


class Commands(click.Group):
    """A group that tells every known failure in lines of its own, without a traceback."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401
        """Run a command; wrong input ends with exit code 2, our own failure with 1."""
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, TextIOWrapper):
                stream.reconfigure(errors="replace")  # a terminal that knows no ² still shows the verdict
        try:
            return super().invoke(ctx)
        except WaterbudgetError as error:
            click.echo(str(error), err=True)
            ctx.exit(WRONG_INPUT if isinstance(error, InputError) else OUR_FAILURE)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="waterbudget")
def main() -> None:
    """How many days stored rainwater lasts a garden, when mains top-up is needed and how much.

    Start with: waterbudget run (shows a built-in example), then waterbudget new my-garden.
    """


for command in (
    run,
    report,
    check,
    new,
    weather,
    odds,
    size,
    hotspell,
    compare,
    improve,
    today,
    log,
    fit,
    line,
    bucket,
    cups,
    batch,
    crops,
    soils,
    roofs,
):
    main.add_command(command)
