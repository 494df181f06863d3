"""The screen of a check: what was understood, what was assumed, what looks odd."""

from collections.abc import Iterator

from waterbudget.report.odd import oddities
from waterbudget.report.words import (
    capital,
    count,
    in_words,
    listed,
    litres,
    percent,
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
from waterbudget.site.model import Ban, Bed, Draw, MonthDay, Planting, Roof, Site, Tank, Transfer, Zone
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.jets import every_jets
from waterbudget.units import MM_PER_M

JETS = {"mist": "mist jets", "spray": "spray jets", "drip": "drippers", "can": "cans"}


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
        section("Worth knowing", worth_knowing(opened.site), lead="  * "),
        [f"Next: waterbudget run {opened.path}"],
    )


def _odd_count(odd: list[str]) -> str:
    return f"{count(len(odd), 'thing')} {'looks' if len(odd) == 1 else 'look'} odd" if odd else "nothing looks odd"


def understood(site: Site, result: Result) -> Iterator[str]:
    """The site in sentences, one for each roof, store, inflow, transfer, ban, zone, draw and bed."""
    summary = result.summary
    yield f"{site.site.name}; weather of {count(summary['days'], 'day')}, {span(summary['start'], summary['end'])}."
    if site.model.crop_coefficient == "dual":
        yield (
            "Crop coefficient: dual, so wet ground gives off water of its own, by how often it is wetted; "
            f"for a growing season of {site.site.mean_wind_m_s:g} m/s of wind and {site.site.mean_rh_min_pct:g} % "
            "of humidity at its lowest, on average."
        )
    for roof in site.roof:
        yield _roof(roof)
    for tank in site.tank:
        yield _tank(tank)
    for inflow in site.inflow:
        yield f"{inflow.name}: {inflow.l_per_day:g} L {when(inflow)}, into {inflow.tank}, whatever the weather."
    for transfer in site.transfer:
        yield _transfer(transfer)
    for ban in site.ban:
        yield f"No mains water, neither by hose nor by float valve, {_ban(ban)}."
    for zone in site.zone:
        yield _zone(zone, [bed.name for bed in site.bed if bed.zone == zone.name], site)
    for draw in site.draw:
        yield _draw(draw)
    for bed in site.bed:
        yield _bed(bed, site)


def _roof(roof: Roof) -> str:
    per_mm_l = roof.area_m2 * roof.runoff * roof.filter_efficiency
    loss_mm = roof.wetting_loss_mm
    wets = f"the first {loss_mm:g} mm of a day's rain only wet it, of the rest " if loss_mm else ""
    return (
        f"{roof.name}: {roof.area_m2:g} m² in plan; {wets}{percent(roof.runoff)} runs off and "
        f"{percent(roof.filter_efficiency)} of that passes the filter into {roof.tank}: "
        f"about {per_mm_l:.0f} L from each {'further ' if loss_mm else ''}millimetre of rain"
        f"{f', after the first {roof.first_flush_l:g} L of the day' if roof.first_flush_l else ''}."
    )


def _tank(tank: Tank) -> str:
    it = "each" if tank.joined > 1 else "it"
    mains = {
        "none": "no mains",
        "direct": "a mains hose gives what is short",
        "float": f"a float valve fills {it} up to {tank.float_to_l or 0.0:g} L from the mains "
        f"when below {tank.float_below_l or 0.0:g} L",
    }[tank.mains]
    holds_l, start_l, dead_l = (tank.joined * each_l for each_l in (tank.capacity_l, tank.start_l, tank.dead_l))
    joined = f"{tank.joined} stores of {litres(tank.capacity_l)} L, joined near the foot so that they fill as one, hold"
    return (
        f"{tank.name}: {joined if tank.joined > 1 else 'holds'} {litres(holds_l)} L "
        f"({litres(tank.capacity_l)} kg of water {'in each ' if tank.joined > 1 else ''}when full), "
        f"{litres(start_l)} L in {'them' if tank.joined > 1 else 'it'} on the first day"
        f"{f', the lowest {dead_l:g} L out of reach' if dead_l else ''}; {mains}; "
        f"overflow to {tank.overflow_to or 'the drain'}."
    )


def _transfer(transfer: Transfer) -> str:
    while_low = (
        "" if transfer.below_l is None else f", if {transfer.to_tank} then holds less than {transfer.below_l:g} L"
    )
    return (
        f"{transfer.name}: up to {transfer.l_per_day:g} L {when(transfer)} from {transfer.from_tank} to "
        f"{transfer.to_tank}{while_low}{f'; {transfer.keep_l:g} L stay behind' if transfer.keep_l else ''}."
    )


def _ban(ban: Ban) -> str:
    first, last = ban.first_day, ban.last_day
    if isinstance(first, MonthDay) and isinstance(last, MonthDay):
        return f"from {yearly(first)} to {yearly(last)}, every year"
    return f"from {span(str(first), str(last))}"


def _reaches(zone: Zone, site: Site) -> str:
    wets = f" and wets {percent(zone.wetted)} of the ground" if site.model.crop_coefficient == "dual" else ""
    return f", where {percent(zone.applied)} of it reaches the roots{wets}"


def _zone(zone: Zone, beds: list[str], site: Site) -> str:
    runs = f"{zone.runs_per_day} × " if zone.runs_per_day > 1 else ""
    plan = {
        "timer": "",
        "dry": ", only when a bed has dried out",
        "refill": ", no more than the beds lack",
    }[zone.plan]
    hot = f"; {zone.hot_minutes:g} minutes on days of {zone.hot_above_c:zg} °C or more" if zone.hot_minutes else ""
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
        f"{flow} {when(zone)}{plan}{hot}{rain}; from {zone.tank} by {JETS[zone.jets]} to {listed(beds) or 'no bed'}"
        f"{_reaches(zone, site) if beds else ''}."
    )


def _draw(draw: Draw) -> str:
    return f"{draw.name}: {draw.l_per_day:g} L {when(draw)}, from {draw.tank}."


def _bed(bed: Bed, site: Site) -> str:
    crops = "; ".join(_planting(planting, site) for planting in bed.planting) or "nothing planted"
    water = f"watered by {bed.zone}" if bed.zone else "lives on rain alone"
    return f"{bed.name}: {', '.join((_ground(bed), *_of_its_own(bed, site), water))}; {crops}."


def _ground(bed: Bed) -> str:
    soil = "soil" if bed.available_water_mm_m is not None else bed.soil or "potting compost"
    if bed.pots is None:
        return f"{bed.ground_m2:g} m², {soil} holding {bed.available_mm_m:g} mm/m"
    water_l = bed.available_mm_m / MM_PER_M * (bed.pot_litres or 0.0)
    return (
        f"{count(bed.pots, 'pot')} of {bed.pot_litres:g} L, {bed.pot_diameter_cm:g} cm across, under leaves of "
        f"{bed.ground_m2:.3g} m² in all, each holding {water_l:.2g} L for the plants in its {soil}"
    )


def _of_its_own(bed: Bed, site: Site) -> Iterator[str]:
    """What sets a bed apart from an open one of deep soil."""
    if bed.root_limit_m:
        yield f"roots stop at {bed.root_limit_m:g} m"
    if bed.rain_part < 1.0:
        onto = "it" if bed.pots is None else "the openings"
        yield f"{percent(bed.rain_part)} of the rain reaches {onto}" if bed.rain_part else "no rain reaches it"
    if bed.et_factor != 1.0:
        yield f"uses {percent(bed.et_factor)} of the water that it would use in the open"
    if bed.exposed:
        yield f"stands free, {bed.width_m:g} m wide, and uses more for it"
    if site.model.crop_coefficient == "dual":
        if bed.mulch_cover:
            yield f"{percent(bed.mulch_cover)} of the ground under mulch"
        yield f"its surface gives off {bed.rew:.3g} mm freely and {bed.tew:.3g} mm in all"


def _planting(planting: Planting, site: Site) -> str:
    growth = growth_of(planting, site)
    planted = planting.planted
    day = yearly(planted) if isinstance(planted, MonthDay) else in_words(planted, year=True)
    stages = "+".join(f"{days}" for days in growth.days)
    share = f" on {percent(growth.ground_share)} of the ground" if growth.ground_share < 1.0 else ""
    return f"{planting.crop or 'a crop of its own numbers'}{share} from {day} for {stages} days"


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
