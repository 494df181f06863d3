"""A bed of beans whose spell can be reckoned by hand: ET0 5 mm a day, Kc 1, TAW 100 mm, p 0.5, ten square metres."""

import datetime as dt

import numpy as np
from gardens import site_of, weather_of

from waterbudget.schedule.built import garden_of
from waterbudget.spell.carry import eve_of
from waterbudget.spell.hot import HotDays

EVE = dt.date(2031, 6, 30)
FIRST = dt.date(2031, 7, 1)
ET0_MM = 5.0


def table(zone=(), tank=(), bed=(), **others):
    """The tables of the garden; zone, tank and bed: keys that differ. A minute gives 10 L, and all of it arrives."""
    return {
        "site": {"name": "Brackenfold", "latitude_deg": 52.9},
        "tank": [{"name": "Butt", "capacity_l": 1e6, "start_l": 1e6} | dict(tank)],
        "zone": [
            {"name": "Line", "tank": "Butt", "flow_l_min": 10, "minutes": 0, "from": "07-01", "efficiency": 1}
            | dict(zone)
        ],
        "bed": [
            {
                "name": "Bean bed",
                "area_m2": 10,
                "zone": "Line",
                "available_water_mm_m": 200,
                "planting": [
                    {
                        "crop": "runner bean",
                        "planted": dt.date(2031, 5, 1),
                        "days": [0, 0, 365, 0],
                        "kc": [1.0, 1.0, 1.0],
                        "p": 0.5,
                        "root_m": [0.5, 0.5],
                    }
                ],
            }
            | dict(bed)
        ],
    } | others


def weather(days=1, et0_mm=0.0, rain_mm=0.0, last=EVE):
    """Days up to the eve of the spell."""
    return weather_of(
        [
            {"date": last - dt.timedelta(n), "rain_mm": rain_mm, "et0_mm": et0_mm, "tmax_c": 20}
            for n in reversed(range(days))
        ]
    )


def hot(days=21, et0_mm=ET0_MM, rain_mm=0.0, tmax_c=26.0):
    """The days of a spell with an ET0 that is given."""
    dates = np.datetime64(FIRST, "D") + np.arange(days)[:, None]
    return HotDays(dates, *(np.full((days, 1), value) for value in (rain_mm, et0_mm, tmax_c)), "by hand")


def spell(tables, before=None, days=None):
    """The site and the eve of its spell."""
    site = site_of(tables)
    return site, eve_of(site, garden_of(site), before or weather(), days or hot())
