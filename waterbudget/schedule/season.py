"""What stands in each bed on each day: crop coefficient, roots and the day a planting comes or goes."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from waterbudget.physics.crop import kc_curve, root_depth
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Bed, MonthDay, Planting, Site
from waterbudget.units import Array, BoolArray

Dates = NDArray[np.datetime64]  # days, (day, scenario); one scenario column may stand for all
BARE = np.datetime64("NaT", "D")
BARE_P = 0.5  # the depletion fraction of bare soil


class Season(NamedTuple):
    """Arrays (day, scenario, bed). p is the table's value; changed marks the first day of a planting and after one."""

    dates: Dates
    kc: Array
    zr_m: Array
    p: Array
    planted: BoolArray
    changed: BoolArray

    def of(self, some: slice) -> "Season":
        """The season of some of its days."""
        return Season._make(part[some] for part in self)


def season_of(site: Site, dates: Dates) -> Season:
    """The season of every bed of a site on the given days, (day, scenario)."""
    shape = (*dates.shape, len(site.bed))
    kc = np.full(shape, site.model.kc_bare)
    zr_m = np.full(shape, site.model.root_start_m)
    p = np.full(shape, BARE_P)
    stands = np.full(shape, BARE)
    for column, bed in enumerate(site.bed):
        for planting in bed.planting:
            growth = growth_of(planting, site)
            began = _began(planting, dates)
            day = (dates - began).astype(np.int64).astype(np.float64) + 1.0
            grows = (day >= 1.0) & (day <= sum(growth.days))
            stands[..., column][grows] = began[grows]
            kc[..., column][grows] = kc_curve(day[grows], np.array(growth.days), np.array(growth.kc))
            days_to_full, start_m, full_m = np.array([sum(growth.days[:2]), growth.root_start_m, growth.root_full_m])
            zr_m[..., column][grows] = root_depth(day[grows], days_to_full, start_m, full_m)
            p[..., column][grows] = growth.p
        zr_m[..., column] = np.minimum(zr_m[..., column], _limit(bed))
    planted = ~np.isnat(stands)
    changed = np.zeros(shape, dtype=np.bool_)
    changed[1:] = (stands[1:] != stands[:-1]) & (planted[1:] | planted[:-1])
    return Season(dates, kc, zr_m, p, planted, changed)


def _limit(bed: Bed) -> float:
    return np.inf if bed.root_limit_m is None else bed.root_limit_m


def _began(planting: Planting, dates: Dates) -> Dates:
    """The day on which the planting that may stand on each date was planted."""
    if not isinstance(planting.planted, MonthDay):
        return np.full(dates.shape, np.datetime64(planting.planted, "D"))
    this_year = _in_year(dates.astype("M8[Y]"), planting.planted)
    return np.where(this_year <= dates, this_year, _in_year(dates.astype("M8[Y]") - 1, planting.planted))


def _in_year(years: NDArray[np.datetime64], day: MonthDay) -> Dates:
    return (years.astype("M8[M]") + (day.month - 1)).astype("M8[D]") + (day.day - 1)
