"""How fast the package is, as ratios measured side by side on one machine. Run by hand: python tests/benchmark.py"""

import datetime as dt
import math
import os
import platform
import subprocess
import sys
import tracemalloc
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import NamedTuple

import click
import numpy as np
from gardens import site_of, weather_of
from plain import plain_run

import waterbudget
from waterbudget.schedule.garden import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import Sky, days
from waterbudget.simulate.totals import add_up

ROOT = Path(__file__).parent.parent
TIMES = 7
LANES, SUMMER_DAYS = 1000, 153
PLAIN_LANES = 3  # the plain loop runs this many gardens, and its time counts by the garden and day
MEMORY_LANES, MEMORY_DAYS = 200, (153, 1530, 11_000)
FIRST_DAY = dt.date(2031, 5, 1)

CROPS = (
    {"days": [30, 40, 40, 20], "kc": [0.6, 1.15, 0.8], "p": 0.4, "root_m": [0.15, 0.7]},
    {"days": [20, 30, 50, 20], "kc": [0.5, 1.0, 0.8], "p": 0.5, "root_m": [0.15, 0.6]},
    {"days": [20, 30, 15, 10], "kc": [0.7, 1.0, 0.95], "p": 0.3, "root_m": [0.15, 0.3]},
    {"days": [25, 35, 45, 25], "kc": [0.4, 1.15, 0.75], "p": 0.35, "root_m": [0.15, 0.5]},
)
TANK, BUTT = "Class-room tank", "Shed butt"
SITE = {
    "site": {"name": "Brackenfold", "latitude_deg": 52.9, "longitude_deg": -1.5, "elevation_m": 90},
    "roof": [
        {"name": "Class-room roof", "tank": TANK, "area_m2": 42, "runoff_coefficient": 0.9, "first_flush_l": 20},
        {"name": "Shed roof", "tank": BUTT, "area_m2": 8, "runoff_coefficient": 0.95, "loss_mm": 0.3},
    ],
    "tank": [
        {"name": TANK, "capacity_l": 1500, "dead_l": 40, "start_l": 900, "overflow_to": BUTT},
        {"name": BUTT, "capacity_l": 350, "dead_l": 15, "start_l": 260, "mains": "direct"},
    ],
    "zone": [
        {"name": "North", "tank": TANK, "flow_l_min": 9.5, "minutes": 10, "skip_rain_mm": 4, "skip_rain_days": 2}
        | {"hot_above_c": 25, "hot_minutes": 16},
        {"name": "South", "tank": TANK, "flow_l_min": 6, "minutes": 20, "plan": "refill", "leave_mm": 3},
        {"name": "East", "tank": BUTT, "flow_l_min": 5, "minutes": 12, "plan": "dry", "dry_at": 0.8}
        | {"weekdays": ["mon", "wed", "fri"]},
        {"name": "West", "tank": TANK, "flow_l_min": 4, "minutes": 8, "every_days": 2, "priority": 2},
    ],
    "draw": [{"name": "Cans", "tank": TANK, "l_per_day": 15, "weekdays": ["mon", "tue", "wed", "thu", "fri"]}],
    "bed": [
        {"name": f"Bed {n}", "area_m2": 2 + n, "zone": ("North", "South", "East", "West")[n % 4]}
        | {"available_water_mm_m": 120 + 10 * n, "root_limit_m": 0.5, "planting": [{"planted": "05-10"} | CROPS[n % 4]]}
        for n in range(8)
    ],
}


class Row(NamedTuple):
    """A line of the table."""

    what: str
    ours: str
    against: str
    ratio: str
    aim: str


def main():
    """Measure everything and print the table."""
    click.echo(
        f"{os.cpu_count()} cores, {processor()}, {platform.system()}; Python {platform.python_version()}, "
        f"numpy {np.__version__}. Medians of {TIMES} interleaved runs."
    )
    rows = [Row("measured", "waterbudget", "against", "ratio", "aim"), *start_rows(), *lane_rows(), *single_rows()]
    rows += memory_rows()
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        click.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def processor():
    cpuinfo = Path("/proc/cpuinfo")
    lines = cpuinfo.read_text("utf-8").splitlines() if cpuinfo.exists() else []
    named = [line.partition(": ")[2] for line in lines if line.startswith("model name")]
    return named[0] if named else platform.machine()


def side_by_side(*works, times=TIMES):
    """The median time of each work [s], taken in turns so that a busy moment of the machine hits them all."""
    for work in works:
        work()  # caches filled, modules compiled
    rounds = [[seconds(work) for work in works] for _ in range(times)]
    return [median(column) for column in zip(*rounds, strict=True)]


def seconds(work):
    begun = perf_counter()
    work()
    return perf_counter() - begun


def start_rows():
    """A command from the shell against no more than importing what it stands on."""

    def python(*words):
        return lambda: subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)

    for words, package, aim in ((("--help",), "click", 2), (("run",), "pandas", 2.5)):
        ours, theirs = side_by_side(python("-m", "waterbudget", *words), python("-c", f"import {package}"))
        against = f"{1e3 * theirs:.0f} ms, import {package}"
        yield Row(f"waterbudget {words[0]}", f"{1e3 * ours:.0f} ms", against, f"{ours / theirs:.1f}x", f"<= {aim}x")


def lane_rows():
    """A thousand gardens at once against a plain loop over days, a garden after the other."""
    rows, garden = weather(SUMMER_DAYS), many_gardens(LANES)
    plain_gardens = [plain_garden(garden, lane) for lane in range(PLAIN_LANES)]
    shared, own = (season_and_sky(rows, dates_of(rows)), own_years(rows, LANES))

    def plain():
        return [plain_run(site, rows) for site in plain_gardens]

    same_litres(add_up(garden, days(garden, *shared)), [run["summary"] for run in plain()])
    shared_s, own_s, plain_s = side_by_side(
        lambda: add_up(garden, days(garden, *shared)), lambda: add_up(garden, days(garden, *own)), plain
    )
    plain_s *= LANES / PLAIN_LANES
    against = f"{plain_s:.1f} s, plain loop ({PLAIN_LANES} gardens, scaled)"
    for what, ours in (("one weather for all", shared_s), ("each in a year of its own", own_s)):
        name = f"{LANES} gardens x {SUMMER_DAYS} days, {what}"
        yield Row(name, f"{1e3 * ours:.0f} ms", against, f"{plain_s / ours:.0f}x faster", ">= 100x")


def single_rows():
    """One garden, with everything imported and read."""
    rows = weather(SUMMER_DAYS)
    site, sky = site_of(SITE), weather_of(rows)
    daily, totals, plain = side_by_side(
        lambda: waterbudget.run(site, sky),
        lambda: waterbudget.run(site, sky, daily=False),
        lambda: plain_run(SITE, rows),
    )
    for what, ours in (("with daily tables", daily), ("summary only", totals)):
        name = f"1 garden x {SUMMER_DAYS} days, {what}"
        yield Row(name, f"{1e3 * ours:.0f} ms", f"{1e3 * plain:.0f} ms, plain loop", f"{ours / plain:.1f}x", "")


def memory_rows():
    """The most that a run holds at once when only its totals are asked for."""
    garden = many_gardens(MEMORY_LANES)
    # The lower of two, as a cache of the interpreter may fill in the first.
    peaks = {length: min(peak_bytes(garden, length) for _ in range(2)) for length in MEMORY_DAYS}
    least = peaks[MEMORY_DAYS[0]]
    for length, peak in peaks.items():
        one_column = f"{8e-6 * MEMORY_LANES * length:.1f} MB, one number a garden and day"
        name = f"{MEMORY_LANES} gardens x {length} days, totals only, peak memory"
        yield Row(name, f"{1e-6 * peak:.2f} MB", one_column, f"{peak / least:.2f}x of {MEMORY_DAYS[0]} days", "1x")


def peak_bytes(garden, length):
    rows = weather(length)
    season, sky = season_and_sky(rows, dates_of(rows))
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    add_up(garden, days(garden, season, sky))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak - before


def weather(length):
    """Invented days: rain on three in ten, as a gamma amount."""
    chance = np.random.default_rng(2031)
    rain_mm = np.round(chance.gamma(0.8, 7.0, length) * (chance.random(length) < 0.3), 1)
    et0_mm, tmax_c = np.round(chance.uniform(1.0, 5.5, length), 2), np.round(chance.uniform(12.0, 30.0, length), 1)
    return [
        {"date": FIRST_DAY + dt.timedelta(n), "rain_mm": rain, "et0_mm": et0, "tmax_c": tmax}
        for n, (rain, et0, tmax) in enumerate(zip(rain_mm.tolist(), et0_mm.tolist(), tmax_c.tolist(), strict=True))
    ]


def dates_of(rows):
    return np.array([row["date"] for row in rows], dtype="M8[D]")[:, None]


def season_and_sky(rows, dates, order=slice(None)):
    """order: which of the rows each scenario has on each day, (day, scenario); without it all have the same."""
    columns = [np.array([row[name] for row in rows])[:, None] for name in ("rain_mm", "et0_mm", "tmax_c")]
    return season_of(site_of(SITE), dates), Sky(*(column[order].reshape(dates.shape) for column in columns))


def own_years(rows, lanes):
    """Every scenario with days of another year and the same weather in another order."""
    day, lane = np.arange(len(rows))[:, None], np.arange(lanes)
    return season_and_sky(rows, dates_of(rows) + 365 * (lane % 60), (day + lane) % len(rows))


def many_gardens(lanes):
    """The same garden with stores of other sizes and other watering times, (scenario, item)."""
    chance, garden = np.random.default_rng(7), garden_of(site_of(SITE))
    tanks, outlets = garden.tanks, garden.outlets
    size = chance.uniform(0.5, 2.0, (lanes, len(tanks.name)))
    longer = chance.uniform(0.5, 1.5, (lanes, len(outlets.name)))
    return replace(
        garden,
        tanks=replace(tanks, capacity_l=tanks.capacity_l * size, start_l=tanks.start_l * size),
        outlets=replace(outlets, run_l=outlets.run_l * longer, hot_run_l=outlets.hot_run_l * longer),
    )


def plain_garden(garden, lane):
    """One of the many as the plain program reads it."""
    tanks = [
        tank | {"capacity_l": garden.tanks.capacity_l[lane, n], "start_l": garden.tanks.start_l[lane, n]}
        for n, tank in enumerate(SITE["tank"])
    ]
    run_l, hot_run_l = garden.outlets.run_l[lane], garden.outlets.hot_run_l[lane]
    zones = [
        zone
        | {"minutes": run_l[n] / zone["flow_l_min"]}
        | ({"hot_minutes": hot_run_l[n] / zone["flow_l_min"]} if "hot_minutes" in zone else {})
        for n, zone in enumerate(SITE["zone"])
    ]
    draws = [draw | {"l_per_day": run_l[n]} for n, draw in enumerate(SITE["draw"], len(zones))]
    return SITE | {"tank": tanks, "zone": zones, "draw": draws}


def same_litres(totals, summaries):
    """A race counts only between runners on the same course."""
    for lane, summary in enumerate(summaries):
        for name in ("mains_l", "spilled_l"):
            assert math.isclose(totals.sums[f"tanks.{name}"][lane].sum(), summary[name], rel_tol=1e-9), name
        assert math.isclose(totals.sums["outlets.unmet_l"][lane].sum(), summary["unmet_l"], rel_tol=1e-9)


if __name__ == "__main__":
    main()
