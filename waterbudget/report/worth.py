"""What is most worth measuring better: inputs tried 20 % lower and higher, all at once."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from waterbudget.report.words import capital, count, litres
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
    from waterbudget.weather.files import Weather

KEEP = Keep(sums=("whole.needed_l", "outlets.asked_l"), firsts=("whole.fails",))
SHARE = 0.20
SHOWN = 3
NOTICED_L = 1.0
TRIED = 12  # of each kind, the largest: what they do takes time and memory in step with the garden, not with its square


class Input(NamedTuple):
    """One measured number: where it stands in the garden, and how a gardener would measure it."""

    words: str
    part: str  # of the garden: roofs, tanks, outlets, beds
    fields: tuple[str, ...]
    column: int
    how: str


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


def worth_measuring(site: "Site", weather: "Weather") -> list[str]:
    """A sentence for each of the three inputs that sway the answer most; none where nothing sways it."""
    garden, season = of_soil_triggered_beds(garden_of(site), season_of(site, weather.date_column))
    found = [swing for swing in _swings(garden, season, sky_of(site, weather)) if swing.is_noticed]
    told = [_sentence(swing) for swing in sorted(found, key=lambda swing: swing.rank, reverse=True)[:SHOWN]]
    return [*told, *(_left_out(garden) if told else ())]


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


def _left_out(garden: Garden) -> Iterator[str]:
    """What was not tried, as there is too much of it."""
    parts = {
        "roofs": garden.names.roofs,
        "stores": garden.names.tanks,
        "zones and draws": garden.names.outlets,
        "beds whose soil a plan goes by": garden.names.beds,
    }
    for things, names in parts.items():
        if len(names) > TRIED:
            yield f"Of the {len(names):,} {things} only the {TRIED} largest were tried."


def _inputs(garden: Garden) -> Iterator[Input]:
    for column in _largest(garden.roofs.area_m2):
        name = garden.names.roofs[column]
        yield Input(f"the plan area of {name}", "roofs", ("area_m2",), column, "pace it on the ground")
        how = "catch one shower: litres in the store over rain times area"
        yield Input(f"the runoff of {name}", "roofs", ("runoff_coefficient",), column, how)
    for column in _largest(garden.tanks.capacity_l):
        name = garden.names.tanks[column]
        yield Input(f"the litres in {name} on the first day", "tanks", ("start_l",), column, "dip it with a stick")
        yield Input(f"the litres that {name} holds", "tanks", ("capacity_l",), column, "read its label, or measure it")
    for column in _largest(garden.outlets.run_l):
        name = garden.names.outlets[column]
        if column < garden.structure.zones:
            flow = ("flow_l_min", "run_l", "hot_run_l")
            yield Input(f"the flow of {name}", "outlets", flow, column, "time a bucket under it")
            how = "set out cups, or look how much falls beside the beds"
            yield Input(f"the efficiency of {name}", "outlets", ("efficiency",), column, how)
        else:
            yield Input(f"the litres of {name}", "outlets", ("run_l", "hot_run_l"), column, "count the cans")
    for column in _largest(garden.beds.area_m2):
        name = garden.names.beds[column]
        how = "feel the soil: waterbudget soils tells how"
        yield Input(f"the water that the soil of {name} holds", "beds", ("available_water_mm_m",), column, how)


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


def _sentence(swing: Swing) -> str:
    if swing.days_share > swing.needed_share:
        fewer, now, more = (count(days, "day") for days in swing.days)
        told = f"the stored rain lasts {fewer} with 20 % less, {now} as it is and {more} with 20 % more"
    else:
        less_l, now_l, more_l = (litres(needed_l) for needed_l in swing.needed_l)
        told = (
            f"all the watering takes {less_l} L of mains water with 20 % less, {now_l} L as it is and {more_l} L with "
            "20 % more"
        )
    return f"{capital(swing.tried.words)}: {told}. To measure it: {swing.tried.how}."
