"""Sites and weather of the random cases, in the package's own types."""

import pandas as pd

from waterbudget.site.model import Site
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import Et0


def site_of(table):
    return Site.model_validate(table)


def weather_of(rows):
    daily = pd.DataFrame(rows).set_index("date").astype("float64")
    daily.index = pd.DatetimeIndex(daily.index, name="date", freq="D")
    return Weather.of(daily, Et0("as given", (), "invented"), "random case")
