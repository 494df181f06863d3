"""What becomes of the yield on stored rain alone: under the present plan, and at best."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from waterbudget.plan.foresight import foresight
from waterbudget.plan.prospect import prospects
from waterbudget.plan.response import SERVING, response_of, risk_of, weights_of
from waterbudget.plan.what_if import serving_no_less
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.calendar import Dates
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.run import started
from waterbudget.site.model import Site
from waterbudget.units import Array

MOST_DAYS = 400  # of a programme that is still solved in about a second
SECONDS = 5.0


class Unaided(NamedTuple):
    """Yield at risk without mains water under the present plan, and the least under any that serves the draws alike.

    least is nan where there is none; is_proven: False where time ran out, and it is the best bound so far. could_move:
    whether water could be moved between stores, and no plan does, as the garden has no transfer.
    """

    yield_at_risk: float
    least: float
    is_proven: bool
    is_exact: bool
    could_move: bool = False


class _Alone(NamedTuple):
    """Some days on stored rain alone under the present plan, of one lane or more."""

    garden: Garden
    season: Season
    ky: Array
    given_l: Array
    harm: Array


def yields_alone(site: Site, dates: Dates, sky: Sky, start_l: Mapping[str, float] | None = None) -> Array:
    """Yield at risk on stored rain alone under the present plan in each lane of the days, (lane,)."""
    return _run(site, dates, sky, start_l).harm


def unaided(site: Site, dates: Dates, sky: Sky, start_l: Mapping[str, float] | None = None) -> Unaided | None:
    """Some days on stored rain alone; None for more than a year or so of them, and where no bed is watered.

    dates: (day, 1), and sky of one lane. start_l: litres in a tank on the eve, by its name, instead of the site's.
    """
    if len(dates) > MOST_DAYS or not weights_of(site).any():
        return None
    alone = _run(site, dates, sky, start_l)
    (prospect,) = prospects(alone.garden, alone.season, sky, None, alone.ky, weights_of(site))
    could_move = len(site.tank) > 1 and not site.transfer
    best = foresight(serving_no_less(prospect, np.asarray(alone.given_l[:, 0])), seconds=SECONDS)
    return Unaided(float(alone.harm[0]), best.yield_at_risk, best.is_proven, prospect.is_exact, could_move)


def _run(site: Site, dates: Dates, sky: Sky, start_l: Mapping[str, float] | None) -> _Alone:
    garden = started(garden_of(site), start_l or {}).restructured(mains=tuple("none" for _ in site.tank))
    season, ky = season_of(site, dates), response_of(site, dates).ky
    _, kept = drive(garden, season, sky, keep=SERVING)
    risk = risk_of(site, ky, kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"])
    return _Alone(garden, season, ky, kept.sums["outlets.given_l"][garden.structure.zones :], risk.harm)
