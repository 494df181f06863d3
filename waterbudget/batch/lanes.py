"""What only a batch runs side by side: weather of several places."""

from collections.abc import Sequence

import numpy as np

from waterbudget.simulate.days import Sky
from waterbudget.units import Array


def skies_side_by_side(skies: Sequence[Sky], lanes: int) -> Sky:
    """Weather of the same days as the scenarios of one, each for so many of them."""

    def joined(of_each: Sequence[Array]) -> Array:
        return np.repeat(np.concatenate(of_each, axis=1), lanes, axis=1)

    tmax_c = [sky.tmax_c for sky in skies if sky.tmax_c is not None]
    return Sky(
        joined([sky.rain_mm for sky in skies]),
        joined([sky.et0_mm for sky in skies]),
        joined(tmax_c) if tmax_c else None,
    )
