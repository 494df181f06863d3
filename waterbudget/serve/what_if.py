"""What if: sliders whose positions are reckoned all at once; one of them can be written into the garden's file."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers.english import count, in_words, listed, litres
from waterbudget.answers.near import minutes
from waterbudget.answers.today import lasting
from waterbudget.change.now import Now
from waterbudget.change.what_if import Position, what_if
from waterbudget.errors import InputError, shown
from waterbudget.journal.entries import DAY_MIN
from waterbudget.serve.entries import refused
from waterbudget.serve.house import faulty, house_of
from waterbudget.serve.posting import CONFLICT, NOT_FOUND, SEE_OTHER, UNPROCESSABLE, common, form_of, unwritten
from waterbudget.serve.shelf import CHANGED, Garden, mark_of, refuse_changed
from waterbudget.site.edit import Change
from waterbudget.site.links import Keys
from waterbudget.site.model import Site
from waterbudget.site.write import write_changes

MOST_MINUTES, MOST_DAYS = 40, 7
MOST_EVERY, MOST_SIZE_L = 365, 1e6  # that can be typed
SIZES, SIZE_STEPS_L = 20, (5, 10, 25, 50, 100, 250, 500, 1000, 2500, 5000)
TIMES = 2.5  # of the present size, the largest on the slider


@dataclass(frozen=True)
class Slider:
    """A number of the site that can be tried. key: "zone.North line.minutes"; place: where it stands in the file."""

    key: str
    place: Keys
    name: str
    what: str
    now: float
    values: tuple[float, ...]
    least: float
    most: float

    def value(self, written: str) -> float:
        """A value as somebody typed it. Raises InputError with what would be right."""
        try:
            value = float(written)
        except ValueError:
            value = math.nan
        is_whole = self.what != "days" or value.is_integer()
        if not (self.least <= value <= self.most and is_whole):
            kind = "a whole number" if self.what == "days" else "a number"
            raise InputError(f"{shown(written)} cannot be tried; write {kind} from {self.least:g} to {self.most:,.0f}")
        return int(value) if self.what == "days" else value

    def words(self, value: float) -> str:
        """A value as people say it."""
        if self.what == "minutes":
            return minutes(value)
        if self.what == "days":
            return "every day" if value == 1 else f"every {count(int(value), 'day')}"
        return f"{litres(value)} L"


class Tried(TypedDict):
    """A position in numbers and words. lasts_dry_days: null for longer than was looked."""

    value: float
    words: str
    lasts_dry_days: int | None
    says: str


class Table(TypedDict):
    """All positions of a slider, in order, and the number of the present one, from 0."""

    place: str
    now: int
    positions: list[Tried]


def sliders(site: Site) -> list[Slider]:
    """What can be tried in a garden: minutes and days of its lines, sizes of its stores."""
    found = []
    for number, zone in enumerate(site.zone):
        most = max(MOST_MINUTES, round(2 * zone.minutes))
        found.append(
            Slider(
                f"zone.{zone.name}.minutes",
                ("zone", number, "minutes"),
                zone.name,
                "minutes",
                zone.minutes,
                _with(zone.minutes, range(most + 1)),
                0.0,
                DAY_MIN,
            )
        )
        if zone.weekdays is None:
            found.append(
                Slider(
                    f"zone.{zone.name}.every_days",
                    ("zone", number, "every_days"),
                    zone.name,
                    "days",
                    zone.every_days,
                    tuple(sorted({zone.every_days, *range(1, MOST_DAYS + 1)})),
                    1,
                    MOST_EVERY,
                )
            )
    for number, tank in enumerate(site.tank):
        step_l = next((step for step in SIZE_STEPS_L if step * SIZES >= TIMES * tank.capacity_l), SIZE_STEPS_L[-1])
        least_l = tank.dead_l
        sizes = (step_l * times for times in range(1, SIZES + 1) if step_l * times > least_l)
        found.append(
            Slider(
                f"tank.{tank.name}.capacity_l",
                ("tank", number, "capacity_l"),
                tank.name,
                "size",
                tank.capacity_l,
                _with(tank.capacity_l, sizes),
                max(least_l, 1.0),
                MOST_SIZE_L,
            )
        )
    return found


def _with(now: float, values: Any) -> tuple[float, ...]:  # noqa: ANN401 - numbers of a slider
    return tuple(sorted({float(now), *map(float, values)}))


def table(found: Now, slider: Slider) -> Table:
    """Every position of a slider, side by side."""
    tried = what_if(found, slider.key, slider.now, slider.values)
    return {
        "place": slider.key,
        "now": slider.values.index(slider.now),
        "positions": [_tried(slider, position, found) for position in tried.positions],
    }


def _tried(slider: Slider, position: Position, found: Now) -> Tried:
    if position.lasts is None or position.day is None:
        says = f"The stores last for all of the next {found.looked} days."
    elif position.lasts == 0:
        says = f"{listed(position.short)} {'is' if len(position.short) == 1 else 'are'} short today already."
    else:
        short = f"{listed(position.short)} {'is' if len(position.short) == 1 else 'are'} short"
        says = f"Lasts until {in_words(position.day)} ({count(position.lasts, 'day')}), then {short}."
    return {
        "value": position.value,
        "words": slider.words(position.value),
        "lasts_dry_days": position.lasts,
        "says": says,
    }


def slider_of(site: Site, key: str) -> Slider:
    """The slider of a key. Raises InputError where this garden has none such."""
    for slider in sliders(site):
        if slider.key == key:
            return slider
    raise InputError(f"{shown(key)} is nothing that can be tried in this garden")


async def what_if_page(request: Request) -> Response:
    """All sliders; without script one answer to a value that was typed."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.found is None or garden.site is None:
        return RedirectResponse("/", SEE_OTHER)
    place, value = request.query_params.get("place"), request.query_params.get("value")
    answer, fault = None, ""
    if place is not None and value is not None:
        try:
            answer = await house.reckon(_one, garden.found, garden.site, place, value)
        except InputError as error:
            fault = refused(error).fault
    told = {
        "sliders": sliders(garden.site),
        "now": next(lasting(garden.found)),
        "answer": answer,
        "fault": fault,
        "copy": request.query_params.get("copy", "") if request.query_params.get("copy", "").isprintable() else "",
    }
    return house.page("what_if.html.j2", common(garden, "/what-if") | told, UNPROCESSABLE if fault else 200)


def _one(found: Now, site: Site, key: str, written: str) -> dict[str, Any]:
    slider = slider_of(site, key)
    (position,) = what_if(found, slider.key, slider.now, [slider.value(written)]).positions
    return {"slider": slider, "tried": _tried(slider, position, found)}


async def what_if_json(request: Request) -> Response:
    """Every position of one slider."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.found is None or garden.site is None:
        return faulty("Today cannot be reckoned.", None, NOT_FOUND)
    try:
        slider = slider_of(garden.site, request.query_params.get("place", ""))
    except InputError as error:
        return faulty(refused(error).fault, "place", UNPROCESSABLE)
    return JSONResponse(await house.reckon(table, garden.found, slider))


async def take(request: Request) -> Response:
    """Write a value into the garden's file, if that is still the one that was shown."""
    house = house_of(request)
    form = await form_of(request)
    garden = await house.reckon(house.shelf.garden)
    try:
        copy = await house.write(_taken, garden, form)
    except InputError as error:
        status = CONFLICT if form.get("mark") != mark_of(garden.path) else UNPROCESSABLE
        return unwritten(house, garden, error, "/what-if", status)
    return RedirectResponse(f"/what-if?copy={copy}", SEE_OTHER)


def _taken(garden: Garden, form: Mapping[str, str]) -> str:
    """The name of the copy of the file as it was."""
    if garden.site is None or garden.site_faults:
        raise InputError(CHANGED)
    refuse_changed(garden.path, form.get("mark"))
    slider = slider_of(garden.site, form.get("place", ""))
    value = slider.value(form.get("value", ""))
    changes = [Change(slider.place, value)]
    kind, number, _ = slider.place
    if kind == "tank" and isinstance(number, int) and garden.site.tank[number].start_l > value:
        changes.append(Change((kind, number, "start_l"), value))  # no store holds more than itself on the first day
    return write_changes(garden.path, garden.site, changes).name


ROUTES = [
    Route("/what-if", what_if_page),
    Route("/what-if/take", take, methods=["POST"]),
    Route("/api/what-if", what_if_json),
]
