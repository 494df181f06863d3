"""Whether a zone can wait for rain that is forecast or has fallen today."""

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from waterbudget.change.known import DAY, Known
from waterbudget.units import Array

WAIT_DAYS = 3  # today among them
LOOKED_AT = ("beds.planted", "beds.irrigation_mm", "beds.raw_mm", "beds.rain_mm", "beds.etc_mm")


class Wait(NamedTuple):
    """Rain that is worth waiting for: so much by the evening of a day, what fell today included; driest: share of the
    easy water used up until then in the driest bed.
    """

    day: dt.date
    rain_mm: float
    bed: str
    driest: float


def worth_waiting(
    known: Known, zone: str, eve_mm: Array, expected: Mapping[str, Array], rain_mm: Array, share_left: float
) -> Wait | None:
    """Rain that brings the zone's beds what the rest of today's watering would, before any of them is thirsty.

    The beds are followed without that: each day's ETc dries them, rain wets them, and a bed is thirsty where more than
    its readily available water is used up at the start of a day (FAO-56 eq. 84). eve_mm: depletion of yesterday
    evening, (bed,). expected: LOOKED_AT, (day, bed), and rain_mm, (day,), from today on, as far as rain is known or
    forecast. share_left: of today's watering that is still to do.
    """
    if not len(rain_mm):
        return None
    beds = [
        number for number, bed in enumerate(known.site.bed) if bed.zone == zone and expected["beds.planted"][0, number]
    ]
    if not beds:
        return None
    irrigation_mm, raw_mm, fell_mm, etc_mm = (expected[name][:, beds] for name in LOOKED_AT[1:])
    wanted_mm = share_left * irrigation_mm[0]
    depletion_mm = np.maximum(eve_mm[beds] - (irrigation_mm[0] - wanted_mm), 0.0)
    fallen_mm, driest, bed = np.zeros(len(beds)), 0.0, ""
    for day in range(len(rain_mm)):
        used = depletion_mm / raw_mm[day]
        if not bed or used.max() > driest:
            driest, bed = float(used.max()), known.site.bed[beds[int(np.argmax(used))]].name
        if driest > 1.0:
            return None
        fallen_mm = fallen_mm + fell_mm[day]
        depletion_mm = np.maximum(depletion_mm + etc_mm[day] - fell_mm[day], 0.0)
        if fell_mm[day].max() > 0.0 and np.all(fallen_mm >= wanted_mm):
            return Wait(known.today + day * DAY, float(rain_mm[: day + 1].sum()), bed, driest)
    return None
