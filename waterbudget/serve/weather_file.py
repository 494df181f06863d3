"""Weather from a file of the gardener's: sent, looked at, and kept only when somebody says that it is right."""

import secrets
import tempfile
from collections import OrderedDict
from pathlib import Path, PurePath
from typing import NamedTuple

from markupsafe import Markup
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.answers.imported import answer
from waterbudget.errors import InputError
from waterbudget.render.html import section
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import CONFLICT, SEE_OTHER, UNPROCESSABLE, common, fault_page, form_of, unwritten
from waterbudget.serve.shelf import mark_of
from waterbudget.simulate.imported import WeatherImport, find_import, write_import
from waterbudget.weather.table.understand import Hints

MOST = 4  # tables that wait to be kept
LONGEST_NAME = 60


class Waiting(NamedTuple):
    """A table that was sent and not kept yet, and the site file that it was looked at for."""

    found: WeatherImport
    mark: str


class Tables:
    """Tables in memory, the last few of them, each under a number that nobody guesses."""

    def __init__(self) -> None:
        """With none yet."""
        self.waiting: OrderedDict[str, Waiting] = OrderedDict()

    def put(self, one: Waiting) -> str:
        """Its number."""
        number = secrets.token_hex(8)
        self.waiting[number] = one
        while len(self.waiting) > MOST:
            self.waiting.popitem(last=False)
        return number


def looked_at(path: Path, name: str, content: bytes) -> WeatherImport:
    """A table as it would come in. Raises InputError for what cannot be read in it."""
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / name
        table.write_bytes(content)
        return find_import(path, table, Hints())


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
    """Look at a file that was sent; nothing is written yet."""
    house = house_of(request)
    form = await request.form(max_fields=1, max_files=1)
    sent = form.get("table")
    garden = await house.reckon(house.shelf.garden)
    try:
        if not isinstance(sent, UploadFile) or not (content := await sent.read()):
            fault = "Choose a file first: a table with a row a day or an hour, CSV or .xlsx."
        else:
            mark = mark_of(garden.path)
            found = await house.reckon(looked_at, garden.path, plain_name(sent.filename), content)
            number = request.app.state.tables.put(Waiting(found, mark))
            words = Markup(await house.reckon(section, answer(found), {}))  # noqa: S704 - escaped by section
            told = {"words": words, "number": number, "replaces": found.needs_overwrite, "target": found.target.name}
            return house.page("weather_look.html.j2", common(garden, "/garden") | told)
    except InputError as error:
        fault = f"{error.faults[0]}."
    return fault_page(house, garden, fault, "/garden/weather", UNPROCESSABLE)


async def keep_form(request: Request) -> Response:
    """Write a table that was looked at, and name it in the garden's file."""
    house = house_of(request)
    told = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    waiting: Waiting | None = request.app.state.tables.waiting.get(told.get("number", ""))
    if waiting is None or waiting.mark != mark_of(garden.path):
        return fault_page(house, garden, "That has passed: choose the file again.", "/garden/weather", CONFLICT)
    try:
        await house.write(write_import, waiting.found, overwrite=True)
    except InputError as error:
        return unwritten(house, garden, error, "/garden/weather")
    return RedirectResponse("/", SEE_OTHER)


ROUTES = [
    Route("/garden/weather", weather_page),
    Route("/garden/weather", weather_form, methods=["POST"]),
    Route("/garden/weather/keep", keep_form, methods=["POST"]),
]
