"""A look over a site in words: what looks odd, what is worth measuring better, what was understood and assumed."""

import shlex
from collections.abc import Iterator
from typing import Any

from typing_extensions import TypedDict

from waterbudget.answers.doubt import DoubtFacts, doubt_facts, doubt_sentence
from waterbudget.answers.english import capital, count, listed, litres, percent, span, when
from waterbudget.answers.facts import Common, period
from waterbudget.answers.pulse import run_off_sentence
from waterbudget.answers.understood import JETS, understood
from waterbudget.blocks import Answer, Bullets, Column, Table
from waterbudget.review import odd
from waterbudget.review.check import CheckFinding
from waterbudget.review.run_off import RunsOff
from waterbudget.review.worth import SHARE, TRIED, LeftOut, Swing
from waterbudget.simulate.result import Result
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Bed, Planting, Site
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.jets import every_jets

WAYS = {  # what is measured of a thing in the site file, and how
    "area_m2": ("the plan area of {}", "pace it on the ground"),
    "runoff_coefficient": ("the runoff of {}", "catch one shower: litres in the store over rain times area"),
    "start_l": ("the litres in {} on the first day", "dip it with a stick"),
    "capacity_l": ("the litres that {} holds", "read its label, or measure it"),
    "flow_l_min": ("the flow of {}", "time a bucket under it"),
    "efficiency": ("the efficiency of {}", "set out cups, or look how much falls beside the beds"),
    "l_per_day": ("the litres of {}", "count the cans"),
    "available_water_mm_m": ("the water that the soil of {} holds", "feel the soil: waterbudget soils tells how"),
}
ODD: dict[type[odd.Oddity], str] = {  # what to look at; braces hold the fields
    odd.LargeRoof: ("{name} has {area_m2} m²: larger than a sports hall. Is area_m2 the plan area in square metres?"),
    odd.UnfitCovering: "{name} ({covering}): {caution}",
    odd.CatchesNothing: "{name} catches nothing in this weather: no roof and no overflow brings it water.",
    odd.LargerThanCatch: (
        "{name} holds {holds_l} L, more than the {inflow_l} L that run into it in all these days: a larger roof helps "
        "here, a larger store does not."
    ),
    odd.StartsFull: "{name} starts full. Was it seen full? Nothing decides the first weeks more.",
    odd.NeverDrawn: "{name} is never drawn from in these days.",
    odd.NeverMoves: "{name} never moves water: it leaves {keep_l} L in {tank}, which holds {holds_l} L.",
    odd.SizesWithoutShape: "{name} makes no use of {keys} {shape}.",
    odd.OtherVolume: (
        "{name} holds {capacity_l} L by capacity_l and {shape_l} L by its shape: check the inner sizes, in metres, and "
        "the height up to the overflow."
    ),
    odd.WatersNothing: "{told}",
    odd.TwoCoefficients: (
        "{name} has a covering and a runoff_coefficient: the second counts, and no wetting loss with it. Leave it out, "
        "or give loss_mm too."
    ),
    odd.WithoutEffect: "{name} has {key}, which has no effect without {unless}.",
    odd.NeverAsks: "{name} never asks for water in these days. Are its season (from, to) and minutes right?",
    odd.NothingGrows: "{name} has nothing growing in these days. Are the planted dates right?",
    odd.MeagrePlan: (
        "{name} needs {etc_mm} mm and its plan gives {planned_mm} mm: check flow_l_min, minutes and share of {zone}."
    ),
    odd.OddWeather: "{told}",
}
MANY = {
    "roofs": "roofs",
    "tanks": "stores",
    "outlets": "zones and draws",
    "beds": "beds whose soil a plan goes by",
}


class Oddity(TypedDict):
    """Something that looks odd: of what kind, and of which roof, store, zone or bed."""

    kind: str
    name: str


class Outcome(TypedDict):
    """The days that the stored rain lasts, and the mains water that all the watering takes."""

    days_lasted: int
    needed_l: float


class Measured(TypedDict):
    """A number worth measuring better: its key in the table of that name, and what comes of 20 % less and more."""

    key: str
    name: str
    lower: Outcome
    as_it_is: Outcome
    higher: Outcome


class Facts(Common):
    """A check for machines."""

    file: str
    oddities: list[Oddity]
    worth_measuring: list[Measured]
    doubt: DoubtFacts


def answer(found: CheckFinding) -> Answer:
    """A look over a site in words."""
    opened, site = found.opened, found.opened.site
    told = [worth_sentence(one) for one in found.worth.swings] + list(map(_left_out, found.worth.left_out))
    return Answer(
        "check",
        "",
        tuple(verdict(found)),
        (
            Bullets("warn", "Looks odd", tuple(map(odd_sentence, found.oddities))),
            Bullets("help", "Most worth measuring better", tuple(told)),
            watering(site),
            Bullets("tell", "Understood", tuple(understood(site, found.result))),
            Bullets("assume", "Assumed", (*assumed(found.result), doubt_sentence(found.doubt))),
            Bullets("tell", "Worth knowing", tuple(worth_knowing(site))),
            Bullets("paste", "Next", (f"waterbudget run {shlex.quote(str(opened.path))}",)),
        ),
        facts(found),
        opened.notes,
    )


def facts(found: CheckFinding) -> Facts:
    """A check as plain values."""
    weather = found.opened.weather
    return {
        "site": found.opened.site.site.name,
        "period": period(weather.first_day, weather.last_day),
        "file": str(found.opened.path),
        "oddities": [{"kind": type(one).__name__, "name": one.name} for one in found.oddities],
        "worth_measuring": [
            {
                "key": one.tried.what,
                "name": one.tried.name,
                "lower": _outcome(one, 0),
                "as_it_is": _outcome(one, 1),
                "higher": _outcome(one, 2),
            }
            for one in found.worth.swings
        ],
        "doubt": doubt_facts(found.doubt),
    }


def _outcome(swing: Swing, end: int) -> Outcome:
    return {"days_lasted": swing.days[end], "needed_l": swing.needed_l[end]}


def verdict(found: CheckFinding) -> Iterator[str]:
    """Whether something looks odd, and how much there is."""
    site, summary, odd_things = found.opened.site, found.result.summary, len(found.oddities)
    look = f"{count(odd_things, 'thing')} {'looks' if odd_things == 1 else 'look'} odd" if odd_things else ""
    yield f"{found.opened.path}: read without a fault; {look or 'nothing looks odd'}."
    numbers = {
        "roof": len(site.roof),
        "store": len(site.tank),
        "zone": len(site.zone),
        "other draw": len(site.draw),
        "bed": len(site.bed),
    }
    there = listed([count(number, thing) for thing, number in numbers.items() if number])
    weather = f"weather of {count(summary['days'], 'day')}, {span(summary['start'], summary['end'])}"
    yield f"{site.site.name}: {there}; {weather}."


# ---- What looks odd --------------------------------------------------------------------------------------------------


def odd_sentence(one: odd.Oddity) -> str:
    """What looks odd, and what to look at."""
    if isinstance(one, RunsOff):
        return run_off_sentence(one)
    return ODD[type(one)].format(**{name: _worded(name, value) for name, value in one._asdict().items()})


def _worded(name: str, value: Any) -> str:  # noqa: ANN401 - a field of any oddity
    if name == "shape":
        return f'beside shape = "{value}"' if value else "without shape"
    if isinstance(value, list):
        return listed(value)
    if isinstance(value, float):
        return litres(value) if name.endswith("_l") else f"{value:,.0f}"
    return str(value)


# ---- What is worth measuring -----------------------------------------------------------------------------------------


def worth_sentence(swing: Swing) -> str:
    """What an input sways, and how a gardener would measure it."""
    called, how = WAYS[swing.tried.what]
    by_days = swing.days_share > swing.needed_share
    less, now, more = (f"{days:,}" for days in swing.days) if by_days else map(litres, swing.needed_l)
    which, then = "less or more", f"{less} or {more}"
    if now in {less, more}:
        which, then = ("more", more) if less == now else ("less", less)
    told = f"the stored rain lasts {then} days, not {now}" if by_days else f"the mains must give {then} L, not {now} L"
    return f"{capital(called.format(swing.tried.name))}: {how}. With {percent(SHARE)} {which} {told}."


def _left_out(one: LeftOut) -> str:
    return f"Of the {one.things:,} {MANY[one.part]} only the {TRIED} largest were tried."


# ---- What waters what ------------------------------------------------------------------------------------------------


def watering(site: Site) -> Table:
    """A row for each zone and each other draw: from where to where, how much, when."""
    columns = (
        Column("zone", "Watering"),
        Column("tank", "from", is_text=True),
        Column("bed", "to", is_text=True),
        Column("run_l", "each time", "L", litres),
        Column("when", "when", is_text=True),
    )
    zones = tuple(
        (
            zone.name,
            zone.tank,
            listed([bed.name for bed in site.bed if bed.zone == zone.name]) or "no bed",
            None if zone.flow_l_min is None else zone.minutes * zone.flow_l_min,
            when(zone),
        )
        for zone in site.zone
    )
    draws = tuple((draw.name, draw.tank, None, draw.l_per_day, when(draw)) for draw in site.draw)
    return Table("What waters what", columns, zones + draws)


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumed(result: Result) -> Iterator[str]:
    """What the site file left open, and what stands in for it."""
    site, et0 = result.site, result.weather.et0
    yield f"Reference evapotranspiration: {et0.method}. Likely error: {et0.likely_error}."
    for words in et0.assumed:
        yield f"{capital(words)}."
    for roof in site.roof:
        if roof.covering and roof.runoff_coefficient is None:
            kind = find_covering(roof.covering)
            yield (
                f"{roof.name}: {kind.name} sheds {percent(kind.yearly_coefficient)} of a year's rain "
                f"(sources say {100 * kind.low:.0f} to {percent(kind.high)}; {kind.basis}): as a wetting loss of "
                f"{kind.loss_mm:g} mm a day and {percent(kind.runoff_coefficient)} of the rest."
            )
    for bed in site.bed:
        for planting in bed.planting:
            if planting.crop:
                yield from _crop_assumed(bed, planting, site)
    defaults = {
        "The filter passes 90 % (filter_efficiency left out)": [
            roof.name for roof in site.roof if "filter_efficiency" not in roof.model_fields_set
        ],
        **{
            f"{percent(jets.efficiency)} of the water of {JETS[jets.name]} reaches the roots (efficiency left out)": [
                zone.name for zone in site.zone if zone.efficiency is None and zone.jets == jets.name
            ]
            for jets in every_jets()
        },
        "Half of the rain reaches the openings of pots, leaves shed the rest (rain_share left out)": [
            bed.name for bed in site.bed if bed.pots is not None and bed.rain_share is None
        ],
        "The leaves cover three times the openings of the pots (area_m2 left out)": [
            bed.name for bed in site.bed if bed.area_m2 is None
        ],
        "The soil is moist on the first day (start_depleted left out)": [
            bed.name for bed in site.bed if "start_depleted" not in bed.model_fields_set
        ],
    }
    for what, where in defaults.items():
        if where:
            yield f"{what}: {listed(where)}."


def worth_knowing(site: Site) -> Iterator[str]:
    """What a look in the garden answers, where the site file leaves it open."""
    taken = [roof.name for roof in site.roof if "filter_efficiency" not in roof.model_fields_set]
    if taken:
        yield (
            f"How much of the downpipe does the diverter take ({listed(taken)})? In steady rain time a bucket of what "
            "runs into the store and one of what runs past: filter_efficiency is the first flow over both together."
        )
    if site.roof:
        yield "Does the diverter stop when the butt is full? If not, the butt runs over where it stands: lead it away."
    if len(site.tank) > 1 or "joined" not in site.tank[0].model_fields_set:
        yield "Are butts joined near the foot? Then write them as one [[tank]], with joined = 2 and the litres of one."
    open_beds = [bed.name for bed in site.bed if bed.rain_share is None]
    if open_beds:
        yield f"Do nets, trees or walls keep rain off ({listed(open_beds)})? rain_share is what still gets through."


def _crop_assumed(bed: Bed, planting: Planting, site: Site) -> Iterator[str]:
    crop, growth = find_crop(planting.crop or ""), growth_of(planting, site)
    if planting.days is None:
        lengths = listed([str(days) for days in growth.days])
        yield f"{bed.name}: stage lengths of {crop.asked_as or crop.name} {growth.basis}: {lengths} days."
    if crop.stand_in:
        yield f"{bed.name}: {crop.asked_as} is a stand-in: {crop.note}."
