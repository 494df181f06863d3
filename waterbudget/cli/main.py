"""The command group: which commands there are, and how faults are told."""

import errno
import gc
import os
import sys
from io import TextIOWrapper
from typing import Any

import click
from click.exceptions import NoArgsIsHelpError

from waterbudget.cli.add import add
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
from waterbudget.cli.minutes import minutes
from waterbudget.cli.new import new
from waterbudget.cli.odds import odds
from waterbudget.cli.report import report
from waterbudget.cli.run import run
from waterbudget.cli.say import mended, note, unwritten
from waterbudget.cli.serve import serve
from waterbudget.cli.size import size
from waterbudget.cli.tables import crops, roofs, soils
from waterbudget.cli.today import today
from waterbudget.cli.weather import weather
from waterbudget.errors import InputError, WaterbudgetError

WRONG_INPUT, OUR_FAILURE = 2, 1
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO}
FEW_COLLECTIONS = 100_000  # objects more than are gone, before the collector looks for cycles
LONGEST_HELP = 1000  # letters: a first sentence is wrapped, never cut
PURPOSES: dict[str, tuple[click.Command, ...]] = {  # what a person wants, and what helps to it
    "Start": (new, add, check, weather, crops, soils, roofs),
    "Every day": (today, log, serve),
    "Plan": (run, report, minutes, hotspell, odds, compare, improve),
    "Buy": (size,),
    "Measure": (line, bucket, cups, fit),
    "Many gardens": (batch,),
}


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
            note(str(error))
            ctx.exit(WRONG_INPUT if isinstance(error, InputError) else OUR_FAILURE)
        except NoArgsIsHelpError:
            raise
        except click.ClickException as error:
            raise mended(error) from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 -- as click asks
        """The commands by what a person wants, each with all of its first sentence."""
        column = max(len(name) for name in self.commands)
        for purpose, commands in PURPOSES.items():
            with formatter.section(purpose):
                formatter.write_dl(
                    [
                        ((command.name or "").ljust(column), command.get_short_help_str(LONGEST_HELP))
                        for command in commands
                    ]
                )

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:  # noqa: ANN401
        """As click does, but for the letters in its faults."""
        try:
            return super().make_context(*args, **kwargs)
        except NoArgsIsHelpError:
            raise
        except click.ClickException as error:
            raise mended(error) from None

    def main(self, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401
        """As click does; help that a full disk cannot hold ends like any other output."""
        try:
            return super().main(*args, **kwargs)
        except OSError as error:
            if error.errno not in FULL:
                raise
            note(str(unwritten(error)))
            sys.exit(WRONG_INPUT)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="waterbudget")
def main() -> None:
    """How many days stored rainwater lasts a garden, when mains top-up is needed and how much.

    Start with: waterbudget run (shows a built-in example), then waterbudget new my-garden.
    """
    # Our tables use no plugin, and to look for one in all that is installed takes as long as the tables themselves.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # What is imported and drawn stays, so to look through all of it for cycles again and again is a tenth of a command.
    gc.set_threshold(FEW_COLLECTIONS)


for commands in PURPOSES.values():
    for command in commands:
        main.add_command(command)
