"""What happens to what is sent: it is read, written at the desk, and answered; a fault in words."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from waterbudget.errors import InputError, OutputError
from waterbudget.journal.book import Line
from waterbudget.serve import facts
from waterbudget.serve.clock import Clock
from waterbudget.serve.entries import new_key, refused
from waterbudget.serve.house import House, faulty, house_of
from waterbudget.serve.shelf import Garden

MOST_FIELDS = 20
SEE_OTHER, NOT_FOUND, CONFLICT, UNPROCESSABLE, NO_ROOM = 303, 404, 409, 422, 507

Sent = TypeVar("Sent", bound=BaseModel)
Work = Callable[[Garden, Clock, Sent], tuple[Line, ...]]


def common(garden: Garden, current: str) -> dict[str, Any]:
    """What all templates take."""
    return {
        "current": current,
        "garden_name": "Your garden" if garden.site is None else garden.site.site.name,
        "mark": garden.mark,
        "key": new_key(),
    }


async def form_of(request: Request, max_fields: int = MOST_FIELDS) -> dict[str, str]:
    """The fields of a form without files, by name."""
    form = await request.form(max_fields=max_fields, max_files=0)
    return {name: value for name, value in form.items() if isinstance(value, str)}


async def posted_form(
    request: Request, read: Callable[[Mapping[str, str]], Sent], work: Work[Sent], back: str
) -> Response:
    """Do what a form asks for that was sent without script, and show Today with it.

    read: what the form says; work: writes it; back: the page of the form, shown again where nothing was written.
    """
    house = house_of(request)
    form = await form_of(request)
    garden = await house.to_write_to()
    try:
        lines = await house.write(work, garden, house.shelf.clock, read(form))
    except (InputError, ValidationError) as error:
        return unwritten(house, garden, error, back)
    return RedirectResponse(f"/?saved={','.join(str(line.number) for line in lines)}" if lines else back, SEE_OTHER)


async def posted_json(request: Request, model: type[Sent], work: Work[Sent]) -> Response:
    """Do what a program asks for, the page's own script among them, and answer with Today as it is then."""
    house = house_of(request)
    body = await request.body()
    garden = await house.to_write_to()
    try:
        lines = await house.write(work, garden, house.shelf.clock, model.model_validate_json(body))
    except OutputError as error:
        return faulty(no_room(error), None, NO_ROOM)
    except (InputError, ValidationError) as error:
        return faulty(*refused(error), UNPROCESSABLE)
    seen = await house.seen()
    return JSONResponse(facts.written(seen.garden, seen.today, lines))


def unwritten(
    house: House, garden: Garden, error: InputError | ValidationError, back: str, status: int = UNPROCESSABLE
) -> Response:
    """The page that says why nothing was written. status: where it is no matter of room on the computer."""
    if isinstance(error, OutputError):
        return fault_page(house, garden, no_room(error), back, NO_ROOM)
    return fault_page(house, garden, refused(error).fault, back, status)


def fault_page(house: House, garden: Garden, fault: str, back: str, status: int) -> Response:
    """A fault, and the way back."""
    return house.page("fault.html.j2", common(garden, "") | {"fault": fault, "back": back}, status)


def no_room(error: OutputError) -> str:
    """What to say where the disk of the computer does not take what is to be written."""
    why = error.__cause__.strerror if isinstance(error.__cause__, OSError) and error.__cause__.strerror else ""
    return (
        f"The computer could not write it down{f' ({why.lower()})' if why else ''}, so nothing was kept there. "
        "Make room on it, and send it again."
    )
