"""Ask questions on a terminal, each again until its answer can be read."""

import sys
from collections.abc import Callable
from functools import partial
from io import TextIOWrapper
from typing import TYPE_CHECKING, TypeVar

import click

from waterbudget.cli.say import say
from waterbudget.errors import InputError

if TYPE_CHECKING:
    from waterbudget.site.links import Raw
    from waterbudget.site.parts import Known, Part

T = TypeVar("T")
ENTER = "Enter takes the value in brackets; Ctrl-C leaves everything as it was."


def is_terminal() -> bool:
    """Whether somebody can be asked."""
    return all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout))  # a closed stream is None


def prompt(ask: str, hint: str, default: str, read: Callable[[str], T]) -> T:
    """Ask until the words can be read. An empty default has to be told."""
    if isinstance(sys.stdin, TextIOWrapper):
        sys.stdin.reconfigure(errors="surrogateescape")  # letters in another encoding are asked again, no failure
    say(f"\n{hint}")
    answer: T = click.prompt(ask, default=default or None, value_proc=partial(_read, read))
    return answer


def ask_part(part: "Part", garden: "Raw") -> "Known":
    """Ask all that is to be known of a part."""
    from waterbudget.site.parts import Known

    say(ENTER)
    known = Known(garden, {})
    for question in part.questions:

        def answered(words: str, ask: "Callable[[str, Known], Known]" = question.answered, now: Known = known) -> Known:
            return ask(words, now)

        known = prompt(question.ask, question.hint, question.suggest(known), answered)
    return known


def _read(read: Callable[[str], T], words: str) -> T:
    try:
        return read(words)
    except InputError as error:
        raise click.UsageError(str(error)) from error
