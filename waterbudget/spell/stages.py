"""What a lack of water costs by what each crop is doing just then: growing, flowering, swelling or ripening."""

from typing import NamedTuple

import numpy as np

from waterbudget.schedule.season import day_of_planting
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Planting, Site
from waterbudget.spell.carry import Eve
from waterbudget.tables.crops import find_crop
from waterbudget.tables.yield_response import StageFactors, find_stage_factors
from waterbudget.units import Array, BoolArray


class StageKy(NamedTuple):
    """Ky of each bed by the stage of the day (day, bed), and where it is known; elsewhere it is that of the season."""

    ky: Array
    is_known: BoolArray

    @property
    def differs(self) -> bool:
        """Whether any bed has a factor by stage."""
        return bool(self.is_known.any())


def ky_by_stage(site: Site, eve: Eve, season_ky: Array) -> StageKy:
    """The response factors of the days of a spell by growth stage. season_ky: of the whole season, (day, bed).

    The initial and the development stage of FAO-56 count as vegetative, the first half of mid-season as flowering, its
    second half as yield formation, and the late season as ripening: ours.
    """
    ky, is_known = season_ky.copy(), np.zeros(season_ky.shape, dtype=np.bool_)
    for column, bed in enumerate(site.bed):
        for planting in bed.planting:
            factors = None if planting.crop is None else find_stage_factors(find_crop(planting.crop).name)
            if factors is not None:
                stands, by_stage = _by_stage(planting, site, eve, factors)
                stands &= season_ky[:, column] > 0.0
                ky[stands, column], is_known[stands, column] = by_stage[stands], True
    return StageKy(ky, is_known)


def _by_stage(planting: Planting, site: Site, eve: Eve, factors: StageFactors) -> tuple[BoolArray, Array]:
    """Whether a planting stands on each day, and its factor then, (day,)."""
    day = day_of_planting(planting, eve.season.dates)[:, 0]
    initial, development, mid, late = growth_of(planting, site).days
    grown = initial + development
    ends = np.array([grown, grown + mid / 2, grown + mid, grown + mid + late])
    stage = np.minimum(np.searchsorted(ends, day), len(factors) - 1)
    stands: BoolArray = (day >= 1.0) & (day <= ends[-1])
    return stands, np.array(factors)[stage]
