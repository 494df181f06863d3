"""Crops: those of the tables that begin with some letters, how long they stand and what they drink."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.crops import drinks
from waterbudget.answers.english import capital
from waterbudget.serve.house import house_of
from waterbudget.serve.lookups import crops_that_begin
from waterbudget.serve.posting import common
from waterbudget.tables.crops import find_crop

LONGEST = 80  # letters of what is looked for


class CropSays(TypedDict):
    """A crop in sentences. word: what a planting calls it."""

    word: str
    name: str
    says: str
    drinks: str


def crops_found(words: str, *, south: bool) -> list[CropSays]:
    """The crops of which a word begins so, in the order of the alphabet."""
    return [
        {
            "word": one["word"],
            "name": capital(one["word"]),
            "says": f"{capital(one['says'])}.",
            "drinks": drinks(find_crop(one["word"])),
        }
        for one in crops_that_begin(words, south=south)
    ]


async def crops_page(request: Request) -> Response:
    """The crops that are looked for, all of them at first."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    words = request.query_params.get("find", "").strip()[:LONGEST]
    south = garden.site is not None and garden.site.is_south
    found = await house.reckon(crops_found, words, south=south)
    told = {"find": words, "found": found, "is_there": garden.site is not None and not garden.site_faults}
    return house.page("crops.html.j2", common(garden, "/garden") | told)


ROUTES = [Route("/garden/crops", crops_page)]
