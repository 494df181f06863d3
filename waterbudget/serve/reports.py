"""Longer questions as pages: the answers of screen and report, made in a process of their own, as they take seconds."""

from functools import partial
from pathlib import Path

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.blocks import Answer
from waterbudget.errors import WaterbudgetError
from waterbudget.render.html import section
from waterbudget.serve.house import House, house_of
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common
from waterbudget.simulate.opened import open_site

TITLES = {
    "improve": "What to change",
    "minutes": "Minutes, month by month",
    "hotspell": "A hot spell",
    "odds": "Odds of a dry summer",
    "size": "Sizes",
    "sunday": "Stick and reckoning",
}


def report(kind: str, path: Path) -> str:
    """The answer to a question as HTML without its pictures. Raises InputError for what the user can mend."""
    return section(_answer(kind, path), {})


def _answer(kind: str, path: Path) -> Answer:
    if kind == "sunday":
        from waterbudget.answers.fit import answer as of_fit
        from waterbudget.journal.fit import find_fit

        return of_fit(find_fit(path))
    garden = open_site(path, every_year=kind in {"odds", "size"})
    if kind == "improve":
        from waterbudget.answers.improve import answer as of_improve
        from waterbudget.change.improve import find_improve

        return of_improve(find_improve(garden, None))
    if kind == "minutes":
        from waterbudget.answers.minutes import answer as of_minutes
        from waterbudget.plan.minutes import find_minutes

        return of_minutes(find_minutes(garden, None))
    if kind == "hotspell":
        from waterbudget.answers.hotspell import answer as of_hotspell
        from waterbudget.review.spell_doubt import find_spell_doubt
        from waterbudget.spell.hot import Spell
        from waterbudget.spell.study import study

        studied = study(garden.site, garden.weather, Spell(), None)
        return of_hotspell(studied, garden.notes, find_spell_doubt(studied))
    if kind == "odds":
        from waterbudget.answers.odds import answer as of_odds
        from waterbudget.odds.study import find_odds
        from waterbudget.review.odds_doubt import find_odds_doubt

        odds = find_odds(garden, None, None, keep_levels=False, with_rules=False)
        return of_odds(odds, find_odds_doubt(odds))
    from waterbudget.answers.size import answer as of_size
    from waterbudget.review.size import find_size

    return of_size(find_size(garden, None, None, None))


class Reports:
    """The last answer to each question, kept as long as the garden's files stay the same."""

    def __init__(self) -> None:
        """With none yet."""
        self.kept: dict[str, tuple[object, str]] = {}

    async def report(self, house: House, kind: str) -> str:
        """The answer as HTML. Raises InputError for what the user can mend."""
        stamps = await house.reckon(house.shelf.stamps)
        if kind not in self.kept or self.kept[kind][0] != stamps:
            self.kept[kind] = stamps, await house.apart(partial(report, kind, house.shelf.path))
        return self.kept[kind][1]


async def report_page(request: Request) -> Response:
    """A question and its answer."""
    house, kind = house_of(request), request.path_params["kind"]
    if kind not in TITLES:
        raise HTTPException(NOT_FOUND)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    words, faults = "", list[str]()
    try:
        words = await request.app.state.reports.report(house, kind)
    except WaterbudgetError as error:
        faults = str(error).splitlines()
    told = {"words": Markup(words), "faults": faults, "title": TITLES[kind]}  # noqa: S704 - escaped by section
    return house.page("report.html.j2", common(garden, f"/report/{kind}") | told, UNPROCESSABLE if faults else 200)


ROUTES = [Route("/report/{kind}", report_page)]
