"""A day's weather, a store, a line, a can and a bed with round numbers, for sums done by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

FIRST = date(2031, 5, 1)  # a Thursday


def days(rain_mm, et0_mm=0.0, tmax_c=None, first=FIRST):
    """A day for each depth of rain."""
    extra = [{} if tmax_c is None else {"tmax_c": tmax} for tmax in (tmax_c or rain_mm)]
    return [
        {"date": first + timedelta(n), "rain_mm": rain, "et0_mm": et0_mm} | more
        for n, (rain, more) in enumerate(zip(rain_mm, extra, strict=True))
    ]


def store(**keys):
    return {"name": "store", "capacity_l": 1000, "start_l": 1000} | keys


def line(**keys):
    return {"name": "line", "tank": "store", "flow_l_min": 10, "minutes": 5} | keys


def can(**keys):
    return {"name": "can", "tank": "store", "l_per_day": 30} | keys


def plot(*plantings, **keys):
    """A bed of 6 m2 on soil with 100 mm a metre."""
    return {"name": "bed", "area_m2": 6, "available_water_mm_m": 100, "planting": list(plantings)} | keys


def beans(**keys):
    """Kc and root depth level, so that only the asked-for thing moves."""
    return {"planted": "05-01", "days": [10, 10, 10, 10], "kc": [1, 1, 1], "p": 0.5, "root_m": [0.5, 0.5]} | keys


def column(result, table, name, **where):
    return [row[name] for row in result[table] if all(row[key] == value for key, value in where.items())]


def printed(value):
    """A printed number, to half of its last digit."""
    return pytest.approx(float(value), rel=0, abs=0.5 * 10.0 ** int(Decimal(value).as_tuple().exponent))
