"""Today and Dip, what is written into the journal and taken back: pages, forms and JSON."""

import hashlib
import json
from typing import Any

from pydantic import TypeAdapter, ValidationError
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from waterbudget.errors import InputError, OutputError
from waterbudget.journal.book import UNDO, Line
from waterbudget.serve import dip, facts
from waterbudget.serve.entries import NewEntries, Undo, from_form, new_key, refused, undo, write_entries
from waterbudget.serve.house import House, faulty, house_of
from waterbudget.serve.shelf import Garden

MOST_FIELDS = 20
SEE_OTHER, UNPROCESSABLE, NOT_MODIFIED, NO_CONTENT, NOT_FOUND, NO_ROOM = 303, 422, 304, 204, 404, 507


def common(garden: Garden, current: str) -> dict[str, Any]:
    """What all templates take."""
    return {
        "current": current,
        "garden_name": "Your garden" if garden.site is None else garden.site.site.name,
        "mark": garden.mark,
        "key": new_key(),
    }


async def today_page(request: Request) -> Response:
    """Today, or why there is none."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    said = await house.reckon(facts.today, garden)
    if not garden.is_there:
        return house.page("no_garden.html.j2", common(garden, "/"))
    if said is None:
        faults = {"faults": [*garden.site_faults, *garden.faults], "is_site": garden.site is None}
        return house.page("no_today.html.j2", common(garden, "/") | faults)
    message = _message(request, garden)
    return house.page("today.html.j2", common(garden, "/") | {"today": said, "message": message})


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
    return _dip(house, garden, request.query_params.get("store", "1"))


def _dip(house: House, garden: Garden, store: str, fault: dict[str, Any] | None = None, status: int = 200) -> Response:
    number = int(store) if store.isdecimal() else 0
    found = dip.dip(garden, number)
    if found is None:
        return RedirectResponse("/", SEE_OTHER)
    told = {"dip": found, "stores": dip.stores(garden), "fault": fault}
    return house.page("dip.html.j2", common(garden, "/dip") | told, status)


async def entries_form(request: Request) -> Response:
    """Write down what a form says that was sent without script, and show Today."""
    house = house_of(request)
    form = await request.form(max_fields=MOST_FIELDS, max_files=0)
    garden = await house.reckon(house.shelf.garden)
    try:
        lines = await house.write(write_entries, garden, house.shelf.clock, from_form(form))
    except OutputError as error:
        return house.page("fault.html.j2", common(garden, "") | {"fault": no_room(error), "back": "/"}, NO_ROOM)
    except (InputError, ValidationError) as error:
        back = str(form.get("back", "/"))
        told = {"fault": refused(error).fault, "back": back if back in BACK else "/"}
        return house.page("fault.html.j2", common(garden, "") | told, UNPROCESSABLE)
    return RedirectResponse(f"/?saved={','.join(str(line.number) for line in lines)}", SEE_OTHER)


BACK = ("/", "/dip", "/line")


def no_room(error: OutputError) -> str:
    """What to say where the disk of the computer does not take what is to be written."""
    why = error.__cause__.strerror if isinstance(error.__cause__, OSError) and error.__cause__.strerror else ""
    return (
        f"The computer could not write it down{f' ({why.lower()})' if why else ''}, so nothing was kept there. "
        "Make room on it, and send it again."
    )


async def undo_form(request: Request) -> Response:
    """Take a line back, and show Today."""
    house = house_of(request)
    form = await request.form(max_fields=MOST_FIELDS, max_files=0)
    garden = await house.reckon(house.shelf.garden)
    try:
        wanted = Undo.model_validate({"key": form.get("key"), "line": form.get("line")})
        lines = await house.write(undo, garden, house.shelf.clock, wanted)
    except OutputError as error:
        return house.page("fault.html.j2", common(garden, "") | {"fault": no_room(error), "back": "/"}, NO_ROOM)
    except (InputError, ValidationError) as error:
        told = {"fault": refused(error).fault, "back": "/"}
        return house.page("fault.html.j2", common(garden, "") | told, UNPROCESSABLE)
    return RedirectResponse(f"/?saved={lines[0].number}", SEE_OTHER)


# ---- For programs, the page's own script among them ------------------------------------------------------------------


async def today_json(request: Request) -> Response:
    """Today in numbers and words; 304 where it is what the asker has."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    said = await house.reckon(facts.today, garden)
    if said is None:
        return faulty(_why_not(garden), None, NOT_FOUND)
    body = json.dumps(said, ensure_ascii=False, allow_nan=False).encode()
    headers = {"etag": f'"{hashlib.sha256(body).hexdigest()[:16]}"', "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(status_code=NOT_MODIFIED, headers=headers)
    return Response(body, media_type="application/json", headers=headers)


def _why_not(garden: Garden) -> str:
    return "; ".join([*garden.site_faults, *garden.faults]) or "No garden here yet."


async def entries_json(request: Request) -> Response:
    """Write lines into the journal."""
    return await _posted(request, NewEntries, write_entries)


async def undo_json(request: Request) -> Response:
    """Take a line back."""
    return await _posted(request, Undo, undo)


async def _posted(request: Request, model: Any, work: Any) -> Response:  # noqa: ANN401 - a model and what takes it
    house = house_of(request)
    body = await request.body()
    garden = await house.reckon(house.shelf.garden)
    try:
        lines: tuple[Line, ...] = await house.write(work, garden, house.shelf.clock, model.model_validate_json(body))
    except OutputError as error:
        return faulty(no_room(error), None, NO_ROOM)
    except (InputError, ValidationError) as error:
        why = refused(error)
        return faulty(why.fault, why.field, UNPROCESSABLE)
    garden = await house.reckon(house.shelf.garden)
    return JSONResponse(await house.reckon(written, garden, lines))


def written(garden: Garden, lines: tuple[Line, ...]) -> dict[str, Any]:
    """What was written, and Today as it is now."""
    said = "Saved."
    if garden.found is not None and garden.site is not None:
        said = facts.saved(garden.found, garden.site, lines)
    return {"lines": [line.number for line in lines], "saved": said, "today": facts.today(garden)}


async def pulse(_: Request) -> Response:
    """The computer is in reach."""
    return Response(status_code=NO_CONTENT)


async def schema(_: Request) -> Response:
    """What is sent and answered, as JSON Schema."""
    kinds = {"entries": NewEntries, "undo": Undo, "today": facts.Today}
    told = {name: TypeAdapter(kind).json_schema() for name, kind in kinds.items()}
    return JSONResponse({"$schema": "https://json-schema.org/draft/2020-12/schema", "$defs": told})


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
