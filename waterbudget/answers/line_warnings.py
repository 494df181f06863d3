"""What is wrong or risky about a watering line, and the cautions where the hand acts."""

from collections.abc import Iterator

from waterbudget.answers.english import count, litres
from waterbudget.hose.line import LineFinding
from waterbudget.line.solve import solve
from waterbudget.tables.cautions import cautions

WARM_C = 20.0


def warnings(found: LineFinding) -> Iterator[str]:
    """What is wrong or risky about the line."""
    yield from _pressure_warnings(found)
    yield from _store_warnings(found)
    yield from _mist(found)
    yield from _overridden(found)


def _pressure_warnings(found: LineFinding) -> Iterator[str]:
    flowing, line = found.hose.flow, found.line
    flags, is_open = flowing.flags, found.hose.line.is_open[0]
    dry = int((is_open & (flowing.jets_m3_s[0] <= 0.0)).sum())
    weak = int((is_open & (found.pressure_m < line.working_m)).sum()) - dry
    if flags.beyond_pump_curve[0]:
        yield (
            "The pump is off its curve: more flows than it is told to pump, so its head there is a guess. Shut some "
            "jets, or check the pump's figures."
        )
    if dry and not flags.no_flow[0]:
        yield f"{count(dry, 'open jet')} run{'s' if dry == 1 else ''} dry: the pressure does not reach them."
    if weak > 0:
        verb = "has" if weak == 1 else "have"
        yield f"{count(weak, 'jet')} {verb} less than the {line.working_m:g} m of pressure that they need to work well."
    if flags.negative_pressure[0]:
        yield "The pipe lies above the pressure line somewhere: a leak or an open jet there draws air in."
    if flags.out_of_range[0]:
        yield (
            "Bore, length, jets, heads or heights lie outside what this was tested on (bore 10-20 mm, pipe 10-60 m, "
            "60 jets, k 1-30 L/h, 40 m of head): take the figures as rough."
        )


def _store_warnings(found: LineFinding) -> Iterator[str]:
    hose, tank = found.hose, found.tank
    if hose.flow.flags.siphons_when_off[0]:
        idle_l_h = float(solve(hose.line.without_pump()).total_l_h[0])
        above_m = float(hose.line.source_m[0] - hose.line.lowest_m[0])
        yield (
            f"With the pump off it siphons on at about {idle_l_h:.0f} L/h, as the water stands {above_m:.2f} m above "
            "the lowest open jet: fit a valve or a siphon break at the pump."
        )
    if found.is_pumped:
        minutes = found.minutes_left
        lasts = f", after about {count(round(minutes), 'minute')} of running" if minutes else ""
        yield (
            f"At {litres(tank.dead_l)} L, the dead volume, the pump runs dry{lasts}: "
            "fit a float switch, and set the intake above the sludge."
        )
        if tank.dead_l <= 0.0:
            yield f"{tank.name} has no dead_l, but no pump empties a store: write the litres below its intake."
    if found.empty_below_l is not None:
        yield (
            f"At about {litres(found.empty_below_l)} L and less nothing comes out. The daily model then asks the store "
            "for nothing, and books no shortage: look at the thirsty days of its beds."
        )


def _mist(found: LineFinding) -> Iterator[str]:
    if not found.throws_spray:
        return
    water_c, basis = found.warmest
    if water_c is None:
        yield (
            "These jets throw spray, and nothing tells how warm the store gets: measure it, and send no water above "
            f"{WARM_C:g} °C into the air."
        )
    elif water_c > WARM_C:
        source = "measured" if basis == "measured" else "a guess by the air of the warmest week, which a store follows"
        yield (
            f"The store gets to {water_c:z.0f} °C ({source}), and these jets throw spray: Legionella multiply above "
            f"{WARM_C:g} °C. Take drippers, or leave the line off in such weeks."
        )


def _overridden(found: LineFinding) -> Iterator[str]:
    zone = found.zone
    if zone.flow_l_min is not None:
        yield (
            f"The site file gives flow_l_min = {zone.flow_l_min:g}, and the daily model uses that, not the "
            f"{found.flow_l_min:.2f} L/min of this line."
        )
    if any(bed.share is not None for bed in found.site.bed if bed.zone == zone.name):
        yield "The site file gives shares of its beds, and the daily model uses those, not the ones of this line."


def care(found: LineFinding) -> Iterator[str]:
    """The cautions where the hand acts: charging, sockets, spray, mains, frost, leaks."""
    told = {(one.topic, one.subject): one.caution for one in cautions()}
    if found.throws_spray:
        yield told["legionella", "temperature"]
    if found.is_pumped:
        yield told["electricity", "residual current"]
        yield told["dry running", "pump"]
        if found.site.battery is not None:
            yield told["lithium batteries", "cold"]
            yield told["lithium batteries", "place"]
    yield told["mains top-up", "type"]
    yield told["frost", "draining"]
    yield "Before the season run the line once, look at every joint and jet for leaks, and mend them."
    yield "Local codes and licensed electricians and plumbers come before all of this."
