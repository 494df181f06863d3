"""How long the zones of a site may run at a time, so that their beds take in all that falls on them."""

from collections.abc import Callable
from math import ceil, inf
from typing import NamedTuple

from waterbudget.physics.intake import longest_pulse_h, pulses, settling_h
from waterbudget.schedule.garden import Garden
from waterbudget.site.model import Site, Zone
from waterbudget.tables.intake import Intake, find_intake
from waterbudget.units import L_PER_MM_M2, MIN_PER_HOUR

LEAST_MINUTES, WHOLE_FROM_MINUTES = 0.5, 3.0  # below that in half minutes, above in whole ones
MOST_HOURS = 12  # in which all pulses of a day have to begin: ours


class Pulse(NamedTuple):
    """The longest run of a zone that its soil takes, and the bed that sets it.

    bed, intake: None where no bed does. rate_mm_h: at which water falls on the bed. longest_minutes: of the zone's
    clock, infinite where no bed sets it. pause_h: whole hours from one pulse to the next.
    """

    bed: str | None = None
    intake: Intake | None = None
    rate_mm_h: float = 0.0
    longest_minutes: float = inf
    pause_h: int = 1

    @property
    def most(self) -> int:
        """How many pulses a day has room for."""
        return 1 + MOST_HOURS // self.pause_h

    def parts(self, minutes: float) -> int:
        """Into how many pulses a run of so many minutes has to be cut."""
        return pulses(minutes, self.longest_minutes)


def pulses_of(site: Site, garden: Garden) -> list[Pulse]:
    """The longest run that each zone's soil takes, at the flow from a full store.

    Beds that are watered one after the other (`effort.by_hose`) have all of the flow for their share of the minutes,
    others share it all the while. Not limited are beds of which no soil is told, pots, which have a rim, and what is
    poured by can, as fast as somebody likes.
    """
    return [_pulse(site, garden, number, zone) for number, zone in enumerate(site.zone)]


def _pulse(site: Site, garden: Garden, number: int, zone: Zone) -> Pulse:
    if zone.name in site.effort.by_can:
        return Pulse()
    flow_l_h = float(garden.outlets.flow_l_min[number, 0]) * MIN_PER_HOUR * zone.applied
    in_turn = zone.name in site.effort.by_hose
    found = [Pulse()]
    for column, bed in enumerate(site.bed):
        share = float(garden.beds.zone_share[column, 0])
        if bed.zone != zone.name or bed.soil is None or bed.pots is not None or share <= 0.0:
            continue
        intake = find_intake(bed.soil)
        rate_mm_h = flow_l_h * (1.0 if in_turn else share) / (bed.ground_m2 * L_PER_MM_M2)
        minutes = longest_pulse_h(rate_mm_h, intake.intake_mm_h) * MIN_PER_HOUR / (share if in_turn else 1.0)
        pause_h = max(1, ceil(settling_h(intake.intake_mm_h)))
        found.append(Pulse(bed.name, intake, rate_mm_h, minutes, pause_h))
    return min(found, key=lambda pulse: pulse.longest_minutes)


def on_the_clock(minutes: float, rounded: Callable[[float], int] = round) -> float:
    """Minutes as somebody would set them."""
    step = 1.0 if minutes >= WHOLE_FROM_MINUTES else LEAST_MINUTES
    return rounded(minutes / step) * step
