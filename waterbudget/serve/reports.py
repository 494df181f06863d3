"""Longer questions as pages: the answers of screen and report, made in a process of their own, as they take seconds.

A page that is asked for before its answer is there says so, and is replaced when it is.
"""

import asyncio
import hashlib
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.blocks import Picture
from waterbudget.errors import InputError, WaterbudgetError, WeatherError
from waterbudget.render.html import SVG, Placed, section
from waterbudget.render.json import to_json
from waterbudget.serve.house import FOREVER, House, house_of
from waterbudget.serve.once import Once
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common
from waterbudget.serve.shelf import Garden

if TYPE_CHECKING:
    from collections.abc import Callable

    from waterbudget.journal.suggestion import Suggestion
    from waterbudget.questions import Reply
    from waterbudget.render.figures.panels import Given, Panels

PATIENCE_S = 0.25  # of a page, before it says that it is looking
PX_PER_IN = 100
TITLES = {
    "sunday": "Stick and reckoning",
    "improve": "What to change",
    "compare": "Compare plans",
    "minutes": "Minutes, month by month",
    "hotspell": "A hot spell",
    "odds": "Odds of a dry summer",
    "size": "Sizes",
}
OVER_YEARS = {"odds", "size"}
OF_THE_JOURNAL = "sunday"
OWN_PAGES = {OF_THE_JOURNAL, "compare"}
WEATHER, DIP, GARDEN = (
    ("/garden/weather", "Bring in weather"),
    ("/dip", "Dip a store"),
    ("/garden", "To the garden"),
)


@dataclass(frozen=True, eq=False)
class Drawing:
    """A picture that is still to be drawn. digest: what tells it from any other, in every process alike."""

    draw: "Callable[[Given], Panels]"
    digest: str


@dataclass(frozen=True, eq=False)
class Report:
    """An answer as a page holds it, or why there is none.

    html: its words and tables. drawing: None where it has no picture. faults: in the words of a page; way_out: where to
    go then, and what to call that. heading, lines, suggested: of the journal's fit alone.
    """

    html: str = ""
    drawing: Drawing | None = None
    faults: tuple[str, ...] = ()
    way_out: tuple[str, str] = GARDEN
    heading: str = ""
    lines: tuple[str, ...] = ()
    suggested: "tuple[Suggestion, ...]" = ()


# ---- In the process of its own ---------------------------------------------------------------------------------------


def report(kind: str, path: Path) -> Report:
    """The answer to a question, or why there is none."""
    if kind == OF_THE_JOURNAL:
        return answered(kind, lambda: _of_the_journal(path))
    return answered(kind, lambda: laid_out(kind, _asked(kind, path)))


def answered(kind: str, make: "Callable[[], Report]") -> Report:
    """What is made, or why it cannot be."""
    try:
        return make()
    except WaterbudgetError as error:
        faults = error.plain if isinstance(error, InputError) else tuple(str(error).splitlines())
        ways = {"sunday": DIP} | dict.fromkeys(OVER_YEARS, WEATHER)
        way_out = WEATHER if isinstance(error, WeatherError) else ways.get(kind, GARDEN)
        return Report(faults=faults, way_out=way_out)


def _of_the_journal(path: Path) -> Report:
    from waterbudget.answers.suggestion import agreement, each_store
    from waterbudget.journal.suggestion import suggestions
    from waterbudget.questions import find_fit

    reply = find_fit(path)
    return laid_out(
        OF_THE_JOURNAL,
        reply,
        heading=agreement(reply.finding),
        lines=tuple(each_store(reply.finding)),
        suggested=suggestions(reply.finding),
    )


def _asked(kind: str, path: Path) -> "Reply[Any]":
    from waterbudget import questions
    from waterbudget.simulate.opened import Opened, open_site

    asked: dict[str, Callable[[Opened], Reply[Any]]] = {
        "improve": questions.find_improve,
        "minutes": questions.find_minutes,
        "hotspell": questions.find_hotspell,
        "odds": questions.find_odds,
        "size": questions.find_size,
    }
    return asked[kind](open_site(path, every_year=kind in OVER_YEARS))


def laid_out(kind: str, reply: "Reply[Any]", **told: Any) -> Report:  # noqa: ANN401 - fields of Report
    """An answer with a box for its picture, which takes as long to draw as the answer takes to find."""
    answer = reply.answer
    shown = next((block.name for block in answer.blocks if isinstance(block, Picture)), None)
    if reply.draw is None or shown is None:
        return Report(section(answer, {}, without={"paste"}), **told)
    width, height = (round(PX_PER_IN * side) for side in reply.draw(None)[0].figure.get_size_inches())
    drawing = Drawing(reply.draw, hashlib.sha256(to_json(answer).encode()).hexdigest()[:16])
    placed = Placed(f"/picture/{kind}/{drawing.digest}.svg", width, height)
    return Report(section(answer, {shown: placed}, without={"paste"}), drawing, **told)


# ---- Kept, and drawn -------------------------------------------------------------------------------------------------


def draw(drawing: Drawing) -> bytes:
    """The picture of an answer, for the one thread that draws."""
    from waterbudget.render.figures.panels import figure_bytes

    return figure_bytes(drawing.draw(None)[0].figure, SVG)


class Reports:
    """The last answer to each question and its picture, kept as long as the garden's files stay the same."""

    def __init__(self) -> None:
        """With none yet."""
        self.answers: dict[str, Once[Report]] = {kind: Once() for kind in TITLES}
        self.pictures: dict[str, Once[bytes]] = {kind: Once() for kind in TITLES}

    async def begun(
        self, house: House, kind: str, *, of: object = None, make: "Callable[[], Report] | None" = None
    ) -> "asyncio.Future[Report]":
        """The answer to a question about the garden as its files are now, there or on its way.

        of: what it is asked about besides, with what then makes it.
        """
        stamps = await house.reckon(house.shelf.stamps)
        work = make or partial(report, kind, house.shelf.path)
        return self.answers[kind].begun((stamps, of), lambda: house.apart(work))

    async def last(self, kind: str) -> Report | None:
        """The answer that was given last to a question, None where nobody asked."""
        making = self.answers[kind].making
        return None if making is None else await asyncio.shield(making)

    async def picture(self, house: House, kind: str, drawing: Drawing) -> bytes:
        """The picture of an answer as SVG; one that failed is tried again."""
        return await self.pictures[kind].get(drawing.digest, lambda: house.draw(draw, drawing))


async def told(
    request: Request, garden: Garden, kind: str, *, of: object = None, make: "Callable[[], Report] | None" = None
) -> Report | Response:
    """The answer to a question; or the page that says that it is on its way, or where there is no garden to ask about.

    With wait in the address it is waited for. of, make: as `Reports.begun`.
    """
    house = house_of(request)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    answer = await request.app.state.reports.begun(house, kind, of=of, make=make)
    patience = None if "wait" in request.query_params else PATIENCE_S
    done, _ = await asyncio.wait([answer], timeout=patience)
    if not done:
        query = "&".join(filter(None, (request.url.query, "wait=yes")))
        return house.page(
            "looking.html.j2", common(garden, f"/{kind}") | {"title": TITLES[kind], "then": f"/{kind}?{query}"}
        )
    found: Report = answer.result()
    return found


async def report_page(request: Request, kind: str) -> Response:
    """A question and its answer."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    found = await told(request, garden, kind)
    if isinstance(found, Response):
        return found
    return house.page(
        "report.html.j2", common(garden, f"/{kind}") | shown(found, kind), UNPROCESSABLE if found.faults else 200
    )


def shown(found: Report, kind: str) -> dict[str, Any]:
    """What the template takes of an answer."""
    return {
        "kind": kind,
        "title": TITLES[kind],
        "found": found,
        "words": Markup(found.html),  # noqa: S704 - escaped by section
    }


async def report_picture(request: Request) -> Response:
    """The picture of an answer that a page showed."""
    house, kind = house_of(request), request.path_params["kind"]
    if kind not in TITLES:
        raise HTTPException(NOT_FOUND)
    reports = request.app.state.reports
    found = await reports.last(kind)
    if found is None and kind not in OWN_PAGES:  # a page that stayed open while the house was started again
        found = await (await reports.begun(house, kind))
    if found is None or found.drawing is None or request.path_params["digest"] != found.drawing.digest:
        raise HTTPException(NOT_FOUND)
    drawn = await reports.picture(house, kind, found.drawing)
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": FOREVER})


ROUTES = [
    *(Route(f"/{kind}", partial(report_page, kind=kind)) for kind in TITLES if kind not in OWN_PAGES),
    Route("/picture/{kind}/{digest}.svg", report_picture),
]
