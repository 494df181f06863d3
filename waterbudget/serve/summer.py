"""Summer: the run of all the weather that the garden has, in words, tables and its picture."""

import hashlib
from dataclasses import dataclass

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.answers.run import answer
from waterbudget.blocks import Answer, Picture
from waterbudget.errors import InputError, WaterbudgetError
from waterbudget.render.figures.level import level, usual_height_in
from waterbudget.render.figures.panels import WIDTH_IN, figure_bytes
from waterbudget.render.html import section
from waterbudget.serve.house import FOREVER, House, house_of
from waterbudget.serve.once import Once
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, common
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.result import Result
from waterbudget.simulate.run import run

SVG = ".svg"
PX_PER_IN = 100


@dataclass(frozen=True, eq=False)
class Summer:
    """A run and what is told of it. digest: what tells it from any other."""

    result: Result
    answer: Answer
    digest: str


class Summers:
    """The last run, and its picture, which is drawn once however many ask for it at once."""

    def __init__(self) -> None:
        """With nothing yet."""
        self.runs, self.pictures = Once[Summer](), Once[bytes]()

    async def summer(self, house: House) -> Summer:
        """The run of the garden as its files are now. Raises InputError where it cannot be run."""
        stamps = await house.reckon(house.shelf.stamps)
        return await self.runs.get(stamps, lambda: house.reckon(_run, house))

    async def picture(self, house: House, summer: Summer) -> bytes:
        """Its picture as SVG; one that failed is tried again."""
        return await self.pictures.get(summer.digest, lambda: house.draw(_draw, summer.result))


def _run(house: House) -> Summer:
    opened = open_site(house.shelf.path)
    result = run(opened.site, opened.weather)
    digest = hashlib.sha256(repr(opened.site).encode() + opened.weather.digest.encode()).hexdigest()[:16]
    return Summer(result, answer(result, opened.notes), digest)


def _draw(result: Result) -> bytes:
    return figure_bytes(level(result)[0].figure, SVG)


async def summer_page(request: Request) -> Response:
    """The run in words and tables; the picture comes after the page."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None:
        return RedirectResponse("/", SEE_OTHER)
    try:
        summer = await request.app.state.summers.summer(house)
    except WaterbudgetError as error:
        faults = error.plain if isinstance(error, InputError) else tuple(str(error).splitlines())
        told = {"faults": faults, "is_site": False, "is_of_station": False}
        return house.page("no_today.html.j2", common(garden, "/summer") | told)
    words = await house.reckon(section, summer.answer, {})
    (shown,) = (block for block in summer.answer.blocks if isinstance(block, Picture))
    told = {
        "words": Markup(words),  # noqa: S704 - escaped by section
        "alt": shown.words,
        "digest_of_run": summer.digest,
        "width": round(PX_PER_IN * WIDTH_IN),
        "height": round(PX_PER_IN * usual_height_in(len(garden.site.tank))),
    }
    return house.page("summer.html.j2", common(garden, "/summer") | told)


async def summer_picture(request: Request) -> Response:
    """The picture of the run that a page showed."""
    house, summers = house_of(request), request.app.state.summers
    summer = await summers.summer(house)
    if request.path_params["digest"] != summer.digest:
        raise HTTPException(NOT_FOUND)
    drawn = await summers.picture(house, summer)
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": FOREVER})


ROUTES = [Route("/summer", summer_page), Route("/summer/{digest}.svg", summer_picture)]
