"""A small garden as template, with own numbers for everything, and as many plots after it as a test wants."""

import csv
import datetime as dt
import tomllib
from types import SimpleNamespace

import numpy as np
import pytest

from waterbudget.batch.cluster import local_workers

GARDEN = """
[site]
name = "Brackenfold"

[weather]
file = "weather.csv"

[[roof]]
name = "Class-room roof"
tank = "Class-room tank"
area_m2 = 42
runoff_coefficient = 0.9

[[roof]]
name = "Shed roof"
tank = "No. 2 butt"
area_m2 = 8
runoff_coefficient = 0.95
loss_mm = 0.3

[[tank]]
name = "Class-room tank"
capacity_l = 1500
dead_l = 40
start_l = 900
overflow_to = "No. 2 butt"

[[tank]]
name = "No. 2 butt"
capacity_l = 350
dead_l = 15
start_l = 260
mains = "float"
float_below_l = 60
float_to_l = 100

[[zone]]
name = "North line"
tank = "Class-room tank"
flow_l_min = 9.5
minutes = 8
hot_above_c = 25
hot_minutes = 12

[[zone]]
name = "South line"
tank = "No. 2 butt"
flow_l_min = 5
minutes = 12
plan = "dry"
dry_at = 0.8
weekdays = ["mon", "wed", "fri"]

[[draw]]
name = "Cans"
tank = "Class-room tank"
l_per_day = 15

[[bed]]
name = "Bean bed"
area_m2 = 6
zone = "North line"
available_water_mm_m = 150
root_limit_m = 0.45

[[bed.planting]]
planted = "05-10"
days = [20, 30, 30, 10]
kc = [0.5, 1.1, 0.9]
p = 0.45
root_m = [0.15, 0.6]

[[bed]]
name = "Potato bed"
area_m2 = 9
zone = "South line"
available_water_mm_m = 120

[[bed.planting]]
planted = "04-10"
days = [25, 30, 40, 20]
kc = [0.5, 1.15, 0.75]
p = 0.35
root_m = [0.15, 0.5]
"""
HEADS = [
    "name",
    "size_tank",
    "roof.Class-room roof.area_m2",
    "tank.Class-room tank.capacity_l",
    "tank.Class-room tank.start_l",
    "zone.North line.minutes",
    "bed.Potato bed.area_m2",
]


def weather_rows(days=60):
    chance = np.random.default_rng(2031)
    return [
        {
            "date": dt.date(2031, 5, 1) + dt.timedelta(day),
            "rain_mm": round(chance.gamma(0.8, 7.0), 1) if chance.random() < 0.3 else 0.0,
            "et0_mm": round(chance.uniform(1.0, 5.5), 2),
            "tmin_c": round(chance.uniform(5.0, 11.0), 1),
            "tmax_c": round(chance.uniform(12.0, 30.0), 1),
        }
        for day in range(days)
    ]


def write_csv(path, rows):
    with path.open("w", encoding="utf-8", newline="") as handle:
        csv.writer(handle).writerows(rows)
    return path


def write_weather(path, rows):
    return write_csv(path, [list(rows[0]), *(row.values() for row in rows)])


def plots(number):
    """Rows of invented plots; every twentieth has a roof that cannot be."""
    chance = np.random.default_rng(7)
    for plot in range(1, number + 1):
        capacity_l = int(chance.integers(4, 60)) * 50
        roof_m2 = -3 if plot % 20 == 0 else round(chance.uniform(5, 120), 1)
        changed = [roof_m2, capacity_l, round(capacity_l * chance.random()), ("", 5, 8)[plot % 3], plot % 7 + 1]
        yield [f"Plot {plot}", "Class-room tank", *changed]


@pytest.fixture
def garden(tmp_path):
    """A folder with the template, its weather and a sheet of three rows that change nothing."""
    (tmp_path / "site.toml").write_text(GARDEN, "utf-8")
    rows = weather_rows()
    write_weather(tmp_path / "weather.csv", rows)

    def sheet(*lines):
        return write_csv(tmp_path / "sites.csv", lines)

    return SimpleNamespace(
        folder=tmp_path,
        template=tmp_path / "site.toml",
        table=tomllib.loads(GARDEN),
        weather=rows,
        sheet=sheet,
        plots=lambda number: sheet(HEADS, *plots(number)),
        write_weather=lambda name, some: write_weather(tmp_path / name, some),
        out=tmp_path / "results.parquet",
    )


@pytest.fixture(scope="package")
def scheduler():
    """The address of a scheduler with two worker processes."""
    with local_workers(2) as client:
        yield client.scheduler.address
