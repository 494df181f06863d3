"""What becomes of the yield on stored rain alone: under the present plan, and at best."""

from typing import NamedTuple

import numpy as np

from waterbudget.plan.foresight import foresight
from waterbudget.plan.prospect import prospects
from waterbudget.plan.response import SERVING, response_of, risk_of, weights_of
from waterbudget.plan.what_if import serving_no_less
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.weather.files import Weather

MOST_DAYS = 400  # of a programme that is still solved in about a second
SECONDS = 5.0


class Unaided(NamedTuple):
    """Yield at risk without mains water under the present plan, and the least under any that serves the draws alike.

    least is nan where there is none; is_proven: False where time ran out, and it is the best bound so far.
    """

    yield_at_risk: float
    least: float
    is_proven: bool
    is_exact: bool


def unaided(site: Site, weather: Weather) -> Unaided | None:
    """The days of the weather on stored rain alone; None for more than a year or so of them."""
    dates = weather.date_column
    if len(dates) > MOST_DAYS:
        return None
    garden = garden_of(site).restructured(mains=tuple("none" for _ in site.tank))
    season, sky, ky = season_of(site, dates), sky_of(site, weather), response_of(site, dates).ky
    _, kept = drive(garden, season, sky, keep=SERVING)
    risk = risk_of(site, ky, kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"])
    (prospect,) = prospects(garden, season, sky, None, ky, weights_of(site))
    given_l = np.asarray(kept.sums["outlets.given_l"][garden.structure.zones :, 0])
    best = foresight(serving_no_less(prospect, given_l), seconds=SECONDS)
    return Unaided(float(risk.harm[0]), best.yield_at_risk, best.is_proven, prospect.is_exact)
