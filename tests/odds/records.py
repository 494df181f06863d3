"""Records of many years for the tests of odds: two that come with packages, and one whose answer is arithmetic."""

from pathlib import Path

import pandas as pd
from gardens import site_of

import waterbudget
from waterbudget.odds.study import find_odds
from waterbudget.odds.summers import Wanted
from waterbudget.simulate.opened import Opened
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import Et0
from waterbudget.weather.files import weather_of

ROOT = Path(__file__).parent.parent.parent

# A store of 500 L loses 100 L a day and gains 100 L for every millimetre. With r mm a day it gives 100 L on every day
# on which 500 - 100 (1 - r) i, the level on the morning of day i, is at least that; each year has one r.
RAIN_MM = (0.0, 0.0, 0.2, 0.5, 0.6, 0.75, 0.8, 0.9, 1.0, 1.0)
LASTS = (5, 5, 6, 9, 11, 17, 21, 41, 153, 153)  # the first whole i above 4 / (1 - r)
FIRST_YEAR = 2011
SEASON_DAYS = 153


def store(*, tank=None, tanks=None, zone=None, **more):
    """One store and one line that takes 100 L a day; parts can be changed, beds and stores added."""
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": [
                {"name": "Roof", "tank": "Butt", "area_m2": 100, "runoff_coefficient": 1.0, "filter_efficiency": 1.0}
            ],
            "tank": tanks or [{"name": "Butt", "capacity_l": 1000, "start_l": 500} | (tank or {})],
            "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 10, "minutes": 10} | (zone or {})],
        }
        | more
    )


def steady(rain_mm=RAIN_MM):
    """Whole years from 2011 on, each with the same rain on every day."""
    last = FIRST_YEAR + len(rain_mm) - 1
    dates = pd.date_range(f"{FIRST_YEAR}-01-01", f"{last}-12-31", freq="D", name="date")
    columns = {"rain_mm": [rain_mm[year - FIRST_YEAR] for year in dates.year], "et0_mm": 3.0}
    return Weather.of(pd.DataFrame(columns, dates), Et0("as given", (), "invented"), "steady.csv")


def at_brackenfold(daily, **place):
    """The demo garden and weather for it, ET0 computed for the place."""
    site = waterbudget.load_site(ROOT / "data_demo" / "site.toml")
    if place:
        site = site.model_copy(update={"site": site.site.model_copy(update=place)})
    return site, weather_of(daily, site, "weather.csv")


def written(folder, daily):
    """The demo garden in a folder of its own, with this weather; the path of its site file."""
    path = folder / "site.toml"
    path.write_bytes((ROOT / "data_demo" / "site.toml").read_bytes())
    daily.to_csv(folder / "weather.csv", date_format="%Y-%m-%d", index_label="date")
    return path


def finding(site=None, weather=None, wanted=None, *, keep_levels=False):
    """The findings for a site, as the command makes them; without one the store's on its steady years."""
    site = site or store()
    site = site.model_copy(update={"weather": site.weather.model_copy(update={"file": "weather.csv"})})
    return find_odds(
        Opened(Path("site.toml"), site, weather or steady(), ()), wanted or Wanted(), {}, keep_levels=keep_levels
    )
