"""How long water may fall on a bed before it runs off, and how long the bed then takes to swallow what stands on it."""

from math import ceil, inf

SURFACE_MM = 5.0  # what the hollows of a flat, open bed hold before water runs off: ours
ROUNDING = 1e-9  # minutes that come so near to a whole number of pulses are that number


def longest_pulse_h(rate_mm_h: float, intake_mm_h: float, surface_mm: float = SURFACE_MM) -> float:
    """Hours that water may fall before it runs off; infinite where the soil takes it as fast as it falls.

    rate_mm_h: at which it falls. intake_mm_h: basic intake of the soil. surface_mm: storage on the surface.
    """
    return surface_mm / (rate_mm_h - intake_mm_h) if rate_mm_h > intake_mm_h else inf


def settling_h(intake_mm_h: float, surface_mm: float = SURFACE_MM) -> float:
    """Hours until the soil has taken in all that stands on its surface."""
    return surface_mm / intake_mm_h


def pulses(length: float, longest: float) -> int:
    """Into how many equal parts a run has to be cut so that none is longer than the longest; of no length one."""
    return max(1, ceil(length / longest - ROUNDING)) if longest > 0.0 else 1
