"""Sunday: how well stick and reckoning agree, and one suggestion, which is taken with a tap or put off for weeks."""

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.errors import InputError
from waterbudget.output import alone, write_files
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import CONFLICT, SEE_OTHER, UNPROCESSABLE, common, form_of, unwritten
from waterbudget.serve.reports import Report, shown, told
from waterbudget.serve.shelf import CHANGED, Garden, refuse_changed

if TYPE_CHECKING:
    from waterbudget.journal.suggestion import Suggestion

NAME = "not-now.json"  # beside the site file: whoever asks next, on whatever phone, need not be told again
WEEKS = dt.timedelta(weeks=4)
FILE = TypeAdapter(dict[str, dt.date])


def put_off(site_path: Path, today: dt.date) -> set[str]:
    """The suggestions that somebody does not want to hear now."""
    return {key for key, day in _until(site_path).items() if today < day <= today + WEEKS}


def _until(site_path: Path) -> dict[str, dt.date]:
    """Up to when each is put off. A file that nobody can read puts off none."""
    try:
        return FILE.validate_json(site_path.with_name(NAME).read_bytes())
    except (OSError, ValidationError):
        return {}


def put_one_off(site_path: Path, key: str, today: dt.date) -> None:
    """Remember for four weeks that a suggestion is not wanted. Raises OutputError where it cannot be written."""
    path = site_path.with_name(NAME)
    with alone(path):
        until = {one: day for one, day in _until(site_path).items() if day > today} | {key: today + WEEKS}
        told = json.dumps(FILE.dump_python(until, mode="json"), ensure_ascii=False, indent=2)
        write_files({path: f"{told}\n".encode()}, overwrite=True)


def next_of(found: Report, garden: Garden) -> "Suggestion | None":
    """The one suggestion that is made now."""
    not_now = put_off(garden.path, garden.today)
    return next((one for one in found.suggested if one.key not in not_now), None)


async def sunday_page(request: Request) -> Response:
    """How well stick and reckoning agree, one suggestion, and all that is known about it."""
    from waterbudget.answers.suggestion import suggested

    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    found = await told(request, garden, "sunday")
    if isinstance(found, Response):
        return found
    one = None if found.faults else await house.reckon(next_of, found, garden)
    facts = {
        **shown(found, "sunday"),
        "suggestion": one,
        "says": "" if one is None else suggested(one),
        "copy": request.query_params.get("copy", "") if request.query_params.get("copy", "").isprintable() else "",
    }
    status = UNPROCESSABLE if found.faults else 200
    return house.page("sunday.html.j2", common(garden, "/sunday") | facts, status)


async def yes(request: Request) -> Response:
    """Write the suggestion that was shown into the garden's file, checked whole; the copy of it is named."""
    house = house_of(request)
    form = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    found = await (await request.app.state.reports.begun(house, "sunday"))
    try:
        copy = await house.write(_taken, garden, found, form)
    except InputError as error:
        return unwritten(house, garden, error, "/sunday", CONFLICT)
    return RedirectResponse(f"/sunday?copy={copy}", SEE_OTHER)


def _taken(garden: Garden, found: Report, form: Mapping[str, str]) -> str:
    """The name of the copy of the file as it was."""
    from waterbudget.journal.fit import write_values

    if garden.site is None or garden.site_faults:
        raise InputError(CHANGED)
    refuse_changed(garden.path, form.get("mark"))
    one = next((one for one in found.suggested if _is_shown(one, form)), None)
    copy = None if one is None else write_values(garden.path, garden.site, [(one.quantity, one.value)])
    if copy is None:
        raise InputError(CHANGED)
    return copy.name


def _is_shown(one: "Suggestion", form: Mapping[str, str]) -> bool:
    return (one.key, f"{one.value:g}") == (form.get("what"), form.get("value"))


async def no(request: Request) -> Response:
    """Put a suggestion off for four weeks."""
    house = house_of(request)
    form = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    found = await (await request.app.state.reports.begun(house, "sunday"))
    if any(_is_shown(one, form) for one in found.suggested):
        try:
            await house.write(put_one_off, garden.path, form["what"], garden.today)
        except InputError as error:
            return unwritten(house, garden, error, "/sunday")
    return RedirectResponse("/sunday", SEE_OTHER)


ROUTES = [
    Route("/sunday", sunday_page),
    Route("/sunday/yes", yes, methods=["POST"]),
    Route("/sunday/no", no, methods=["POST"]),
]
