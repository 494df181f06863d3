"""Bring a gardener's own table of weather in: show what was understood, ask, and write it."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import click

from waterbudget.cli.ask import is_terminal
from waterbudget.cli.deliver import deliver
from waterbudget.cli.say import note
from waterbudget.errors import InputError


def bring_in(
    site: Path | None,
    table: Path,
    days: tuple[dt.date | None, dt.date | None],
    out: Path | None,
    columns: Sequence[str],
    *,
    day_first: bool | None,
    dry_blanks: bool,
    yes: bool,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Show what a table is taken for, and write it where somebody says yes. Raises InputError where nobody does."""
    from waterbudget.answers.imported import answer, kept_notes
    from waterbudget.rows.dates import DAY_FIRST, MONTH_FIRST
    from waterbudget.simulate.imported import find_import, write_import
    from waterbudget.simulate.opened import own_site
    from waterbudget.weather.table.columns import column_said
    from waterbudget.weather.table.understand import Hints

    order = None if day_first is None else DAY_FIRST if day_first else MONTH_FIRST
    hints = Hints(dict(map(column_said, columns)), order=order, dry_blanks=dry_blanks)
    found = find_import(own_site(site), table, hints, first=days[0], last=days[1], out=out)
    if yes:
        written = write_import(found, overwrite=overwrite)
        deliver(answer(found), as_json=as_json, full=True)
    else:
        deliver(answer(found), as_json=as_json, full=True)
        if not (is_terminal() and click.confirm("Write it?", err=True)):
            raise InputError("Nothing was written. If it is right, add --yes; if not, say what a column is (--columns)")
        written = write_import(found, overwrite=overwrite)
    for told in kept_notes(written, found):
        note(told)
