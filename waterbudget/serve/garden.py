"""Garden: the few questions that begin one, and one that is there, read back in sentences or with its faults."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import capital
from waterbudget.answers.understood import parts
from waterbudget.errors import InputError, OutputError
from waterbudget.output import alone
from waterbudget.serve.form import groups_of
from waterbudget.serve.house import house_of
from waterbudget.serve.lookups import looked_up
from waterbudget.serve.posting import (
    CONFLICT,
    NO_ROOM,
    NOT_FOUND,
    SEE_OTHER,
    UNPROCESSABLE,
    common,
    fault_page,
    form_of,
    unwritten,
)
from waterbudget.serve.shelf import Garden, refuse_changed
from waterbudget.site.add import Added, add_part
from waterbudget.site.boxes import Lookup
from waterbudget.site.kinds import PARTS
from waterbudget.site.links import Raw
from waterbudget.site.override import raw_site
from waterbudget.site.parts import Known, Part
from waterbudget.site.starter import QUESTIONS, SITE_FILE, Answers, write_starter
from waterbudget.site.write import newest_copy, put_back

THERE = "A garden is here already; nothing was written."


class Field(TypedDict):
    """A question with what was answered so far, and what is wrong with it, "" for nothing."""

    name: str
    ask: str
    hint: str
    value: str
    fault: str
    comes_first: bool
    lookup: str


def fields(told: Mapping[str, str], faults: Mapping[str, str]) -> list[Field]:
    """The questions as a form shows them; told: what was written, by default what each would be.

    One whose default hangs on the answers before it is left open, and gets that one.
    """
    answers = Answers()
    return [
        {
            "name": question.field,
            "ask": question.ask,
            "hint": question.hint,
            "value": told.get(question.field, "" if question.suggest else question.default(answers)),
            "fault": faults.get(question.field, ""),
            "comes_first": question.comes_first,
            "lookup": _lookup(question.field),
        }
        for question in QUESTIONS
    ]


def _lookup(name: str) -> str:
    """The packaged table that a question looks up, "" for none."""
    return name if name in get_args(Lookup) else ""


def asking(asked: list[Field], *, south: bool = False) -> dict[str, Any]:
    """Questions for their page, with the words of all tables that they look up."""
    kinds = [kind for kind in get_args(Lookup) if any(one["lookup"] == kind for one in asked)]
    return {"fields": asked, "lists_of": {kind: looked_up(kind, south=south) for kind in kinds}}


def answered(told: Mapping[str, str]) -> tuple[Answers, dict[str, str]]:
    """The answers of a form, and a fault in words for each that cannot be."""
    answers, faults = Answers(), dict[str, str]()
    for question in QUESTIONS:
        words = told.get(question.field, "").strip() or question.default(answers)
        try:
            answers = question.answered(words, answers)
        except InputError as error:
            faults[question.field] = f"{capital(error.plain[0])}."
    return answers, faults


def begin(path: Path, answers: Answers) -> None:
    """Write a garden where there is none. Raises InputError where one is there by now, OutputError without room."""
    with alone(path):
        if path.exists():
            raise InputError(THERE.removesuffix("."))
        write_starter(path.parent, answers)


async def garden_page(request: Request) -> Response:
    """The questions where there is no garden yet, else what the file says, or what is wrong with it."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if not garden.is_there:
        if garden.path.name != SITE_FILE:
            return house.page("fault.html.j2", common(garden, "/garden") | _elsewhere(garden))
        return house.page("begin.html.j2", common(garden, "/garden") | asking(fields({}, {})))
    sentences = [] if garden.site is None else list(parts(garden.site))
    copy = newest_copy(garden.path)
    told = {
        "sentences": sentences,
        "faults": garden.site_faults,
        "file": garden.path.name,
        "groups_of": [] if garden.site is None or garden.site_faults else groups_of(raw_site(garden.path)),
        "copy": "" if copy is None else copy.name,
        "is_new": copy is not None and request.query_params.get("copy") == copy.name,
    }
    return house.page("garden.html.j2", common(garden, "/garden") | told)


def _elsewhere(garden: Garden) -> dict[str, Any]:
    return {
        "fault": f"There is no {garden.path.name} here. A garden that is begun here is called {SITE_FILE}.",
        "back": "/",
    }


# ---- Another store, roof, line, bed or hens --------------------------------------------------------------------------


def part_fields(part: Part, raw: Raw, told: Mapping[str, str]) -> tuple[list[Field], Known | None]:
    """The questions about a part, with what is wrong where something was told; and what is known if all is right."""
    known, found, is_right = Known(raw, {}), list[Field](), True
    for question in part.questions:
        suggested = fault = ""
        try:
            suggested = question.suggest(known)
            known = question.answered(told.get(question.key, "").strip() or suggested, known)
        except InputError as error:
            fault, is_right = f"{capital(error.plain[0])}.", False
        except KeyError:  # it hangs on an answer that is still open
            is_right = False
        found.append(
            {
                "name": question.key,
                "ask": question.ask,
                "hint": question.hint,
                "value": told.get(question.key, suggested),
                "fault": fault if told else "",
                "comes_first": True,
                "lookup": _lookup(question.key),
            }
        )
    return found, known if is_right else None


def _part(kind: str) -> Part:
    if kind not in PARTS:
        raise HTTPException(NOT_FOUND)
    return PARTS[kind]


async def add_page(request: Request) -> Response:
    """The questions about another part."""
    house, part = house_of(request), _part(request.path_params["kind"])
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    asked, _ = await house.reckon(part_fields, part, raw_site(garden.path), {})
    if "crop" in request.query_params:  # picked on the page of all crops
        picked = request.query_params["crop"]
        asked = [one | {"value": picked} if one["name"] == "crop" else one for one in asked]
    shown = common(garden, "/garden") | {"kind": part.kind} | asking(asked, south=garden.site.is_south)
    return house.page("add.html.j2", shown)


async def add_form(request: Request) -> Response:
    """Add a part to the garden's file, checked whole, or show the questions again with what is wrong beside each."""
    house, part = house_of(request), _part(request.path_params["kind"])
    told = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    asked, known = await house.reckon(part_fields, part, raw_site(garden.path), told)
    if known is None:
        shown = common(garden, "/garden") | {"kind": part.kind} | asking(asked, south=garden.site.is_south)
        return house.page("add.html.j2", shown, UNPROCESSABLE)
    try:
        added = await house.write(_added, garden, part, known, told.get("mark", ""))
    except InputError as error:
        return unwritten(house, garden, error, f"/garden/add/{part.kind}", CONFLICT)
    return RedirectResponse(f"/garden?copy={added.copy.name}", SEE_OTHER)


async def undo_form(request: Request) -> Response:
    """Put the file back as it was before the last change, if that is still the one that was shown."""
    house = house_of(request)
    told = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    try:
        await house.write(_put_back, garden.path, told.get("mark", ""))
    except InputError as error:
        return unwritten(house, garden, error, "/garden", CONFLICT)
    return RedirectResponse("/garden", SEE_OTHER)


def _put_back(path: Path, mark: str) -> None:
    refuse_changed(path, mark)
    put_back(path)


def _added(garden: Garden, part: Part, known: Known, mark: str) -> Added:
    refuse_changed(garden.path, mark)
    return add_part(garden.path, part, known)


async def begin_form(request: Request) -> Response:
    """Begin a garden from the answers, or show them again with what is wrong beside each."""
    house = house_of(request)
    told = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    answers, faults = answered(told)
    if faults:
        again = common(garden, "/garden") | asking(fields(told, faults))
        return house.page("begin.html.j2", again, UNPROCESSABLE)
    try:
        await house.write(begin, garden.path, answers)
    except InputError as error:
        if isinstance(error, OutputError) and error.__cause__ is None:  # no matter of room
            return fault_page(house, garden, f"{error.plain[0]}.", "/garden", NO_ROOM)
        return unwritten(house, garden, error, "/garden", CONFLICT)
    return RedirectResponse("/", SEE_OTHER)


ROUTES = [
    Route("/garden", garden_page),
    Route("/garden/begin", begin_form, methods=["POST"]),
    Route("/garden/undo", undo_form, methods=["POST"]),
    Route("/garden/add/{kind}", add_page),
    Route("/garden/add/{kind}", add_form, methods=["POST"]),
]
