"""waterbudget new."""

import sys
from functools import partial
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING

import click

from waterbudget.cli.options import FILE, overwrite_option
from waterbudget.cli.say import note, say
from waterbudget.errors import InputError

if TYPE_CHECKING:
    from waterbudget.site.starter import Answers, Question


@click.command()
@click.argument("folder", type=FILE)
@overwrite_option
def new(folder: Path, *, overwrite: bool) -> None:
    """Make FOLDER with a starter site to edit, and weather to replace with your own.

    On a terminal a few questions are asked first, each with a default; Ctrl-C leaves nothing behind.

    \b
    Example: waterbudget new my-garden
    """  # noqa: D301
    from waterbudget.site.starter import QUESTIONS, Answers, refuse_starter, starter_notes, starter_steps, write_starter

    refuse_starter(folder, overwrite=overwrite)
    asked = all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout))  # a closed stream is None
    answers = _ask(QUESTIONS, Answers()) if asked else Answers()
    site = write_starter(folder, answers, overwrite=overwrite)
    for told in starter_notes(site, asked=asked):
        note(told)
    say(starter_steps(site))


def _ask(questions: "tuple[Question, ...]", answers: "Answers") -> "Answers":
    if isinstance(sys.stdin, TextIOWrapper):
        sys.stdin.reconfigure(errors="surrogateescape")  # letters in another encoding are asked again, no failure
    say("A few questions. Enter takes the value in brackets; Ctrl-C leaves everything as it was.")
    for question in questions:
        say(f"\n{question.hint}")
        answers = click.prompt(
            question.ask, default=question.default(answers), value_proc=partial(_answered, question, answers)
        )
    return answers


def _answered(question: "Question", so_far: "Answers", words: str) -> "Answers":
    try:
        return question.answered(words, so_far)
    except InputError as error:
        raise click.UsageError(str(error)) from error
