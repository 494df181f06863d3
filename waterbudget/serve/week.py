"""Week: seven days by the plan, with the rain that is counted with; and the same for a calendar."""

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from typing_extensions import TypedDict

from waterbudget.answers import today as answer
from waterbudget.answers.english import in_words
from waterbudget.answers.near import minutes
from waterbudget.change.now import Coming, Now
from waterbudget.render.calendar import calendar_bytes
from waterbudget.serve.house import faulty, house_of
from waterbudget.serve.posting import NOT_FOUND, SEE_OTHER, common

SHOWN_RAIN_MM = 0.5


class DayRow(TypedDict):
    """A day in words. opens: a line and its minutes, each; work: of a person, "" for none."""

    date: str
    day: str
    weather: str
    opens: list[str]
    work: str


class Week(TypedDict):
    """Today and six days more."""

    days: list[DayRow]
    work: str


def week(found: Now) -> Week:
    """The week in words; today without what was done already."""
    work = f"about {minutes(found.week_minutes)} of your time" if found.week_minutes else "none of your time"
    return {"days": [_day(day, found) for day in found.coming], "work": work}


def _day(day: Coming, found: Now) -> DayRow:
    return {
        "date": day.day.isoformat(),
        "day": f"{day.day:%A} {in_words(day.day)}",
        "weather": _weather(day, found),
        "opens": [f"{name} {minutes(number)}" for name, number in day.minutes.items()],
        "work": f"{minutes(day.work_minutes)} of yours" if day.work_minutes else "",
    }


def _weather(day: Coming, found: Now) -> str:
    if day.is_forecast:
        return f"{day.rain_mm:.0f} mm forecast" if day.rain_mm >= SHOWN_RAIN_MM else "no rain forecast"
    if found.fallen_mm and day.day == found.known.today:
        return f"{found.fallen_mm:g} mm in your gauge"
    return "usual, dry"


async def week_page(request: Request) -> Response:
    """The week, a row a day."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.found is None:
        return RedirectResponse("/", SEE_OTHER)
    return house.page("week.html.j2", common(garden, "/week") | {"week": week(garden.found)})


async def week_json(request: Request) -> Response:
    """The week for a program."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.found is None:
        return faulty("Today cannot be reckoned.", None, NOT_FOUND)
    return JSONResponse(week(garden.found))


async def week_calendar(request: Request) -> Response:
    """The week for a calendar."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.found is None:
        return RedirectResponse("/", SEE_OTHER)
    content = await house.reckon(calendar_bytes, list(answer.events(garden.found)))
    headers = {"content-disposition": 'attachment; filename="week.ics"'}
    return Response(content, media_type="text/calendar", headers=headers)


ROUTES = [Route("/week", week_page), Route("/week.ics", week_calendar), Route("/api/week", week_json)]
