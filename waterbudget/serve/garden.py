"""Garden: the few questions that begin one, and one that is there, read back in sentences or with its faults."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import capital
from waterbudget.answers.understood import parts
from waterbudget.errors import InputError, OutputError
from waterbudget.output import alone
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import NO_ROOM, SEE_OTHER, UNPROCESSABLE, common, form_of, no_room
from waterbudget.serve.shelf import Garden
from waterbudget.site.starter import QUESTIONS, SITE_FILE, Answers, write_starter

CONFLICT = 409
THERE = "A garden is here already; nothing was written."


class Field(TypedDict):
    """A question with what was answered so far, and what is wrong with it, "" for nothing."""

    name: str
    ask: str
    hint: str
    value: str
    fault: str
    comes_first: bool


def fields(told: Mapping[str, str], faults: Mapping[str, str]) -> list[Field]:
    """The questions as a form shows them; told: what was written, by default what each would be."""
    answers = Answers()
    return [
        {
            "name": question.field,
            "ask": question.ask,
            "hint": question.hint,
            "value": told.get(question.field, question.default(answers)),
            "fault": faults.get(question.field, ""),
            "comes_first": question.comes_first,
        }
        for question in QUESTIONS
    ]


def answered(told: Mapping[str, str]) -> tuple[Answers, dict[str, str]]:
    """The answers of a form, and a fault in words for each that cannot be."""
    answers, faults = Answers(), dict[str, str]()
    for question in QUESTIONS:
        words = told.get(question.field, "").strip() or question.default(answers)
        try:
            answers = question.answered(words, answers)
        except InputError as error:
            faults[question.field] = f"{capital(error.faults[0])}."
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
        return house.page("begin.html.j2", common(garden, "/garden") | {"fields": fields({}, {})})
    sentences = [] if garden.site is None else list(parts(garden.site))
    told = {"sentences": sentences, "faults": garden.site_faults, "file": garden.path.name}
    return house.page("garden.html.j2", common(garden, "/garden") | told)


def _elsewhere(garden: Garden) -> dict[str, Any]:
    return {
        "fault": f"There is no {garden.path.name} here. A garden that is begun here is called {SITE_FILE}.",
        "back": "/",
    }


async def begin_form(request: Request) -> Response:
    """Begin a garden from the answers, or show them again with what is wrong beside each."""
    house = house_of(request)
    told = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    answers, faults = answered(told)
    if faults:
        again = {"fields": fields(told, faults)}
        return house.page("begin.html.j2", common(garden, "/garden") | again, UNPROCESSABLE)
    try:
        await house.write(begin, garden.path, answers)
    except OutputError as error:
        fault, status = no_room(error) if error.__cause__ else f"{error.faults[0]}.", NO_ROOM
    except InputError as error:
        fault, status = f"{error.faults[0]}.", CONFLICT
    else:
        return RedirectResponse("/", SEE_OTHER)
    return house.page("fault.html.j2", common(garden, "") | {"fault": fault, "back": "/garden"}, status)


ROUTES = [Route("/garden", garden_page), Route("/garden/begin", begin_form, methods=["POST"])]
