"""What every page needs: the garden on its shelf, rooms to work in, and paper to write on."""

import asyncio
import hashlib
import json
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources import files
from multiprocessing import get_context
from typing import Any, ParamSpec, TypeVar

from jinja2 import Environment, PackageLoader
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse

from waterbudget.render.html import environment
from waterbudget.serve import facts
from waterbudget.serve.apart import begin
from waterbudget.serve.once import Turns
from waterbudget.serve.shelf import Garden, Shelf

P = ParamSpec("P")
T = TypeVar("T")
FOREVER = "max-age=31536000, immutable"  # of what has its digest in its address
VISIT = "garden_visit"  # cookie of who looks round the school's garden
APART = ("apart", "away")  # rooms that are processes, made when they are needed
STATIC = {"garden.css": "text/css; charset=utf-8", "garden.js": "text/javascript; charset=utf-8"}


@dataclass(frozen=True)
class Rooms:
    """Where work is done, so that whoever waits for a page does not wait for another's picture.

    reckon: simulations. pen: everything of matplotlib, whose settings belong to the whole process. desk: every write.
    """

    reckon: Executor = field(default_factory=lambda: ThreadPoolExecutor(2, "reckon"))
    pen: Executor = field(default_factory=lambda: ThreadPoolExecutor(1, "pen"))
    desk: Executor = field(default_factory=lambda: ThreadPoolExecutor(1, "desk"))

    @cached_property
    def apart(self) -> Executor:
        """A process of its own for what takes seconds."""
        return ProcessPoolExecutor(1, get_context("spawn"), begin)

    @cached_property
    def away(self) -> Executor:
        """Another for fetching, which may hang, and sets what belongs to a whole process."""
        return ProcessPoolExecutor(1, get_context("spawn"), begin)

    def again(self) -> None:
        """Let a process that died be another one."""
        for name in APART:
            vars(self).pop(name, None)

    def close(self) -> None:
        """Let all workers go; what they were at is dropped."""
        for room in (self.reckon, self.pen, self.desk, *(vars(self)[name] for name in APART if name in vars(self))):
            room.shutdown(wait=False, cancel_futures=True)


@dataclass(frozen=True, eq=False)
class Seen:
    """A garden, and what Today says of it; None where it cannot be reckoned."""

    garden: Garden
    today: facts.Today | None

    @cached_property
    def as_json(self) -> bytes:
        """Today for a program."""
        return json.dumps(self.today, ensure_ascii=False, allow_nan=False).encode()

    @cached_property
    def tag(self) -> str:
        """What tells it from what was said before."""
        return f'"{hashlib.sha256(self.as_json).hexdigest()[:16]}"'


class View:
    """What Today says, put into words once for all who look."""

    def __init__(self, shelf: Shelf) -> None:
        """Of the garden on a shelf."""
        self.shelf, self._lock = shelf, threading.Lock()
        self._last: Seen | None = None

    def seen(self) -> Seen:
        """The garden as its files have it now, with its words."""
        with self._lock:
            garden = self.shelf.garden()
            if self._last is None or self._last.garden is not garden:
                self._last = Seen(garden, facts.today(garden))
            return self._last

    def glance(self) -> Seen | None:
        """What was seen last, for who looks again and again; None where somebody has to look anew."""
        last = self._last
        if last is not None and (self._lock.locked() or self.shelf.is_current(last.garden)):
            return last
        return None


@dataclass(frozen=True)
class House:
    """The garden on its shelf with what its pages are made with.

    phone: the address with its key that phones open, None where only this computer can. note: tells people at the
    computer something. is_visit: whether it is a garden to look round, in which nothing is kept.
    """

    shelf: Shelf
    note: Callable[[str], None]
    phone: str | None = None
    rooms: Rooms = field(default_factory=Rooms)
    is_visit: bool = False

    @cached_property
    def view(self) -> View:
        """What is seen of the garden."""
        return View(self.shelf)

    @cached_property
    def looks(self) -> Turns[Seen]:
        """Looks at the garden: five phones that save at once need one look behind them, not five."""
        return Turns(lambda: self.reckon(self.view.seen))

    @cached_property
    def static(self) -> dict[str, bytes]:
        """Style and script by their names."""
        folder = files("waterbudget.serve") / "static"
        return {name: (folder / name).read_bytes() for name in STATIC}

    @cached_property
    def digest(self) -> str:
        """What tells this style and script from those of another version."""
        return hashlib.sha256(b"".join(self.static.values())).hexdigest()[:12]

    @cached_property
    def paper(self) -> Environment:
        """The templates."""
        made = environment()
        made.loader = PackageLoader("waterbudget.serve")
        made.globals |= {"digest": self.digest, "is_visit": self.is_visit}
        return made

    async def glance(self) -> Seen:
        """What was seen last, where it still holds, or somebody is at work on something newer."""
        return self.view.glance() or await self.seen()

    async def to_write_to(self) -> Garden:
        """The garden for who adds to its journal."""
        return await _in(self.rooms.desk, self.shelf.to_write_to)

    async def seen(self) -> Seen:
        """The garden as its files have it now, and what Today says of it."""
        return await self.looks.get()

    async def reckon(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Work out something beside the loop."""
        return await _in(self.rooms.reckon, lambda: work(*args, **kwargs))

    async def draw(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Draw a picture, one at a time."""
        return await _in(self.rooms.pen, lambda: work(*args, **kwargs))

    async def apart(self, work: Callable[[], T]) -> T:
        """Work something out in the process of its own; it and what it gives go from one to the other."""
        try:
            return await _in(self.rooms.apart, work)
        except BrokenExecutor:  # somebody ended it, or it ran out of room
            self.rooms.again()
            raise

    async def write(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Write a file, one after the other."""
        return await _in(self.rooms.desk, lambda: work(*args, **kwargs))

    def page(self, template: str, facts: Mapping[str, Any], status: int = 200) -> HTMLResponse:
        """A page as its template has it."""
        return HTMLResponse(self.paper.get_template(template).render(facts), status)


async def _in(room: Executor, work: Callable[[], T]) -> T:
    return await asyncio.get_running_loop().run_in_executor(room, work)


def house_of(request: Request) -> House:
    """The house that a request came to: its own, or the school's for who looks round there."""
    state = request.app.state
    found: House = state.school.house if VISIT in request.cookies else state.house
    return found


def wants_json(request: Request) -> bool:
    """Whether a program asks, not a browser's page."""
    return str(request.scope["path"]).startswith("/api/")


def faulty(fault: str, field_name: str | None, status: int) -> JSONResponse:
    """A fault for a program."""
    return JSONResponse({"fault": fault, "field": field_name}, status)
