"""The questions in Python: each `find_*` gives a Reply, the finding together with its answer in words."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from waterbudget.blocks import Answer, Picture
from waterbudget.render.text import text, window

if TYPE_CHECKING:
    import datetime as dt

    import pandas as pd

    from waterbudget.batch.run import Done
    from waterbudget.change.improve import Costs
    from waterbudget.change.now import Now
    from waterbudget.change.search import Improvement
    from waterbudget.change.variants import Comparison
    from waterbudget.hose.line import LineFinding
    from waterbudget.journal.fit import Fit
    from waterbudget.odds.study import OddsFinding
    from waterbudget.odds.summers import Wanted
    from waterbudget.plan.minutes import Minutes
    from waterbudget.render.figures.panels import Given, Panels
    from waterbudget.review.check import CheckFinding
    from waterbudget.review.size import Question, SizeFinding
    from waterbudget.simulate.opened import Opened
    from waterbudget.simulate.result import Result
    from waterbudget.sizing.offers import Offer
    from waterbudget.sizing.sizes import Sweep
    from waterbudget.spell.hot import Spell
    from waterbudget.spell.study import Study

FindingT = TypeVar("FindingT")


@dataclass(frozen=True, eq=False, repr=False)
class Reply(Generic[FindingT]):
    """A finding with its answer: it prints as the screen of its command.

    finding: numbers and names. answer: the same in words. draw: its picture in axes of one's own, or in new ones.
    """

    finding: FindingT
    answer: Answer
    draw: "Callable[[Given], Panels] | None" = field(default=None)

    def __str__(self) -> str:
        """All of the screen, as wide as the window."""
        return text(self.answer, window())

    def __repr__(self) -> str:
        """The question and the beginning of its verdict."""
        return f"<{self.answer.question}: {self.answer.verdict[0]}>"

    def _repr_html_(self) -> str:
        """All of it for a notebook, with its picture."""
        from waterbudget.render.html import SVG, section

        names = [block.name for block in self.answer.blocks if isinstance(block, Picture)]
        return section(self.answer, dict.fromkeys(names, partial(self.picture, SVG)) if self.draw else {})

    @property
    def facts(self) -> Mapping[str, Any]:
        """What the finding says, as plain values under the names of the register."""
        return self.answer.facts

    @cached_property
    def tables(self) -> "dict[str, pd.DataFrame]":
        """Every table of the answer as a frame of unrounded numbers, by its title; columns named as in the register."""
        import pandas as pd

        return {
            table.title: pd.DataFrame(
                [row for row in table.rows if len(row) == len(table.columns)],
                columns=[column.quantity for column in table.columns],
            )
            for table in self.answer.tables
        }

    def to_frame(self) -> "pd.DataFrame":
        """The main table, unrounded. Raises LookupError where the answer has none."""
        if not self.tables:
            raise LookupError(f"{self.answer.question} has no table")
        return next(iter(self.tables.values()))

    def plot(self, ax: "Given" = None) -> "Panels":
        """Its picture; ax: axes to draw in. Raises LookupError where there is none, InputError for too few axes."""
        if self.draw is None:
            raise LookupError(f"{self.answer.question} has no picture")
        return self.draw(ax)

    def picture(self, suffix: str) -> bytes:
        """Its picture as the content of a .png, .svg or .pdf file."""
        from waterbudget.render.figures.panels import figure_bytes

        return figure_bytes(self.plot()[0].figure, suffix)


def find_run(
    garden: "str | Path | Opened",
    first: "dt.date | None" = None,
    last: "dt.date | None" = None,
    *,
    start_l: Mapping[str, float] | None = None,
) -> "Reply[Result]":
    """How long the stored rain lasts, and when mains water is needed and how much.

    garden: a site file, or one that was opened. first, last: the days to run, by default all. start_l: litres in a
    store on the first day, by its name, instead of the site's. Raises InputError where a store is unknown or cannot
    hold its start, WeatherError where the weather does not reach.
    """
    from dataclasses import replace

    from waterbudget.answers.run import answer
    from waterbudget.render.figures.level import level as draw
    from waterbudget.review.doubt import find_doubt
    from waterbudget.simulate.opened import Opened, open_site
    from waterbudget.simulate.run import run

    if isinstance(garden, Opened):
        opened = replace(garden, weather=garden.weather.between(first, last))
    else:
        opened = open_site(garden, first, last)
    found = run(opened.site, opened.weather, start_l=start_l)
    doubt = find_doubt(opened.site, opened.weather, start_l, found.summary)
    return Reply(found, answer(found, opened.notes, doubt), partial(draw, found))


def find_check(garden: "str | Path | Opened") -> "Reply[CheckFinding]":
    """What looks odd in a garden, and what is most worth measuring better.

    garden: a site file, or one that was opened.
    """
    from waterbudget.answers.check import answer
    from waterbudget.review.check import find_check as find
    from waterbudget.simulate.opened import Opened, open_site

    found = find(garden if isinstance(garden, Opened) else open_site(garden))
    return Reply(found, answer(found))


def find_fit(path: str | Path | None = None) -> "Reply[Fit]":
    """Which numbers of a garden bring its modelled levels nearest to those in the journal beside its site file.

    path: the site file, by default site.toml of this folder. Raises InputError where the levels are too few, or it
    never rained between them.
    """
    from waterbudget.answers.fit import answer
    from waterbudget.journal.fit import find_fit as find
    from waterbudget.render.figures.fit import fit as draw

    found = find(path)
    return Reply(found, answer(found), partial(draw, found))


def find_hotspell(
    garden: "str | Path | Opened", spell: "Spell | None" = None, start_l: Mapping[str, float] | None = None
) -> "Reply[Study]":
    """Whether the present plan lasts through a dry hot spell, what goes thirsty first, and which plans do last.

    garden: a site file, or one that was opened. spell: by default three weeks of midsummer. start_l: litres in a store
    on its first day, by its name, instead of what the weather leaves. Raises InputError where the weather does not
    reach its first day or a store cannot hold its start.
    """
    from waterbudget.answers.hotspell import answer
    from waterbudget.render.figures.hotspell import hotspell as draw
    from waterbudget.review.spell_doubt import find_spell_doubt
    from waterbudget.spell.hot import Spell
    from waterbudget.spell.study import study

    garden = opened(garden)
    found = study(garden.site, garden.weather, spell or Spell(), start_l)
    return Reply(found, answer(found, garden.notes, find_spell_doubt(found)), partial(draw, found))


def find_line(
    garden: "str | Path | Opened", zone: str | None = None, level_l: float | None = None
) -> "Reply[LineFinding]":
    """What a zone's watering line gives with so many litres in its store, by default those of the first day.

    garden: a site file, or one that was opened. zone: can be left out where only one has a line. Raises InputError
    where no zone or no level is meant, SiteError where its line gives nothing.
    """
    from waterbudget.answers.line import answer
    from waterbudget.hose.line import find_line as find
    from waterbudget.render.figures.line import line as draw

    found = find(opened(garden), zone, level_l)
    return Reply(found, answer(found), partial(draw, found))


def find_odds(
    garden: "str | Path | Opened",
    wanted: "Wanted | None" = None,
    start_l: Mapping[str, float] | None = None,
    *,
    keep_levels: bool = True,
    with_rules: bool = False,
) -> "Reply[OddsFinding]":
    """In how many summers the stored rain runs short, how long it lasts, and the mains water that bad summers take.

    garden: a site file, or one that was opened with every year. wanted: which summers, by default all that were
    recorded. start_l: litres in a store on their first day, by its name, instead of the site's. keep_levels: for the
    picture, which cannot be drawn without. with_rules: try simple watering rules too, which takes a while. Raises
    InputError for what the user can mend, WeatherError where fewer than two summers are complete.
    """
    from waterbudget.answers.odds import answer
    from waterbudget.odds.study import find_odds as find
    from waterbudget.render.figures.odds import odds as draw
    from waterbudget.review.odds_doubt import find_odds_doubt

    found = find(opened(garden), wanted, start_l, keep_levels=keep_levels, with_rules=with_rules)
    told = answer(found, find_odds_doubt(found))
    return Reply(found, told, partial(draw, found) if keep_levels else None)


def find_compare(
    path: str | Path,
    withs: Sequence[str] = (),
    others: Sequence[str | Path] = (),
    first: "dt.date | None" = None,
    last: "dt.date | None" = None,
) -> "Reply[Comparison]":
    """Which plan is better: the present one, changes of it, or other site files, all on the weather of the first.

    path: of the present plan. withs: changes such as "zone.North line.minutes=3", with semicolons several in one.
    others: further site files. first, last: the days to run, by default all. Raises InputError with every fault of
    what is asked for.
    """
    from waterbudget.answers.compare import answer
    from waterbudget.change.variants import find_compare as find
    from waterbudget.render.figures.compare import compare as draw

    found = find([Path(path), *map(Path, others)], withs, first, last)
    return Reply(found, answer(found), partial(draw, found))


def find_improve(garden: "str | Path | Opened", costs: "Costs | None" = None) -> "Reply[Improvement]":
    """What would save most mains water, time and money: every measure tried, what is free first.

    garden: a site file, or one that was opened. costs: what measures and mains water cost, by default as the site says.
    Raises InputError for what can be mended.
    """
    from waterbudget.answers.improve import answer
    from waterbudget.change.improve import find_improve as find
    from waterbudget.render.figures.improve import improve as draw

    found = find(opened(garden), costs)
    return Reply(found, answer(found), partial(draw, found))


def find_today(
    path: str | Path | None = None,
    on: "dt.date | None" = None,
    forecast: str | Path | None = None,
    *,
    network: bool = True,
) -> "Reply[Now]":
    """What to water in a garden today, how long its stores last, and how its beds stand.

    path: the site file, by default site.toml of this folder, else the built-in example. on: another day, by default
    the real one. forecast: a file of the days ahead. network: whether a station may be asked for them. Raises
    InputError for what can be mended.
    """
    from waterbudget.answers.today import answer
    from waterbudget.change.doubt import find_doubt
    from waterbudget.change.today import Ask
    from waterbudget.change.today import find_today as find
    from waterbudget.render.figures.today import today as draw

    asked = Ask(on, None if forecast is None else Path(forecast), network=network)
    found = find(None if path is None else Path(path), asked)
    return Reply(found, answer(found, find_doubt(found)), partial(draw, found))


def find_minutes(garden: "str | Path | Opened", bed: str | None = None) -> "Reply[Minutes]":
    """How many minutes, how often and in how many pulses each zone is to run, month by month.

    garden: a site file, or one that was opened. bed: for one alone, as if it had a valve of its own. Raises InputError
    where there is no such bed, SiteError where no zone waters anything that grows.
    """
    from waterbudget.answers.minutes import answer
    from waterbudget.plan.minutes import find_minutes as find
    from waterbudget.render.figures.minutes import minutes as draw

    found = find(opened(garden), bed)
    return Reply(found, answer(found), partial(draw, found))


def find_size(
    garden: "str | Path | Opened",
    sweep: "Sweep | None" = None,
    question: "Question | None" = None,
    offers: "list[Offer] | None" = None,
) -> "Reply[SizeFinding]":
    """What size of store is enough, where more litres stop helping, and what to buy.

    garden: a site file, or one that was opened with every year. sweep: the sizes to try. question: of which store, and
    what else is asked. offers: what is for sale, by default what the file that the question names holds. Raises
    InputError for what the user can mend.
    """
    from waterbudget.answers.size import answer
    from waterbudget.render.figures.sizes import sizes as draw
    from waterbudget.review.size import find_size as find

    found = find(opened(garden), sweep, question, offers)
    return Reply(found, answer(found), partial(draw, found))


def find_batch(
    sites: str | Path,
    out: str | Path,
    *,
    template: str | Path | None = None,
    sizes: str | None = None,
    weather: str | None = None,
    by: str | None = None,
    series: str | Path | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    overwrite: bool = False,
) -> "Reply[Done]":
    """What very many gardens ask of mains and drain, with their stores and without; a row a site is written to a file.

    sites: a CSV file of sites or a folder of site files. out: .parquet or .csv. template: site file that the rows
    change. sizes: litres of one tank to be tried, such as "0,200,350". weather: a netCDF file, a zarr store or a folder
    of weather files. by: a column of groups. series: file of the sums of every day. workers: processes on this machine;
    scheduler: address of a Dask scheduler in their place. Raises InputError for what the user can mend,
    WaterbudgetError where workers or scheduler fail.
    """
    from waterbudget.answers.batch import answer
    from waterbudget.batch.run import open_batch, run_batch
    from waterbudget.render.figures.batch import batch as draw

    asked = open_batch(
        Path(sites), template=None if template is None else Path(template), sizes=sizes, weather=weather, by=by
    )
    found = run_batch(
        asked,
        Path(out),
        workers=workers,
        scheduler=scheduler,
        series=None if series is None else Path(series),
        overwrite=overwrite,
    )
    return Reply(found, answer(found), partial(draw, found) if found.together else None)


def opened(garden: "str | Path | Opened") -> "Opened":
    """A garden as it was opened, with every year of weather that there is; a path is opened."""
    from waterbudget.simulate.opened import Opened, open_site

    return garden if isinstance(garden, Opened) else open_site(garden, every_year=True)
