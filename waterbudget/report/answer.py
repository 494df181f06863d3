"""What the commands do: open a site, ask the model, answer in words, and write what was asked for."""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from waterbudget.output import refuse_outputs, write_files
from waterbudget.report.check import check_screen
from waterbudget.report.text import run_screen
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run


class Answer(NamedTuple):
    """text is the result; notes are for people and go elsewhere."""

    text: str
    notes: tuple[str, ...]


def answer_run(
    path: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    start_l: Mapping[str, float],
    out: Path | None,
    plot: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
) -> Answer:
    """Run a site; out: folder for the daily tables; plot: picture file.

    Raises InputError for what the user can mend.
    """
    refuse_outputs(None, plot, overwrite=overwrite)
    opened = open_site(path, first, last)
    result = run(opened.site, opened.weather, start_l=start_l)
    contents = result.contents(out) if out is not None else {}
    if plot is not None:
        from waterbudget.report.figures import level_picture

        contents[plot] = level_picture(result, plot.suffix)
    write_files(contents, overwrite=overwrite)
    notes = (*opened.notes, *(f"Written: {path}" for path in contents))
    return Answer(result.to_json() if as_json else run_screen(result), notes)


def answer_check(path: Path | None) -> Answer:
    """Read a site and its weather and say what was understood, assumed and odd."""
    opened = open_site(path)
    return Answer(check_screen(opened), opened.notes)
