"""The school's garden, to look round before there is one of one's own: a copy that goes when the page ends."""

import datetime as dt
import shutil
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.example import site_path
from waterbudget.serve.clock import Clock
from waterbudget.serve.house import VISIT, House
from waterbudget.serve.posting import SEE_OTHER
from waterbudget.serve.shelf import Shelf

MIDSUMMER = dt.date(2031, 7, 5)  # of the school's weather, when stores run low and beds get dry
WEATHER = "weather.csv"


class School:
    """The school's garden in a folder of its own, made when somebody first looks round."""

    def __init__(self, own: House) -> None:
        """Beside a house, whose rooms it shares."""
        self.own = own

    @cached_property
    def folder(self) -> "TemporaryDirectory[str]":
        """The folder, with a copy of the garden."""
        made = TemporaryDirectory(prefix="school-")
        for path in (site_path(), site_path().with_name(WEATHER)):
            shutil.copyfile(path, Path(made.name) / path.name)
        return made

    @cached_property
    def house(self) -> House:
        """The house of that garden."""
        shelf = Shelf(Path(self.folder.name) / site_path().name, Clock(MIDSUMMER))
        return House(shelf, self.own.note, self.own.phone, self.own.rooms, is_visit=True)

    def close(self) -> None:
        """Throw the copy away, if there is one."""
        if "folder" in vars(self):
            self.folder.cleanup()


async def look_round(_request: Request) -> Response:
    """Let a phone look round the school's garden from now on."""
    answer = RedirectResponse("/", SEE_OTHER)
    answer.set_cookie(VISIT, "yes", httponly=True, samesite="lax")
    return answer


async def leave(_request: Request) -> Response:
    """Let it see its own garden again, or begin one."""
    answer = RedirectResponse("/garden", SEE_OTHER)
    answer.delete_cookie(VISIT, httponly=True, samesite="lax")
    return answer


ROUTES = [
    Route("/school", look_round, methods=["POST"]),
    Route("/school/leave", leave, methods=["POST"]),
]
