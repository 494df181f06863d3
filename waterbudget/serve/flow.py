"""The flow of a line by jug and watch: jets one after the other, then into the garden's file."""

from collections.abc import Mapping
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import capital, percent
from waterbudget.errors import InputError
from waterbudget.hose.bucket import MOST_LITRES, MOST_SECONDS, STOPWATCH_S, BucketFinding, find_bucket, in_turn
from waterbudget.serve.house import House, house_of
from waterbudget.serve.posting import CONFLICT, NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common, unwritten
from waterbudget.serve.shelf import Garden, refuse_changed
from waterbudget.site import replies
from waterbudget.site.model import Zone
from waterbudget.units import S_PER_MIN

JUG_L = "2"
MOST_JETS = 1000
TIMED = 5  # jets that a form has boxes for
MOST_FIELDS = 20


class Flow(TypedDict):
    """The form, and what comes of it. seconds: a box each. jets_known: whether the file tells how many there are.

    fault: what is wrong with it, of: the box that it belongs to. says: sentences; is_known: whether they may be used.
    """

    name: str
    number: int
    jug_l: str
    jets: str
    seconds: list[str]
    jets_known: bool
    fault: str
    of: str
    says: list[str]
    is_known: bool


class BadBoxError(InputError):
    """A box of the form that cannot be read; of: its name."""

    def __init__(self, fault: str, of: str) -> None:
        """With the fault in words."""
        self.of = of
        super().__init__(fault)


def jets_of(zone: Zone) -> int | None:
    """How many jets of a line are open; None where its file does not tell."""
    return sum(jets.count for jets in zone.line[0].jets if jets.opening > 0.0) if zone.line else None


def flow(zone: Zone, number: int, told: Mapping[str, str], seconds: list[str]) -> Flow:
    """The form as it was filled in, or as it begins."""
    jets = jets_of(zone)
    return {
        "name": zone.name,
        "number": number,
        "jug_l": told.get("jug_l", JUG_L),
        "jets": told.get("jets", "" if jets is None else str(jets)),
        "seconds": [*seconds, *[""] * TIMED][:TIMED],
        "jets_known": jets is not None,
        "fault": "",
        "of": "",
        "says": [],
        "is_known": False,
    }


def found_by(path: Path, zone: Zone, asked: Flow) -> BucketFinding:
    """The flow that jug and watch tell. Raises BadBoxError for a box that cannot be read, InputError for all else."""
    jug_l = _amount(asked["jug_l"], "jug_l", "the litres of the jug, such as 2", 0.0, MOST_LITRES)
    wanted = f"seconds, above {STOPWATCH_S:g}: take a larger jug where it is full sooner"
    seconds = [_amount(one, "seconds-1", wanted, STOPWATCH_S, MOST_SECONDS) for one in asked["seconds"] if one]
    if not seconds:
        raise BadBoxError("Time at least one jet", "seconds-1")
    jets = _amount(
        asked["jets"], "jets", "how many jets the line has, 1 where the jug takes all its water", 0.0, MOST_JETS
    )
    if jets != int(jets):
        raise BadBoxError("Write a whole number of jets", "jets")
    return find_bucket(path, zone.name, in_turn(jug_l, seconds, int(jets)))


def _amount(words: str, of: str, wanted: str, least: float, most: float) -> float:
    try:
        value = replies.number(words, wanted)
    except InputError as error:
        raise BadBoxError(error.plain[0], of) from None
    if not least < value <= most:
        raise BadBoxError(f"{replies.quoted(words)} does not fit; write {wanted}", of)
    return value


def reckoned(path: Path, zone: Zone, asked: Flow) -> Flow:
    """The form with what comes of it, or what is wrong."""
    try:
        found = found_by(path, zone, asked)
    except BadBoxError as error:
        return {**asked, "fault": f"{capital(error.plain[0])}.", "of": error.of}
    except InputError as fault:
        return {**asked, "fault": f"{capital(fault.plain[0])}."}
    jug_l, timed = float(asked["jug_l"]), [float(one) for one in asked["seconds"] if one]
    says = (
        [f"Jet {n}: {S_PER_MIN * jug_l / one:.3g} L a minute." for n, one in enumerate(timed, 1)]
        if len(timed) > 1
        else []
    )
    now = "" if zone.flow_l_min is None else f" The garden's file has {zone.flow_l_min:g}."
    or_so = f"give or take {percent(found.flow_error[0])} by the mark and the watch"
    says.append(f"{zone.name} gives {found.all_l_min:.3g} L a minute, {or_so}.{now}")
    return {**asked, "says": says, "is_known": True}


def _line_at(garden: Garden, number: int) -> Zone | None:
    """The line of a number; None where the garden cannot be changed. Raises HTTPException where there is none."""
    if garden.site is None or garden.site_faults:
        return None
    if not 1 <= number <= len(garden.site.zone):
        raise HTTPException(NOT_FOUND)
    return garden.site.zone[number - 1]


def _page(house: House, garden: Garden, told: Flow, status: int = 200) -> Response:
    return house.page("flow.html.j2", common(garden, "/garden") | {"flow": told}, status)


async def flow_page(request: Request) -> Response:
    """Jug and watch for a line."""
    house, number = house_of(request), request.path_params["number"]
    garden = await house.reckon(house.shelf.garden)
    zone = _line_at(garden, number)
    if zone is None:
        return RedirectResponse("/garden", SEE_OTHER)
    return _page(house, garden, flow(zone, number, {}, []))


async def flow_form(request: Request) -> Response:
    """What jug and watch tell; written into the garden's file where that is asked for."""
    house, number = house_of(request), request.path_params["number"]
    form = await request.form(max_fields=MOST_FIELDS, max_files=0)
    told = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    seconds = [value.strip() for value in form.getlist("seconds") if isinstance(value, str) and value.strip()]
    garden = await house.reckon(house.shelf.garden)
    zone = _line_at(garden, number)
    if zone is None:
        return RedirectResponse("/garden", SEE_OTHER)
    asked = await house.reckon(reckoned, garden.path, zone, flow(zone, number, told, seconds))
    if asked["fault"]:
        return _page(house, garden, asked, UNPROCESSABLE)
    if told.get("do") != "use":
        return _page(house, garden, asked)
    try:
        copy = await house.write(_used, garden, zone, asked, told.get("mark", ""))
    except InputError as error:
        return unwritten(house, garden, error, f"/garden/flow/{number}", CONFLICT)
    return RedirectResponse(f"/garden?copy={copy.name}", SEE_OTHER)


def _used(garden: Garden, zone: Zone, asked: Flow, mark: str) -> Path:
    refuse_changed(garden.path, mark)
    return found_by(garden.path, zone, asked).write()


ROUTES = [
    Route("/garden/flow/{number:int}", flow_page),
    Route("/garden/flow/{number:int}", flow_form, methods=["POST"]),
]
