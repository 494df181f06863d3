"""The application: all pages, and what is said where something goes wrong."""

import asyncio
import traceback
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import Route

from waterbudget.serve import (
    compare,
    crops,
    edit,
    flow,
    garden,
    journal,
    line,
    more,
    reports,
    school,
    summer,
    sunday,
    today,
    weather_file,
    weatherman,
    week,
    what_if,
)
from waterbudget.serve.house import FOREVER, STATIC, House, faulty, house_of, wants_json

NOT_FOUND, FAILED, GONE = 404, 500, 400
SETTLED_S = 5.0  # after the start, when the first pages have been answered
OURS = "That went wrong here, and nothing was written. Try again."


def application(house: House) -> Starlette:
    """All pages of a house."""

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        beside = [
            asyncio.create_task(made.state.weatherman.go_on()),
            asyncio.create_task(_ready(house, made.state.reports)),
        ]
        yield
        for one in beside:
            one.cancel()
        made.state.school.close()
        house.rooms.close()

    made = Starlette(
        routes=[
            *today.ROUTES,
            *line.ROUTES,
            *weather_file.ROUTES,
            *weatherman.ROUTES,
            *week.ROUTES,
            *what_if.ROUTES,
            *summer.ROUTES,
            *garden.ROUTES,
            *crops.ROUTES,
            *edit.ROUTES,
            *flow.ROUTES,
            *journal.ROUTES,
            *more.ROUTES,
            *reports.ROUTES,
            *school.ROUTES,
            *sunday.ROUTES,
            *compare.ROUTES,
            Route("/static/{digest}/{name}", static),
        ],
        lifespan=lifespan,
        exception_handlers={HTTPException: refused, ClientDisconnect: gone, Exception: failed},
    )
    made.state.house = house
    made.state.school = school.School(house)
    made.state.weatherman = weatherman.Weatherman(house)
    made.state.summers = summer.Summers()
    made.state.reports = reports.Reports()
    made.state.tables = weather_file.Tables()
    return made


async def _ready(house: House, asked: reports.Reports) -> None:
    """Read the garden before anybody asks; later compare stick and reckoning, so that its process is there and warm."""
    garden = (await house.seen()).garden
    await asyncio.sleep(SETTLED_S)
    if garden.site is not None and not garden.site_faults:
        await asked.begun(house, "sunday")


async def static(request: Request) -> Response:
    """Style or script, under an address that changes with them."""
    house = house_of(request)
    content = house.static.get(request.path_params["name"])
    if content is None or request.path_params["digest"] != house.digest:
        raise HTTPException(NOT_FOUND)
    return Response(content, headers={"content-type": STATIC[request.path_params["name"]], "cache-control": FOREVER})


async def refused(request: Request, error: Exception) -> Response:
    """A page that there is not, or a body that is none."""
    status = error.status_code if isinstance(error, HTTPException) else FAILED
    return _told(request, "There is no such page." if status == NOT_FOUND else "That could not be read.", status)


async def gone(_request: Request, _error: Exception) -> Response:
    """The browser went away in the middle of it; nobody hears the answer."""
    return Response(status_code=GONE)


async def failed(request: Request, error: Exception) -> Response:
    """Our own failure: in one line on the page, and where it was to whoever can mend it."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    house_of(request).note(f"failed: {type(error).__name__}: {error} ({place.filename}:{place.lineno})")
    return _told(request, OURS, FAILED)


def _told(request: Request, fault: str, status: int) -> Response:
    if wants_json(request):
        return faulty(fault, None, status)
    facts = {"current": "", "garden_name": "Your garden", "mark": "", "key": "", "fault": fault, "back": "/"}
    return house_of(request).page("fault.html.j2", facts, status)
