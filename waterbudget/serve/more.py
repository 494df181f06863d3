"""The list of all other pages, and the square that lets phones in."""

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from waterbudget.serve.address import HERE, STRANGERS, square_svg
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import common
from waterbudget.serve.reports import TITLES

PAGES = [
    ("/week", "Week"),
    ("/what-if", "What if"),
    ("/summer", "Summer"),
    *((f"/{kind}", title) for kind, title in TITLES.items()),
    ("/journal", "Journal"),
    ("/garden", "Garden"),
]


async def more(request: Request) -> Response:
    """Where else to go. The square is shown on this computer alone."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    is_here = request.client is not None and request.client.host == HERE
    square = Markup(square_svg(house.phone)) if house.phone and is_here else None  # noqa: S704 - drawn here, from our own address
    told = {"pages": PAGES, "square": square, "is_here": is_here, "strangers": STRANGERS}
    return house.page("more.html.j2", common(garden, "/more") | told)


ROUTES = [Route("/more", more)]
