"""Deliver an answer: write the files that go with it, tell its notes, and show it."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from waterbudget.cli.say import note, say
from waterbudget.output import write_files

if TYPE_CHECKING:
    from waterbudget.blocks import Answer
    from waterbudget.render.figures.panels import Panels


def deliver(
    answer: "Answer",
    contents: Mapping[Path, bytes] | None = None,
    *,
    overwrite: bool = False,
    as_json: bool = False,
    full: bool = False,
) -> None:
    """Write files, tell the notes to people, and the answer to whoever reads the output.

    Raises OutputError where a file cannot be written; then nothing is shown.
    """
    from waterbudget.render.json import to_json
    from waterbudget.render.text import text, window

    write_files(contents or {}, overwrite=overwrite)
    for told in (*answer.notes, *(f"Written: {path}" for path in contents or {})):
        note(told)
    say(to_json(answer) if as_json else text(answer, window(), full=full))


@contextmanager
def progress_bar(label: str, *, shown: bool) -> Iterator[Callable[[int, int], None]]:
    """A bar for people who wait, beside the results; what it gives is told how many of how many are done."""
    if not shown:
        yield lambda _done, _of: None
        return
    with click.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def told(done: int, of: int) -> None:
            bar.length = of
            bar.update(done - bar.pos)

        yield told


def picture(path: Path | None, draw: "Callable[[], Panels]") -> dict[Path, bytes]:
    """A picture as the content of its file; none where it is not asked for."""
    if path is None:
        return {}
    from waterbudget.render.figures.panels import figure_bytes

    return {path: figure_bytes(draw()[0].figure, path.suffix)}
