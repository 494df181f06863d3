"""The screen of a check: what was understood, what was assumed, what looks odd."""

from collections.abc import Iterator

from waterbudget.report.odd import oddities
from waterbudget.report.words import (
    capital,
    count,
    in_words,
    listed,
    litres,
    screen,
    section,
    span,
    when,
    wrapped,
    yearly,
)
from waterbudget.report.worth import worth_measuring
from waterbudget.simulate.opened import Opened
from waterbudget.simulate.result import Result
from waterbudget.simulate.run import run
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Bed, Draw, MonthDay, Planting, Roof, Site, Tank, Zone
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop


def check_screen(opened: Opened) -> str:
    """What the site file says, in words, and what looks odd in it; the verdict first."""
    result = run(opened.site, opened.weather)
    odd = oddities(result)
    return screen(
        [wrapped(f"{opened.path}: read without a fault; {_odd_count(odd)}.")],
        section("Looks odd", odd, lead="  * "),
        section("Understood", understood(opened.site, result)),
        section("Assumed", assumed(result)),
        section("Most worth measuring better", worth_measuring(opened.site, opened.weather), lead="  * "),
        [f"Next: waterbudget run {opened.path}"],
    )


def _odd_count(odd: list[str]) -> str:
    return f"{count(len(odd), 'thing')} {'looks' if len(odd) == 1 else 'look'} odd" if odd else "nothing looks odd"


def understood(site: Site, result: Result) -> Iterator[str]:
    """The site in sentences, one for each roof, store, zone, draw and bed."""
    summary = result.summary
    yield f"{site.site.name}; weather of {count(summary['days'], 'day')}, {span(summary['start'], summary['end'])}."
    for roof in site.roof:
        yield _roof(roof)
    for tank in site.tank:
        yield _tank(tank)
    for zone in site.zone:
        yield _zone(zone, [bed.name for bed in site.bed if bed.zone == zone.name])
    for draw in site.draw:
        yield _draw(draw)
    for bed in site.bed:
        yield _bed(bed, site)


def _roof(roof: Roof) -> str:
    per_mm_l = roof.area_m2 * roof.runoff * roof.filter_efficiency
    return (
        f"{roof.name}: {roof.area_m2:g} m² in plan; {100 * roof.runoff:.0f} % runs off and "
        f"{100 * roof.filter_efficiency:.0f} % of that passes the filter into {roof.tank}: "
        f"about {per_mm_l:.0f} L from each millimetre of rain"
        f"{f', after the first {roof.first_flush_l:g} L of the day' if roof.first_flush_l else ''}."
    )


def _tank(tank: Tank) -> str:
    mains = {
        "none": "no mains",
        "direct": "a mains hose gives what is short",
        "float": f"a float valve fills it up to {tank.float_to_l} L from the mains when below {tank.float_below_l} L",
    }[tank.mains]
    return (
        f"{tank.name}: holds {litres(tank.capacity_l)} L ({litres(tank.capacity_l)} kg of water when full), "
        f"{litres(tank.start_l)} L in it on the first day"
        f"{f', the lowest {tank.dead_l:g} L out of reach' if tank.dead_l else ''}; {mains}; "
        f"overflow to {tank.overflow_to or 'the drain'}."
    )


def _zone(zone: Zone, beds: list[str]) -> str:
    runs = f"{zone.runs_per_day} × " if zone.runs_per_day > 1 else ""
    plan = {
        "timer": "",
        "dry": ", only when a bed has dried out",
        "refill": ", no more than the beds lack",
    }[zone.plan]
    hot = f"; {zone.hot_minutes:g} minutes on days of {zone.hot_above_c:g} °C or more" if zone.hot_minutes else ""
    rain = (
        f"; skipped after {zone.skip_rain_mm:g} mm of rain in {count(zone.skip_rain_days or 0, 'day')}"
        if zone.skip_rain_mm
        else ""
    )
    flow = (
        "with the flow of its pipe and jets"
        if zone.flow_l_min is None
        else f"at {zone.flow_l_min:g} L/min ({litres(zone.minutes * zone.flow_l_min)} L a run)"
    )
    return (
        f"{zone.name}: {'up to ' if zone.plan == 'refill' else ''}{runs}{zone.minutes:g} minutes "
        f"{flow} {when(zone)}{plan}{hot}{rain}; from {zone.tank} to {listed(beds) or 'no bed'}."
    )


def _draw(draw: Draw) -> str:
    return f"{draw.name}: {draw.l_per_day:g} L {when(draw)}, from {draw.tank}."


def _bed(bed: Bed, site: Site) -> str:
    soil = bed.soil if bed.available_water_mm_m is None else "soil"
    limit = f", roots stop at {bed.root_limit_m:g} m" if bed.root_limit_m else ""
    crops = "; ".join(_planting(planting, site) for planting in bed.planting) or "nothing planted"
    water = f"watered by {bed.zone}" if bed.zone else "lives on rain alone"
    return f"{bed.name}: {bed.ground_m2:g} m², {soil} holding {bed.available_mm_m:g} mm/m{limit}, {water}; {crops}."


def _planting(planting: Planting, site: Site) -> str:
    growth = growth_of(planting, site)
    planted = planting.planted
    day = yearly(planted) if isinstance(planted, MonthDay) else in_words(planted, year=True)
    stages = "+".join(f"{days}" for days in growth.days)
    return f"{planting.crop or 'a crop of its own numbers'} from {day} for {stages} days"


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
                f"{roof.name}: {kind.name} sheds {kind.runoff_coefficient:g} of the rain "
                f"(sources say {kind.low:g} to {kind.high:g}; {kind.basis})."
            )
    for bed in site.bed:
        for planting in bed.planting:
            if planting.crop:
                yield from _crop_assumed(bed, planting, site)
    defaults = {
        "The filter passes 90 % (filter_efficiency left out)": [
            roof.name for roof in site.roof if "filter_efficiency" not in roof.model_fields_set
        ],
        "80 % of the water reaches the roots (efficiency left out)": [
            zone.name for zone in site.zone if "efficiency" not in zone.model_fields_set
        ],
        "The soil is moist on the first day (start_depleted left out)": [
            bed.name for bed in site.bed if "start_depleted" not in bed.model_fields_set
        ],
    }
    for what, where in defaults.items():
        if where:
            yield f"{what}: {listed(where)}."


def _crop_assumed(bed: Bed, planting: Planting, site: Site) -> Iterator[str]:
    crop, growth = find_crop(planting.crop or ""), growth_of(planting, site)
    if planting.days is None:
        lengths = listed([str(days) for days in growth.days])
        yield f"{bed.name}: stage lengths of {crop.asked_as or crop.name} {growth.basis}: {lengths} days."
    if crop.stand_in:
        yield f"{bed.name}: {crop.asked_as} is a stand-in: {crop.note}."
