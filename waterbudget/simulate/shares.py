"""How much of the watering the rain did, told in one place."""

import numpy as np

from waterbudget.units import Array


def met_by_rain(rain_l: Array | float, asked_l: Array | float) -> Array:
    """Share of the water asked for that stored rain gave [-], never below 0 nor above 1; NaN where none was asked for.

    rain_l, asked_l: [L], of one shape.
    """
    asked_l = np.asarray(asked_l, dtype=np.float64)
    asks = asked_l > 0.0
    return np.where(asks, np.clip(rain_l, 0.0, asked_l) / np.where(asks, asked_l, 1.0), np.nan)
