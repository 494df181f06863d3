"""What was understood of a site file, in sentences."""

from collections.abc import Iterator

from waterbudget.answers.english import as_given, count, in_words, listed, litres, percent, span, when, yearly
from waterbudget.simulate.result import Result
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Ban, Bed, Draw, MonthDay, Planting, Roof, Site, Tank, Transfer, Zone
from waterbudget.units import MM_PER_M

JETS = {"mist": "mist jets", "spray": "spray jets", "drip": "drippers", "can": "cans"}


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
    yield from parts(site)


def parts(site: Site) -> Iterator[str]:
    """The roofs, stores, inflows, transfers, bans, zones, draws and beds of a site, a sentence each."""
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


def newest(site: Site, head: str) -> str:
    """The last of the parts with a head of the site file, such as "bed", in a sentence."""
    if head == "roof":
        return _roof(site.roof[-1])
    if head == "tank":
        return _tank(site.tank[-1])
    if head == "zone":
        zone = site.zone[-1]
        return _zone(zone, [bed.name for bed in site.bed if bed.zone == zone.name], site)
    return _draw(site.draw[-1]) if head == "draw" else _bed(site.bed[-1], site)


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
    rations = "; may get less when water is scarce" if draw.may_ration else ""
    return f"{draw.name}: {draw.l_per_day:g} L {when(draw)}, from {draw.tank}{rations}."


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
    if bed.largest_loss is not None:
        yield f"may lose {as_given(bed.largest_loss)} of its yield at most"
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
