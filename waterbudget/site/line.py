"""The tables of a watering line: its pipe and jets, the pump that drives it and the battery that drives the pump."""

from typing import Annotated

import numpy as np
from pydantic import Field, ValidationInfo, field_validator

from waterbudget.errors import RangeError
from waterbudget.physics.jet import M_PER_BAR, rated_k
from waterbudget.physics.power import BATTERY_TO_WATER, USABLE_SHARE
from waterbudget.physics.pump import check_falling
from waterbudget.site.table import Fraction, NotNegative, Positive, Table

MOST_POINTS = 3
Height = Annotated[float, Field(ge=-100, le=100)]


class Jets(Table):
    """The jets of one bed, all alike, in the order in which the pipe passes the beds."""

    bed: str = Field(title="Bed that they water", description="name of the bed that they water")
    count: Annotated[int, Field(ge=1, le=200)] = Field(title="How many jets", description="number of jets")
    x: Annotated[float, Field(gt=0, le=1.5)] = Field(
        title="Exponent of the pressure", default=0.5, description="exponent of the pressure; 0.5 for a spray jet"
    )
    k_l_h: Positive | None = Field(
        title="Flow of one at 1 m of pressure, L an hour", default=None, description="flow at 1 m of pressure, L/h"
    )
    l_h_at_1_bar: Positive | None = Field(
        title="Flow of one at 1 bar, L an hour", default=None, validate_default=True, description="flow at 1 bar, L/h"
    )
    opening: Fraction = Field(
        title="How far open, 0 to 1", default=1.0, description="how far they are open, 0 shut to 1"
    )
    rise_m: Height | None = Field(
        title="Height above the store's floor, m",
        default=None,
        description="height above the store's floor, m; default: the line's",
    )
    spray: bool = Field(
        title="They spray or mist", default=True, description="whether they throw spray or mist; false for drippers"
    )

    @property
    def k(self) -> float:
        """Flow at 1 m of pressure [L/h], from the flow at 1 bar where that is given."""
        if self.k_l_h is not None:
            return self.k_l_h
        return float(rated_k(np.array(self.l_h_at_1_bar), np.array(M_PER_BAR), np.array(self.x)))

    @field_validator("l_h_at_1_bar")
    @classmethod
    def _is_given_one_way(cls, l_h_at_1_bar: float | None, info: ValidationInfo) -> float | None:
        if "k_l_h" in info.data and (info.data["k_l_h"] is None) == (l_h_at_1_bar is None):
            if l_h_at_1_bar is None:
                raise ValueError("add the jet's flow at 1 bar in L/h, as its packet tells, or k_l_h")
            raise ValueError("k_l_h is given too; leave out one of the two")
        return l_h_at_1_bar


class Line(Table):
    """The pipe with the jets behind a zone's valve; heights count from the floor of its store."""

    ring: bool = Field(
        title="A ring, both ends at the tee", description="true: both ends of the pipe at the tee; false: a dead end"
    )
    bore_mm: Annotated[float, Field(gt=0, le=100)] = Field(
        title="Inner bore, mm", description="inner bore of the pipe, one for all of it, mm"
    )
    length_m: Annotated[float, Field(gt=0, le=1000)] = Field(title="Length, m", description="length of the pipe, m")
    rise_m: Height = Field(
        title="Height above the store's floor, m",
        description="height of the pipe above the store's floor, m; negative below it",
    )
    feed_length_m: Annotated[float, Field(ge=0, le=1000)] = Field(
        title="Hose up to the tee, m", default=5.0, description="length of the hose from store or pump to the tee, m"
    )
    feed_bore_mm: Annotated[float, Field(gt=0, le=100)] | None = Field(
        title="Bore of that hose, mm",
        default=None,
        description="inner bore of that hose, mm; default: that of the pipe",
    )
    feed_k: NotNegative = Field(
        title="Loss in valve, elbows and filter",
        default=2.0,
        description="loss coefficient of valve, elbows and filter in that hose",
    )
    pumped: bool = Field(title="Driven by the pump", default=True, description="false: by gravity, past the pump")
    working_m: Positive = Field(
        title="Least pressure for good work, m",
        default=5.0,
        description="least pressure at which the jets work well, m",
    )
    maker_cv: Annotated[float, Field(ge=0, lt=0.75)] = Field(
        title="Scatter of new jets", default=0.05, description="scatter of new jets, as a coefficient of variation"
    )
    water_c: Annotated[float, Field(ge=5, le=35)] | None = Field(
        title="Warmest water measured, °C", default=None, description="warmest measured water in the store, °C"
    )
    jets: list[Jets] = Field(min_length=1, description="the jets, bed by bed, as the pipe passes them")


class Pump(Table):
    """The pump in or beside a store, by its nameplate or by points of its curve."""

    shutoff_m: Annotated[float, Field(gt=0, le=200)] | None = Field(
        title="It lifts at most, m", default=None, description="head at no flow, m, as on the nameplate"
    )
    greatest_l_h: Positive | None = Field(
        title="It moves at most, L an hour",
        default=None,
        validate_default=True,
        description="flow at no head, L/h, as on the nameplate",
    )
    points: list[list[NotNegative]] | None = Field(
        title="Its curve, L an hour and m a line",
        default=None,
        validate_default=True,
        description="points of its curve, [[flow L/h, head m], ...]",
    )
    motor_w: Positive | None = Field(
        title="Motor, watts", default=None, description="watts on the nameplate of the motor"
    )

    @field_validator("greatest_l_h")
    @classmethod
    def _goes_with_shutoff(cls, greatest_l_h: float | None, info: ValidationInfo) -> float | None:
        if "shutoff_m" in info.data and (info.data["shutoff_m"] is None) != (greatest_l_h is None):
            raise ValueError("shutoff_m and greatest_l_h go together; give both, or points")
        return greatest_l_h

    @field_validator("points")
    @classmethod
    def _is_a_falling_curve(cls, points: list[list[float]] | None, info: ValidationInfo) -> list[list[float]] | None:
        if "shutoff_m" not in info.data or "greatest_l_h" not in info.data:
            return points
        by_nameplate = info.data["shutoff_m"] is not None
        if (points is None) != by_nameplate:
            raise ValueError(
                "shutoff_m is given too; leave out one of the two"
                if by_nameplate
                else "add shutoff_m and greatest_l_h from the nameplate, or points of the curve"
            )
        if points is not None:
            _check_points(points)
        return points


def _check_points(points: list[list[float]]) -> None:
    if not 1 <= len(points) <= MOST_POINTS or any(len(point) != len(("flow", "head")) for point in points):
        raise ValueError("write one to three points, [[0, 20], [600, 15], [1000, 8]], each a flow in L/h and a head")
    flow_l_h, head_m = np.array(points).T
    if len(points) == 1:
        if not (flow_l_h[0] > 0.0 and head_m[0] > 0.0):
            raise ValueError("a single point needs a flow and a head above 0")
        return
    if flow_l_h[0] != 0.0:
        raise ValueError("the first of several points is the head at no flow; begin with [0, head]")
    try:
        check_falling(flow_l_h, head_m)
    except RangeError as error:
        raise ValueError(f"{error}; read the curve again") from None


class Battery(Table):
    """The battery of the pump."""

    volts: Positive = Field(title="Volts", description="nominal voltage, V, not that of a full charge")
    amp_hours: Positive = Field(title="Charge, Ah", description="charge that it holds, Ah")
    usable_share: Annotated[float, Field(gt=0, le=1)] = Field(
        title="Share that can be used",
        default=USABLE_SHARE,
        description="share of it that can be used; less when cold or aged",
    )
    efficiency: Annotated[float, Field(gt=0, le=1)] = Field(
        title="Share that gets into the water",
        default=BATTERY_TO_WATER,
        description="share of its energy that gets into the water: driver, motor and pump",
    )
    minutes_to_empty: Positive | None = Field(
        title="A charge was seen to last, minutes",
        default=None,
        description="minutes that a full charge was seen to drive this line; goes before the efficiency",
    )
