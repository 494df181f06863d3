"""The flows and pressures of watering zones: Newton first, and march and bracket for what it leaves."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from waterbudget.line.layout import L_H_PER_M3_S, Line
from waterbudget.line.march import march
from waterbudget.line.newton import newton
from waterbudget.line.streams import Followed, Residuals, Streams, follow
from waterbudget.physics.pipe import reynolds, viscosity_m2_s
from waterbudget.physics.pump import curve_end, pump_head
from waterbudget.units import MM_PER_M, Array, BoolArray

ACCEPTED_M = 1e-6  # heads that meet within a thousandth of a millimetre are an answer
CLOSE_M = 1e-8  # what does not meet within this is tried another way
QUICK_STEPS, MANY_STEPS = 8, 50

BORE_MM = (10.0, 20.0)
LENGTH_M = (10.0, 60.0)
MOST_JETS = 60
K_L_H = (1.0, 30.0)
X = (0.4, 0.7)
MOST_HEAD_M = 40.0
WATER_C = (5.0, 35.0)


@dataclass(frozen=True)
class Flags:
    """What to know about an answer; arrays (scenario,).

    beyond_pump_curve: more flows than the pump's curve covers, so its head there is a guess. dry_jets: some open jet
    gives nothing. negative_pressure: the pipe lies above the pressure line somewhere, where a leak or an open jet lets
    air in. siphons_when_off: the source stands above an open jet, and goes on running when the pump stops.
    out_of_range: a quantity outside what the solver was proven on. no_flow: nothing flows. unsolved: no flows that
    obey every law were found; all numbers are nan.
    """

    beyond_pump_curve: BoolArray
    dry_jets: BoolArray
    negative_pressure: BoolArray
    siphons_when_off: BoolArray
    out_of_range: BoolArray
    no_flow: BoolArray
    unsolved: BoolArray


@dataclass(frozen=True)
class Flow:
    """Flows [m3/s] and pressure heads [m]; arrays (scenario,), those of the jets (scenario, jet).

    pipe_m3_s: flow in each piece of pipe, away from the tee where positive. pump_head_m: what the pump adds. re_least,
    re_most: Reynolds numbers in the pipe. Where nothing flows, the pressures are those of standing water as high as
    source and pump hold it: it does not get to a jet where they are below zero.
    """

    total_m3_s: Array
    jets_m3_s: Array
    pipe_m3_s: Array
    pressure_m: Array
    tee_pressure_m: Array
    pump_head_m: Array
    re_least: Array
    re_most: Array
    residuals: Residuals
    flags: Flags

    @property
    def total_l_h(self) -> Array:
        """Flow of the zone [L/h]; (scenario,)."""
        return self.total_m3_s * L_H_PER_M3_S

    @property
    def jets_l_h(self) -> Array:
        """Flow of each jet [L/h]; (scenario, jet)."""
        return self.jets_m3_s * L_H_PER_M3_S


def solve(line: Line) -> Flow:
    """Steady flow of every zone of the line: what supply, pipe and jets agree on.

    Jets without pressure are dry and take no air in; the source lets nothing back. Where heads do not meet within
    ACCEPTED_M the numbers are nan and flagged as unsolved.
    """
    flows = line.source_m + line.pump.shutoff_m > line.lowest_m
    nothing = np.zeros(flows.size)
    streams = Streams(nothing, nothing.copy(), np.zeros(line.jet_m.shape))
    worst_m = np.where(flows, np.inf, 0.0)
    for way in (partial(newton, steps=QUICK_STEPS), partial(newton, steps=MANY_STEPS), march):
        rows = np.flatnonzero(worst_m > CLOSE_M)
        if rows.size == 0:
            break
        part = line.take(rows)
        found = way(part)
        found_m = _worst_m(follow(part, found))
        better = found_m < worst_m[rows]
        worst_m[rows[better]] = found_m[better]
        for values, new in zip(streams, found, strict=True):
            values[rows[better]] = new[better]
    return _flow(line, streams, flows)


def _worst_m(followed: Followed) -> Array:
    return np.maximum(followed.residuals.head_m, followed.residuals.ring_m)


def _flow(line: Line, streams: Streams, flows: BoolArray) -> Flow:
    followed = follow(line, streams)
    unsolved = ~(_worst_m(followed) < ACCEPTED_M) & flows
    pressure_m = followed.head_m - line.height_m
    tee_pressure_m = followed.tee_head_m - line.tee_m
    re = reynolds(followed.pipe_m3_s.T, line.bore_m, line.nu_m2_s)
    flags = Flags(
        beyond_pump_curve=(streams.total > curve_end(line.pump)) & ~unsolved,
        dry_jets=np.any(line.is_open & (streams.jets == 0.0), axis=1) & flows & ~unsolved,
        negative_pressure=(np.minimum(np.min(pressure_m, axis=1), tee_pressure_m) < 0.0) & flows & ~unsolved,
        siphons_when_off=(line.source_m > line.lowest_m) & (line.pump.shutoff_m > 0.0),
        out_of_range=_out_of_range(line),
        no_flow=~flows,
        unsolved=unsolved,
    )

    def known(values: Array) -> Array:
        return np.where(unsolved.reshape(-1, *[1] * (values.ndim - 1)), np.nan, values)

    return Flow(
        total_m3_s=known(streams.total),
        jets_m3_s=known(streams.jets),
        pipe_m3_s=known(followed.pipe_m3_s),
        pressure_m=known(pressure_m),
        tee_pressure_m=known(tee_pressure_m),
        pump_head_m=known(pump_head(streams.total, line.pump, free_spinning=line.free_spinning).head_m),
        re_least=known(np.min(re, axis=0)),
        re_most=known(np.max(re, axis=0)),
        residuals=followed.residuals,
        flags=flags,
    )


def _out_of_range(line: Line) -> BoolArray:
    jets = line.is_open
    per_zone = (
        _within(line.bore_m * MM_PER_M, *BORE_MM)
        & _within(line.length_m, *LENGTH_M)
        & (np.sum(jets, axis=1) <= MOST_JETS)
        & ~(line.source_m + line.pump.shutoff_m - line.lowest_m > MOST_HEAD_M)
        & _within(line.nu_m2_s, *viscosity_m2_s(np.array(WATER_C))[::-1])
    )
    per_jet = _within(line.k * L_H_PER_M3_S, *K_L_H) & _within(line.x, *X)
    outside: BoolArray = ~(per_zone & np.all(per_jet | ~jets, axis=1))
    return outside


def _within(value: Array, low: float, high: float) -> BoolArray:
    slack = 1e-9  # a limit itself is within, whatever its last digit became in another unit
    return (value >= low * (1.0 - slack)) & (value <= high * (1.0 + slack))
