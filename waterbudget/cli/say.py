"""The one way to a terminal: results to stdout, notes and faults to stderr, with no letter that a terminal obeys."""

import os
import re
import sys
from typing import TextIO

import click

from waterbudget.errors import LONGEST_FAULT, SHOWN_LETTERS, OutputError, cut, visible

LAYOUT = "\n\t"
PIECES = re.compile(r"'[^']*'|\"[^\"]*\"|\([^()]*\)|\S+")  # what may be a value in a message that click makes


def say(text: str) -> None:
    """A result. Raises OutputError where it cannot be written, as on a full disk."""
    try:
        click.echo(visible(text, LAYOUT))
    except BrokenPipeError:  # whoever read it has seen enough: click ends quietly
        raise
    except OSError as error:
        raise unwritten(error) from error


def note(text: str) -> None:
    """A note or a fault, to people; where it cannot be written there is nobody to tell."""
    try:
        click.echo(visible(text, LAYOUT), err=True)
    except OSError:
        _let_go(sys.stderr)


def unwritten(error: OSError) -> OutputError:
    """What to say of output that cannot be written; what is left of it is dropped."""
    _let_go(sys.stdout)
    return OutputError(f"the output cannot be written: {error.strerror}; make room, or send it elsewhere")


def mended(error: click.ClickException) -> click.ClickException:
    """A fault that click found, its letters visible and the values in it cut."""

    def piece(match: re.Match[str]) -> str:
        text = match[0]
        return text if len(text) <= SHOWN_LETTERS + len('""') else f"{text[:SHOWN_LETTERS]}…{text[-1]}"

    message = cut(PIECES.sub(piece, visible(error.format_message())), LONGEST_FAULT)
    return (
        click.UsageError(message, error.ctx) if isinstance(error, click.UsageError) else click.ClickException(message)
    )


def _let_go(stream: TextIO) -> None:
    """Send the rest of a stream to nowhere, else Python fails once more on it when it ends."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):  # no file of the system's
        return
