"""What becomes of the rain on a roof."""

from typing import NamedTuple

import numpy as np

from waterbudget.units import L_PER_MM_M2, Array


class RoofDay(NamedTuple):
    """Litres of one day, arrays (scenario, roof); the last four add up to the first."""

    on_roof_l: Array
    caught_l: Array
    flushed_l: Array
    filter_l: Array
    kept_l: Array


def roof_day(
    rain_mm: Array,
    area_m2: Array,
    runoff_coefficient: Array,
    loss_mm: Array,
    first_flush_l: Array,
    filter_efficiency: Array,
) -> RoofDay:
    """One day of rain on roofs [L]; every array broadcasts to (scenario, roof).

    area_m2 is the plan area. loss_mm wets the roof before anything runs; first_flush_l is thrown away before the
    filter. Source: rain times plan area times coefficient as in enHealth, Guidance on use of rainwater tanks, App. B,
    by the day.
    """
    on_roof_l = rain_mm * area_m2 * L_PER_MM_M2
    runoff_l = np.maximum(rain_mm - loss_mm, 0.0) * area_m2 * L_PER_MM_M2 * runoff_coefficient
    flushed_l = np.minimum(first_flush_l, runoff_l)
    to_filter_l = runoff_l - flushed_l
    caught_l = to_filter_l * filter_efficiency
    return RoofDay(on_roof_l, caught_l, flushed_l, to_filter_l - caught_l, on_roof_l - runoff_l)
