"""Invented gardens and journals, whose true numbers are known; run by hand it writes data_demo/journal again."""

import csv
import datetime as dt
import io
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np

from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "journal"
HEADER = "written_at,date,kind,name,value,unit,note,key,line"
ZONE = dt.timezone(dt.timedelta(hours=1))
TRUE = {  # of the demo, by table, number and key; the site file says otherwise
    ("roof", 0, "runoff_coefficient"): 0.72,
    ("roof", 0, "first_flush_l"): 36.0,
    ("tank", 0, "loss_l_per_day"): 2.5,
    ("zone", 0, "flow_l_min"): 2.7,
}
FULL_CM, FULL_L = 113.0, 1500.0
DIP_CM = 0.5  # how finely a dip stick is read
LOGGED = [  # what was done and measured in the demo's summer otherwise than its plan and its weather file say
    (dt.date(2031, 5, 18), "gauge", "", 6.5, "mm", "the station missed it"),
    (dt.date(2031, 6, 6), "gauge", "", 8, "mm"),
    (dt.date(2031, 6, 9), "ran", "North line", 10, "min", "timer looked at"),
    (dt.date(2031, 7, 3), "gauge", "", 12.5, "mm"),
    *((dt.date(2031, 7, day), "ran", "North line", 35, "min", "by hand as well") for day in range(14, 19)),
    (dt.date(2031, 7, 25), "gauge", "", 3, "mm"),
    *((dt.date(2031, 7, day), "ran", "North line", 0, "min", "timer's battery was flat") for day in range(27, 31)),
    (dt.date(2031, 8, 8), "mains", "Class-room tank", 240, "L", "hose from the kitchen tap"),
    (dt.date(2031, 8, 13), "gauge", "", 22, "mm"),
    (dt.date(2031, 9, 13), "gauge", "", 16, "mm"),
    (dt.date(2031, 9, 15), "gauge", "", 6, "mm"),
]


def row(number, day, kind, name, value, unit, note=""):
    """A line as the format has it, written on the evening of its day."""
    written_at = dt.datetime.combine(day, dt.time(19, 30), ZONE)
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(
        [written_at.isoformat(), day.isoformat(), kind, name, f"{value:.15g}", unit, note, "", f"L{number:06d}"]
    )
    return text.getvalue()


def journal(entries):
    """A journal of entries (day, kind, name, value, unit and perhaps a note)."""
    return "".join([f"{HEADER}\n", *(row(number, *entry) for number, entry in enumerate(entries, 1))])


def truly(path, numbers):
    """The site of a file with other numbers; a roof keeps the loss of its covering beside a coefficient of its own."""
    table = tomllib.loads(path.read_text("utf-8"))
    roofs = Site.model_validate(table).roof
    for (kind, number, key), value in numbers.items():
        table[kind][number][key] = value
        if key == "runoff_coefficient":
            table[kind][number].setdefault("loss_mm", roofs[number].wetting_loss_mm)
    return Site.model_validate(table)


def levels(path, numbers, every=4, first=3, logged=()):
    """Modelled levels [L] of every so many evenings, of a garden with these numbers: (day, tank, litres).

    logged: entries of runs, of mains water let into a tank and of the gauge's rain, at most one of a thing and day.
    """
    site, weather = truly(path, numbers), open_site(path).weather
    garden, rain_mm = garden_of(site), weather.daily["rain_mm"].to_numpy(copy=True)
    minutes = np.full((len(rain_mm), len(garden.names.outlets)), np.nan)
    mains_added_l = np.zeros((len(rain_mm), len(site.tank)))
    for day, kind, name, value, *_ in logged:
        number = weather.dates.get_loc(str(day))
        if kind == "ran":
            minutes[number, garden.names.outlets.index(name)] = value
        elif kind == "mains":
            mains_added_l[number, garden.names.tanks.index(name)] = value
        else:
            rain_mm[number] = value
    sky = replace(sky_of(site, weather), rain_mm=rain_mm[:, None])
    actions = Actions(minutes, mains_added_l)
    season = season_of(site, weather.date_column)
    _, kept = drive(garden, season, sky, actions=actions, keep=Keep(each=("tanks.level_l",)))
    return [
        (weather.dates[number].date(), tank.name, float(level_l))
        for number in range(first, len(rain_mm), every)
        for tank, (level_l,) in zip(site.tank, kept.each["tanks.level_l"][number], strict=True)
    ]


def demo_journal():
    """The class's summer: a dip every fourth evening, half a centimetre fine and as much off, and some other lines."""
    random = np.random.default_rng(20310501)
    entries = []
    for day, tank, level_l in levels(DEMO / "site.toml", TRUE, logged=LOGGED):
        depth_cm = level_l / FULL_L * FULL_CM + random.normal(0.0, 2.0 * DIP_CM)
        depth_cm = float(np.clip(np.round(depth_cm / DIP_CM) * DIP_CM, 0.0, FULL_CM))
        entries.append((day, "level", tank, depth_cm, "cm"))
    return journal(sorted([*entries, *LOGGED], key=lambda entry: entry[0]))


if __name__ == "__main__":
    (DEMO / "journal.csv").write_text(demo_journal(), "utf-8")
