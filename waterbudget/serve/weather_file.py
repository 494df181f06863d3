"""Weather from a file of the gardener's: sent, looked at, and kept only when somebody says that it is right."""

import secrets
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import PurePath

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.errors import InputError
from waterbudget.serve.house import House, house_of
from waterbudget.serve.picker import DECIMALS, MENU, MOST_COLUMNS, ORDERS, Look, Picks, as_shown, look, picker, picks_of
from waterbudget.serve.posting import CONFLICT, SEE_OTHER, UNPROCESSABLE, common, fault_page, form_of, unwritten
from waterbudget.serve.shelf import Garden, mark_of
from waterbudget.simulate.imported import WeatherImport, write_import

MOST = 4  # tables that wait to be kept
MOST_CHOICES = 2 * MOST_COLUMNS + 10  # fields of the form
LONGEST_NAME = 60
PASSED = "That has passed: choose the file again."


@dataclass(frozen=True, eq=False)
class Waiting:
    """A table that was sent and not kept yet, as it was looked at last, for a site file with this mark."""

    content: bytes
    look: Look
    mark: str


class Tables:
    """Tables in memory, the last few of them, each under a number that nobody guesses."""

    def __init__(self) -> None:
        """With none yet."""
        self.waiting: OrderedDict[str, Waiting] = OrderedDict()

    def put(self, one: Waiting, number: str | None = None) -> str:
        """Its number."""
        number = number or secrets.token_hex(8)
        self.waiting[number] = one
        while len(self.waiting) > MOST:
            self.waiting.popitem(last=False)
        return number


def plain_name(name: str | None) -> str:
    """A name without a folder, short, and of visible letters; what it ends in tells what it is."""
    last = PurePath((name or "").replace("\\", "/")).name
    kept = "".join(letter for letter in last if letter.isprintable())[-LONGEST_NAME:].lstrip(".")
    return kept or "table.csv"


async def weather_page(request: Request) -> Response:
    """Where to choose a file."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    return house.page("weather.html.j2", common(garden, "/garden"))


async def weather_form(request: Request) -> Response:
    """Take a file that was sent, to be looked at; nothing is written yet."""
    house = house_of(request)
    form = await request.form(max_fields=1, max_files=1)
    sent = form.get("table")
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    if not isinstance(sent, UploadFile) or not (content := await sent.read()):
        fault = "Choose a file first: a table with a row a day or an hour, CSV or .xlsx."
        return fault_page(house, garden, fault, "/garden/weather", UNPROCESSABLE)
    try:
        number = await _look(request, garden, plain_name(sent.filename), content, Picks())
    except InputError as error:
        return fault_page(house, garden, f"{error.plain[0]}.", "/garden/weather", UNPROCESSABLE)
    return RedirectResponse(f"/garden/weather/{number}", SEE_OTHER)


async def look_page(request: Request) -> Response:
    """What a table that was sent is taken for, with a menu over each column."""
    house, number = house_of(request), request.path_params["number"]
    garden = await house.reckon(house.shelf.garden)
    waiting = _waiting(request, garden, number)
    if waiting is None:
        return fault_page(house, garden, PASSED, "/garden/weather", CONFLICT)
    told = {
        "number": number,
        "look": picker(waiting.look),
        "kinds": MENU,
        "orders": ORDERS,
        "decimals": DECIMALS,
        "zip": zip,
    }
    return house.page("weather_look.html.j2", common(garden, "/garden") | told)


async def look_form(request: Request) -> Response:
    """Look again with what was chosen; kept where somebody wants that and has seen what comes of it."""
    house = house_of(request)
    told = await form_of(request, max_fields=MOST_CHOICES)
    garden = await house.reckon(house.shelf.garden)
    number = told.get("number", "")
    waiting = _waiting(request, garden, number)
    if waiting is None:
        return fault_page(house, garden, PASSED, "/garden/weather", CONFLICT)
    picks = picks_of(told)
    if told.get("do") == "keep" and picks == as_shown(waiting.look) and waiting.look.found is not None:
        return await _kept(house, garden, waiting.look.found)
    await _look(request, garden, waiting.look.name, waiting.content, picks, number)
    return RedirectResponse(f"/garden/weather/{number}", SEE_OTHER)


async def _look(
    request: Request, garden: Garden, name: str, content: bytes, picks: Picks, number: str | None = None
) -> str:
    """Look at a table; its number. Raises InputError where no choice could help it."""
    mark = mark_of(garden.path)
    looked = await house_of(request).reckon(look, garden.path, name, content, picks)
    tables: Tables = request.app.state.tables
    return tables.put(Waiting(content, looked, mark), number)


def _waiting(request: Request, garden: Garden, number: str) -> Waiting | None:
    """The table of a number, None where it has gone or was looked at for another garden."""
    waiting: Waiting | None = request.app.state.tables.waiting.get(number)
    return waiting if waiting is not None and waiting.mark == mark_of(garden.path) else None


async def _kept(house: House, garden: Garden, found: WeatherImport) -> Response:
    """Write the table, and name it in the garden's file."""
    try:
        await house.write(write_import, found, overwrite=True)
    except InputError as error:
        return unwritten(house, garden, error, "/garden/weather")
    return RedirectResponse("/", SEE_OTHER)


ROUTES = [
    Route("/garden/weather", weather_page),
    Route("/garden/weather", weather_form, methods=["POST"]),
    Route("/garden/weather/keep", look_form, methods=["POST"]),
    Route("/garden/weather/{number}", look_page),
]
