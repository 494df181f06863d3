"""Change a part of a garden, add another, take one away; each change is checked whole before it is kept."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.answers.english import listed
from waterbudget.errors import InputError, SiteError
from waterbudget.serve.form import Form, form_of_new, form_of_part, name_of, place_in
from waterbudget.serve.house import House, house_of
from waterbudget.serve.lookups import looked_up
from waterbudget.serve.posting import CONFLICT, NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common, fault_page, unwritten
from waterbudget.serve.shelf import CHANGED, Garden, refuse_changed
from waterbudget.site.boxes import OPTIONAL, Filled, added, filled, head_of, how_many, table_at
from waterbudget.site.edit import BOM, Edit, Gone, changed
from waterbudget.site.links import Fault, Keys, Raw
from waterbudget.site.naming import mentions
from waterbudget.site.override import raw_site
from waterbudget.site.read import ONCE, load_site, site_of
from waterbudget.site.write import write_changes

MOST_WORDS = 200  # of a form, each tick one of them
UNUSUAL = "This part stands in the garden's file in an unusual form: change it on the computer"


class Asked(NamedTuple):
    """A request for a part of a garden that can be changed."""

    house: House
    garden: Garden
    raw: Raw
    place: Keys

    @property
    def is_there(self) -> bool:
        """Whether there is such a part, or may be one, of those that are there once at most."""
        return table_at(self.raw, self.place) is not None or self.place[-1] in ONCE

    @property
    def may_be_added(self) -> bool:
        """Whether it is a kind of which there may be more."""
        is_kind = isinstance(self.place[-1], str) and head_of(self.place) not in ONCE
        return is_kind and table_at(self.raw, self.place[:-1]) is not None

    @property
    def may_go(self) -> bool:
        """Whether a garden may be without it."""
        return table_at(self.raw, self.place) is not None and (self.place[-1] not in ONCE or self.place[-1] in OPTIONAL)


async def _asked(request: Request) -> Asked | Response:
    """What is asked for; where the file has a fault, or there is no garden yet, the way to what can be done."""
    house, place = house_of(request), place_in(request.path_params["place"])
    if place is None:
        raise HTTPException(NOT_FOUND)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    return Asked(house, garden, await house.reckon(raw_site, garden.path), place)


async def _told(request: Request) -> dict[str, str]:
    """The words of a form by name; of several under one name those that say something, a line each."""
    form = await request.form(max_fields=MOST_WORDS, max_files=0)
    told: dict[str, str] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            told[name] = "\n".join(one for one in (told.get(name, ""), value) if one)
    return told


def faults_of(path: Path, edits: list[Edit]) -> list[Fault]:
    """What would be wrong with a garden after edits of its file. Raises SiteError where they cannot be had."""
    after = changed(path.read_text("utf-8"), edits)
    if after is None:
        raise SiteError(UNUSUAL)
    return site_of(tomllib.loads(after.removeprefix(BOM)))[1]


def _write(garden: Garden, edits: list[Edit], mark: str) -> Path:
    refuse_changed(garden.path, mark)
    return write_changes(garden.path, load_site(garden.path), edits)


def _page(asked: Asked, form: Form, status: int = 200) -> Response:
    kinds = {one["lookup"] for one in (*form["first"], *form["more"]) if one["lookup"]}
    south = asked.garden.site is not None and asked.garden.site.is_south
    told = {"form": form, "lists_of": {kind: looked_up(kind, south=south) for kind in sorted(kinds)}}
    return asked.house.page("edit.html.j2", common(asked.garden, "/garden") | told, status)


async def _kept(asked: Asked, mark: str, wanted: Filled, place: Keys, again: Callable[[list[Fault]], Form]) -> Response:
    """Keep what a form asks for, or show it again with what is wrong beside each box."""
    faults: list[Fault] = [((*place, *key.split(".")), said) for key, said in wanted.faults.items()]
    try:
        if not faults:
            faults = await asked.house.reckon(faults_of, asked.garden.path, wanted.edits)
        if faults:
            return _page(asked, again(faults), UNPROCESSABLE)
        if not wanted.edits:
            return RedirectResponse("/garden", SEE_OTHER)
        copy = await asked.house.write(_write, asked.garden, wanted.edits, mark)
    except InputError as error:
        return unwritten(asked.house, asked.garden, error, "/garden", CONFLICT)
    return RedirectResponse(f"/garden?copy={copy.name}", SEE_OTHER)


def _outdated(asked: Asked, mark: str | None) -> Response | None:
    """What to say where the garden is no longer the one that a form was made for, so its numbers may be others."""
    if mark == asked.garden.mark:
        return None
    return fault_page(asked.house, asked.garden, f"{CHANGED}.", "/garden", CONFLICT)


# ---- Change ----------------------------------------------------------------------------------------------------------


async def edit_page(request: Request) -> Response:
    """The boxes of a part."""
    asked = await _asked(request)
    if isinstance(asked, Response):
        return asked
    if not asked.is_there:
        raise HTTPException(NOT_FOUND)
    return _page(asked, form_of_part(asked.place, asked.raw, {}, (), asked.garden.journal))


async def edit_form(request: Request) -> Response:
    """Change what was changed in the boxes of a part."""
    told, asked = await _told(request), await _asked(request)
    if isinstance(asked, Response):
        return asked
    if (outdated := _outdated(asked, told.get("mark"))) is not None:
        return outdated
    if not asked.is_there:
        raise HTTPException(NOT_FOUND)

    def again(faults: list[Fault]) -> Form:
        return form_of_part(asked.place, asked.raw, told, faults, asked.garden.journal)

    return await _kept(asked, told["mark"], filled(asked.raw, asked.place, told), asked.place, again)


# ---- Add -------------------------------------------------------------------------------------------------------------


async def new_page(request: Request) -> Response:
    """The boxes of one more part of a kind."""
    asked = await _asked(request)
    if isinstance(asked, Response):
        return asked
    if not asked.may_be_added:
        raise HTTPException(NOT_FOUND)
    return _page(asked, form_of_new(asked.place, asked.raw, dict(request.query_params), ()))


async def new_form(request: Request) -> Response:
    """Add one more part of a kind."""
    told, asked = await _told(request), await _asked(request)
    if isinstance(asked, Response):
        return asked
    if (outdated := _outdated(asked, told.get("mark"))) is not None:
        return outdated
    if not asked.may_be_added:
        raise HTTPException(NOT_FOUND)
    place = (*asked.place, how_many(asked.raw, asked.place))

    def again(faults: list[Fault]) -> Form:
        return form_of_new(asked.place, asked.raw, told, faults)

    return await _kept(asked, told["mark"], added(asked.raw, asked.place, told), place, again)


# ---- Take away -------------------------------------------------------------------------------------------------------


def held_by(asked: Asked) -> str:
    """Why a part cannot go, in words; "" where it can."""
    table, head = table_at(asked.raw, asked.place) or {}, head_of(asked.place)
    names = [name_of(one.place[:-1], asked.raw) for one in mentions(asked.raw, head, str(table.get("name", "")))]
    if names:
        return (
            f"{listed(list(dict.fromkeys(names)))} {'hangs' if len(names) == 1 else 'hang'} on it: change that first."
        )
    try:
        faults = faults_of(asked.garden.path, [Gone(asked.place)])
    except InputError as error:
        return f"{error.plain[0]}."
    return "A garden needs one." if faults else ""


async def take_away_page(request: Request) -> Response:
    """Ask whether a part is to go."""
    asked = await _asked(request)
    if isinstance(asked, Response):
        return asked
    if not asked.may_go:
        raise HTTPException(NOT_FOUND)
    told = {
        "name": name_of(asked.place, asked.raw),
        "fault": await asked.house.reckon(held_by, asked),
        "place": request.path_params["place"],
    }
    return asked.house.page("take_away.html.j2", common(asked.garden, "/garden") | told)


async def take_away_form(request: Request) -> Response:
    """Take a part out of the garden's file, with those inside it."""
    told, asked = await _told(request), await _asked(request)
    if isinstance(asked, Response):
        return asked
    if (outdated := _outdated(asked, told.get("mark"))) is not None:
        return outdated
    if not asked.may_go:
        raise HTTPException(NOT_FOUND)
    back = f"/garden/edit/{request.path_params['place']}"
    fault = await asked.house.reckon(held_by, asked)
    if fault:
        return fault_page(asked.house, asked.garden, fault, back, UNPROCESSABLE)
    try:
        copy = await asked.house.write(_write, asked.garden, [Gone(asked.place)], told["mark"])
    except InputError as error:
        return unwritten(asked.house, asked.garden, error, back, CONFLICT)
    return RedirectResponse(f"/garden?copy={copy.name}", SEE_OTHER)


ROUTES = [
    Route("/garden/edit/{place:path}", edit_page),
    Route("/garden/edit/{place:path}", edit_form, methods=["POST"]),
    Route("/garden/new/{place:path}", new_page),
    Route("/garden/new/{place:path}", new_form, methods=["POST"]),
    Route("/garden/take-away/{place:path}", take_away_page),
    Route("/garden/take-away/{place:path}", take_away_form, methods=["POST"]),
]
