"""Line: open a line, watch its time, shut it; what was forgotten; and mains water."""

import datetime as dt
from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import capital
from waterbudget.answers.near import minutes as in_minutes
from waterbudget.answers.today_why import line_state
from waterbudget.change.now import Opening
from waterbudget.errors import InputError
from waterbudget.schedule.built import garden_of
from waterbudget.serve.clock import Clock
from waterbudget.serve.house import house_of
from waterbudget.serve.open_lines import OneLine, OpenLine, open_line, open_lines, planned_minutes, shut_line
from waterbudget.serve.posting import SEE_OTHER, common, posted_form, posted_json
from waterbudget.serve.shelf import Garden
from waterbudget.site.model import Zone

LONG = 3.0  # times the minutes of the plan
MINUTE_S = 60.0


class LineNow(TypedDict):
    """A line now. minutes: those of the plan, or those that it was opened for. open_s: seconds, null for shut."""

    name: str
    tank: str
    minutes: float
    open_s: float | None
    since: str
    says: str
    is_due: bool
    warns: str


class Lines(TypedDict):
    """All lines, and the stores that mains water may be let into."""

    lines: list[LineNow]
    stores: list[str]
    fault: str


def lines_now(garden: Garden, clock: Clock) -> Lines:
    """The lines as they are now, open ones first in the order of the site file."""
    site, now, fault = garden.site, clock.now(), ""
    if site is None:
        return {"lines": [], "stores": [], "fault": ""}
    try:
        opened = open_lines(garden.path)
    except InputError as error:
        opened, fault = {}, error.plain[0]
    openings = {} if garden.found is None else {one.name: one for one in garden.found.openings}
    return {
        "lines": [_line(garden, zone, opened.get(zone.name), openings.get(zone.name), now) for zone in site.zone],
        "stores": [tank.name for tank in site.tank],
        "fault": fault,
    }


def _line(garden: Garden, zone: Zone, opened: OpenLine | None, opening: Opening | None, now: dt.datetime) -> LineNow:
    says = "" if opening is None or garden.found is None else f"{capital(line_state(opening, garden.found))}."
    shut: LineNow = {
        "name": zone.name,
        "tank": zone.tank,
        "minutes": planned_minutes(garden, zone.name),
        "open_s": None,
        "since": "",
        "says": says,
        "is_due": opening is not None and opening.why.reason == "due",
        "warns": "",
    }
    if opened is None:
        return shut
    since = f"Open since {opened.started_at.astimezone():%H:%M}, for {in_minutes(opened.minutes)}."
    return {
        **shut,
        "minutes": opened.minutes,
        "open_s": opened.open_s(now),
        "since": since,
        "warns": _warning(garden, zone.name, zone.tank, opened, now),
    }


def _warning(garden: Garden, name: str, tank: str, opened: OpenLine, now: dt.datetime) -> str:
    """What to say of a line that is open for far longer than planned: when its store is empty."""
    site, found = garden.site, garden.found
    if site is None or found is None or opened.open_s(now) <= LONG * opened.minutes * MINUTE_S:
        return ""
    number = [zone.name for zone in site.zone].index(name)
    flow_l_min = float(garden_of(site).outlets.flow_l_min[number, 0])
    (store,) = (store for store in found.stores if store.name == tank)
    empty_at = (opened.started_at + dt.timedelta(minutes=store.level_l / flow_l_min)).astimezone()
    if empty_at > now:
        return f"Still open? It empties {tank} by {empty_at:%H:%M}."
    return f"Still open? It would have emptied {tank} by {empty_at:%H:%M}."


async def line_page(request: Request) -> Response:
    """The lines, each with its button."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None:
        return RedirectResponse("/", SEE_OTHER)
    now = await house.reckon(lines_now, garden, house.shelf.clock)
    return house.page("line.html.j2", common(garden, "/line") | {"now": now})


async def lines_json(request: Request) -> Response:
    """The lines for a program."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    return JSONResponse(await house.reckon(lines_now, garden, house.shelf.clock))


def _one_line(form: Mapping[str, str]) -> OneLine:
    return OneLine.model_validate({"key": form.get("key"), "line": form.get("line")})


async def start_form(request: Request) -> Response:
    """Open a line."""
    return await posted_form(request, _one_line, open_line, "/line")


async def stop_form(request: Request) -> Response:
    """Shut a line."""
    return await posted_form(request, _one_line, shut_line, "/line")


async def start_json(request: Request) -> Response:
    """Open a line."""
    return await posted_json(request, OneLine, open_line)


async def stop_json(request: Request) -> Response:
    """Shut a line."""
    return await posted_json(request, OneLine, shut_line)


ROUTES = [
    Route("/line", line_page),
    Route("/line/start", start_form, methods=["POST"]),
    Route("/line/stop", stop_form, methods=["POST"]),
    Route("/api/lines", lines_json),
    Route("/api/line/start", start_json, methods=["POST"]),
    Route("/api/line/stop", stop_json, methods=["POST"]),
]
