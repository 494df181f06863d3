"""The report of a garden: its run as a page, with further questions answered on it."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from waterbudget.answers.english import capital, listed, span
from waterbudget.answers.run import verdict
from waterbudget.answers.unaided import unaided_words
from waterbudget.blocks import Answer, Kind, Picture
from waterbudget.errors import InputError, OutputError, WeatherError, shown
from waterbudget.output import refuse_existing
from waterbudget.plan.unaided import unaided
from waterbudget.questions import (
    Reply,
    find_batch,
    find_compare,
    find_fit,
    find_hotspell,
    find_improve,
    find_line,
    find_minutes,
    find_odds,
    find_size,
    find_today,
)
from waterbudget.render.html import SVG, section
from waterbudget.render.page.page import Part, page
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.run import run, sky_of

ENDINGS = (".html", ".htm")
APART: tuple[Kind, ...] = ("caution",)  # of all sections in one place


@dataclass(frozen=True)
class Asked:
    """A garden of which further questions are asked.

    path: its file as it was named. opened: with every year. start_l: litres on the first day. changes: to compare with.
    sheet: of sites that change its keys.
    """

    path: Path | None
    opened: Opened
    start_l: Mapping[str, float]
    changes: Sequence[str]
    sheet: Path | None


def _lines(asked: Asked) -> list[Reply[Any]]:
    """Every line of a zone that has one."""
    named = [zone.name for zone in asked.opened.site.zone if zone.line]
    return [find_line(asked.opened, name) for name in named] or [find_line(asked.opened)]


def _changes(asked: Asked) -> list[Reply[Any]]:
    """The present plan beside changes of it. Raises InputError where none is named."""
    if not asked.changes:
        raise InputError('compare: name what to change, such as --change "zone.North line.minutes=8"')
    return [find_compare(asked.opened.path, asked.changes)]


def _sheet(asked: Asked) -> list[Reply[Any]]:
    """The gardens of a sheet together; their rows are not kept. Raises InputError where no sheet is named."""
    from waterbudget.answers.batch import answer as of_batch

    if asked.sheet is None:
        raise InputError("batch: name the sheet of sites, such as --sheet sites.csv")
    with TemporaryDirectory() as folder:
        told = find_batch(asked.sheet, Path(folder) / "results.csv", template=asked.opened.path, workers=1)
    return [replace(told, answer=of_batch(told.finding, kept=False))]


FURTHER: dict[str, Callable[[Asked], list[Reply[Any]]]] = {
    "odds": lambda asked: [find_odds(asked.opened, None, asked.start_l)],
    "size": lambda asked: [find_size(asked.opened)],
    "hotspell": lambda asked: [find_hotspell(asked.opened, None, asked.start_l)],
    "minutes": lambda asked: [find_minutes(asked.opened)],
    "improve": lambda asked: [find_improve(asked.opened)],
    "compare": _changes,
    "today": lambda asked: [find_today(asked.path, network=False)],
    "line": _lines,
    "batch": _sheet,
    "fit": lambda asked: [find_fit(asked.path)],
}


def find_report(
    path: Path | None,
    first: dt.date | None = None,
    last: dt.date | None = None,
    start_l: Mapping[str, float] | None = None,
    further: str | None = None,
    changes: Sequence[str] = (),
    sheet: Path | None = None,
) -> tuple[str, Answer]:
    """The page of a garden's run, and what to say of it.

    further: what else to answer, words of FURTHER with commas between them; where the weather holds too little for one
    of them, its section says so. changes: what to compare the present plan with. sheet: of sites for batch, whose
    template the garden is. Raises InputError for what else the user can mend.
    """
    words = further_asked(further)
    if changes and "compare" not in words:
        raise InputError("change: goes with compare; add it to --with")
    if sheet is not None and "batch" not in words:
        raise InputError("sheet: goes with batch; add it to --with")
    opened = open_site(path, first, last)
    result = run(opened.site, opened.weather, start_l=start_l)
    sections, untold = [], []
    asked = Asked(path, open_site(path, every_year=True) if words else opened, start_l or {}, changes, sheet)
    for word in words:
        try:
            sections += [part(reply) for reply in FURTHER[word](asked)]
        except WeatherError as error:
            sections.append(_untold(word, error))
            untold += [f"{word}: not answered: {fault}" for fault in error.faults]
    title = f"{result.site.site.name}, {span(result.summary['start'], result.summary['end'])}"
    told = Answer("report", title, tuple(verdict(result)), (), {}, (*opened.notes, *untold))
    return page(result, (*_best(opened, start_l), *opened.notes), sections), told


def _best(opened: Opened, start_l: Mapping[str, float] | None) -> tuple[str, ...]:
    """What stored rain alone puts at risk, and what nobody could save; nothing where that is not reckoned."""
    site, weather = opened.site, opened.weather
    return tuple(unaided_words(unaided(site, weather.date_column, sky_of(site, weather), start_l)))


def refuse_report(out: Path, *, overwrite: bool) -> None:
    """Raises OutputError where no page may be written to a file of this name."""
    if out.suffix.lower() not in ENDINGS:
        raise OutputError(f"{out}: is no web page's name; end it in {ENDINGS[0]}")
    refuse_existing([out], overwrite=overwrite)


def further_asked(words: str | None) -> list[str]:
    """The further questions in a list of words. Raises InputError for a word that is none of FURTHER."""
    asked = list(dict.fromkeys(word.strip().lower() for word in (words or "").split(",") if word.strip()))
    if unknown := [word for word in asked if word not in FURTHER]:
        told = listed([*map(shown, unknown)])
        raise InputError(f"with: {told} cannot be added; choose from {listed(list(FURTHER))}, with commas between them")
    return asked


def part(reply: Reply[Any]) -> Part:
    """An answer as a part of the page."""
    from markupsafe import Markup

    names = [block.name for block in reply.answer.blocks if isinstance(block, Picture)]
    pictures = dict.fromkeys(names, lambda: reply.picture(SVG)) if reply.draw else {}
    html = Markup(section(reply.answer, pictures, without=APART))  # noqa: S704 - the template has escaped it
    return Part(html, reply.answer.of_kind("caution"))


def _untold(word: str, error: WeatherError) -> Part:
    """In place of an answer, why the weather does not give one."""
    from markupsafe import Markup

    told = Answer(word, f"{capital(word)}: no answer from this weather", error.faults, (), {})
    return Part(Markup(section(told, {})), ())  # noqa: S704 - the template has escaped it
