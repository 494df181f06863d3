"""waterbudget new."""

import textwrap
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from waterbudget.cli.ask import ENTER, ask_part, is_terminal, prompt
from waterbudget.cli.options import FILE, overwrite_option
from waterbudget.cli.say import note, say
from waterbudget.errors import InputError

if TYPE_CHECKING:
    from waterbudget.site.starter import Answers, Further, Question

RIGHT = "yes"
FURTHER = "another {}"
WITHOUT = "without {}"
CHANGE = (
    "Enter if it is right. Else write what to change, such as soil, or add to it: another store, another roof, "
    "another zone (a watering line), another bed, another hens."
)


@dataclass(frozen=True)
class Draft:
    """A garden as it was told so far."""

    answers: "Answers"
    further: "tuple[Further, ...]" = ()


@click.command()
@click.argument("folder", type=FILE)
@click.option("--from", "source", type=FILE, metavar="FILE", help="A TOML file with the answers, in place of asking.")
@overwrite_option
def new(folder: Path, source: Path | None, *, overwrite: bool) -> None:
    """Make FOLDER with a starter site to edit, and weather to replace with your own.

    On a terminal a few questions are asked first, each with a default; then the garden is read back to you, to correct
    or to add another store, roof, watering line or bed. Ctrl-C leaves nothing behind.

    \b
    Example: waterbudget new my-garden
    Example: waterbudget new my-garden --from data_demo/answers.toml
    """  # noqa: D301
    from waterbudget.site.starter import Answers, refuse_starter, starter_notes, starter_steps, write_starter

    refuse_starter(folder, overwrite=overwrite)
    asks = source is None and is_terminal()
    draft = _told(source) if source else _asked() if asks else Draft(Answers())
    site = write_starter(folder, draft.answers, draft.further, overwrite=overwrite)
    for said in starter_notes(site, asked=asks or source is not None):
        note(said)
    say(starter_steps(site))


def _told(source: Path) -> Draft:
    from waterbudget.site.add import replies_in
    from waterbudget.site.starter import told

    replies = replies_in(source)
    try:
        return Draft(*told(replies))
    except InputError as error:
        raise InputError(f"{source}: {fault}" for fault in error.faults) from None


def _asked() -> Draft:
    from waterbudget.site.starter import QUESTIONS, Answers

    say(f"A few questions. {ENTER}")
    draft = Draft(Answers())
    for question in QUESTIONS:
        draft = _answer(question, draft)
    while (change := _wanted(draft)) is not None:
        try:
            changed = change(draft)
            _read_back(changed)
        except InputError as error:
            note(f"{error}; left as it was")
        else:
            draft = changed
    return draft


def _answer(question: "Question", draft: Draft) -> Draft:
    answers = draft.answers
    return replace(
        draft,
        answers=prompt(
            question.ask, question.hint, question.default(answers), lambda words: question.answered(words, answers)
        ),
    )


def _read_back(draft: Draft) -> list[str]:
    """The garden in sentences. Raises InputError where it does not hang together."""
    from waterbudget.answers.understood import parts
    from waterbudget.site.read import site_in
    from waterbudget.site.starter import SITE_FILE
    from waterbudget.site.starter import draft as text_of

    return list(parts(site_in(text_of(draft.answers, draft.further), SITE_FILE)))


def _wanted(draft: Draft) -> Callable[[Draft], Draft] | None:
    """What is to be changed once the garden was read back; None where it is right."""
    from waterbudget.render.text import window
    from waterbudget.tables.read import named

    say("\nYour garden:")
    for sentence in _read_back(draft):
        say(textwrap.fill(sentence, window(), initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False))
    changes = _changes(draft)
    wanted = prompt(
        "Is that right",
        textwrap.fill(CHANGE, window()),
        RIGHT,
        lambda words: RIGHT if words in {RIGHT, RIGHT[0]} else named(words, changes, "question"),
    )
    return changes.get(wanted)


def _changes(draft: Draft) -> dict[str, Callable[[Draft], Draft]]:
    """All that can be changed, by what a person would write for it."""
    from waterbudget.site.kinds import PARTS
    from waterbudget.site.starter import QUESTIONS, Further
    from waterbudget.site.starter import draft as text_of

    def another(kind: str, draft: Draft) -> Draft:
        known = ask_part(PARTS[kind], tomllib.loads(text_of(draft.answers, draft.further)))
        return replace(draft, further=(*draft.further, Further(PARTS[kind], known.replies)))

    def without(gone: "Further", draft: Draft) -> Draft:
        return replace(draft, further=tuple(one for one in draft.further if one is not gone))

    return {
        **{question.ask: partial(_answer, question) for question in QUESTIONS},
        **{FURTHER.format(kind): partial(another, kind) for kind in PARTS},
        **{WITHOUT.format(one.replies["name"]): partial(without, one) for one in draft.further},
    }
