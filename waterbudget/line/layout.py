"""One watering zone: source, pump, feed hose, and the pipe with its jets, a ring or a dead end."""

from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.errors import RangeError
from waterbudget.physics.pipe import G_M_S2, Loss, darcy_weisbach, fittings, hazen_williams, viscosity_m2_s
from waterbudget.physics.pump import NO_PUMP, Pump, pump_head
from waterbudget.units import MM_PER_M, Array, BoolArray, IntArray

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
        """Jets that are not shut; (scenario, jet)."""
        return self.opening > 0.0

    @property
    def lowest_m(self) -> Array:
        """Height of the lowest open jet [m], infinite where all are shut; (scenario,)."""
        lowest_m: Array = np.min(np.where(self.is_open, self.height_m, np.inf), axis=1)
        return lowest_m

    @property
    def segment_m(self) -> Array:
        """Pipe from the tee to each jet from the one before [m], and a ring's last piece; (scenario, jet or jet + 1).

        Half of a barb counts on either side of its jet.
        """
        segment_m = np.diff(np.column_stack([np.zeros_like(self.length_m), self.jet_m, self.length_m]))
        segment_m[:, :-1] += self.barb_m / 2.0
        segment_m[:, 1:] += self.barb_m / 2.0
        return segment_m if self.ring else segment_m[:, :-1]

    def pipe_loss(self, flow_m3_s: Array, length_m: Array) -> Loss:
        """Friction in the pipe of the jets; arrays (..., scenario)."""
        return self._friction(flow_m3_s, length_m, self.bore_m)

    def supply(self, flow_m3_s: Array) -> Loss:
        """Head that the source holds up at the tee at a flow not below zero, and its slope; arrays (..., scenario)."""
        pump = pump_head(flow_m3_s, self.pump, free_spinning=self.free_spinning)
        hose = self._friction(flow_m3_s, self.feed_length_m, self.feed_bore_m)
        fitted = fittings(flow_m3_s, self.feed_bore_m, self.feed_k, self.g_m_s2)
        return Loss(
            self.source_m + pump.head_m - hose.head_m - fitted.head_m,
            pump.slope_s_m2 - hose.slope_s_m2 - fitted.slope_s_m2,
        )

    def take(self, rows: Any) -> "Line":  # noqa: ANN401
        """The scenarios that an index, a slice or a mask picks."""
        arrays = {field.name: getattr(self, field.name) for field in fields(self)}
        picked = {name: value[rows] for name, value in arrays.items() if isinstance(value, np.ndarray)}
        return replace(self, pump=Pump(*(part[rows] for part in self.pump)), **picked)

    def without_pump(self) -> "Line":
        """The same zones when the pump stands still and only the source's height feeds them; its own loss is left out.

        Where the source stands above an open jet, that water runs until somebody shuts it off.
        """
        return replace(self, pump=Pump(*(np.array(np.broadcast_to(part, self.tee_m.shape)) for part in NO_PUMP)))

    def _friction(self, flow_m3_s: Array, length_m: Array, bore_m: Array) -> Loss:
        if self.hazen_williams_c is not None:
            return hazen_williams(flow_m3_s, length_m, bore_m, self.hazen_williams_c)
        return darcy_weisbach(flow_m3_s, length_m, bore_m, self.roughness_m, self.nu_m2_s, self.g_m_s2)


class Jets(NamedTuple):
    """Places of jets, arrays (scenario, jet): way from the tee, height, and 1 where there is a jet or 0 where none."""

    jet_m: Array
    height_m: Array
    there: Array


def even_jets(
    jets: int | IntArray, length_m: ArrayLike, *, ring: bool, tee_m: ArrayLike = 0.0, far_m: ArrayLike | None = None
) -> Jets:
    """Jets at even spacing: on a dead end the last one at its end, on a ring one spacing from the tee at both ends.

    jets, length_m, tee_m, far_m: (scenario,). Heights run straight from tee_m to far_m (the same height if left out)
    at the end of the pipe, or half way round the ring. Scenarios of fewer jets than others get places without one
    at the point farthest from the tee.
    """
    count, length, tee = (np.atleast_1d(value)[:, np.newaxis] for value in (jets, length_m, tee_m))
    far = tee if far_m is None else np.atleast_1d(far_m)[:, np.newaxis]
    place = np.arange(1, np.max(count, initial=1) + 1)
    spare = place.size - count
    if ring:
        first_arm, second_arm = place <= (count + 1) // 2, place > spare + (count + 1) // 2
        along = np.where(first_arm, place, np.where(second_arm, place - spare, (count + 1) / 2)) / (count + 1)
        there = first_arm | second_arm
        away = 2.0 * np.minimum(along, 1.0 - along)
    else:
        along = np.minimum(place / np.maximum(count, 1), 1.0)
        there = place <= count
        away = along
    return Jets(*np.broadcast_arrays(along * length, tee + away * (far - tee), there.astype(np.float64)))


def lay_line(
    *,
    ring: bool,
    length_m: ArrayLike,
    bore_mm: ArrayLike,
    jet_m: ArrayLike,
    height_m: ArrayLike,
    k_l_h: ArrayLike,
    x: ArrayLike = 0.5,
    opening: ArrayLike = 1.0,
    barb_m: ArrayLike = 0.0,
    tee_m: ArrayLike = 0.0,
    source_m: ArrayLike = 0.0,
    feed_length_m: ArrayLike = 5.0,
    feed_bore_mm: ArrayLike = 13.0,
    feed_k: ArrayLike = 2.0,
    pump: Pump = NO_PUMP,
    free_spinning: bool = False,
    roughness_mm: ArrayLike = 0.0015,
    hazen_williams_c: ArrayLike | None = None,
    water_c: ArrayLike = 20.0,
) -> Line:
    """The zones that a garden's numbers describe, spread out to whole arrays; the fields are those of `Line`.

    Quantities of a zone: one number or (scenario,). jet_m, height_m, k_l_h [L/h per m^x], x, opening and barb_m:
    anything that spreads to (scenario, jet). Raises RangeError where a number is outside what pipes and jets allow.
    """
    of_zone = {
        "length_m": length_m,
        "bore_m": np.asarray(bore_mm) / MM_PER_M,
        "tee_m": tee_m,
        "source_m": source_m,
        "feed_length_m": feed_length_m,
        "feed_bore_m": np.asarray(feed_bore_mm) / MM_PER_M,
        "feed_k": feed_k,
        "roughness_m": np.asarray(roughness_mm) / MM_PER_M,
        "nu_m2_s": viscosity_m2_s(np.asarray(water_c, dtype=np.float64)),
        "g_m_s2": G_M_S2,
        **({} if hazen_williams_c is None else {"hazen_williams_c": hazen_williams_c}),
    }
    of_jet = {
        "jet_m": jet_m,
        "height_m": height_m,
        "k": np.asarray(k_l_h) / L_H_PER_M3_S,
        "x": x,
        "opening": opening,
        "barb_m": barb_m,
    }
    jet_shape = np.broadcast_shapes((1, 1), *(np.shape(value) for value in of_jet.values()))
    zone_shape = np.broadcast_shapes(
        jet_shape[:1], *(np.shape(value) for value in of_zone.values()), *(part.shape for part in pump)
    )
    arrays: dict[str, Any] = {name: _spread(value, zone_shape) for name, value in of_zone.items()}
    arrays |= {name: _spread(value, zone_shape + jet_shape[1:]) for name, value in of_jet.items()}
    arrays.setdefault("hazen_williams_c", None)
    line = Line(
        ring=ring, free_spinning=free_spinning, pump=Pump(*(_spread(part, zone_shape) for part in pump)), **arrays
    )
    _check(line)
    return line


def _spread(value: ArrayLike, shape: tuple[int, ...]) -> Array:
    return np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), shape))


def _check(line: Line) -> None:
    for name in ("length_m", "bore_m", "feed_bore_m", "k", "x", "hazen_williams_c"):
        if getattr(line, name) is not None and not np.all(getattr(line, name) > 0.0):
            raise RangeError(f"{name} of a watering line must be above 0")
    for name in ("feed_length_m", "feed_k", "barb_m", "roughness_m", "opening"):
        if not np.all(getattr(line, name) >= 0.0):
            raise RangeError(f"{name} of a watering line must not be below 0")
    for name in ("height_m", "tee_m", "source_m"):
        if not np.all(np.isfinite(getattr(line, name))):
            raise RangeError(f"{name} of a watering line must be a number")
    if not np.all(line.opening <= 1.0):
        raise RangeError("the opening of a jet runs from 0, shut, to 1")
    first, last = line.jet_m[:, 0], line.jet_m[:, -1]
    on_pipe = (first > 0.0) & ((last < line.length_m) if line.ring else (last <= line.length_m))
    if not np.all(on_pipe) or not np.all(np.diff(line.jet_m) >= 0.0):
        raise RangeError("jets stand on their pipe, in the order in which it passes them: jet_m must not fall")
