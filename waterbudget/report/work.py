"""What all the watering of a run takes of somebody's time."""

import numpy as np

from waterbudget.change.hands import Hands
from waterbudget.schedule.garden import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import days
from waterbudget.simulate.result import Result
from waterbudget.simulate.run import sky_of, started

WEEK_DAYS = 7


def minutes_a_week(result: Result) -> float:
    """Minutes of a person a week, on the mean of the run, as [effort] of the site file says."""
    site, dates = result.site, result.weather.dates.to_numpy().astype("M8[D]")[:, np.newaxis]
    garden = started(garden_of(site), {tank["name"]: tank["start_l"] for tank in result.summary["tanks"]})
    season, sky = season_of(site, dates), sky_of(site, result.weather)
    hands = Hands(site, garden, season, sky)
    spent = sum(float(hands.minutes(number, day)[0]) for number, day in enumerate(days(garden, season, sky)))
    return spent / len(dates) * WEEK_DAYS
