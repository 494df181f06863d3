"""The garden as the weather leaves it on the eve of a spell, and the days of the spell that go on from there."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.simulate.days import Day, Sky, days
from waterbudget.simulate.onward import counted_from, depleted_on
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.spell.hot import HotDays
from waterbudget.units import Array, BoolArray
from waterbudget.weather.files import Weather


@dataclass(frozen=True)
class Eve:
    """What a spell begins with, and its days as a garden sees them.

    garden: with its rhythms counted from the first day of the weather. level_l: (1, tank), what the stores hold.
    depleted: (1, bed), share of TAW missing on the first day. season and sky: of the days of the spell, (day, 1, ...).
    wet: (day, outlet), whether rain of the days before, those before the spell too, makes a run be skipped.
    """

    garden: Garden
    level_l: Array
    depleted: Array
    season: Season
    sky: Sky
    wet: BoolArray


def eve_of(site: Site, garden: Garden, weather: Weather, hot: HotDays) -> Eve:
    """Run the weather up to the first day of a spell. Raises WeatherError where hot days cannot be told before it."""
    whole = sky_of(site, weather)
    dates = weather.date_column
    before = int((hot.dates[0, 0] - dates[0, 0]).astype(np.int64))
    garden = counted_from(garden, dates[0, 0])
    last = _last(days(garden, season_of(site, dates[:before]), whole.of(slice(before)))) if before else None
    ahead = season_of(site, np.concatenate([hot.dates[:1] - 1, hot.dates]))  # its eve tells whether a planting changes
    season = ahead.of(slice(1, None))
    return Eve(
        garden,
        garden.tanks.start_l if last is None else last.tanks.level_l,
        garden.beds.start_depleted if last is None else depleted_on(garden, season, 0, last.beds),
        season,
        Sky(hot.rain_mm, hot.et0_mm, hot.tmax_c),
        _wet(garden, np.concatenate([whole.rain_mm[:before, 0], hot.rain_mm[:, 0]]), before),
    )


def spell_days(eve: Eve, garden: Garden) -> Iterator[Day]:
    """The days of the spell for a garden of one or more scenarios, each begun as the day before ended.

    garden: that of the eve, with other plans. The days of the plan are run one by one, for a run by itself would count
    the days before it as dry.
    """
    level_l, depleted = eve.level_l, eve.depleted
    for day in range(len(eve.season.dates)):
        outlets, wet = garden.outlets, eve.wet[day]
        today = replace(
            garden,
            tanks=replace(garden.tanks, start_l=level_l),
            beds=replace(garden.beds, start_depleted=depleted),
            outlets=replace(
                outlets,
                run_l=np.where(wet, 0.0, outlets.run_l),
                hot_run_l=np.where(wet, 0.0, outlets.hot_run_l),
            ),
        )
        (book,) = days(today, eve.season.of(slice(day, day + 1)), sky_on(eve, day))
        yield book
        if day + 1 < len(eve.season.dates):
            level_l, depleted = book.tanks.level_l, depleted_on(garden, eve.season, day + 1, book.beds)


def sky_on(eve: Eve, day: int) -> Sky:
    """The weather of one day of the spell."""
    return eve.sky.of(slice(day, day + 1))


def _last(passing: Iterator[Day]) -> Day:
    *_, last = deque(passing, maxlen=1)
    return last


def _wet(garden: Garden, rain_mm: Array, before: int) -> BoolArray:
    """Whether rain makes a run be skipped, for each day from number `before` on and each outlet."""
    outlets = garden.outlets
    fallen_mm = [
        [rain_mm[max(day - span, 0) : day].sum() for span in outlets.skip_rain_days]
        for day in range(before, len(rain_mm))
    ]
    return np.array(fallen_mm) >= outlets.skip_rain_mm
