"""How much water stands in a tank at a depth, and how deep so many litres stand.

Lengths are inner ones in metres, above zero; a depth is measured from the lowest point of the floor. Arrays broadcast.
Source of every volume: handbooks of mathematics (Bronshtein and others, Handbook of Mathematics, chapter on solid
geometry), from memory.
"""

from typing import NamedTuple, Protocol

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.units import L_PER_M3, Array

HALVINGS = 60  # of a depth: below a double's last digit


class Shape(Protocol):
    """A tank from its floor to its overflow."""

    @property
    def height_m(self) -> Array:
        """Depth of the full tank [m]."""

    def litres(self, depth_m: Array) -> Array:
        """Water [L] that stands depth_m deep. Raises RangeError below the floor or above the full tank."""

    def depth_m(self, litres: Array) -> Array:
        """How deep so many litres stand [m]. Raises RangeError below zero or above the full tank."""


class UprightCylinder(NamedTuple):
    """A cylinder that stands on its end."""

    inner_diameter_m: Array
    inner_height_m: Array

    @property
    def height_m(self) -> Array:
        """Depth of the full tank [m]."""
        return self.inner_height_m

    def litres(self, depth_m: Array) -> Array:
        """V = pi/4 d2 h."""
        _refuse_outside("depth of", depth_m, self.height_m, "m")
        return L_PER_M3 * np.pi / 4.0 * self.inner_diameter_m**2 * depth_m

    def depth_m(self, litres: Array) -> Array:
        """The inverse, closed."""
        _refuse_outside("volume of", litres, self.litres(self.height_m), "L")
        return litres / (L_PER_M3 * np.pi / 4.0 * self.inner_diameter_m**2)


class Box(NamedTuple):
    """A box on a level floor."""

    inner_length_m: Array
    inner_width_m: Array
    inner_height_m: Array

    @property
    def height_m(self) -> Array:
        """Depth of the full tank [m]."""
        return self.inner_height_m

    def litres(self, depth_m: Array) -> Array:
        """V = l w h."""
        _refuse_outside("depth of", depth_m, self.height_m, "m")
        return L_PER_M3 * self.inner_length_m * self.inner_width_m * depth_m

    def depth_m(self, litres: Array) -> Array:
        """The inverse, closed."""
        _refuse_outside("volume of", litres, self.litres(self.height_m), "L")
        return litres / (L_PER_M3 * self.inner_length_m * self.inner_width_m)


class Tapered(NamedTuple):
    """A round tank that widens or narrows evenly from floor to top: the frustum of a cone."""

    inner_top_diameter_m: Array
    inner_bottom_diameter_m: Array
    inner_height_m: Array

    @property
    def height_m(self) -> Array:
        """Depth of the full tank [m]."""
        return self.inner_height_m

    def litres(self, depth_m: Array) -> Array:
        """V = pi/12 h (D2 + D d + d2), with d the diameter of the floor and D that of the water's surface."""
        _refuse_outside("depth of", depth_m, self.height_m, "m")
        floor_m = self.inner_bottom_diameter_m
        surface_m = floor_m + (self.inner_top_diameter_m - floor_m) * depth_m / self.inner_height_m
        return L_PER_M3 * np.pi / 12.0 * depth_m * (surface_m**2 + surface_m * floor_m + floor_m**2)

    def depth_m(self, litres: Array) -> Array:
        """The inverse, closed: D3 = d3 + 12 V (Dtop - d) / (pi H), then h from the volume, which even sides allow."""
        _refuse_outside("volume of", litres, self.litres(self.height_m), "L")
        floor_m, twelve_v = self.inner_bottom_diameter_m, 12.0 / np.pi * litres / L_PER_M3
        widening = (self.inner_top_diameter_m - floor_m) / self.inner_height_m
        surface_m = np.cbrt(floor_m**3 + twelve_v * widening)
        return twelve_v / (surface_m**2 + surface_m * floor_m + floor_m**2)


class LyingCylinder(NamedTuple):
    """A cylinder that lies on its side, with flat ends."""

    inner_diameter_m: Array
    inner_length_m: Array

    @property
    def height_m(self) -> Array:
        """Depth of the full tank [m]."""
        return self.inner_diameter_m

    def litres(self, depth_m: Array) -> Array:
        """V = l r2 (a - sin 2a / 2), the circular segment of half angle a, with sin2(a/2) = h/d."""
        _refuse_outside("depth of", depth_m, self.height_m, "m")
        half_angle = 2.0 * np.arcsin(np.sqrt(depth_m / self.inner_diameter_m))
        segment_m2 = self.inner_diameter_m**2 / 4.0 * (half_angle - np.sin(2.0 * half_angle) / 2.0)
        return L_PER_M3 * self.inner_length_m * segment_m2

    def depth_m(self, litres: Array) -> Array:
        """The inverse, by halving: the volume rises all the way."""
        _refuse_outside("volume of", litres, self.litres(self.height_m), "L")
        low_m, high_m = np.zeros_like(litres * self.height_m), self.height_m * np.ones_like(litres)
        for _ in range(HALVINGS):
            middle_m = (low_m + high_m) / 2.0
            is_above = self.litres(middle_m) > litres
            low_m, high_m = np.where(is_above, low_m, middle_m), np.where(is_above, middle_m, high_m)
        return (low_m + high_m) / 2.0


Kind = type[UprightCylinder] | type[Box] | type[Tapered] | type[LyingCylinder]

SHAPES: dict[str, Kind] = {  # by their name in a site file; the fields are the sizes that each needs
    "upright-cylinder": UprightCylinder,
    "box": Box,
    "tapered": Tapered,
    "lying-cylinder": LyingCylinder,
}


def _refuse_outside(what: str, value: Array, full: Array, unit: str) -> None:
    if not np.all((value >= 0.0) & (value <= full)):
        raise RangeError(f"a {what} {value} {unit} lies outside the tank, 0 to {full} {unit}")
