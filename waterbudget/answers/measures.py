"""What may be changed in a garden, in words: what is done, what it takes for granted, why there is nothing to try."""

from collections.abc import Callable, Mapping
from typing import Any

from typing_extensions import TypedDict

from waterbudget.change.measures import Measure
from waterbudget.change.mulch import COVERED
from waterbudget.change.search import Tried
from waterbudget.site.model import Roof, Site, Tank, Zone

TAKES = {
    "next butt size": "it begins with the litres that are there today",
    "second roof or downpipe": "there is as much roof again that can be led there",
    "moving water": (
        "a hose, a pump or cans are there, somebody sees that the store is low, and each day of moving takes "
        "the minutes that the site file has for one"
    ),
    "mulch": "it lies from planting to harvest; the rain that it holds back itself is left out",
    "shade net": "it cuts their water use by a fifth and lets all rain through (ours); fruit may ripen later",
    "rain skip": "somebody reads a rain gauge",
    "mending the leak": "all of the loss is a leak, and washers or tape cost next to nothing",
    "lowering the outlet": "2 % of the store stays below it for the sludge (ours)",
    "better jets": "nine tenths of what drippers give reach the roots (common practice, from memory)",
}
OTHERWISE = {
    "next butt size": "no larger one is known",
    "second roof or downpipe": "there is no roof",
    "moving water": "there is no other store to move it from",
    "mulch": "no planted bed is watered",
    "shade net": "no planted bed is watered",
    "fewer minutes": "no zone runs for fixed minutes",
    "longer interval": "no zone has a day that it could leave out",
    "watering by soil": "every zone goes by the soil already",
    "rain skip": "every zone heeds rain already",
    "mending the leak": "no store is said to leak",
    "lowering the outlet": "every outlet is low",
    "better jets": "every zone's jets are good",
    "less flow lost beside beds": "no zone is known to lose much",
}
New = Mapping[str, Any]  # new values by the last part of their keys


class MeasuresFacts(TypedDict):
    """One to three measures that were tried together; saved: over all days, negative where it takes more.

    price: null where nobody tells. thirstier: whether the plants are noticeably worse off.
    """

    kinds: list[str]
    words: list[str]
    free: bool
    price: float | None
    saved_l: float
    saved_work_minutes_per_week: float
    saved_money: float | None
    thirsty_days: int
    need_met: float | None
    thirstier: bool


def measure_words(measure: Measure, site: Site) -> str:
    """What is done, beside the site as it is."""
    new = {str(place[-1]): value for place, value in measure.changes}
    if measure.kind in OF_TANKS:
        tank = next(tank for tank in site.tank if tank.name == measure.thing)
        return f"{tank.name}: {OF_TANKS[measure.kind](tank, new)}"
    if measure.kind in OF_ZONES:
        zone = next(zone for zone in site.zone if zone.name == measure.thing)
        return f"{zone.name}: {OF_ZONES[measure.kind](zone, new, measure)}"
    table: Any = measure.changes[0][1]
    if measure.kind == "second roof or downpipe":
        roof = Roof.model_validate(table)
        return f"{measure.thing}: a second downpipe or roof like {_like(roof, site)}, {roof.area_m2:,.10g} m²"
    if measure.kind == "moving water":
        return f"{measure.thing}: {_moved(table)}"
    if measure.kind == "mulch":
        return f"organic mulch on all watered beds, {100 * COVERED:.0f} % of the soil covered"
    return "a light shade net over all watered beds"


def takes_of(measure: Measure) -> str:
    """What a measure takes for granted, "" for nothing."""
    new = {place[-1]: value for place, value in measure.changes}
    if measure.kind == "watering by soil":
        if new["plan"] == "dry":
            return "somebody feels the soil on each watering day"
        return "what the soil lacks is known, by a reading or from this model"
    if measure.kind == "less flow lost beside beds" and "efficiency" in new:
        return "half of what is lost falls beside the beds (ours); as much reaches the roots as before"
    return TAKES.get(measure.kind, "")


def left_out(kind: str) -> str:
    """A kind of which there is nothing to try, and why."""
    return f"{kind} ({OTHERWISE[kind]})"


# ---- Stores ----------------------------------------------------------------------------------------------------------


def _larger(tank: Tank, new: New) -> str:
    return f"{_each(tank)}{new['capacity_l']:,.10g} L in place of {tank.capacity_l:,.10g} L"


def _mended(tank: Tank, _new: New) -> str:
    return f"mend the leak of {tank.loss_l_per_day:,.10g} L a day"


def _lowered(tank: Tank, new: New) -> str:
    return f"{_each(tank)}outlet lowered, {new['dead_l']:,.10g} L below it in place of {tank.dead_l:,.10g} L"


def _each(tank: Tank) -> str:
    return f"each of {tank.joined} " if tank.joined > 1 else ""


def _like(roof: Roof, site: Site) -> str:
    """The roof of which a new one is made."""
    as_new = {"name": roof.name, "tank": roof.tank}
    return next(one.name for one in site.roof if one.model_copy(update=as_new) == roof)


def _moved(table: New) -> str:
    stays = f", {table['keep_l']:,.10g} L stay there" if table["keep_l"] else ""
    return f"fill it from {table['from_tank']} whenever it holds less than {table['below_l']:,.10g} L{stays}"


# ---- Zones -----------------------------------------------------------------------------------------------------------


def _run(minutes: float, hot_minutes: float | None) -> str:
    hot = "" if hot_minutes is None else f", on hot days {hot_minutes:.3g}"
    return f"{minutes:.3g} minutes{hot}"


def _now(zone: Zone) -> str:
    return _run(zone.minutes, zone.hot_minutes)


def _then(new: New) -> str:
    return _run(new["minutes"], new.get("hot_minutes"))


def _fewer(zone: Zone, new: New, _measure: Measure) -> str:
    return f"{_then(new)} in place of {_now(zone)}"


def _rarer(zone: Zone, new: New, measure: Measure) -> str:
    if "weekdays" in new:
        return f"on {', '.join(new['weekdays'])} only"
    every = "every day" if zone.every_days == 1 else f"every {zone.every_days}"
    words = f"every {new['every_days']} days in place of {every}"
    if "minutes" not in new:
        return words
    if measure.pause_h is None:
        return f"{words}, {_then(new)} each time"
    apart = "an hour" if measure.pause_h == 1 else f"{measure.pause_h} hours"
    return f"{words}, {_then(new)}, {new['runs_per_day']} times a day {apart} apart, as the soil takes no more at once"


def _by_soil(zone: Zone, new: New, _measure: Measure) -> str:
    if new["plan"] == "dry":
        return "only when a bed is nearly thirsty, not by the clock"
    return f"no more than the soil lacks, {_now(zone)} at most"


def _skipped(_zone: Zone, new: New, _measure: Measure) -> str:
    return f"not after {new['skip_rain_mm']:g} mm of rain in {new['skip_rain_days']} days"


def _dripped(_zone: Zone, new: New, _measure: Measure) -> str:
    return f"drippers of the same flow, {_then(new)} for as much at the roots"


def _turned(zone: Zone, new: New, _measure: Measure) -> str:
    if "flow_l_min" not in new:
        return "waters no bed, leave it shut"
    return f"turn or shut jets that spray outside the bed, {new['flow_l_min']:g} L/min in place of {zone.flow_l_min:g}"


OF_TANKS: dict[str, Callable[[Tank, New], str]] = {
    "next butt size": _larger,
    "mending the leak": _mended,
    "lowering the outlet": _lowered,
}
OF_ZONES: dict[str, Callable[[Zone, New, Measure], str]] = {
    "fewer minutes": _fewer,
    "longer interval": _rarer,
    "watering by soil": _by_soil,
    "rain skip": _skipped,
    "better jets": _dripped,
    "less flow lost beside beds": _turned,
}


def measures_facts(one: Tried, site: Site) -> MeasuresFacts:
    """The same as plain values."""
    return {
        "kinds": [measure.kind for measure in one.measures],
        "words": [measure_words(measure, site) for measure in one.measures],
        "free": one.is_free,
        "price": one.price,
        "saved_l": one.saved_l,
        "saved_work_minutes_per_week": one.saved_week_minutes,
        "saved_money": one.saved_money,
        "thirsty_days": one.outcome.thirsty_days,
        "need_met": one.outcome.need_met,
        "thirstier": one.is_thirstier,
    }
