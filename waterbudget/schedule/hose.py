"""Watering lines of a site as the solver takes them, and what they give over the level of their store.

Heights count from the floor of the store. A store of another size than the site's is taken to be wider or narrower,
not higher: what counts is the share to which it is filled.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.errors import SiteError
from waterbudget.line.layout import L_H_PER_M3_S, Line, even_jets, lay_line
from waterbudget.line.solve import Flow, solve
from waterbudget.physics.pump import (
    NO_PUMP,
    Pump,
    pump_from_duty_point,
    pump_from_nameplate,
    pump_from_three_points,
)
from waterbudget.site.line import Line as SiteLine
from waterbudget.site.model import Site, Tank, Zone
from waterbudget.units import MIN_PER_HOUR, Array, IntArray

NODES = 65  # levels between which flows run straight, the empty and the full store among them


@dataclass(frozen=True)
class Hose:
    """A zone's line at some levels of its store, and how it flows; bed_of_jet: column of each jet's bed among beds."""

    zone: Zone
    tank: Tank
    filled: Array
    line: Line
    flow: Flow
    bed_of_jet: IntArray
    beds: tuple[str, ...]

    @property
    def total_l_min(self) -> Array:
        """Flow of the zone [L/min]; (level,)."""
        return self.flow.total_l_h / MIN_PER_HOUR

    @property
    def beds_l_min(self) -> Array:
        """Flow on each bed [L/min]; (level, bed)."""
        in_bed = self.bed_of_jet[:, np.newaxis] == np.arange(len(self.beds))
        on_beds: Array = self.flow.jets_l_h @ in_bed.astype(np.float64) / MIN_PER_HOUR
        return on_beds

    def changed(self, line: Line) -> "Hose":
        """The same zone with another line, solved."""
        return replace(self, line=line, flow=solve(line))


class OverLevel(NamedTuple):
    """A zone at evenly spaced levels of its store, NODES of them from empty to full.

    flow_l_min: (node,). shares: of the flow that each bed of the site gets, (node, bed); where nothing flows, those of
    the lowest level at which something does.
    """

    flow_l_min: Array
    shares: Array


def hose_of(site: Site, zone: Zone, filled: ArrayLike) -> Hose:
    """The line of a zone that has one, solved with the store filled to these shares, (level,).

    Raises SiteError where no flows are found that obey pump, pipe and jets.
    """
    tank = next(tank for tank in site.tank if tank.name == zone.tank)
    beds = tuple(bed.name for bed in site.bed)
    filled = np.atleast_1d(np.asarray(filled, dtype=np.float64))
    line = lay_hose(site, zone, store_depth_m(tank, filled))
    flow = solve(line)
    if np.any(flow.flags.unsolved):
        found_none = "no flows were found that obey its pump, pipe and jets"
        raise SiteError(f"{_key(site, zone)}: {found_none}; check bore_mm, length_m, the jets and the pump")
    return Hose(zone, tank, filled, line, flow, _bed_of_jet(zone, beds), beds)


def over_level(site: Site, zone: Zone) -> OverLevel:
    """What the line of a zone gives over the level of its store.

    Raises SiteError where nothing flows even from a full store.
    """
    hose = hose_of(site, zone, np.linspace(0.0, 1.0, NODES))
    flow_l_min, on_beds = hose.total_l_min, hose.beds_l_min
    if flow_l_min[-1] <= 0.0:
        raise SiteError(f"{_key(site, zone)}: gives nothing even from a full store; {_why_nothing(hose)}")
    flowing = np.maximum(np.arange(NODES), np.argmax(flow_l_min > 0.0))
    return OverLevel(flow_l_min, on_beds[flowing] / flow_l_min[flowing, np.newaxis])


def minutes_to_fall(over: OverLevel, capacity_l: float, from_l: float, to_l: float) -> float:
    """Minutes that the zone runs until its store has fallen from one level to a lower one [L], its flow with it.

    Between two nodes the flow runs straight, so that a part of it takes its litres over the logarithmic mean of the
    flows at its ends. Infinite where the flow dies away before; 0 where the store is as low already.
    """
    nodes_l = capacity_l * np.linspace(0.0, 1.0, len(over.flow_l_min))
    between = nodes_l[(nodes_l > to_l) & (nodes_l < from_l)]
    levels_l = np.array([to_l, *between, max(from_l, to_l)])
    flow_l_min = np.interp(levels_l, nodes_l, over.flow_l_min)
    low, high = flow_l_min[:-1], flow_l_min[1:]
    if np.any((low <= 0.0) & (np.diff(levels_l) > 0.0)):
        return np.inf
    is_even = np.isclose(low, high, rtol=1e-9, atol=0.0)  # where the logarithmic mean would be 0 over 0
    ratio = np.divide(high, low, out=np.ones_like(high), where=~is_even)
    mean = np.divide(high - low, np.log(ratio), out=high.copy(), where=~is_even)
    return float(np.sum(np.diff(levels_l) / mean))


def store_depth_m(tank: Tank, filled: Array) -> Array:
    """How deep the water stands in a store filled to a share [m].

    By its shape; without one its walls are taken to be upright.
    """
    if tank.inside is not None:
        full_l = tank.inside.litres(tank.inside.height_m)
        return tank.inside.depth_m(filled * full_l)
    return filled * (tank.inner_height_m or 0.0)


def lay_hose(site: Site, zone: Zone, source_m: ArrayLike) -> Line:
    """The line of a zone that has one, with the water in its store standing so high [m], (level,).

    Its jets stand at even spacing along the pipe, bed by bed.
    """
    hose = _line_of(zone)
    places = even_jets(sum(jets.count for jets in hose.jets), hose.length_m, ring=hose.ring)

    def of_jets(values: list[float]) -> Array:
        return np.repeat(values, [jets.count for jets in hose.jets])

    return lay_line(
        ring=hose.ring,
        length_m=hose.length_m,
        bore_mm=hose.bore_mm,
        jet_m=places.jet_m,
        height_m=of_jets([hose.rise_m if jets.rise_m is None else jets.rise_m for jets in hose.jets]),
        k_l_h=of_jets([jets.k for jets in hose.jets]),
        x=of_jets([jets.x for jets in hose.jets]),
        opening=of_jets([jets.opening for jets in hose.jets]),
        tee_m=hose.rise_m,
        source_m=source_m,
        feed_length_m=hose.feed_length_m,
        feed_bore_mm=hose.feed_bore_mm or hose.bore_mm,
        feed_k=hose.feed_k,
        pump=pump_of(site) if hose.pumped else NO_PUMP,
    )


def pump_of(site: Site) -> Pump:
    """The site's pump, by nameplate or curve; none where it has none."""
    pump = site.pump
    if pump is None:
        return NO_PUMP
    if pump.points is None:
        return pump_from_nameplate(np.array([pump.shutoff_m]), np.array([pump.greatest_l_h]) / L_H_PER_M3_S)
    flow, head_m = np.array(pump.points).T[:, :, np.newaxis] / np.array([L_H_PER_M3_S, 1.0])[:, np.newaxis, np.newaxis]
    if len(flow) == 1:
        return pump_from_duty_point(flow[0], head_m[0])
    if len(flow) == len(("shutoff", "one more")):
        greatest = flow[1] * np.sqrt(head_m[0] / (head_m[0] - head_m[1]))
        return pump_from_nameplate(head_m[0], greatest)
    return pump_from_three_points(head_m[0], flow[1], head_m[1], flow[2], head_m[2])


def _why_nothing(hose: Hose) -> str:
    if not np.any(hose.line.is_open):
        return "all its jets are shut: write an opening above 0"
    reach_m = float(hose.line.source_m[-1] + hose.line.pump.shutoff_m[-1])
    lowest_m = float(hose.line.lowest_m[-1])
    return f"water and pump reach {reach_m:.3g} m above its floor, the lowest open jet {lowest_m:.3g} m: check rise_m"


def _key(site: Site, zone: Zone) -> str:
    number = next(n for n, other in enumerate(site.zone, 1) if other.name == zone.name)
    return f'zone[{number}].line, of "{zone.name}"'


def _bed_of_jet(zone: Zone, beds: tuple[str, ...]) -> IntArray:
    jets = _line_of(zone).jets
    return np.repeat([beds.index(some.bed) for some in jets], [some.count for some in jets])


def _line_of(zone: Zone) -> SiteLine:
    if zone.hose is None:
        raise SiteError(f'"{zone.name}" has no [[zone.line]]; add one: ring, bore_mm, length_m, rise_m and its jets')
    return zone.hose
