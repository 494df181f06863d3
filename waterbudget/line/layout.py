"""One watering zone: source, pump, feed hose, and the pipe with its jets, a ring or a dead end."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.errors import RangeError
from waterbudget.physics.pipe import G_M_S2, Loss, darcy_weisbach, fittings, hazen_williams, viscosity_m2_s
from waterbudget.physics.pump import NO_PUMP, Pump, pump_head
from waterbudget.units import MM_PER_M, Array, BoolArray

L_H_PER_M3_S = 3.6e6


@dataclass(frozen=True)
class Line:
    """Zones of one shape, all in SI; arrays (scenario,), those of the jets (scenario, jet). `lay_line` makes one.

    ring: both ends of the pipe at the tee, or a dead end. jet_m: way of each jet from the tee along the pipe, never
    falling. height_m, tee_m, source_m: heights of the jets, the tee and the water's surface above one datum. k
    [m3/s per m^x], x, opening (0 shut to 1): law of the jets. barb_m: pipe of the same loss as each jet's barb.
    feed: the hose from pump to tee, feed_k the summed loss coefficient of its fittings. hazen_williams_c: None for
    Darcy-Weisbach with roughness_m.
    """

    ring: bool
    length_m: Array
    bore_m: Array
    jet_m: Array
    height_m: Array
    k: Array
    x: Array
    opening: Array
    barb_m: Array
    tee_m: Array
    source_m: Array
    feed_length_m: Array
    feed_bore_m: Array
    feed_k: Array
    pump: Pump
    free_spinning: bool
    roughness_m: Array
    hazen_williams_c: Array | None
    nu_m2_s: Array
    g_m_s2: Array

    @property
    def is_open(self) -> BoolArray:
        """Jets that are not shut."""
        return self.opening > 0.0

    @property
    def open_k(self) -> Array:
        """Coefficient of each jet as far as it is open [m3/s per m^x]."""
        return self.opening * self.k

    @property
    def lowest_m(self) -> Array:
        """Height of the lowest open jet [m], infinite where all are shut; (scenario,)."""
        return np.min(np.where(self.is_open, self.height_m, np.inf), axis=1)

    @property
    def segment_m(self) -> Array:
        """Pipe between tee and jets [m]; (scenario, jet), and a ring's last one back to the tee. Barbs count half
        on either side of their jet."""
        tee = np.zeros((self.jet_m.shape[0], 1))
        ends = [tee, self.jet_m, self.length_m[:, np.newaxis]] if self.ring else [tee, self.jet_m]
        half_barb_m = [self.barb_m / 2.0, tee] if self.ring else [self.barb_m / 2.0]
        before_m = np.concatenate([tee, self.barb_m / 2.0], axis=1)[:, : self.jet_m.shape[1] + self.ring]
        return np.diff(np.concatenate(ends, axis=1), axis=1) + np.concatenate(half_barb_m, axis=1) + before_m

    def pipe_loss(self, flow_m3_s: Array, length_m: Array) -> Loss:
        """Friction in the pipe of the jets; arrays (..., scenario)."""
        return self._friction(flow_m3_s, length_m, self.bore_m)

    def supply(self, flow_m3_s: Array) -> Loss:
        """Head that the source can hold at the tee at a flow not below zero, and its slope; arrays (..., scenario)."""
        pump = pump_head(flow_m3_s, self.pump, free_spinning=self.free_spinning)
        hose = self._friction(flow_m3_s, self.feed_length_m, self.feed_bore_m)
        fitted = fittings(flow_m3_s, self.feed_bore_m, self.feed_k, self.g_m_s2)
        return Loss(
            self.source_m + pump.head_m - hose.head_m - fitted.head_m,
            pump.slope_s_m2 - hose.slope_s_m2 - fitted.slope_s_m2,
        )

    def _friction(self, flow_m3_s: Array, length_m: Array, bore_m: Array) -> Loss:
        if self.hazen_williams_c is not None:
            return hazen_williams(flow_m3_s, length_m, bore_m, self.hazen_williams_c)
        return darcy_weisbach(flow_m3_s, length_m, bore_m, self.roughness_m, self.nu_m2_s, self.g_m_s2)

    def take(self, rows: Any) -> "Line":  # noqa: ANN401
        """The scenarios that an index, a slice or a mask picks."""
        picked: dict[str, Any] = {field.name: getattr(self, field.name) for field in fields(self)}
        for name, value in picked.items():
            if isinstance(value, np.ndarray):
                picked[name] = value[rows]
        picked["pump"] = Pump(*(part[rows] for part in self.pump))
        return Line(**picked)
