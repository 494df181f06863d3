"""Today and Dip, what is written into the journal and taken back: pages, forms and JSON."""

from typing import Any, Literal

from pydantic import TypeAdapter
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from waterbudget.journal.book import UNDO
from waterbudget.render.json import DIALECT
from waterbudget.serve import dip, facts
from waterbudget.serve.entries import NewEntries, Undo, from_form, undo, write_entries
from waterbudget.serve.house import faulty, house_of
from waterbudget.serve.open_lines import OneLine
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, common, form_of, posted_form, posted_json
from waterbudget.serve.shelf import Garden

NOT_MODIFIED, NO_CONTENT = 304, 204
KINDS: dict[str, tuple[Literal["validation", "serialization"], Any]] = {
    "POST /api/entries": ("validation", NewEntries),
    "POST /api/undo": ("validation", Undo),
    "POST /api/line/start": ("validation", OneLine),
    "POST /api/line/stop": ("validation", OneLine),
    "answer to a post": ("serialization", facts.Written),
    "GET /api/today": ("serialization", facts.Today),
}


async def today_page(request: Request) -> Response:
    """Today, or why there is none."""
    house = house_of(request)
    seen = await house.seen()
    garden, said = seen.garden, seen.today
    if not garden.is_there:
        return house.page("no_garden.html.j2", common(garden, "/"))
    if said is None:
        faults = {
            "faults": [*garden.site_faults, *garden.faults],
            "is_site": garden.site is None,
            **_fetching(request, garden),
        }
        return house.page("no_today.html.j2", common(garden, "/") | faults)
    message = _message(request, garden)
    return house.page(
        "today.html.j2", common(garden, "/") | {"today": said, "message": message, **_fetching(request, garden)}
    )


def _fetching(request: Request, garden: Garden) -> dict[str, Any]:
    """Whether the weather is one that is fetched, and why that failed."""
    return {
        "is_of_station": garden.is_of_station and not garden.is_set,
        "fetch_fault": request.app.state.weatherman.fault,
    }


def _message(request: Request, garden: Garden) -> dict[str, Any] | None:
    """What was written last, where the address names its lines; with what takes it back."""
    numbers = {int(one) for one in request.query_params.get("saved", "").split(",") if one.isdecimal()}
    if garden.journal is None or garden.found is None or garden.site is None:
        return None
    lines = tuple(line for line in garden.journal.lines if line.number in numbers)
    if not lines:
        return None
    told = facts.saved(garden.found, garden.site, lines)
    can_undo = len(lines) == 1 and lines[0].entry.kind != UNDO and lines[0].number not in garden.journal.undone_by
    return {"text": told, "line": lines[0].number if can_undo else None}


async def dip_page(request: Request) -> Response:
    """A store to be dipped, and the gauge."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    store = request.query_params.get("store", "1")
    found = dip.dip(garden, int(store)) if store.isdecimal() else None
    if found is None:
        return RedirectResponse("/", SEE_OTHER)
    return house.page("dip.html.j2", common(garden, "/dip") | {"dip": found, "stores": dip.stores(garden)})


async def entries_form(request: Request) -> Response:
    """Write down what a form says."""
    back = "/line" if (await form_of(request)).get("back") == "/line" else "/dip"
    return await posted_form(request, from_form, write_entries, back)


async def undo_form(request: Request) -> Response:
    """Take a line back."""
    return await posted_form(
        request, lambda form: Undo.model_validate({"key": form.get("key"), "line": form.get("line")}), undo, "/"
    )


# ---- For programs, the page's own script among them ------------------------------------------------------------------


async def today_json(request: Request) -> Response:
    """Today in numbers and words; 304 where it is what the asker has."""
    house = house_of(request)
    seen = await house.glance()
    if seen.today is None:
        faults = [*seen.garden.site_faults, *seen.garden.faults]
        return faulty("; ".join(faults) or "No garden here yet.", None, NOT_FOUND)
    headers = {"etag": seen.tag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == seen.tag:
        return Response(status_code=NOT_MODIFIED, headers=headers)
    return Response(seen.as_json, media_type="application/json", headers=headers)


async def entries_json(request: Request) -> Response:
    """Write lines into the journal."""
    return await posted_json(request, NewEntries, write_entries)


async def undo_json(request: Request) -> Response:
    """Take a line back."""
    return await posted_json(request, Undo, undo)


async def pulse(_: Request) -> Response:
    """The computer is in reach."""
    return Response(status_code=NO_CONTENT)


async def schema(_: Request) -> Response:
    """What is sent and answered, as JSON Schema."""
    adapters = [(name, kind, TypeAdapter(model)) for name, (kind, model) in KINDS.items()]
    places, shared = TypeAdapter.json_schemas(adapters, ref_template="#/$defs/{model}")
    told = {name: place for (name, _), place in places.items()}
    return JSONResponse({"$schema": DIALECT, "properties": told, **shared})


ROUTES = [
    Route("/", today_page),
    Route("/dip", dip_page),
    Route("/entries", entries_form, methods=["POST"]),
    Route("/undo", undo_form, methods=["POST"]),
    Route("/api/today", today_json),
    Route("/api/entries", entries_json, methods=["POST"]),
    Route("/api/undo", undo_json, methods=["POST"]),
    Route("/api/pulse", pulse),
    Route("/api/schema.json", schema),
]
