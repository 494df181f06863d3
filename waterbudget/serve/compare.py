"""Compare: the present plan beside changes of it over all the weather there is, with the answer of the report."""

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.answers.english import listed
from waterbudget.errors import InputError
from waterbudget.serve.house import house_of
from waterbudget.serve.posting import SEE_OTHER, UNPROCESSABLE, common
from waterbudget.serve.reports import Report, answered, laid_out, shown, told
from waterbudget.serve.what_if import Slider, sliders
from waterbudget.site.model import Site

if TYPE_CHECKING:
    from waterbudget.change.variants import Change

KIND = "compare"
MOST = 4  # changes; with the present plan and all of them together as many as can be told apart
WHAT = {"minutes": "minutes each time", "days": "every so many days", "size": "litres it holds"}


class Box(NamedTuple):
    """A number that may be another one. value: as it was written; fault: what is wrong with it, "" for nothing."""

    slider: Slider
    value: str
    fault: str

    @property
    def label(self) -> str:
        """What it is."""
        return f"{self.slider.name}: {WHAT[self.slider.what]}"


def boxes(site: Site, written: Mapping[str, str]) -> list[Box]:
    """A box for every number that can be compared."""
    found = []
    for slider in sliders(site):
        value, fault = written.get(slider.key, f"{slider.now:g}").strip(), ""
        try:
            slider.value(value)
        except InputError as error:
            fault = f"{error.plain[0]}."
        found.append(Box(slider, value, fault))
    return found


def changes_of(site: Site, wanted: list[Box]) -> "list[tuple[str, tuple[Change, ...]]]":
    """Each number that is another one than now, in words; and all of them together."""
    from waterbudget.change.variants import Change

    named = []
    for slider, written, _ in wanted:
        value = slider.value(written)
        if value == slider.now:
            continue
        changes = [Change(slider.key, slider.place, slider.now, value)]
        kind, number, _key = slider.place
        if kind == "tank" and isinstance(number, int) and site.tank[number].start_l > value:
            start = f"tank.{slider.name}.start_l"  # no store holds more than itself on the first day
            changes.append(Change(start, (kind, number, "start_l"), site.tank[number].start_l, value))
        named.append((f"{slider.name}: {slider.words(value)}", tuple(changes)))
    if len(named) > 1:
        both = "both" if len(named) == 2 else "all of them"  # noqa: PLR2004 -- as people count
        every = tuple(change for _, changes in named for change in changes)
        named.append((f"{both}: {listed([name for name, _ in named])}", every))
    return named


def comparison(path: Path, named: "list[tuple[str, tuple[Change, ...]]]") -> Report:
    """The answer, or why there is none, for the process of its own."""
    return answered(KIND, partial(_compared, path, named))


def _compared(path: Path, named: "list[tuple[str, tuple[Change, ...]]]") -> Report:
    from waterbudget.answers.compare import answer
    from waterbudget.change.variants import compare_changes
    from waterbudget.questions import Reply
    from waterbudget.render.figures.compare import compare as draw
    from waterbudget.simulate.opened import open_site

    found = compare_changes(open_site(path, every_year=True), named)
    return laid_out(KIND, Reply(found, answer(found), partial(draw, found)))


async def compare_page(request: Request) -> Response:
    """The boxes; under them what becomes of the changes that were written into them."""
    house = house_of(request)
    garden = await house.reckon(house.shelf.garden)
    if garden.site is None or garden.site_faults:
        return RedirectResponse("/garden", SEE_OTHER)
    wanted = boxes(garden.site, request.query_params)
    named = [] if any(box.fault for box in wanted) else changes_of(garden.site, wanted)
    is_too_much = len(named) > MOST + 1
    facts = {"boxes": wanted, "most": MOST, "is_too_much": is_too_much, **shown(Report(), KIND)}
    is_right = not (is_too_much or any(box.fault for box in wanted))
    if named and is_right:
        found = await told(request, garden, KIND, of=named, make=partial(comparison, garden.path, named))
        if isinstance(found, Response):
            return found
        facts |= shown(found, KIND)
        is_right = not found.faults
    return house.page("compare.html.j2", common(garden, f"/{KIND}") | facts, 200 if is_right else UNPROCESSABLE)


ROUTES = [Route(f"/{KIND}", compare_page)]
