"""What is most worth measuring better: every input tried 20 % lower and higher, all at once."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from waterbudget.report.words import capital, count, litres
from waterbudget.schedule.garden import Garden, garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import days
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.totals import add_up

if TYPE_CHECKING:
    from waterbudget.site.model import Site
    from waterbudget.weather.files import Weather

SHARE = 0.20
SHOWN = 3
NOTICED_L = 1.0


class Input(NamedTuple):
    """One measured number: where it stands in the garden, and how a gardener would measure it."""

    words: str
    part: str  # of the garden: roofs, tanks, outlets, beds
    fields: tuple[str, ...]
    column: int
    how: str


class Swing(NamedTuple):
    """What 20 % less and 20 % more of an input do to the days lasted and to the mains water needed."""

    tried: Input
    days: tuple[int, int]
    needed_l: tuple[float, float]

    @property
    def rank(self) -> tuple[float, float]:
        """Days between the two first, then litres."""
        return abs(self.days[1] - self.days[0]), abs(self.needed_l[1] - self.needed_l[0])


def worth_measuring(site: "Site", weather: "Weather") -> list[str]:
    """A sentence for each of the three inputs that sway the answer most; none where nothing sways it."""
    found = [swing for swing in swings(site, weather) if swing.rank[0] > 0 or swing.rank[1] > NOTICED_L]
    return [_sentence(swing) for swing in sorted(found, key=lambda swing: swing.rank, reverse=True)[:SHOWN]]


def swings(site: "Site", weather: "Weather") -> list[Swing]:
    """Every input with what it sways; two scenarios each, all run at once."""
    garden, dates = garden_of(site), weather.date_column
    inputs = list(_inputs(garden))
    if not inputs:
        return []
    lanes = _in_lanes(garden, inputs)
    totals = add_up(lanes, days(lanes, season_of(site, dates), sky_of(site, weather)))
    lasted, needed_l = totals.days_lasted, totals.needed_l
    return [
        Swing(
            tried,
            (int(lasted[2 * number]), int(lasted[2 * number + 1])),
            (float(needed_l[2 * number]), float(needed_l[2 * number + 1])),
        )
        for number, tried in enumerate(inputs)
    ]


def _inputs(garden: Garden) -> Iterator[Input]:
    for column, name in enumerate(garden.roofs.name):
        yield Input(f"the plan area of {name}", "roofs", ("area_m2",), column, "pace it on the ground")
        how = "catch one shower: litres in the store over rain times area"
        yield Input(f"the runoff of {name}", "roofs", ("runoff_coefficient",), column, how)
    for column, name in enumerate(garden.tanks.name):
        yield Input(f"the litres in {name} on the first day", "tanks", ("start_l",), column, "dip it with a stick")
        yield Input(f"the litres that {name} holds", "tanks", ("capacity_l",), column, "read its label, or measure it")
    for column, name in enumerate(garden.outlets.name):
        if column < garden.outlets.zones:
            flow = ("flow_l_min", "run_l", "hot_run_l")
            yield Input(f"the flow of {name}", "outlets", flow, column, "time a bucket under it")
            how = "set out cups, or look how much falls beside the beds"
            yield Input(f"the efficiency of {name}", "outlets", ("efficiency",), column, how)
        else:
            yield Input(f"the litres of {name}", "outlets", ("run_l", "hot_run_l"), column, "count the cans")
    for column, name in enumerate(garden.beds.name):
        how = "feel the soil: waterbudget soils tells how"
        yield Input(f"the water that the soil of {name} holds", "beds", ("available_water_mm_m",), column, how)


def _in_lanes(garden: Garden, inputs: list[Input]) -> Garden:
    """The garden with two scenarios for each input; shares stay within 1, and no store begins more than full."""
    for number, tried in enumerate(inputs):
        part = getattr(garden, tried.part)
        changed: dict[str, Any] = {}
        for name in tried.fields:
            before = getattr(part, name)
            lanes = np.array(np.broadcast_to(before, (2 * len(inputs), before.shape[1])))
            lanes[2 * number, tried.column] *= 1.0 - SHARE
            lanes[2 * number + 1, tried.column] *= 1.0 + SHARE
            changed[name] = np.minimum(lanes, 1.0) if name in {"runoff_coefficient", "efficiency"} else lanes
        garden = replace(garden, **{tried.part: replace(part, **changed)})
    tanks = garden.tanks
    within: dict[str, Any] = {
        "start_l": np.minimum(tanks.start_l, tanks.capacity_l),
        "dead_l": np.minimum(tanks.dead_l, tanks.capacity_l),
        "float_to_l": np.minimum(tanks.float_to_l, tanks.capacity_l),
        "float_below_l": np.minimum(tanks.float_below_l, tanks.capacity_l),
    }
    return replace(garden, tanks=replace(tanks, **within))


def _sentence(swing: Swing) -> str:
    less, more = swing.days
    if less != more:
        told = f"the stored rain lasts {count(less, 'day')} with 20 % less and {count(more, 'day')} with 20 % more"
    else:
        told = (
            f"all the watering takes {litres(swing.needed_l[0])} L of mains water with 20 % less and "
            f"{litres(swing.needed_l[1])} L with 20 % more"
        )
    return f"{capital(swing.tried.words)}: {told}. To measure it: {swing.tried.how}."
