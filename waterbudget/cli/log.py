"""waterbudget log."""

import datetime as dt
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import Date, Millimetres


@click.command()
@click.argument("words", nargs=-1, metavar="[SITE] [WORDS]...")
@click.option("--tank", "levels", multiple=True, metavar="TANK=LEVEL", help="Depth on a dip stick (38cm), or 420L.")
@click.option(
    "--gauge", "gauge_mm", type=Millimetres(), metavar="MM", help="The rain in the gauge, before you empty it."
)
@click.option("--ran", multiple=True, metavar="ZONE=MINUTES", help="Minutes a valve or hose was open; 0: kept shut.")
@click.option("--mains", multiple=True, metavar="[TANK=]LITRES", help="Mains water let into a store, by its meter.")
@click.option("--on", "day", type=Date(), metavar="DATE", help="The day it was; default: today.")
@click.option("--note", default="", metavar="TEXT", help="A remark beside it.")
@click.option("--show", is_flag=True, help="Show the journal, newest last.")
@click.option("--undo", is_flag=True, help="Take back the last line by another line; none is ever deleted.")
@click.option("--line", "number", type=int, metavar="N", help="With --undo: which line; --show numbers them.")
@click.option("--json", "as_json", is_flag=True, help="Print the lines as JSON for machines.")
def log(
    words: tuple[str, ...],
    levels: tuple[str, ...],
    gauge_mm: float | None,
    ran: tuple[str, ...],
    mains: tuple[str, ...],
    day: dt.date | None,
    note: str,
    number: int | None,
    *,
    show: bool,
    undo: bool,
    as_json: bool,
) -> None:
    """Write down what was seen in the garden: levels, rain, watering and mains water.

    SITE is a site file; without it site.toml of this folder is taken. The journal is journal.csv beside it. WORDS are
    the evening in one line, in any order: a store and its level, rain and millimetres, a zone and minutes, mains and
    litres; any beginning of a name that no other has will do. A level counts as that of the evening, after the day's
    rain and watering. Without any of it, it says what to log.

    \b
    Example: waterbudget log data_demo/site.toml butt 210L rain 6.5 north 10
    Example: waterbudget log data_demo/site.toml --tank "Shed butt=210L" --gauge 6.5 --ran "North line=10"
    Example: waterbudget log data_demo/journal/site.toml --show
    """  # noqa: D301
    from waterbudget.answers.log import answer
    from waterbudget.journal.entries import LogRequest
    from waterbudget.journal.log import LogOptions, find_log

    site, said = _parted(words)
    request = LogRequest(levels, gauge_mm, ran, mains, day, note)
    found = find_log(site, request, LogOptions(show=show, undo=undo, number=number), said)
    deliver(answer(found), as_json=as_json)


def _parted(words: tuple[str, ...]) -> tuple[Path | None, tuple[str, ...]]:
    """The site file, where the first word is one, and what was said."""
    if words and (words[0].endswith(".toml") or "/" in words[0] or Path(words[0]).is_file()):
        return Path(words[0]), words[1:]
    return None, words
