"""Brackenfold's garden with a weather server on 127.0.0.1: invented stations, and few invented years to be quick."""

import contextlib
import datetime as dt
import functools

import numpy as np
import pandas as pd
from click.testing import CliRunner
from weather.loopback import Listed, loopback, year_file, year_path

from waterbudget.cli.check import check
from waterbudget.cli.main import Commands
from waterbudget.cli.run import run
from waterbudget.cli.weather import weather
from waterbudget.weather import place, shelf
from waterbudget.weather.place import period_of

_, LAST = period_of(None, None, dt.datetime.now(tz=dt.UTC).date())
YEARS = range(LAST.year - 2, LAST.year + 1)
FIRST = dt.date(YEARS[0], 1, 1)
SUMMER = (dt.date(LAST.year, 5, 1), dt.date(LAST.year, 9, 30))
RAIN = {"prcp": ("2000-01-01", f"{LAST}")}
NEAR = Listed("X0001", "Lower Field", 53.12, -1.92, 150, RAIN)
NO_RAIN = Listed("X0002", "Windy Hill", 53.14, -1.9, 420, {"wspd": RAIN["prcp"]})
FAR = Listed("X0003", "Far Mill", 53.25, -1.7, None)
STATIONS = [FAR, NEAR, NO_RAIN]

SITE = """
[site]
name = "Brackenfold"
latitude_deg = 53.1
longitude_deg = -1.9
elevation_m = 140

[weather]
nearest = true

[[roof]]
name = "Shed roof"
tank = "Shed butt"
area_m2 = 12
covering = "hard roof"

[[tank]]
name = "Shed butt"
capacity_l = 300
start_l = 250

[[zone]]
name = "South line"
tank = "Shed butt"
flow_l_min = 4
minutes = 10
every_days = 2
from = "05-01"
to = "09-30"

[[bed]]
name = "Tomato bed"
area_m2 = 8
zone = "South line"
soil = "loam"

[[bed.planting]]
crop = "tomato"
planted = "05-10"
"""

PROGRAM = Commands(commands={command.name: command for command in (weather, run, check)})


def year_of(year, *, wetter=1.0):
    """One invented year in the units that meteostat reads: °C, %, mm, km/h, minutes."""
    day = pd.date_range(f"{year}-01-01", f"{year}-12-31").dayofyear.to_numpy()
    warmth_c = 10.0 - 8.0 * np.cos(2.0 * np.pi * (day - 25) / 365.0)
    tmin_c, tmax_c = (np.round(warmth_c + swing_c + (day + year) % 5 - 2, 1) for swing_c in (-4.5, 4.5))
    return {
        "temp": np.round((tmin_c + tmax_c) / 2.0, 1),
        "tmin": tmin_c,
        "tmax": tmax_c,
        "rhum": 60 + day % 30,
        "prcp": np.round(np.where((day + year) % 7 == 0, 9.0, np.where(day % 3 == 0, 1.2, 0.0)) * wetter, 1),
        "wspd": 7.2 + day % 11,
        "tsun": 60 * (2 + day % 7),
    }


@functools.cache
def all_years():
    no_rain = {year: {name: value for name, value in year_of(year).items() if name != "prcp"} for year in YEARS}
    return {
        **{year_path("X0001", year): year_file(year, year_of(year)) for year in YEARS},
        **{year_path("X0002", year): year_file(year, no_rain[year]) for year in YEARS},
        **{year_path("X0003", year): year_file(year, year_of(year, wetter=2.0)) for year in YEARS},
    }


@contextlib.contextmanager
def stations(monkeypatch, folder):
    """The server with all years of the three stations, a cache of its own, and the garden in site.toml."""
    monkeypatch.chdir(folder)
    monkeypatch.setenv("WATERBUDGET_CACHE", str(folder / "cache"))
    monkeypatch.setattr(place, "YEARS", len(YEARS))
    monkeypatch.setattr(shelf, "RETRIES", 0)
    monkeypatch.setattr(shelf, "TIMEOUT_S", 5.0)
    with loopback(monkeypatch, folder) as server:
        server.put_list(STATIONS)
        server.files.update(all_years())
        (folder / "site.toml").write_text(SITE, "utf-8")
        yield server


def write_site(folder, lines="nearest = true", without=""):
    """Write the garden again with other lines under [weather], and without the lines that begin with a word."""
    kept = [line for line in SITE.splitlines() if not without or not line.startswith(without)]
    (folder / "site.toml").write_text("\n".join(kept).replace("nearest = true", lines), "utf-8")


def waterbudget_(*words, type_in=None):
    return CliRunner().invoke(PROGRAM, [str(word) for word in words], type_in, catch_exceptions=False)


def years_asked(server):
    return [path for path in server.log if path != "/stations.db"]
