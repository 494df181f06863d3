"""How the yields of a garden answer to a lack of water, and what that puts at risk."""

from typing import NamedTuple

import numpy as np

from waterbudget.physics.yields import yield_lost
from waterbudget.schedule.calendar import Dates
from waterbudget.schedule.season import season_of
from waterbudget.simulate.keep import Keep
from waterbudget.site.model import Site
from waterbudget.tables.crops import find_crop
from waterbudget.tables.yield_response import YieldResponse, find_response
from waterbudget.units import Array, BoolArray

MM = 1e-9  # water use below this is none
SERVING = Keep(sums=("beds.planted_etc_mm", "outlets.given_l"), each=("beds.lack_mm",))  # for `risk_of`


class Risk(NamedTuple):
    """Of each bed the share of its water use that it lacked and of its yield at risk, (bed, lane); harm: (lane,)."""

    lack: Array
    at_risk: Array
    harm: Array


class Sensitivity(NamedTuple):
    """How the yield of each bed answers: ky (day, bed, lane of the dates), and of each bed its crops' factors."""

    ky: Array
    responses: tuple[tuple[YieldResponse, ...], ...]


def response_of(site: Site, dates: Dates) -> Sensitivity:
    """The response factors of what grows in each bed on each of the days, (day, lane); 0 where nothing grows."""
    ky = np.zeros((len(dates), len(site.bed), dates.shape[1]))
    responses: list[dict[str, YieldResponse]] = [{} for _ in site.bed]
    for number in range(max((len(bed.planting) for bed in site.bed), default=0)):
        alone = [bed.model_copy(update={"planting": bed.planting[number : number + 1]}) for bed in site.bed]
        grows = np.broadcast_to(season_of(site.model_copy(update={"bed": alone}), dates).planted, ky.shape)
        for column, bed in enumerate(site.bed):
            if grows[:, column].any():
                crop = bed.planting[number].crop
                response = find_response(None if crop is None else find_crop(crop).name)
                ky[:, column][grows[:, column]] = response.ky
                responses[column][crop or "another crop"] = response
    return Sensitivity(ky, tuple(tuple(found.values()) for found in responses))


def risk_of(site: Site, ky: Array, lack_mm: Array, etc_mm: Array) -> Risk:
    """What a lack of water puts at risk. ky, lack_mm: (day, bed, lane); etc_mm: of all days, (bed, lane)."""
    lacked_mm, answered_mm = lack_mm.sum(axis=0), (ky * lack_mm).sum(axis=0)
    mean_ky = answered_mm / np.maximum(lacked_mm, MM)
    lack = lacked_mm / np.maximum(etc_mm, MM)
    at_risk = np.minimum(yield_lost(mean_ky, lack), 1.0)  # nobody loses more than the harvest
    return Risk(lack, at_risk, _harm(site, at_risk, etc_mm > MM))


def weights_of(site: Site) -> Array:
    """What each bed counts in the harm: its area, where it is watered, (bed,)."""
    return np.array([bed.ground_m2 * (bed.zone is not None) for bed in site.bed])


def _harm(site: Site, at_risk: Array, grows: BoolArray) -> Array:
    """Mean share of the yield at risk over the watered beds that grow, (bed, lane), by area; 0 where there are none."""
    weight = weights_of(site)[:, None] * grows
    harm: Array = (at_risk * weight).sum(axis=0) / np.maximum(weight.sum(axis=0), MM)
    return harm
