"""How fast the package is, as ratios measured side by side on one machine. Run by hand: python tests/benchmark.py"""

import datetime as dt
import math
import os
import platform
import subprocess
import sys
import tempfile
import tracemalloc
import warnings
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import NamedTuple

import click
import numpy as np
from gardens import site_of, weather_of
from hose import DEMO as HOSE_DEMO
from line.zones import with_epanets_constants, zone
from plain import plain_run
from waterbudget.simulate.days import Sky, days
from waterbudget.simulate.totals import add_up

import waterbudget
from waterbudget.line.solve import solve
from waterbudget.odds.outcomes import odds_of
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.hose import hose_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.lanes import sized
from waterbudget.site.override import raw_site
from waterbudget.sizing.sizes import try_sizes
from waterbudget.sizing.stretch import drawn_stretch, recorded_stretch
from waterbudget.weather.blocks import block_years
from waterbudget.weather.chain import chain_years, fit_chain
from waterbudget.weather.years import recorded_years

ROOT = Path(__file__).parent.parent
TIMES, LONG_TIMES = 7, 3
LANES, SUMMER_DAYS = 1000, 153
PLAIN_LANES = 3  # the plain loop runs this many gardens, and its time counts by the garden and day
PLAIN_DAYS = 365  # and of many years this many days
SUMMERS, SIZES, YEARS, YEARS_DAYS = 500, 200, 30, 10_958  # days of 30 years in a row
JETS, ZONES, FEW_ZONES = 40, 10_000, 50  # the few run one after the other, and their time counts by the zone
GROWING_LANES, GROWING_DAYS = (1, 10, 100, 1000, 10_000), (153, 1530, 11_000)
FIRST_DAY, NEW_YEAR = dt.date(2031, 5, 1), dt.date(2031, 1, 1)
SUMMER, YEAR = ("05-01", "09-30"), ("01-01", "12-31")

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
        f"numpy {np.__version__}. Medians of {TIMES} interleaved runs, of {LONG_TIMES} where they take seconds."
    )
    measures = (
        start_rows,
        single_rows,
        lane_rows,
        odds_rows,
        size_rows,
        hose_rows,
        generator_rows,
        growth_rows,
        memory_rows,
    )
    rows = [Row("measured", "waterbudget", "against", "ratio", "aim"), *(row for rows in measures for row in rows())]
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
        yield Row(name, milliseconds(ours), against, f"{plain_s / ours:.0f}x faster", ">= 100x")
    what = f"{LANES} gardens x {SUMMER_DAYS} days"
    yield from compiled_rows(what, lambda: add_up(garden, days(garden, *shared)), garden, shared)


def odds_rows():
    """Many drawn summers at once, each with a weather of its own, against the plain loop."""
    site, years = site_of(SITE), block_years(record(), *SUMMER, SUMMERS, 1)
    columns = (years.dates, years.rain_mm, years.et0_mm, years.tmax_c)
    names = ("date", "rain_mm", "et0_mm", "tmax_c")
    plain_weathers = [
        [dict(zip(names, day, strict=True)) for day in zip(*(x[:, year].tolist() for x in columns), strict=True)]
        for year in range(PLAIN_LANES)
    ]

    def plain():
        return [plain_run(SITE, rows)["summary"] for rows in plain_weathers]

    odds = odds_of(site, years)
    for year, summary in enumerate(plain()):
        assert odds.days_lasted[year] == summary["days_lasted"]
        assert math.isclose(odds.needed_l[year], summary["mains_l"] + summary["unmet_l"], rel_tol=1e-9)
    ours, plain_s = side_by_side(lambda: odds_of(site, years), plain)
    plain_s *= SUMMERS / PLAIN_LANES
    against = f"{plain_s:.1f} s, plain loop ({PLAIN_LANES} summers, scaled)"
    name = f"odds: {SUMMERS} drawn summers x {len(SITE['bed'])} beds"
    yield Row(name, milliseconds(ours), against, f"{plain_s / ours:.0f}x faster", ">= 100x")


def size_rows():
    """Many capacities through thirty years against the plain loop: recorded ones without a break, and drawn ones."""
    rows, site, capacity_l = weather(YEARS_DAYS, NEW_YEAR), site_of(SITE), np.linspace(500.0, 5000.0, SIZES)
    garden, middle = sized(garden_of(site), 0, capacity_l), SIZES // 2
    recorded = recorded_stretch(site, weather_of(rows))
    drawn = drawn_stretch(site, block_years(record(), *YEAR, YEARS, 1))
    first_string = [
        {"date": date.item(), "rain_mm": rain, "et0_mm": et0, "tmax_c": tmax}
        for date, rain, et0, tmax in zip(
            drawn.season.dates[:, 0],
            *(x[:, 0].tolist() for x in (drawn.sky.rain_mm, drawn.sky.et0_mm, drawn.sky.tmax_c)),
            strict=True,
        )
    ]
    one = plain_garden(garden, middle)
    for stretch, plain_rows in ((recorded, rows), (drawn, first_string)):
        summary, found = plain_run(one, plain_rows)["summary"], try_sizes(site, 0, capacity_l, stretch)
        in_string = len(stretch.names) // stretch.strings
        needed_l = found.needed_l[:in_string, middle].sum()
        assert math.isclose(needed_l, summary["mains_l"] + summary["unmet_l"], rel_tol=1e-9)

    recorded_s, drawn_s, plain_s = side_by_side(
        lambda: try_sizes(site, 0, capacity_l, recorded),
        lambda: try_sizes(site, 0, capacity_l, drawn),
        lambda: plain_run(one, rows[:PLAIN_DAYS]),
        times=LONG_TIMES,
    )
    plain_s *= SIZES * YEARS
    against = f"{plain_s:.0f} s, plain loop (1 size x {PLAIN_DAYS} days, scaled)"
    for what, ours_s in (("recorded years in a row", recorded_s), ("drawn years in strings of ten", drawn_s)):
        name = f"{SIZES} sizes x {YEARS} {what}"
        yield Row(name, milliseconds(ours_s), against, f"{plain_s / ours_s:.0f}x faster", ">= 200x")
    yield from compiled_rows(
        f"{SIZES} sizes x {YEARS} recorded years",
        lambda: try_sizes(site, 0, capacity_l, recorded),
        garden,
        season_and_sky(rows, dates_of(rows)),
        times=LONG_TIMES,
    )


def hose_rows():
    """Watering lines: alone, very many at once, and in the days of a garden."""
    yield from one_line_rows()
    yield many_lines_row()
    yield from level_rows()


def one_line_rows():
    """A ring of jets against the same zone given to wntr, which writes EPANET's files, runs it and reads them."""
    name = f"1 watering line, a ring of {JETS} jets"
    if find_spec("wntr") is None:
        yield Row(name, "", "not measured: wntr is not installed", "", ">= 1x faster")
        return
    from line.test_wntr import input_file
    from wntr.network import WaterNetworkModel
    from wntr.sim import EpanetSimulator

    line = with_epanets_constants(zone(JETS))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "zone.inp"
        file.write_text(input_file(line, np.ones(JETS, dtype=bool)), "ascii")
        with warnings.catch_warnings(action="ignore"):  # that it changes no unit of the roughness
            network = WaterNetworkModel(str(file))

        def epanet():
            return EpanetSimulator(network).run_sim(file_prefix=str(Path(folder) / "run"))

        jets_l_h = 3.6e6 * epanet().node["demand"].iloc[0][[f"jet{n}" for n in range(JETS)]].to_numpy()
        np.testing.assert_allclose(solve(line).jets_l_h[0], jets_l_h, rtol=1e-4)  # wntr writes few digits
        ours, theirs = side_by_side(lambda: solve(line), epanet)
    against = f"{milliseconds(theirs)}, a call of wntr (EPANET)"
    yield Row(name, f"{1e3 * ours:.2f} ms", against, f"{theirs / ours:.1f}x faster", ">= 1x faster")


def many_lines_row():
    """Very many rings in one call against one after the other."""
    chance = np.random.default_rng(40)
    lines = zone(JETS, k_l_h=chance.uniform(4.0, 12.0, (ZONES, 1)), source_m=chance.uniform(0.0, 1.2, ZONES))

    def one_by_one():
        return [solve(lines.take([n])).total_l_h[0] for n in range(FEW_ZONES)]

    np.testing.assert_allclose(solve(lines).total_l_h[:FEW_ZONES], one_by_one(), rtol=1e-8)
    ours, plain = side_by_side(lambda: solve(lines), one_by_one, times=LONG_TIMES)
    plain *= ZONES / FEW_ZONES
    each = f"{milliseconds(ours)}, {1e6 * ours / ZONES:.0f} us a line"
    against = f"{plain:.1f} s, one after the other ({FEW_ZONES}, scaled)"
    return Row(f"{ZONES} watering lines in one call", each, against, f"{plain / ours:.0f}x faster", "")


def level_rows():
    """A garden whose line follows the level of its store against one of fixed flow, alone and in many sizes.

    They are the same where the store is so low that its level counts for nothing.
    """
    raw = raw_site(HOSE_DEMO / "site.toml")
    rows, capacity_l = weather(SUMMER_DAYS), np.linspace(500.0, 5000.0, SIZES)
    pairs = {height_m: level_gardens(raw, height_m) for height_m in (1e-6, 1.13)}
    sky = season_and_sky(rows, dates_of(rows))[1]
    season = season_of(site_of(raw), dates_of(rows))

    def totals(garden):
        return add_up(garden, days(garden, season, sky))

    for name in ("outlets.asked_l", "outlets.unmet_l", "tanks.spilled_l", "tanks.mains_l"):
        follows, fixed = (totals(garden).sums[name] for garden in pairs[1e-6])
        np.testing.assert_allclose(follows, fixed, rtol=1e-5)
    for lanes in (1, SIZES):
        follows, fixed = (garden if lanes == 1 else sized(garden, 0, capacity_l) for garden in pairs[1.13])
        ours, theirs = side_by_side(lambda garden=follows: totals(garden), lambda garden=fixed: totals(garden))
        name = f"{lanes} garden{'s' if lanes > 1 else ''} x {SUMMER_DAYS} days, a line that follows the level"
        yield Row(name, milliseconds(ours), f"{milliseconds(theirs)}, fixed flow", f"{ours / theirs:.2f}x", "<= 1.3x")


def level_gardens(raw, height_m):
    """The garden with a line, its store so high, and the same with the flow and shares of a half full store."""
    tank, *tanks = raw["tank"]
    sizes = {"shape", *(key for key in tank if key.startswith("inner_"))}
    tank = {key: value for key, value in tank.items() if key not in sizes} | {"inner_height_m": height_m}
    raw = raw | {"tank": [tank, *tanks]}
    site = site_of(raw)
    hose = hose_of(site, site.zone[0], 0.5)
    on_beds = dict(zip(hose.beds, hose.beds_l_min[0], strict=True))
    first, *others = raw["zone"]
    beds = [bed | ({"share": on_beds[bed["name"]]} if bed.get("zone") == first["name"] else {}) for bed in raw["bed"]]
    fixed = {key: value for key, value in first.items() if key != "line"} | {"flow_l_min": hose.total_l_min[0]}
    return garden_of(site), garden_of(site_of(raw | {"zone": [fixed, *others], "bed": beds}))


def compiled_rows(what, ours, garden, season_and_sky, times=TIMES):
    """The same days compiled, where numba is there: what is left to gain."""
    if find_spec("numba") is None:
        yield Row(f"{what}, compiled", "", "not measured: numba is not installed", "", "<= 3x")
        return
    from kernel import compiled_run

    totals = add_up(garden, days(garden, *season_and_sky))
    begun = perf_counter()
    sums = compiled_run(garden, *season_and_sky)
    compiling_s = perf_counter() - begun
    for found, name in zip(
        sums, ("outlets.asked_l", "tanks.mains_l", "outlets.unmet_l", "tanks.spilled_l"), strict=True
    ):
        np.testing.assert_allclose(found, totals.sums[name].sum(axis=1), rtol=1e-9)
    ours_s, compiled_s = side_by_side(ours, lambda: compiled_run(garden, *season_and_sky), times=times)
    against = f"{milliseconds(compiled_s)}, compiled with numba (first call {compiling_s:.1f} s)"
    yield Row(f"{what}, compiled", milliseconds(ours_s), against, f"{ours_s / compiled_s:.1f}x", "<= 3x")


def generator_rows():
    """Each way to many years against no more than drawing as many gamma variates."""
    daily = record()
    chain = fit_chain(daily)
    ways = {
        "recorded": lambda: recorded_years(daily, *SUMMER),
        "blocks": lambda: block_years(daily, *SUMMER, SUMMERS, 1),
        "chain": lambda: chain_years(chain, *SUMMER, SUMMERS, 1),
    }
    for way, draw in ways.items():
        shape = draw().rain_mm.shape
        ours, theirs = side_by_side(draw, lambda shape=shape: np.random.default_rng(1).gamma(0.8, 7.0, shape))
        name = f"years: {way}, {shape[1]} x {shape[0]} days"
        yield Row(
            name, milliseconds(ours), f"{milliseconds(theirs)}, gamma variates", f"{ours / theirs:.1f}x", "<= 10x"
        )


def growth_rows():
    """Time a garden and day, with more gardens and with more days."""
    rows = weather(max(GROWING_DAYS))
    wide = [(lanes, min(GROWING_DAYS)) for lanes in GROWING_LANES]
    long = [(SIZES, length) for length in GROWING_DAYS]

    def work(lanes, length):
        garden, season_sky = many_gardens(lanes), season_and_sky(rows[:length], dates_of(rows[:length]))
        return lambda: add_up(garden, days(garden, *season_sky))

    for cases in (wide, long):
        times = side_by_side(*(work(*case) for case in cases), times=LONG_TIMES)
        each_us = [1e6 * time / (lanes * length) for time, (lanes, length) in zip(times, cases, strict=True)]
        for time, each, (lanes, length) in zip(times, each_us, cases, strict=True):
            yield Row(
                f"{lanes} gardens x {length} days, totals",
                milliseconds(time),
                f"{each:.2f} us a garden and day",
                f"{each / each_us[0]:.3f}x of the first",
                "" if cases is wide else "1x",
            )


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
        yield Row(name, milliseconds(ours), f"{milliseconds(plain)}, plain loop", f"{ours / plain:.1f}x", "")


def memory_rows():
    """The most that a run holds at once when only its totals are asked for."""
    long = [(SIZES, length) for length in GROWING_DAYS]
    wide = [(lanes, min(GROWING_DAYS)) for lanes in GROWING_LANES if lanes > SIZES]
    # The lower of two, as a cache of the interpreter may fill in the first.
    peaks = [min(peak_bytes(many_gardens(lanes), length) for _ in range(2)) for lanes, length in (*long, *wide)]
    for peak, (lanes, length) in zip(peaks, (*long, *wide), strict=True):
        name = f"{lanes} gardens x {length} days, totals, peak memory"
        against = f"{1e-3 * peak / lanes:.1f} kB a garden ({8e-3 * length:.1f} kB: one number a day)"
        yield Row(
            name, f"{1e-6 * peak:.2f} MB", against, f"{peak / lanes / (peaks[0] / SIZES):.2f}x of the first", "1x"
        )


def peak_bytes(garden, length):
    rows = weather(length)
    season, sky = season_and_sky(rows, dates_of(rows))
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    add_up(garden, days(garden, season, sky))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak - before


def milliseconds(time_s):
    return f"{1e3 * time_s:.1f} ms" if time_s < 0.1 else f"{1e3 * time_s:.0f} ms"


def weather(length, first=FIRST_DAY):
    """Invented days: rain on three in ten, as a gamma amount."""
    chance = np.random.default_rng(2031)
    rain_mm = np.round(chance.gamma(0.8, 7.0, length) * (chance.random(length) < 0.3), 1)
    et0_mm, tmax_c = np.round(chance.uniform(1.0, 5.5, length), 2), np.round(chance.uniform(12.0, 30.0, length), 1)
    return [
        {"date": first + dt.timedelta(n), "rain_mm": rain, "et0_mm": et0, "tmax_c": tmax}
        for n, (rain, et0, tmax) in enumerate(zip(rain_mm.tolist(), et0_mm.tolist(), tmax_c.tolist(), strict=True))
    ]


def record():
    """The same weather as a record of thirty years, with a lowest temperature."""
    daily = weather_of(weather(YEARS_DAYS, NEW_YEAR)).daily
    return daily.assign(tmin_c=daily["tmax_c"] - 8.0)


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
    run_l, hot_run_l = (
        litres[min(lane, len(litres) - 1)] for litres in (garden.outlets.run_l, garden.outlets.hot_run_l)
    )
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
