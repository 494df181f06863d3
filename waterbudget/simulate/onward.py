"""A run that goes on from an evening: what the days before it leave to the days after."""

from dataclasses import replace

import numpy as np

from waterbudget.physics.soil import taw
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.simulate.days import BedBook
from waterbudget.units import Array


def counted_from(garden: Garden, first: np.datetime64) -> Garden:
    """The garden with every rhythm that counts from the first day of a run counted from this day."""
    outlets = garden.outlets
    begun = np.where(np.isnan(outlets.every_from), float(first.astype("M8[D]").astype(np.int64)), outlets.every_from)
    return replace(garden, outlets=replace(outlets, every_from=begun))


def depleted_on(garden: Garden, season: Season, day: int, yesterday: BedBook) -> Array:
    """Share of TAW missing at the start of a day; a planting that comes or goes takes it over in proportion."""
    taw_mm = taw(garden.beds.available_water_mm_m, season.zr_m[day])
    return yesterday.depletion_mm / np.where(season.changed[day], yesterday.taw_mm, taw_mm)
