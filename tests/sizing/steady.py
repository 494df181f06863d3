"""A garden whose sizes can be reckoned by hand: 2 mm of rain on every day, and hens that drink in summer alone."""

import datetime as dt

from gardens import site_of, weather_of

FIRST_DAY = dt.date(2031, 1, 1)
TWO_YEARS = 731


def garden(roof_m2=10.0, l_per_day=60.0, second=None, **tank):
    """10 m2 bring 20 L a day; 92 days of 60 L are 5520 L a year. second: name of another tank."""
    roof = {"name": "Shed roof", "tank": "Butt", "area_m2": roof_m2, "runoff_coefficient": 1, "filter_efficiency": 1}
    others = [{"name": second, "capacity_l": 200, "start_l": 0}] if second else []
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": [roof] if roof_m2 else [],
            "tank": [{"name": "Butt", "capacity_l": 500, "start_l": 500} | tank, *others],
            "draw": [{"name": "Hens", "tank": "Butt", "l_per_day": l_per_day, "from": "06-01", "to": "08-31"}],
        }
    )


def weather(days=TWO_YEARS, first_day=FIRST_DAY, rain_mm=2.0):
    return weather_of(
        [{"date": first_day + dt.timedelta(n), "rain_mm": rain_mm, "et0_mm": 0, "tmax_c": 20} for n in range(days)]
    )
