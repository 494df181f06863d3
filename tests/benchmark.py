"""How fast the package is, as ratios measured side by side on one machine. Run by hand: python tests/benchmark.py

Names of some measures behind it, such as `single lanes`, run these alone.
"""

import datetime as dt
import json
import math
import os
import platform
import resource
import subprocess
import sys
import tempfile
import tracemalloc
import warnings
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import NamedTuple

import click
import numpy as np
from gardens import site_of, weather_of
from hose import DEMO as HOSE_DEMO
from line.zones import with_epanets_constants, zone
from plain import plain_run
from plan.asked import demo_spell, prospect_of
from plan.gaps import gap, studies

import waterbudget
from waterbudget.line.solve import solve
from waterbudget.odds.outcomes import odds_of
from waterbudget.odds.rules import rules_of
from waterbudget.odds.summers import Wanted, recorded_summers
from waterbudget.plan.foresight import foresight
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.hose import hose_of
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.compiled import ENGINE
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import sized
from waterbudget.simulate.result import SUMMARY
from waterbudget.site.override import raw_site
from waterbudget.sizing.sizes import try_sizes
from waterbudget.sizing.stretch import drawn_stretch, recorded_stretch
from waterbudget.spell.hot import Spell
from waterbudget.spell.study import study
from waterbudget.weather.blocks import block_years
from waterbudget.weather.chain import chain_years, fit_chain
from waterbudget.weather.years import recorded_years

ROOT = Path(__file__).parent.parent
TIMES, LONG_TIMES = 7, 3
FEW_LANES, LANES, VERY_MANY_LANES, SUMMER_DAYS = 200, 1000, 10_000, 153
LARGE_ZONES, LARGE_BEDS = 50, 200
LONG_DAYS = 21_915  # of 60 years
PLAIN_LANES = 3  # the plain loop runs this many gardens, and its time counts by the garden and day
PLAIN_DAYS = 365  # and of many years this many days
SUMMERS, SIZES, YEARS, YEARS_DAYS = 500, 200, 30, 10_958  # days of 30 years in a row
JETS, ZONES, FEW_ZONES = 40, 10_000, 50  # the few run one after the other, and their time counts by the zone
RANDOM_GARDENS = 50
GROWING_LANES, GROWING_DAYS = (1, 10, 100, 1000, 10_000), (153, 1530, 11_000)
FIRST_DAY, NEW_YEAR = dt.date(2031, 5, 1), dt.date(2031, 1, 1)
SUMMER, YEAR = ("05-01", "09-30"), ("01-01", "12-31")
LIMIT = Keep(sums=("outlets.asked_l", "tanks.mains_l", "outlets.unmet_l", "tanks.spilled_l"))  # those of the kernel
DUAL = {"model": {"crop_coefficient": "dual"}}
COMMANDS = {  # and what each may take, in multiples of importing pandas
    "run data_demo/site.toml": 1.5,
    "check data_demo/site.toml": 1.5,
    "today data_demo/site.toml --on 2031-07-05": 1.5,
    "odds data_demo/years/site.toml": 2.0,
    "hotspell data_demo/site.toml": 2.0,
    "size data_demo/years/site.toml": 2.5,
    "improve data_demo/site.toml": 2.5,
    "fit data_demo/journal/site.toml": 4.0,
    "report data_demo/site.toml": 4.0,
}

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
    """Measure everything, or what is named, and print the table."""
    click.echo(
        f"{os.cpu_count()} cores, {processor()}, {platform.system()}, load {os.getloadavg()[0]:.1f}; "
        f"Python {platform.python_version()}, numpy {np.__version__}. Medians of {TIMES} interleaved runs, of "
        f"{LONG_TIMES} where they take seconds; processor time, but by the clock where jax runs."
    )
    os.environ[ENGINE] = "numpy"
    measures = {
        "start": start_rows,
        "single": single_rows,
        "long": long_rows,
        "lanes": lane_rows,
        "compiled": compiled_rows,
        "first": first_call_rows,
        "odds": odds_rows,
        "foresight": foresight_rows,
        "sizes": size_rows,
        "hose": hose_rows,
        "years": generator_rows,
        "growth": growth_rows,
        "memory": memory_rows,
        "page": page_rows,
    }
    wanted = sys.argv[1:] or list(measures)
    rows = [
        Row("measured", "waterbudget", "against", "ratio", "aim"),
        *(row for name in wanted for row in measures[name]()),
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        click.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def processor():
    cpuinfo = Path("/proc/cpuinfo")
    lines = cpuinfo.read_text("utf-8").splitlines() if cpuinfo.exists() else []
    named = [line.partition(": ")[2] for line in lines if line.startswith("model name")]
    return named[0] if named else platform.machine()


def used_s():
    """Processor time of this process and its children [s]: what neighbours on the machine take counts less."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return process_time() + children.ru_utime + children.ru_stime


def side_by_side(*works, times=TIMES, clock=used_s):
    """The median time of each work [s], taken in turns so that a busy moment of the machine hits them all."""
    for work in works:
        work()  # caches filled, modules compiled
    rounds = [[seconds(work, clock) for work in works] for _ in range(times)]
    return [median(column) for column in zip(*rounds, strict=True)]


def seconds(work, clock=used_s):
    begun = clock()
    work()
    return clock() - begun


def on_jax(work):
    """The work with the compiled engine."""

    def compiled():
        os.environ[ENGINE] = "jax"
        try:
            return work()
        finally:
            os.environ[ENGINE] = "numpy"

    return compiled


def totals(garden, season, sky, keep=SUMMARY):
    return drive(garden, season, sky, keep=keep)[1]


def start_rows():
    """A command from the shell against no more than importing what it stands on."""
    ours_alone = {ENGINE, "PYTHONDONTWRITEBYTECODE"}  # who installed it has its modules compiled
    as_users = {name: value for name, value in os.environ.items() if name not in ours_alone}

    def python(*words):
        return lambda: subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True, env=as_users)

    ours, theirs = side_by_side(python("-m", "waterbudget", "--help"), python("-c", "import click"))
    against = f"{1e3 * theirs:.0f} ms, import click"
    yield Row("waterbudget --help", f"{1e3 * ours:.0f} ms", against, f"{ours / theirs:.1f}x", "<= 2x")
    with tempfile.TemporaryDirectory() as folder:
        into = {"report": ("-o", str(Path(folder) / "report.html"), "--overwrite")}
        lines = [(*line.split(), *into.get(line.split()[0], ())) for line in COMMANDS]
        works = [python("-m", "waterbudget", *words) for words in lines]
        *times, theirs = side_by_side(*works, python("-c", "import pandas"))
    against = f"{1e3 * theirs:.0f} ms, import pandas"
    for words, ours, aim in zip(lines, times, COMMANDS.values(), strict=True):
        name = f"waterbudget {words[0]}"
        yield Row(name, f"{1e3 * ours:.0f} ms", against, f"{ours / theirs:.1f}x", f"<= {aim:g}x")


def lane_rows():
    """Many gardens at once against a plain loop over days, a garden after the other; and dual against single."""
    rows = weather(SUMMER_DAYS)
    plain_gardens = [plain_garden(many_gardens(LANES), lane) for lane in range(PLAIN_LANES)]

    def plain():
        return [plain_run(site, rows) for site in plain_gardens]

    shared = season_and_sky(rows, dates_of(rows))
    same_litres(totals(many_gardens(LANES), *shared), [run["summary"] for run in plain()])
    for lanes in (FEW_LANES, LANES):
        garden, dual, dual_days = (
            many_gardens(lanes),
            many_gardens(lanes, DUAL),
            season_and_sky(rows, dates_of(rows), model=DUAL),
        )
        single_s, dual_s, plain_s = side_by_side(
            lambda garden=garden: totals(garden, *shared),
            lambda dual=dual, dual_days=dual_days: totals(dual, *dual_days),
            plain,
        )
        plain_s *= lanes / PLAIN_LANES
        name = f"{lanes} gardens x {SUMMER_DAYS} days, every total"
        against = f"{plain_s:.1f} s, plain loop ({PLAIN_LANES} gardens, scaled)"
        yield Row(name, milliseconds(single_s), against, f"{plain_s / single_s:.0f}x faster", ">= 100x")
        against = f"{milliseconds(single_s)}, single coefficient"
        yield Row(f"{name}, dual", milliseconds(dual_s), against, f"{dual_s / single_s:.2f}x", "<= 1.6x")
    yield own_weather_row(rows)


def own_weather_row(rows):
    """A thousand gardens with a weather each against one weather, their seasons reckoned anew in both."""
    garden, dates = many_gardens(LANES), dates_of(rows)
    of_lanes, order = dates.repeat(LANES, axis=1), in_turn(len(rows), LANES)
    own_s, shared_s = side_by_side(
        lambda: totals(garden, *season_and_sky(rows, of_lanes, order)),
        lambda: totals(garden, *season_and_sky(rows, dates)),
    )
    against = f"{milliseconds(shared_s)}, one weather for all"
    name = f"{LANES} gardens x {SUMMER_DAYS} days, a weather each"
    return Row(name, milliseconds(own_s), against, f"{own_s / shared_s:.2f}x", "<= 2x")


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
    for what, ours_s in (("recorded years", recorded_s), ("drawn years in strings of ten", drawn_s)):
        name = f"{SIZES} sizes x {YEARS} {what}"
        yield Row(name, milliseconds(ours_s), against, f"{plain_s / ours_s:.0f}x faster", ">= 200x")


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

    for name in ("outlets.asked_l", "outlets.unmet_l", "tanks.spilled_l", "tanks.mains_l"):
        follows, fixed = (totals(garden, season, sky).sums[name] for garden in pairs[1e-6])
        np.testing.assert_allclose(follows, fixed, rtol=1e-5)
    for lanes in (1, SIZES):
        follows, fixed = (garden if lanes == 1 else sized(garden, 0, capacity_l) for garden in pairs[1.13])
        ours, theirs = side_by_side(
            lambda garden=follows: totals(garden, season, sky), lambda garden=fixed: totals(garden, season, sky)
        )
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


def compiled_rows():
    """The compiled engine against the limit, the day written for numba with four sums, and against the plain loop."""
    missing = [module for module in ("jax", "numba") if find_spec(module) is None]
    if missing:
        yield Row("compiled", "", f"not measured: {' and '.join(missing)} not installed", "", "")
        return
    rows = weather(SUMMER_DAYS)
    for lanes in (LANES, VERY_MANY_LANES):
        yield from limit_rows(
            f"{lanes} gardens x {SUMMER_DAYS} days", lambda model, lanes=lanes: many_gardens(lanes, model), rows, 1.6
        )
    site, capacity_l = site_of(SITE), np.linspace(500.0, 5000.0, SIZES)
    years = weather(YEARS_DAYS, NEW_YEAR)
    yield from limit_rows(
        f"{SIZES} sizes x {YEARS} recorded years",
        lambda model: sized(garden_of(site_of(SITE | model)), 0, capacity_l),
        years,
        1.8,
        times=LONG_TIMES,
    )
    stretch = recorded_stretch(site, weather_of(years))
    one = plain_garden(sized(garden_of(site), 0, capacity_l), SIZES // 2)
    ours, plain_s = side_by_side(
        on_jax(lambda: try_sizes(site, 0, capacity_l, stretch)),
        lambda: plain_run(one, years[:PLAIN_DAYS]),
        times=LONG_TIMES,
        clock=perf_counter,
    )
    plain_s *= SIZES * YEARS
    against = f"{plain_s:.0f} s, plain loop (1 size x {PLAIN_DAYS} days, scaled)"
    name = f"{SIZES} sizes x {YEARS} recorded years in a row, jax"
    yield Row(name, milliseconds(ours), against, f"{plain_s / ours:.0f}x faster", ">= 1000x")


def limit_rows(what, garden_with, rows, aim, times=TIMES):
    """The limit's own four sums, then every total, with a single and a dual coefficient, and four sums under numpy."""
    from kernel import compiled_run

    garden, dual = garden_with({}), garden_with(DUAL)
    shared, dual_days = season_and_sky(rows, dates_of(rows)), season_and_sky(rows, dates_of(rows), model=DUAL)
    compiling_s = seconds(lambda: compiled_run(garden, *shared), perf_counter)
    four = on_jax(lambda: totals(garden, *shared, keep=LIMIT))
    for litres, name in zip(compiled_run(garden, *shared), LIMIT.sums, strict=True):
        np.testing.assert_allclose(four().sums[name].sum(axis=0), litres, rtol=1e-9)
    works = {
        "four sums, jax": four,
        "every total, jax": on_jax(lambda: totals(garden, *shared)),
        "every total, dual, jax": on_jax(lambda: totals(dual, *dual_days)),
        "four sums, numpy": lambda: totals(garden, *shared, keep=LIMIT),
    }
    *ours, limit_s = side_by_side(
        *works.values(), lambda: compiled_run(garden, *shared), times=times, clock=perf_counter
    )
    against = f"{milliseconds(limit_s)}, four sums by numba (first call {compiling_s:.1f} s)"
    for name, ours_s in zip(works, ours, strict=True):
        aimed = f"<= {aim}x" if name == "four sums, jax" else ""
        yield Row(f"{what}, {name}", milliseconds(ours_s), against, f"{ours_s / limit_s:.1f}x", aimed)


def first_call_rows():
    """What the compiled engine takes before it runs, in a process of its own: with nothing kept on disk, and after."""
    if find_spec("jax") is None:
        yield Row("first call", "", "not measured: jax is not installed", "", "")
        return
    with tempfile.TemporaryDirectory() as folder:
        elsewhere = os.environ | {ENGINE: "jax", "XDG_CACHE_HOME": folder}
        call = "from benchmark import first_call; first_call()"
        for kept in ("compiled anew", "kept on disk"):
            done = subprocess.run(
                [sys.executable, "-c", call],
                cwd=Path(__file__).parent,
                env=elsewhere | {"PYTHONPATH": f"{ROOT}"},
                check=True,
                capture_output=True,
                text=True,
            )
            took = json.loads(done.stdout)
            parts = f"trace {took['trace']:.2f} s, lower {took['lower']:.2f} s, compile or load {took['compile']:.2f} s"
            name = f"first call of jax, {LANES} gardens, every total, {kept}"
            ours = f"import {took['import']:.2f} s, call {took['first']:.2f} s"
            ratio = f"{took['first'] / took['second']:.1f}x"
            yield Row(name, ours, f"{parts}; second call {took['second']:.2f} s", ratio, "")


def first_call():
    """Print as JSON what a process takes for its first compiled run [s], by part."""
    parts = dict.fromkeys(("trace", "lower", "compile"), 0.0)
    rows = weather(SUMMER_DAYS)
    garden, shared = many_gardens(LANES), season_and_sky(rows, dates_of(rows))
    begun = perf_counter()
    from jax import monitoring

    imported = perf_counter() - begun
    events = {"jaxpr_trace": "trace", "jaxpr_to_mlir_module": "lower", "backend_compile": "compile"}

    def heard(event, duration, **_):
        for word, part in events.items():
            if word in event:
                parts[part] += duration

    monitoring.register_event_duration_secs_listener(heard)
    first, second = (seconds(lambda: totals(garden, *shared), perf_counter) for _ in range(2))
    click.echo(json.dumps(parts | {"import": imported, "first": first, "second": second}))


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


def foresight_rows():
    """The best there can be: its time beside the whole question it is asked in, and how far from it the plans are."""
    site, eve = demo_spell()
    opened = waterbudget.open_site(ROOT / "data_demo" / "site.toml", every_year=True)
    bound, whole = side_by_side(
        lambda: foresight(prospect_of(site, eve)), lambda: study(opened.site, opened.weather, Spell())
    )
    yield Row(
        "bound of a spell of 21 days", milliseconds(bound), f"{milliseconds(whole)}, whole spell", "", "<= 200 ms"
    )
    years = waterbudget.open_site(ROOT / "data_demo" / "years" / "site.toml", every_year=True)
    summers = recorded_summers(years.site, years.weather, Wanted(), years.site)
    again = np.arange(YEARS) % len(summers.label)
    arrays = {name: getattr(summers, name)[:, again] for name in ("dates", "rain_mm", "et0_mm", "tmax_c")}
    thirty = replace(summers, label=tuple(summers.label[year] for year in again), **arrays)
    clock = seconds(lambda: rules_of(years.site, thirty), perf_counter)
    yield Row(f"rules over {YEARS} summers, by the clock", milliseconds(clock), "", "", "<= 10 s")
    found = study(opened.site, opened.weather, Spell())
    yield Row("demo: least harm found above the bound", f"{gap(found):.1f} points", "", "", "")
    gaps = np.array([gap(one) for one in studies(SITE, RANDOM_GARDENS)])
    told = f"{gaps.mean():.1f} points, at most {gaps.max():.1f}"
    yield Row(f"the same in {RANDOM_GARDENS} random gardens", told, f"{(gaps > 1.0).sum()} above 1 point", "", "")


def growth_rows():
    """Time a garden and day, with more gardens and with more days."""
    rows = weather(max(GROWING_DAYS))
    wide = [(lanes, min(GROWING_DAYS)) for lanes in GROWING_LANES]
    long = [(SIZES, length) for length in GROWING_DAYS]

    def work(lanes, length):
        garden, season_sky = many_gardens(lanes), season_and_sky(rows[:length], dates_of(rows[:length]))
        return lambda: totals(garden, *season_sky)

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
    """One garden, with everything imported and read: small, and large."""
    rows = weather(SUMMER_DAYS)
    site, dual, large, sky = site_of(SITE), site_of(SITE | DUAL), site_of(large_site()), weather_of(rows)
    plain = plain_run(large_site(), rows)["summary"]
    for name in ("asked_l", "mains_l", "unmet_l", "spilled_l"):
        assert math.isclose(waterbudget.run(large, sky).summary[name], plain[name], rel_tol=1e-9), name
    daily, summary, dual_daily, small_plain, large_s, large_plain = side_by_side(
        lambda: waterbudget.run(site, sky),
        lambda: waterbudget.run(site, sky, daily=False),
        lambda: waterbudget.run(dual, sky),
        lambda: plain_run(SITE, rows),
        lambda: waterbudget.run(large, sky),
        lambda: plain_run(large_site(), rows),
    )
    name = f"1 garden x {SUMMER_DAYS} days"
    large_name = f"1 garden of {LARGE_BEDS} beds and {LARGE_ZONES} zones x {SUMMER_DAYS} days, with daily tables"
    for what, ours, against_s, against, aim in (
        (f"{name}, with daily tables", daily, small_plain, "plain loop", ""),
        (f"{name}, summary only", summary, small_plain, "plain loop", ""),
        (f"{name}, with daily tables, dual", dual_daily, daily, "single coefficient", "<= 1.6x"),
        (large_name, large_s, large_plain, "plain loop", ""),
    ):
        ratio = f"{ours / against_s:.2f}x"
        yield Row(what, milliseconds(ours), f"{milliseconds(against_s)}, {against}", ratio, aim)


def large_site():
    """The garden with many more zones, like its own in turn, and beds in all of them."""
    zones = [SITE["zone"][n % 4] | {"name": f"Zone {n}"} for n in range(LARGE_ZONES)]
    beds = [SITE["bed"][n % 8] | {"name": f"Bed {n}", "zone": f"Zone {n % LARGE_ZONES}"} for n in range(LARGE_BEDS)]
    return SITE | {"zone": zones, "bed": beds}


def long_rows():
    """Sixty years of one garden with daily tables: time, and the most that it holds at once."""
    rows = weather(LONG_DAYS, NEW_YEAR)
    site, sky = site_of(SITE), weather_of(rows)
    ours, plain_s = side_by_side(
        lambda: waterbudget.run(site, sky), lambda: plain_run(SITE, rows[:PLAIN_DAYS]), times=LONG_TIMES
    )
    plain_s *= LONG_DAYS / PLAIN_DAYS
    name = f"1 garden of {len(SITE['bed'])} beds x {LONG_DAYS} days, with daily tables"
    against = f"{plain_s:.1f} s, plain loop ({PLAIN_DAYS} days, scaled)"
    yield Row(name, f"{ours:.2f} s", against, f"{ours / plain_s:.2f}x", "<= 2.5 s")
    if find_spec("jax") is not None:
        (compiled_s,) = side_by_side(on_jax(lambda: waterbudget.run(site, sky)), times=LONG_TIMES, clock=perf_counter)
        yield Row(f"{name}, jax", f"{compiled_s:.2f} s", against, f"{compiled_s / plain_s:.2f}x", "<= 2.5 s")
    peak, tables = peak_of(lambda: waterbudget.run(site, sky))
    held = sum(
        frame.memory_usage(index=True).sum() for frame in (tables.roofs, tables.tanks, tables.zones, tables.beds)
    )
    against = f"{1e-6 * held:.0f} MB, the tables themselves"
    yield Row(f"{name}, peak memory", f"{1e-6 * peak:.0f} MB", against, f"{peak / held:.1f}x", "<= 200 MB")


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
    shared = season_and_sky(rows, dates_of(rows))
    return peak_of(lambda: totals(garden, *shared))[0]


def peak_of(work):
    """The most bytes that a work holds at once, beside what was there before; and what it gives."""
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    found = work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak - before, found


def page_rows():
    """How fast the page answers one phone and fifty, and what is lost when the computer dies."""
    from page_speed import rows

    return (Row(*row) for row in rows())


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


def season_and_sky(rows, dates, order=slice(None), model=None):
    """order: which of the rows each lane has on each day, (day, lane); without it all have the same."""
    columns = [np.array([row[name] for row in rows])[:, None] for name in ("rain_mm", "et0_mm", "tmax_c")]
    season = season_of(site_of(SITE | (model or {})), dates)
    return season, Sky(*(column[order].reshape(dates.shape) for column in columns))


def in_turn(days, lanes):
    """The same weather for every lane in another order, (day, lane)."""
    return (np.arange(days)[:, None] + np.arange(lanes)) % days


def many_gardens(lanes, model=None):
    """The same garden with stores of other sizes and other watering times, (item, lane)."""
    chance, garden = np.random.default_rng(7), garden_of(site_of(SITE | (model or {})))
    tanks, outlets = garden.tanks, garden.outlets
    size = chance.uniform(0.5, 2.0, (len(tanks.capacity_l), lanes))
    longer = chance.uniform(0.5, 1.5, (len(outlets.run_l), lanes))
    return garden.changed(
        tanks={"capacity_l": tanks.capacity_l * size, "start_l": tanks.start_l * size},
        outlets={"run_l": outlets.run_l * longer, "hot_run_l": outlets.hot_run_l * longer},
    )


def plain_garden(garden, lane):
    """One of the many as the plain program reads it."""

    def own(values):
        return values[:, min(lane, values.shape[1] - 1)].tolist()

    stores = zip(SITE["tank"], own(garden.tanks.capacity_l), own(garden.tanks.start_l), strict=True)
    tanks = [tank | {"capacity_l": capacity_l, "start_l": start_l} for tank, capacity_l, start_l in stores]
    run_l, hot_run_l = own(garden.outlets.run_l), own(garden.outlets.hot_run_l)
    zones = [
        zone
        | {"minutes": run_l[n] / zone["flow_l_min"]}
        | ({"hot_minutes": hot_run_l[n] / zone["flow_l_min"]} if "hot_minutes" in zone else {})
        for n, zone in enumerate(SITE["zone"])
    ]
    draws = [draw | {"l_per_day": run_l[n]} for n, draw in enumerate(SITE["draw"], len(zones))]
    return SITE | {"tank": tanks, "zone": zones, "draw": draws}


def same_litres(kept, summaries):
    """A race counts only between runners on the same course."""
    for lane, summary in enumerate(summaries):
        for name in ("mains_l", "spilled_l"):
            assert math.isclose(kept.sums[f"tanks.{name}"][:, lane].sum(), summary[name], rel_tol=1e-9), name
        assert math.isclose(kept.sums["outlets.unmet_l"][:, lane].sum(), summary["unmet_l"], rel_tol=1e-9)


if __name__ == "__main__":
    main()
