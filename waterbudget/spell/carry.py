"""The garden as the weather leaves it on the eve of a spell, and the days of the spell that go on from there."""

from dataclasses import dataclass, replace

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import State, start_of
from waterbudget.site.model import Site
from waterbudget.spell.hot import HotDays
from waterbudget.units import Array
from waterbudget.weather.days import Weather


@dataclass(frozen=True)
class Eve:
    """What a spell begins with, and its days as a garden sees them.

    state: the evening before, one lane. season and sky: of the days of the spell; they remember the days before.
    led_up: season and sky of the days that led up to it; None where it begins with the site file.
    """

    garden: Garden
    state: State
    season: Season
    sky: Sky
    led_up: tuple[Season, Sky] | None = None

    @property
    def level_l(self) -> Array:
        """What the stores hold [L], (tank,)."""
        return self.state.level_l[:, 0]


def eve_of(site: Site, garden: Garden, weather: Weather, hot: HotDays) -> Eve:
    """Run the weather up to the first day of a spell. Raises WeatherError where hot days cannot be told before it."""
    whole, dates = sky_of(site, weather), weather.date_column
    before = slice(int((hot.dates[0, 0] - dates[0, 0]).astype(np.int64)))
    season = season_of(site, hot.dates, dates[0, 0] if before.stop else None)
    sky = Sky(hot.rain_mm, hot.et0_mm, hot.tmax_c, whole.of(slice(before.stop, None)).before_mm)
    led_up = (season_of(site, dates[before]), whole.of(before)) if before.stop else None
    return Eve(garden, _led_up(garden, season, sky, led_up), season, sky, led_up)


def as_another(eve: Eve, garden: Garden) -> Eve:
    """The eve after the same days, and before the same, as they leave another garden of the same season."""
    return replace(eve, garden=garden, state=_led_up(garden, eve.season, eve.sky, eve.led_up))


def _led_up(garden: Garden, season: Season, sky: Sky, days: tuple[Season, Sky] | None) -> State:
    return start_of(garden, season, sky) if days is None else drive(garden, *days)[0]


def spell_days(eve: Eve, garden: Garden, keep: Keep) -> tuple[State, Kept]:
    """The days of the spell for a garden of one lane or more: that of the eve, with other plans."""
    return drive(garden, eve.season, eve.sky, eve.state, keep=keep)
