"""Longer questions as pages: the answers of screen and report, made in a process of their own, as they take seconds."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.errors import WaterbudgetError
from waterbudget.questions import Reply, find_fit, find_hotspell, find_improve, find_minutes, find_odds, find_size
from waterbudget.render.html import section
from waterbudget.serve.house import House, house_of
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common
from waterbudget.simulate.opened import Opened, open_site

TITLES = {
    "improve": "What to change",
    "minutes": "Minutes, month by month",
    "hotspell": "A hot spell",
    "odds": "Odds of a dry summer",
    "size": "Sizes",
    "sunday": "Stick and reckoning",
}


OVER_YEARS = {"odds", "size"}
ASKED: dict[str, Callable[[Opened], Reply[Any]]] = {
    "improve": find_improve,
    "minutes": find_minutes,
    "hotspell": find_hotspell,
    "odds": partial(find_odds, keep_levels=False),
    "size": find_size,
}


def report(kind: str, path: Path) -> str:
    """The answer to a question as HTML without its pictures. Raises InputError for what the user can mend."""
    if kind == "sunday":
        return section(find_fit(path).answer, {})
    return section(ASKED[kind](open_site(path, every_year=kind in OVER_YEARS)).answer, {})


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
