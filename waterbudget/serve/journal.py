"""Journal: every line that was written, the newest first, each of which can be taken back."""

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import in_words
from waterbudget.journal.book import UNDO, Journal
from waterbudget.serve.facts import line_words
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import SEE_OTHER, common
from waterbudget.site.model import Site

MOST = 200  # lines on a page


class Row(TypedDict):
    """A line in words; undone: whether it was taken back, or is what takes one back."""

    line: int
    day: str
    says: str
    note: str
    undone: str
    can_be_undone: bool


def rows(site: Site, journal: Journal) -> list[Row]:
    """The last lines, the newest first."""
    last = sorted(journal.lines, key=lambda line: line.number)[-MOST:]
    return [
        {
            "line": line.number,
            "day": in_words(line.entry.date, year=True),
            "says": line_words(site, line),
            "note": line.entry.note,
            "undone": "taken back" if line.number in journal.undone_by else "",
            "can_be_undone": line.entry.kind != UNDO and line.number not in journal.undone_by,
        }
        for line in reversed(last)
    ]


async def journal_page(request: Request) -> Response:
    """The journal."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.journal is None:
        return RedirectResponse("/", SEE_OTHER)
    told = {
        "rows": rows(garden.site, garden.journal),
        "more": max(0, len(garden.journal.lines) - MOST),
        "damaged": garden.journal.damaged,
        "file": garden.journal.path.name,
    }
    return house.page("journal.html.j2", common(garden, "/journal") | told)


ROUTES = [Route("/journal", journal_page)]
