"""What is most worth measuring better: inputs tried 20 % lower and higher, all at once."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeAlias

import numpy as np

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.run import sky_of

if TYPE_CHECKING:
    from waterbudget.site.model import Site
    from waterbudget.units import Array
    from waterbudget.weather.days import Weather

KEEP = Keep(sums=("whole.needed_l", "outlets.asked_l"), firsts=("whole.fails",))
SHARE = 0.20
SHOWN = 3
NOTICED_L = 1.0
TRIED = 12  # of each kind, the largest: what they do takes time and memory in step with the garden, not with its square


What: TypeAlias = Literal[
    "area_m2", "runoff_coefficient", "start_l", "capacity_l", "flow_l_min", "efficiency", "l_per_day",
    "available_water_mm_m",
]  # fmt: skip


class Input(NamedTuple):
    """One measured number: its key in the site file, of which roof, store, zone, draw or bed, and its place in arrays.

    part: of the garden: roofs, tanks, outlets, beds.
    """

    what: What
    name: str
    part: str
    fields: tuple[str, ...]
    column: int


class Swing(NamedTuple):
    """The days lasted and the mains water needed with 20 % less of an input, as it is, and with 20 % more.

    days_share: from the one end to the other, of all days; needed_share: of all that is asked for.
    """

    tried: Input
    days: tuple[int, int, int]
    needed_l: tuple[float, float, float]
    days_share: float
    needed_share: float

    @property
    def rank(self) -> float:
        """How much it sways what it sways more, the days or the mains water."""
        return max(self.days_share, self.needed_share)

    @property
    def is_noticed(self) -> bool:
        """Whether it sways either by more than rounding."""
        return self.days[0] != self.days[2] or abs(self.needed_l[2] - self.needed_l[0]) > NOTICED_L


class LeftOut(NamedTuple):
    """Things of a part of the garden that are so many that only the largest were tried."""

    part: str
    things: int


class Worth(NamedTuple):
    """The inputs that sway the answer most, and what was not tried; nothing where nothing sways it."""

    swings: list[Swing]
    left_out: list[LeftOut]


def worth_measuring(site: "Site", weather: "Weather") -> Worth:
    """The three inputs that sway the answer most."""
    garden, season = of_soil_triggered_beds(garden_of(site), season_of(site, weather.date_column))
    found = [swing for swing in _swings(garden, season, sky_of(site, weather)) if swing.is_noticed]
    most = sorted(found, key=lambda swing: swing.rank, reverse=True)[:SHOWN]
    return Worth(most, list(_left_out(garden)) if most else [])


def swings(site: "Site", weather: "Weather") -> list[Swing]:
    """Every input that is tried with what it sways."""
    garden, season = of_soil_triggered_beds(garden_of(site), season_of(site, weather.date_column))
    return _swings(garden, season, sky_of(site, weather))


def _swings(garden: Garden, season: Season, sky: Sky) -> list[Swing]:
    inputs = list(_inputs(garden))
    if not inputs:
        return []
    lanes = _in_lanes(garden, inputs)
    _, kept = drive(lanes, season, sky, keep=KEEP)
    lasted, needed_l = kept.days_lasted.tolist(), kept.sums["whole.needed_l"].tolist()
    asked_l = max(float(kept.sums["outlets.asked_l"][:, -1].sum()), NOTICED_L)
    found = []
    for number, tried in enumerate(inputs):
        ends = slice(2 * number, 2 * number + 2)
        (fewer, more), (less_l, more_l) = lasted[ends], needed_l[ends]
        found.append(
            Swing(
                tried,
                (fewer, lasted[-1], more),
                (less_l, needed_l[-1], more_l),
                abs(more - fewer) / kept.days,
                abs(more_l - less_l) / asked_l,
            )
        )
    return found


def _largest(size: "Array") -> list[int]:
    """The numbers of the largest, in their order; size: (item, 1)."""
    return sorted(np.argsort(-size[:, 0], kind="stable")[:TRIED].tolist())


def _left_out(garden: Garden) -> Iterator[LeftOut]:
    for part in ("roofs", "tanks", "outlets", "beds"):
        names = getattr(garden.names, part)
        if len(names) > TRIED:
            yield LeftOut(part, len(names))


def _inputs(garden: Garden) -> Iterator[Input]:
    names = garden.names
    what: What
    for column in _largest(garden.roofs.area_m2):
        for what in ("area_m2", "runoff_coefficient"):
            yield Input(what, names.roofs[column], "roofs", (what,), column)
    for column in _largest(garden.tanks.capacity_l):
        for what in ("start_l", "capacity_l"):
            yield Input(what, names.tanks[column], "tanks", (what,), column)
    for column in _largest(garden.outlets.run_l):
        name = names.outlets[column]
        if column < garden.structure.zones:
            yield Input("flow_l_min", name, "outlets", ("flow_l_min", "run_l", "hot_run_l"), column)
            yield Input("efficiency", name, "outlets", ("efficiency",), column)
        else:
            yield Input("l_per_day", name, "outlets", ("run_l", "hot_run_l"), column)
    for column in _largest(garden.beds.area_m2):
        yield Input("available_water_mm_m", names.beds[column], "beds", ("available_water_mm_m",), column)


def _in_lanes(garden: Garden, inputs: list[Input]) -> Garden:
    """The garden with two lanes for each input, and itself as the last one.

    Shares stay within 1, and no store begins more than full.
    """
    for number, tried in enumerate(inputs):
        part = getattr(garden, tried.part)
        changed: dict[str, Any] = {}
        for name in tried.fields:
            before = getattr(part, name)
            lanes = np.array(np.broadcast_to(before, (len(before), 2 * len(inputs) + 1)))
            lanes[tried.column, 2 * number] *= 1.0 - SHARE
            lanes[tried.column, 2 * number + 1] *= 1.0 + SHARE
            changed[name] = np.minimum(lanes, 1.0) if name in {"runoff_coefficient", "efficiency"} else lanes
        garden = garden.changed(**{tried.part: changed})
    tanks = garden.tanks
    levels = ("start_l", "dead_l", "float_to_l", "float_below_l")
    return garden.changed(tanks={name: np.minimum(getattr(tanks, name), tanks.capacity_l) for name in levels})
