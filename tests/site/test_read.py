"""Faults of a site file: all of them at once, each in one line that names file, key, what is wrong, what is right."""

import copy
import json
import math
import re
import tomllib
from datetime import datetime, time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from waterbudget.errors import SiteError
from waterbudget.example import site_path
from waterbudget.site.model import Site
from waterbudget.site.read import TABLES, dotted, load_site
from waterbudget.site.table import LARGEST

EVERY_KEY = """
[site]
name = "Brackenfold"
latitude_deg = 53.1
longitude_deg = -1.9
elevation_m = 140
mean_wind_m_s = 3
mean_rh_min_pct = 50

[model]
crop_coefficient = "dual"
release = "before_spill"
kc_bare = 0.25
root_start_m = 0.1
adjust_p = false

[weather]
file = "weather.csv"
gauge = "gauge.csv"
wind_height_m = 10

[usual]
july_high_c = 21
july_low_c = 12
january_high_c = 7
january_low_c = 1

[prices]
water_per_m3 = 3.4
currency = "£"

[effort]
valve_minutes = 0.5
hose_minutes = 3
can_minutes = 1.5
can_l = 8
look_minutes = 2
transfer_minutes = 6
battery_minutes = 4
battery_run_minutes = 240
by_hose = ["North line"]
by_can = ["Cans"]
by_battery = ["South line"]

[[roof]]
name = "Class-room roof"
tank = "Class-room tank"
area_m2 = 38
covering = "clay tile"
runoff_coefficient = 0.85
loss_mm = 0.5
first_flush_l = 20
filter_efficiency = 0.95

[[tank]]
name = "Class-room tank"
joined = 2
capacity_l = 1500
dead_l = 40
start_l = 900
overflow_to = "Shed butt"
loss_l_per_day = 1.5
shape = "upright-cylinder"
inner_diameter_m = 1.3
inner_top_diameter_m = 1.4
inner_bottom_diameter_m = 1.2
inner_length_m = 1.2
inner_width_m = 0.8
inner_height_m = 1.13

[[tank]]
name = "Shed butt"
capacity_l = 350
start_l = 300
mains = "float"
float_below_l = 60
float_to_l = 100

[[inflow]]
name = "Spring"
tank = "Shed butt"
l_per_day = 30
weekdays = ["tue"]
from = "03-01"
to = "10-31"

[[transfer]]
name = "Saturday pump"
from_tank = "Class-room tank"
to_tank = "Shed butt"
l_per_day = 300
keep_l = 500
below_l = 150
weekdays = ["sat"]
from = "04-01"
to = "09-15"

[[ban]]
from = "07-15"
to = "08-31"

[[ban]]
from = 2031-06-01
to = 2031-06-30

[[zone]]
name = "North line"
tank = "Class-room tank"
flow_l_min = 9.5
minutes = 5
runs_per_day = 2
every_days = 3
every_from = 2031-05-01
from = "10-01"
to = "03-31"
plan = "dry"
dry_at = 0.8
skip_rain_mm = 8
skip_rain_days = 2
hot_above_c = 25
hot_minutes = 8
priority = 2
jets = "drip"
efficiency = 0.75
wetted_fraction = 0.3

[[zone]]
name = "South line"
tank = "Shed butt"
flow_l_min = 4
minutes = 30
weekdays = ["mon", "thu"]
plan = "refill"
leave_mm = 3

[[zone]]
name = "East ring"
tank = "Class-room tank"
minutes = 5

[[zone.line]]
ring = true
bore_mm = 13
length_m = 20
rise_m = 0.4
feed_length_m = 4
feed_bore_mm = 16
feed_k = 3
pumped = true
working_m = 4
maker_cv = 0.1
water_c = 19

[[zone.line.jets]]
bed = "Salad bed"
count = 12
k_l_h = 3
opening = 0.5
rise_m = -0.2
spray = false

[[zone.line.jets]]
bed = "Salad bed"
count = 2
x = 0.6
l_h_at_1_bar = 10

[pump]
shutoff_m = 14
greatest_l_h = 1000
motor_w = 100

[battery]
volts = 18
amp_hours = 2.5
usable_share = 0.7
efficiency = 0.2
minutes_to_empty = 40

[[draw]]
name = "Cans"
tank = "Shed butt"
l_per_day = 20
may_ration = true
weekdays = ["mon", "fri"]
from = "05-01"
to = "07-18"
priority = -1

[[bed]]
name = "Tomato bed"
area_m2 = 2.5
zone = "North line"
share = 4
soil = "loam"
available_water_mm_m = 150
rew_mm = 8
tew_mm = 20
root_limit_m = 0.4
rain_share = 0.5
et_factor = 0.9
largest_loss = 0.3
mulch_cover = 0.5
start_depleted = 0.2
exposed = true
width_m = 0.8

[[bed.planting]]
crop = "tomato"
planted = "05-26"
days = [30, 40, 40, 20]
kc = [0.6, 1.15, 0.8]
kcb = [0.15, 1.1, 0.7]
p = 0.4
root_m = [0.15, 0.7]
height_m = 0.6
perennial = false
ground_share = 0.9

[[bed.planting]]
crop = "lettuce"
planted = 2031-03-01
days = [20, 30, 15, 10]

[[bed]]
name = "Bean bed"
area_m2 = 6
soil = "sandy loam"

[[bed.planting]]
planted = "06-01"
days = [20, 30, 30, 0]
kc = [0.5, 1.05, 0.9]
p = 0.45
root_m = [0.15, 0.5]

[[bed]]
name = "Salad bed"
area_m2 = 3
zone = "East ring"
soil = "loam"

[[bed]]
name = "Chilli pots"
pots = 12
pot_litres = 10
pot_diameter_cm = 25
"""

TANK = "[[tank]]\nname = 'Store'\ncapacity_l = 100\nstart_l = 50\n"
SMALL = f"[site]\nname = 'Garden'\n{TANK}"


def faults_of(path):
    """The lines that tell what is wrong with a file; none where it is a site."""
    try:
        site = load_site(path)
    except SiteError as error:
        return str(error).split("\n")
    assert isinstance(site, Site)
    return []


@pytest.fixture
def told(tmp_path):
    """Writes a site file and tells its faults, without the path that every line opens with."""

    def faults(text):
        path = tmp_path / "site.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        lines = faults_of(path)
        assert all(line.startswith(f"{path}: ") for line in lines)
        return [line.removeprefix(f"{path}: ") for line in lines]

    return faults


def changed(*changes):
    """The site with every key, with pieces of its text replaced where they first stand."""
    text = EVERY_KEY
    for old, new in changes:
        assert old in text, f"{old} is not there to be changed"
        text = text.replace(old, new, 1)
    return text


# ---- What is right ----


def test_a_site_with_every_key_loads(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(EVERY_KEY, "utf-8")
    site = load_site(path)
    assert site == Site.model_validate(tomllib.loads(EVERY_KEY))
    assert load_site(str(path)) == site


def test_the_site_with_every_key_has_every_key():
    raw = tomllib.loads(EVERY_KEY)
    tables = {head: raw[head] if isinstance(raw[head], list) else [raw[head]] for head in TABLES if head in raw}
    lines = [line for zone in raw["zone"] for line in zone.get("line", [])]
    tables |= {"": [raw], "bed.planting": [planting for bed in raw["bed"] for planting in bed.get("planting", [])]}
    tables |= {"zone.line": lines, "zone.line.jets": [jets for line in lines for jets in line["jets"]]}
    used = {head: {key for table in tables[head] for key in table} for head in TABLES}
    used["weather"] |= {"station", "nearest", "fill"}  # stand in the place of file
    used["usual"] |= {"high_c", "low_c"}  # stand in the place of the four
    used["pump"] |= {"points"}  # stand in the place of the nameplate
    assert used == {
        head: {field.alias or name for name, field in model.model_fields.items()} for head, model in TABLES.items()
    }


def test_the_smallest_site_loads(told):
    assert told(SMALL) == []


@pytest.mark.parametrize(
    "mark", [b"\xef\xbb\xbf", b"\n\n  \n", b"# our garden \xc3\xa9\n"], ids=["byte-order mark", "blank lines", "remark"]
)
def test_what_stands_before_does_no_harm(told, mark):
    assert told(mark + EVERY_KEY.encode()) == []


def test_windows_line_ends_do_no_harm(told):
    assert told(EVERY_KEY.replace("\n", "\r\n")) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("area_m2 = 38", "area_m2 = 3_8.0e0"),
        ('planted = "05-26"', 'planted = "2031-05-26"'),
        ("every_from = 2031-05-01", 'every_from = "2031-05-01"'),
        ("dead_l = 40", "dead_l = 900"),
        ("start_l = 900", "start_l = 1500"),
        ("float_below_l = 60\nfloat_to_l = 100", "float_below_l = 350\nfloat_to_l = 350"),
        ('"Shed butt"', '"Regentonne – Süd, 2 = größer"'),
    ],
)
def test_what_may_be_written(told, old, new):
    text = EVERY_KEY.replace(old, new) if old == '"Shed butt"' else changed((old, new))
    assert told(text) == []


def test_the_key_is_told_as_a_person_counts():
    assert dotted(("bed", 1, "planting", 0, "days")) == "bed[2].planting[1].days"
    assert dotted(("site", "name")) == "site.name"


# ---- What is no site file at all ----

NO_TEXT = "is not UTF-8 text; save the site file as UTF-8"
EMPTY = "is empty; waterbudget new FOLDER makes a starter site"


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"", EMPTY),
        (b" \n\t\r\n", EMPTY),
        (b"\xef\xbb\xbf", EMPTY),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", NO_TEXT),
        (bytes(range(256)), NO_TEXT),
        (b"\0" * 100, NO_TEXT),
        ("[site]\nname = 'Café'".encode("latin-1"), NO_TEXT),
        (EVERY_KEY.encode("utf-16"), NO_TEXT),
        (EVERY_KEY.encode("utf-16-le"), NO_TEXT),
        (EVERY_KEY.encode("utf-16-be"), NO_TEXT),
        ("x = " + "[" * 5000 + "]" * 5000, "lists or tables are nested too deep; two brackets are the most needed"),
        ("x = " + "9" * 5000, "holds a number of thousands of digits; write one that a garden needs"),
    ],
    ids=[
        "empty",
        "blank",
        "byte-order mark alone",
        "picture",
        "every byte",
        "zeros",
        "Latin-1",
        "UTF-16",
        "UTF-16 LE",
        "UTF-16 BE",
        "deep",
        "long number",
    ],
)
def test_a_file_that_is_no_site(told, content, fault):
    assert told(content) == [fault]


def test_a_missing_file(tmp_path):
    path = tmp_path / "none.toml"
    with pytest.raises(SiteError) as error:
        load_site(path)
    assert error.value.faults == (f"{path}: there is no such file; waterbudget new FOLDER makes a starter site",)


def test_a_folder(tmp_path):
    with pytest.raises(SiteError) as error:
        load_site(tmp_path)
    assert error.value.faults == (f"{tmp_path}: is a folder; name the site file in it",)


def test_a_file_as_folder(tmp_path):
    (tmp_path / "site.toml").touch()
    path = tmp_path / "site.toml" / "site.toml"
    with pytest.raises(SiteError) as error:
        load_site(path)
    assert error.value.faults == (f"{path}: cannot be read: Not a directory; name a site file that can",)


def test_an_unreadable_file(tmp_path, monkeypatch):
    def denied(*_):
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "site.toml"
    path.touch()
    monkeypatch.setattr(Path, "open", denied)  # a superuser may read everything
    with pytest.raises(SiteError) as error:
        load_site(path)
    assert error.value.faults == (f"{path}: cannot be read: Permission denied; name a site file that can",)


# ---- What is no TOML: the first place where it is none ----

DECIMALS = "write decimals with a point, as 1.5, and thousands with nothing, as 1500"
DATES = "write a real date as YYYY-MM-DD, such as 2031-05-01"
QUOTED_DAY = 'put month and day in quotes, as in "05-10"'
QUOTES = 'put text in "double quotes"'
ALONE = "write the number alone; its unit stands in the key, and 90 % is 0.9"
TWICE = "this is there already; keep one, or write the head of each as [[head]]"
TANKS = "use [[tank]], as there may be several"
MAINS = 'write "direct" where a hose gives what is short, "float" for a float valve, "none" for no mains water'
LINE = "each line is a [head], a key = value or a # remark"


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("area_m2 = 1,5", DECIMALS),
        ("longitude_deg = -1,9", DECIMALS),
        ("capacity_l = 1,500", DECIMALS),
        ("every_from = 01/05/2031", DATES),
        ("every_from = 01.05.2031", DATES),
        ("planted = 10-05-2031", DATES),
        ("planted = 2031-5-1", DATES),
        ("planted = 2031-02-30", DATES),
        ("from = 05-01", QUOTED_DAY),
        ("from = 10-05  # in spring", QUOTED_DAY),
        ("from = 1/5", QUOTED_DAY),
        ("covering = slate", QUOTES),
        ("name = Shed butt", QUOTES),
        ("adjust_p = True", "write true or false, in small letters"),
        ("adjust_p = yes", "write true or false, in small letters"),
        ("mains = yes", MAINS),
        ("mains = no", 'write "none" where there is no mains water'),
        ("area_m2 = 38 m2", ALONE),
        ("runoff_coefficient = 90%", ALONE),
        ("latitude_deg = 53.1°", ALONE),
        ("p = .4", "write figures on both sides of the point, as 0.5"),
        ("p = 4.", "write figures on both sides of the point, as 0.5"),
        ("longitude_deg = \u22121.9", "write a plain minus, as in -1.9"),
        ("name = \u201cStore\u201d", 'write straight quotes, as in "Shed butt"'),
        ("file = \u2018weather.csv\u2019", 'write straight quotes, as in "Shed butt"'),
        (r'file = "C:\garden\weather.csv"', r"write / for \ in a path"),
        ('name = "Store', "text ends with a quote on the line it begins on"),
        ("name: Store", f"expected '=' after a key in a key/value pair; {LINE}"),
        ("name =", f"invalid value; {LINE}"),
        ("[site", f"expected ']' at the end of a table declaration; {LINE}"),
        ("date,rain_mm", f"expected '=' after a key in a key/value pair; {LINE}"),
        ("x = " + "1" * 80 + "é", ALONE),
    ],
)
def test_a_line_that_is_no_toml(told, line, fault):
    shown = line if len(line) <= 60 else line[:60]
    assert told(f"# a remark\n{line}\nx = 1\n") == [f"line 2 ({shown}): {fault}"]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[site]\nname = 'a'\nname = 'b'", f"line 3 (name = 'b'): {TWICE}"),
        ("[site]\nname = 'a'\n[site]\nelevation_m = 3", f"line 3 ([site]): {TWICE}"),
        ("[tank]\nname = 'a'\n[tank]\nname = 'b'", f"line 3 ([tank]): {TANKS}"),
        ("[[tank]]\nname = 'a'\n[tank]\nname = 'b'", f"line 3 ([tank]): {TANKS}"),
        (
            "[tank]\nname = 'a'\n[[tank]]\nname = 'b'",
            "line 3 ([[tank]]): one of these stands in single brackets further up; use [[tank]] there too",
        ),
        (
            "[[bed]]\nname = 'a'\n[bed.planting]\n[bed.planting]\n",
            "line 4 ([bed.planting]): use [[bed.planting]], as there may be several",
        ),
        (
            "days = [30, 40\nadjust_p = true",
            "line 2 (adjust_p = true): a list ends with ]; look at the lines above too",
        ),
        (
            "a = 1\nb = '''text",
            "end of the file: Expected \"'''\"; a list ends with ], text with a quote, and a key has a value",
        ),
        ("days = [30,", "end of the file: Invalid value; a list ends with ], text with a quote, and a key has a value"),
    ],
)
def test_a_text_that_is_no_toml(told, text, fault):
    assert told(text) == [fault]


@pytest.mark.parametrize("written", ["true", '"yes"', '"On"'])
def test_mains_that_are_only_said_to_be_there(told, written):
    text = f'[site]\nname = "A"\n[[tank]]\nname = "B"\ncapacity_l = 9\nstart_l = 0\nmains = {written}\n'
    assert told(text) == [f"tank[1].mains: is {written}; {MAINS} (direct: by hose; float: by a valve)"]


@pytest.mark.parametrize("name", ["weather.csv", "Weather.XLSX"])
def test_a_weather_file_in_place_of_the_site_file(tmp_path, name):
    path = tmp_path / name
    path.write_bytes(b"\xff")
    with pytest.raises(SiteError) as error:
        load_site(path)
    assert error.value.faults == (f"{path}: that is a weather file; give the site file, such as site.toml",)


# ---- Faults of single keys ----

AREA = "plan (horizontal) area in m²"
DAYS = "lengths of the four growth stages, days"
WEEK = '"mon", "tue", "wed", "thu", "fri", "sat", "sun"'


# What stood there → what stands there now (⏎ ends a line), and below it what is told, in one line.
FAULTS = r"""
area_m2 = 38  →  area_m2 = nan
roof[1].area_m2: is nan; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = inf
roof[1].area_m2: is inf; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = -inf
roof[1].area_m2: is -inf; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = 1e999
roof[1].area_m2: is inf; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = true
roof[1].area_m2: is true; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = "38"
roof[1].area_m2: is "38"; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = "3,8"
roof[1].area_m2: is "3,8"; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = [38, 2]
roof[1].area_m2: is [38, 2]; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = {plan = 38}
roof[1].area_m2: is a table; write a number (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = 06:30:00
roof[1].area_m2: is 06:30:00; write a number (plan (horizontal) area in m²)

priority = 2  →  priority = 1.0
zone[1].priority: is 1.0; write a whole number (lowest is served first when the tank runs short)

runs_per_day = 2  →  runs_per_day = true
zone[1].runs_per_day: is true; write a whole number (runs on a watering day)

adjust_p = false  →  adjust_p = 0
model.adjust_p: is 0; write true or false (adjust p, the share taken freely, to the day (FAO-56 Table 22))

name = "Tomato bed"  →  name = 5
bed[1].name: is 5; write text in "double quotes" (the bed's name)

file = "weather.csv"  →  file = 2031-05-01
weather.file: is 2031-05-01; write text in "double quotes" (weather file, relative to the site file)

weekdays = ["mon", "thu"]  →  weekdays = "mon"
zone[2].weekdays: is "mon"; write a list in [brackets] (days of the week to water on)

days = [30, 40, 40, 20]  →  days = 130
bed[1].planting[1].days: is 130; write a list in [brackets] (lengths of the four growth stages, days)

days = [30, 40, 40, 20]  →  days = [30, 40.5, 40, 20]
bed[1].planting[1].days[2]: is 40.5; write a whole number (lengths of the four growth stages, days)

days = [30, 40, 40, 20]  →  days = [30, [40], 40, 20]
bed[1].planting[1].days[2]: is [40]; write a whole number (lengths of the four growth stages, days)

days = [30, 40, 40, 20]  →  days = [30, 40, 60]
bed[1].planting[1].days: has 3 values; write 4 (lengths of the four growth stages, days)

days = [30, 40, 40, 20]  →  days = []
bed[1].planting[1].days: has 0 values; write 4 (lengths of the four growth stages, days)

kc = [0.6, 1.15, 0.8]  →  kc = [0,6, 1,15, 0,8]
bed[1].planting[1].kc: has 6 values; write 3 (Kc of the three stages: water use against cut grass)

root_m = [0.15, 0.7]  →  root_m = [0.7]
bed[1].planting[1].root_m: has 1 values; write 2 (root depth at sowing and at full depth, m)

weekdays = ["mon", "fri"]  →  weekdays = []
draw[1].weekdays: is []; name at least one day, such as ["mon"], or leave the key out

area_m2 = 38  →  area_m2 = 0
roof[1].area_m2: is 0; write a number above 0 (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = -3
roof[1].area_m2: is -3; write a number above 0 (plan (horizontal) area in m²)

area_m2 = 38  →  area_m2 = 1e12
roof[1].area_m2: is 1000000000000.0; write a number up to 1_000_000_000 (plan (horizontal) area in m²)

loss_mm = 0.5  →  loss_mm = -0.5
roof[1].loss_mm: is -0.5; write a number from 0 up (wetting loss of each rain day, mm; left out, that of the covering)

dead_l = 40  →  dead_l = -1
tank[1].dead_l: is -1; write a number from 0 up (litres below the outlet, never drawn)

minutes = 5  →  minutes = -5
zone[1].minutes: is -5; write a number from 0 up (minutes of one run)

hot_minutes = 8  →  hot_minutes = -8
zone[1].hot_minutes: is -8; write a number from 0 up (minutes of one run on hot days)

flow_l_min = 9.5  →  flow_l_min = 0
zone[1].flow_l_min: is 0; write a number above 0 (flow of the open valve, L/min)

every_days = 3  →  every_days = 0
zone[1].every_days: is 0; write a number from 1 up (water every n days)

runs_per_day = 2  →  runs_per_day = 0
zone[1].runs_per_day: is 0; write a number from 1 up (runs on a watering day)

skip_rain_days = 2  →  skip_rain_days = 0
zone[1].skip_rain_days: is 0; write a number from 1 up (days that this rain fell in)

runoff_coefficient = 0.85  →  runoff_coefficient = 90
roof[1].runoff_coefficient: is 90; write a number up to 1, 0.9 for 90 % (share of the rain that runs off, 0 to 1)

runoff_coefficient = 0.85  →  runoff_coefficient = 1.2
roof[1].runoff_coefficient: is 1.2; write a number up to 1 (share of the rain that runs off, 0 to 1)

filter_efficiency = 0.95  →  filter_efficiency = 95.0
roof[1].filter_efficiency: is 95.0; write a number up to 1, 0.95 for 95 % (share that the filter passes on, 0 to 1)

⏎efficiency = 0.75  →  ⏎efficiency = 0
zone[1].efficiency: is 0; write a number above 0 (share that reaches the root zone; left out, that of the jets)

⏎efficiency = 0.75  →  ⏎efficiency = 75
zone[1].efficiency: is 75; write a number up to 1, 0.75 for 75 % (share that reaches the root zone; left
out, that of the jets)

p = 0.4  →  p = 0.96
bed[1].planting[1].p: is 0.96; write a number up to 0.95 (depletion fraction without stress)

p = 0.4  →  p = 40
bed[1].planting[1].p: is 40; write a number up to 0.95 (depletion fraction without stress)

rain_share = 0.5  →  rain_share = 50
bed[1].rain_share: is 50; write a number up to 1, 0.5 for 50 % (share of the rain that reaches the bed, 0 under a
tunnel)

start_depleted = 0.2  →  start_depleted = 1.5
bed[1].start_depleted: is 1.5; write a number up to 1 (share of what its soil can give (TAW, TEW) missing at first)

latitude_deg = 53.1  →  latitude_deg = 90.5
site.latitude_deg: is 90.5; write a number up to 90 (degrees north, south negative)

latitude_deg = 53.1  →  latitude_deg = -91
site.latitude_deg: is -91; write a number from -90 up (degrees north, south negative)

longitude_deg = -1.9  →  longitude_deg = 358.1
site.longitude_deg: is 358.1; write a number up to 180 (degrees east, west negative)

elevation_m = 140  →  elevation_m = 14000
site.elevation_m: is 14000; write a number up to 9_000 (metres above the sea)

wind_height_m = 10  →  wind_height_m = 0
weather.wind_height_m: is 0; write a number from 0.5 up (height of the wind readings, m; of a station 10)

hot_above_c = 25  →  hot_above_c = 77
zone[1].hot_above_c: is 77; write a number up to 60 (day maximum of a hot day, °C)

release = "before_spill"  →  release = "after"
model.release: is "after"; write one of "after_spill", "before_spill", most likely "after_spill" (order of overflow
and draw)

mains = "float"⏎float_below_l = 60⏎float_to_l = 100  →  mains = false
tank[2].mains: is false; write one of "none", "direct", "float" (direct: by hose; float: by a valve)

plan = "dry"  →  plan = "drye"
zone[1].plan: is "drye"; write one of "timer", "dry", "refill", most likely "dry" (what opens the valve)

"mon", "thu"  →  "mon", "thurs"
zone[2].weekdays[2]: is "thurs"; write one of "mon", "tue", "wed", "thu", "fri", "sat", "sun", most likely "thu"
(days of the week to water on)

"mon", "fri"  →  "mon", 5
draw[1].weekdays[2]: is 5; write one of "mon", "tue", "wed", "thu", "fri", "sat", "sun" (days of the week; default
all)

name = "Tomato bed"  →  name = ""
bed[1].name: is ""; write something between the quotes

name = "Tomato bed"  →  name = "  "
bed[1].name: is "  "; write something between the quotes

name = "Tomato bed"  →  name = "Tomato\nbed"
bed[1].name: is "Tomato\nbed"; write it without line breaks, tabs and other control characters

name = "Tomato bed"  →  name = '''Tomato⏎bed'''
bed[1].name: is "Tomato\nbed"; write it without line breaks, tabs and other control characters

name = "Tomato bed"  →  name = "Tomato\u2028bed\u0085"
bed[1].name: is "Tomato\u2028bed\u0085"; write it without line breaks, tabs and other control characters

file = "weather.csv"  →  file = "weather\u0000.csv"
weather.file: is "weather\u0000.csv"; write it without line breaks, tabs and other control characters

crop = "lettuce"  →  crop = "letuce"
bed[1].planting[2].crop: is "letuce"; unknown crop; did you mean "lettuce" or "lamb's lettuce" or "lucerne"?
(waterbudget crops lists all)

soil = "sandy loam"  →  soil = "sandyloom"
bed[2].soil: is "sandyloom"; unknown soil; did you mean "sandy loam" or "sand" or "sandy soil"? (waterbudget soils
lists all)

covering = "clay tile"  →  covering = "xyzzy"
roof[1].covering: is "xyzzy"; unknown covering; nothing is spelt like it (waterbudget roofs lists all)

planted = "05-26"  →  planted = "10/05"
bed[1].planting[1].planted: is "10/05"; write "MM-DD" for every year, such as "05-10", or a full date for once, such
as 2031-05-10

planted = "05-26"  →  planted = "10-05-2031"
bed[1].planting[1].planted: is "10-05-2031"; write "MM-DD" for every year, such as "05-10", or a full date for once,
such as 2031-05-10

planted = "05-26"  →  planted = "26-05"
bed[1].planting[1].planted: is "26-05"; the month comes first; write "05-26"

planted = "05-26"  →  planted = "02-29"
bed[1].planting[1].planted: is "02-29"; 29 February does not come every year; write "02-28" or "03-01"

planted = "05-26"  →  planted = 526
bed[1].planting[1].planted: is 526; write "MM-DD" for every year, such as "05-10", or a full date for once, such as
2031-05-10

planted = "05-26"  →  planted = 2031-05-26T00:00:00
bed[1].planting[1].planted: is 2031-05-26 00:00:00; write a date as YYYY-MM-DD, such as 2031-05-01

planted = "05-26"  →  planted = "2031-02-30"
bed[1].planting[1].planted: is "2031-02-30"; there is no such day; write a date as YYYY-MM-DD, such as 2031-05-01

planted = "05-26"  →  planted = 0231-05-26
bed[1].planting[1].planted: is 0231-05-26; write a date of the years 1700 to 2200, such as 2031-05-01

to = "03-31"  →  to = "02-29"
zone[1].to: is "02-29"; 29 February does not come every year; write "02-28" or "03-01"

to = "03-31"  →  to = "04-31"
zone[1].to: is "04-31"; no year has such a day; write month and day as "MM-DD", such as "05-10" for 10 May

to = "03-31"  →  to = 2031-03-31
zone[1].to: is 2031-03-31; write month and day as "MM-DD", such as "05-10" for 10 May

to = "03-31"  →  to = "3-31"
zone[1].to: is "3-31"; write month and day as "MM-DD", such as "05-10" for 10 May

every_from = 2031-05-01  →  every_from = 2031-05-01T06:00:00Z
zone[1].every_from: is 2031-05-01 06:00:00+00:00; write a date as YYYY-MM-DD, such as 2031-05-01

every_from = 2031-05-01  →  every_from = "01/05/2031"
zone[1].every_from: is "01/05/2031"; write a date as YYYY-MM-DD, such as 2031-05-01

dead_l = 40  →  dead_l = 1501
tank[1].dead_l: is 1501; write at most capacity_l, 1_500

start_l = 900  →  start_l = 1500.5
tank[1].start_l: is 1500.5; write at most capacity_l, 1_500

float_to_l = 100  →  float_to_l = 351
tank[2].float_to_l: is 351; write at most capacity_l, 350

float_to_l = 100  →  float_to_l = 50
tank[2].float_to_l: is 50; write at least float_below_l, 60

float_to_l = 100⏎  →  nothing
tank[2].float_to_l: is missing; mains = "float" needs it, in litres

float_below_l = 60⏎  →  nothing
tank[2].float_below_l: is missing; mains = "float" needs it, in litres

mains = "float"⏎float_below_l = 60  →  mains = "direct"
tank[2].float_to_l: is 100; goes with mains = "float" only; leave it out, or write that

plan = "refill"  →  plan = "refill"⏎every_days = 1
zone[2].every_days: is 1; weekdays are given too; leave out one of the two

skip_rain_days = 2⏎  →  nothing
zone[1].skip_rain_days: is missing; skip_rain_mm needs it; give both or neither

skip_rain_mm = 8⏎  →  nothing
zone[1].skip_rain_days: is 2; needs skip_rain_mm; give both or neither

hot_minutes = 8⏎  →  nothing
zone[1].hot_minutes: is missing; hot_above_c needs it; give both or neither

hot_above_c = 25⏎  →  nothing
zone[1].hot_minutes: is 8; needs hot_above_c; give both or neither

soil = "sandy loam"⏎  →  nothing
bed[2].soil: is missing; add soil = "…" (waterbudget soils lists them) or available_water_mm_m = …

covering = "clay tile"⏎runoff_coefficient = 0.85⏎  →  nothing
roof[1].covering: is missing; add covering = "…" (waterbudget roofs lists them) or runoff_coefficient = …

days = [20, 30, 30, 0]⏎kc = [0.5, 1.05, 0.9]⏎p = 0.45⏎root_m = [0.15, 0.5]⏎  →  nothing
bed[2].planting[1].crop: is missing; add crop = "…" (waterbudget crops lists them), or days, kc, p, root_m as well

p = 0.45⏎  →  nothing
bed[2].planting[1].crop: is missing; add crop = "…" (waterbudget crops lists them), or p as well

crop = "lettuce"⏎planted = 2031-03-01⏎days = [20, 30, 15, 10]  →  crop = "parsnip"⏎planted = 2031-03-01
bed[1].planting[2].crop: is "parsnip"; its stage lengths are not in the table; add days = [initial, development, mid,
late]

days = [30, 40, 40, 20]  →  days = [0, 0, 0, 0]
bed[1].planting[1].days: is [0, 0, 0, 0]; write at least one day in all

root_m = [0.15, 0.7]  →  root_m = [0.7, 0.15]
bed[1].planting[1].root_m: is [0.7, 0.15]; roots do not shrink; write the depth at sowing first, then the full depth

mean_wind_m_s = 3  →  mean_wind_m_s = 0.5
site.mean_wind_m_s: is 0.5; write a number from 1 up (mean wind of the growing season at 2 m)

mean_wind_m_s = 3  →  mean_wind_m_s = 7
site.mean_wind_m_s: is 7; write a number up to 6 (mean wind of the growing season at 2 m)

mean_rh_min_pct = 50  →  mean_rh_min_pct = 0.5
site.mean_rh_min_pct: is 0.5; write a number from 20 up (mean of the growing season of the day's lowest humidity)

mean_rh_min_pct = 50  →  mean_rh_min_pct = 81
site.mean_rh_min_pct: is 81; write a number up to 80 (mean of the growing season of the day's lowest humidity)

crop_coefficient = "dual"  →  crop_coefficient = "duel"
model.crop_coefficient: is "duel"; write one of "single", "dual", most likely "dual" (single, or dual: the surface
evaporates by how often it is wetted)

joined = 2  →  joined = 0
tank[1].joined: is 0; write a number from 1 up (so many alike stores joined near the foot, which fill as one)

joined = 2  →  joined = 1.5
tank[1].joined: is 1.5; write a whole number (so many alike stores joined near the foot, which fill as one)

l_per_day = 30  →  l_per_day = -30
inflow[1].l_per_day: is -30; write a number from 0 up (litres on each of its days)

tank = "Shed butt"⏎l_per_day = 30  →  tank = "Shed"⏎l_per_day = 30
inflow[1].tank: is "Shed", but no tank has that name; write "Shed butt"

to = "10-31"  →  to = "02-29"
inflow[1].to: is "02-29"; 29 February does not come every year; write "02-28" or "03-01"

from_tank = "Class-room tank"  →  from_tank = "Shed butt"
transfer[1].to_tank: is "Shed butt"; write another tank than that of from_tank

from_tank = "Class-room tank"  →  from_tank = "Class room"
transfer[1].from_tank: is "Class room", but no tank has that name; write "Class-room tank"

to_tank = "Shed butt"  →  to_tank = "Shed but"
transfer[1].to_tank: is "Shed but", but no tank has that name; write "Shed butt"

l_per_day = 300  →  l_per_day = -1
transfer[1].l_per_day: is -1; write a number from 0 up (most on one day, litres)

keep_l = 500  →  keep_l = -1
transfer[1].keep_l: is -1; write a number from 0 up (litres that stay in the store that gives)

below_l = 150  →  below_l = -1
transfer[1].below_l: is -1; write a number from 0 up (litres in the taker below which water is moved; left out, always)

weekdays = ["sat"]  →  weekdays = []
transfer[1].weekdays: is []; name at least one day, such as ["mon"], or leave the key out

to = "08-31"  →  to = "02-29"
ban[1].to: is "02-29"; 29 February does not come every year; write "02-28" or "03-01"

to = "08-31"  →  to = 2031-08-31
ban[1].to: is 2031-08-31; like from, "07-15", write both as MM-DD (every year) or both as YYYY-MM-DD (once)

to = 2031-06-30  →  to = "06-30"
ban[2].to: is "06-30"; like from, "2031-06-01", write both as MM-DD (every year) or both as YYYY-MM-DD (once)

to = 2031-06-30  →  to = 2031-05-31
ban[2].to: is 2031-05-31; write a day from 2031-06-01 on, which is from

from = "07-15"  →  from = "15 July"
ban[1].from: is "15 July"; write "MM-DD" for every year, such as "05-10", or a full date for once, such as 2031-05-10

jets = "drip"  →  jets = "drips and drops"
zone[1].jets: is "drips and drops"; write one of "mist", "spray", "drip", "can" (kind of jets)

wetted_fraction = 0.3  →  wetted_fraction = 0
zone[1].wetted_fraction: is 0; write a number above 0 (share of the beds' surface that a run wets; left out, that of
the jets)

wetted_fraction = 0.3  →  wetted_fraction = 30
zone[1].wetted_fraction: is 30; write a number up to 1, 0.3 for 30 % (share of the beds' surface that a run wets; left
out, that of the jets)

rew_mm = 8  →  rew_mm = 21
bed[1].rew_mm: is 21; write at most tew_mm, 20

rew_mm = 8⏎tew_mm = 20  →  rew_mm = 25
bed[1].rew_mm: is 25; write at most tew_mm, 19

rew_mm = 8⏎tew_mm = 20  →  tew_mm = 5
bed[1].rew_mm: is missing; that of the soil, 9, is above tew_mm; write at most 5

rew_mm = 8  →  rew_mm = -1
bed[1].rew_mm: is -1; write a number from 0 up (readily evaporable water of the top layer, mm)

tew_mm = 20  →  tew_mm = 0
bed[1].tew_mm: is 0; write a number above 0 (total evaporable water of the top layer, mm)

mulch_cover = 0.5  →  mulch_cover = 50
bed[1].mulch_cover: is 50; write a number up to 1, 0.5 for 50 % (share of the ground under straw, leaves or compost)

exposed = true⏎width_m = 0.8  →  exposed = true
bed[1].width_m: is missing; exposed = true needs it, in metres across the row

exposed = true⏎width_m = 0.8  →  exposed = true⏎width_m = 0
bed[1].width_m: is 0; write a number above 0 (width across the row, m)

pots = 12  →  pots = 0
bed[4].pots: is 0; write a number from 1 up (the bed is so many alike pots)

pot_litres = 10⏎  →  nothing
bed[4].pot_litres: is missing; pots need it; give pots, pot_litres and pot_diameter_cm

pot_diameter_cm = 25⏎  →  nothing
bed[4].pot_diameter_cm: is missing; pots need it; give pots, pot_litres and pot_diameter_cm

pot_litres = 10  →  pot_litres = 0
bed[4].pot_litres: is 0; write a number above 0 (litres of compost in one pot)

pot_diameter_cm = 25  →  pot_diameter_cm = 25⏎root_limit_m = 0.3
bed[4].root_limit_m: is 0.3; pots limit roots by pot_litres; leave it out

area_m2 = 6⏎soil = "sandy loam"  →  area_m2 = 6⏎soil = "sandy loam"⏎pot_litres = 10
bed[2].pot_litres: is 10; needs pots; give pots, pot_litres and pot_diameter_cm, or none of them

area_m2 = 6⏎soil = "sandy loam"  →  area_m2 = 6⏎soil = "sandy loam"⏎pot_diameter_cm = 10
bed[2].pot_diameter_cm: is 10; needs pots; give pots, pot_litres and pot_diameter_cm, or none of them

area_m2 = 6⏎soil = "sandy loam"  →  area_m2 = 6⏎soil = "sandy loam"⏎pot_litres = 10⏎pot_diameter_cm = 10
bed[2].pot_litres: is 10; needs pots; give pots, pot_litres and pot_diameter_cm, or none of them

kcb = [0.15, 1.1, 0.7]  →  kcb = [0.15, 1.1]
bed[1].planting[1].kcb: has 2 values; write 3 (Kcb of the three stages: Kc without what wet soil gives)

kcb = [0.15, 1.1, 0.7]  →  kcb = [0.15, 1.1, -0.7]
bed[1].planting[1].kcb[3]: is -0.7; write a number from 0 up (Kcb of the three stages: Kc without what wet soil
gives)

kc = [0.5, 1.05, 0.9]⏎  →  nothing
bed[2].planting[1].crop: is missing; add crop = "…" (waterbudget crops lists them), or kc as well

height_m = 0.6  →  height_m = 0
bed[1].planting[1].height_m: is 0; write a number above 0 (full height, m)

perennial = false  →  perennial = "no"
bed[1].planting[1].perennial: is "no"; write true or false (roots and height full from the first day)

ground_share = 0.9  →  ground_share = 0
bed[1].planting[1].ground_share: is 0; write a number above 0 (share of the bed's ground that it takes)

ground_share = 0.9  →  ground_share = 90
bed[1].planting[1].ground_share: is 90; write a number up to 1, 0.9 for 90 % (share of the bed's ground that it takes)

planted = 2031-03-01  →  planted = 2031-05-01⏎ground_share = 0.2
bed[1].planting[2].ground_share: stands with planting[1] from 2031-05-26 to 2031-07-14, where ground_share comes to
1.1; let one be over before the other begins, or give shares that come to 1

planted = 2031-03-01  →  planted = 2031-05-01
bed[1].planting[2].planted: stands with planting[1] from 2031-05-26 to 2031-07-14, where ground_share comes to 1.9; let
one be over before the other begins, or give shares that come to 1
"""


def cases(block):
    for paragraph in block.strip().split("\n\n"):
        change, *fault = paragraph.splitlines()
        old, new = change.replace("⏎", "\n").split("  →  ")
        yield old, "" if new == "nothing" else new, " ".join(fault)


@pytest.mark.parametrize(("old", "new", "fault"), list(cases(FAULTS)))
def test_a_fault_of_a_key(told, old, new, fault):
    assert told(changed((old, new))) == [fault]


def test_a_number_too_long_to_be_shown(told):
    text = changed(("area_m2 = 38", f"area_m2 = 0x{'F' * 5000}"))
    assert told(text) == [
        "roof[1].area_m2: is a number of thousands of digits; write a number (plan (horizontal) area in m²)"
    ]


def test_a_name_of_80_letters_is_the_longest(told):
    assert told(changed(('name = "Tomato bed"', f'name = "{"é" * 80}"'))) == []
    assert told(changed(('name = "Tomato bed"', f'name = "{"é" * 81}"'))) == [
        f"bed[1].name: is \"{'é' * 59}…; write at most 80 letters (the bed's name)"
    ]


def test_a_quantity_may_be_as_large_as_its_limit(told):
    assert told(changed(("area_m2 = 38", f"area_m2 = {LARGEST:.0f}"))) == []


# ---- Keys that are missing, misspelt or unknown ----

REQUIRED = {  # of the tables with every key: the line to leave out, and where
    "site.name": 'name = "Brackenfold"\n',
    "roof[1].name": 'name = "Class-room roof"\n',
    "roof[1].tank": 'tank = "Class-room tank"\n',
    "roof[1].area_m2": "area_m2 = 38\n",
    "tank[1].capacity_l": "capacity_l = 1500\n",
    "tank[1].start_l": "start_l = 900\n",
    "zone[1].flow_l_min": "flow_l_min = 9.5\n",
    "zone[1].minutes": "minutes = 5\n",
    "inflow[1].name": 'name = "Spring"\n',
    "transfer[1].name": 'name = "Saturday pump"\n',
    "transfer[1].from_tank": 'from_tank = "Class-room tank"\n',
    "transfer[1].to_tank": 'to_tank = "Shed butt"\n',
    "transfer[1].l_per_day": "l_per_day = 300\n",
    "ban[1].from": 'from = "07-15"\n',
    "ban[1].to": 'to = "08-31"\n',
    "draw[1].name": 'name = "Cans"\n',
    "draw[1].l_per_day": "l_per_day = 20\n",
    "bed[1].name": 'name = "Tomato bed"\n',
    "bed[1].area_m2": "area_m2 = 2.5\n",
    "bed[1].planting[1].planted": 'planted = "05-26"\n',
}


@pytest.mark.parametrize(("key", "line"), REQUIRED.items())
def test_a_required_key_is_missing(told, key, line):
    (fault,) = told(changed((line, "")))
    assert re.fullmatch(rf"{re.escape(key)}: is missing; add {key.rpartition('.')[2]} = … \(.+\)", fault)


def test_the_keys_of_a_nameless_tank_are_missing_without_more(told):
    """Who names it is not told that it is unknown: the nameless one may be meant."""
    assert told(changed(('[[tank]]\nname = "Class-room tank"', "[[tank]]"))) == [
        "tank[1].name: is missing; add name = … (the store's name)"
    ]
    assert told(changed(('[[zone]]\nname = "North line"\ntank = "Class-room tank"', "[[zone]]"))) == [
        "zone[1].name: is missing; add name = … (the watering zone's name)",
        "zone[1].tank: is missing; add tank = … (name of the tank it draws from)",
    ]


def test_what_a_site_needs_is_told_and_nothing_of_what_names_it(told):
    assert told("[[roof]]\nname = 'Shed'\ntank = 'Butt'\narea_m2 = 4\ncovering = 'slate'") == [
        "site: is missing; write a table with the head [site]",
        "tank: is missing; write a table with the head [[tank]]",
    ]
    assert told("tank = []\n[site]\nname = 'Garden'\n") == ["tank: is missing; write a table with the head [[tank]]"]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("latitude_deg", "lattitude_deg", "site.lattitude_deg: unknown key; did you mean latitude_deg?"),
        ("kc_bare", "kc_bar", "model.kc_bar: unknown key; did you mean kc_bare?"),
        ("wind_height_m", "windheight_m", "weather.windheight_m: unknown key; did you mean wind_height_m?"),
        ("first_flush_l", "flush_l", "roof[1].flush_l: unknown key; did you mean first_flush_l?"),
        ("area_m2 = 38", "area = 38", "roof[1].area: unknown key; did you mean area_m2?"),
        ("capacity_l = 1500", "capacity = 1500", "tank[1].capacity: unknown key; did you mean capacity_l?"),
        ("float_below_l", "float_below", "tank[2].float_below: unknown key; did you mean float_below_l?"),
        ("skip_rain_mm", "skip_rain", "zone[1].skip_rain: unknown key; did you mean skip_rain_mm?"),
        ("flow_l_min = 9.5", "Flow_L_min = 9.5", "zone[1].Flow_L_min: unknown key; did you mean flow_l_min?"),
        ("l_per_day = 20", "litres_per_day = 20", "draw[1].litres_per_day: unknown key; did you mean l_per_day?"),
        ("rain_share", "rainshare", "bed[1].rainshare: unknown key; did you mean rain_share?"),
        ('soil = "sandy loam"', 'soils = "sandy loam"', "bed[2].soils: unknown key; did you mean soil?"),
        ('crop = "tomato"', 'crops = "tomato"', "bed[1].planting[1].crops: unknown key; did you mean crop?"),
        (
            'covering = "clay tile"',
            '"cov\\nering" = "clay tile"',
            r"roof[1].cov\nering: unknown key; did you mean covering?",
        ),
        ("[site]", "[sites]", "sites: unknown key; did you mean site?"),
        ("[weather]", "[wether]", "wether: unknown key; did you mean weather?"),
        ("[[roof]]", "[[roofs]]", "roofs: unknown key; did you mean roof?"),
        ("[[draw]]", "[[draws]]", "draws: unknown key; did you mean draw?"),
        ("[site]", "[[site]]", "site: stands in double brackets; write its head as [site]"),
        ("[model]", "[[model]]", "model: stands in double brackets; write its head as [model]"),
        ("[[roof]]", "[roof]", "roof: stands in single brackets; write its head as [[roof]]"),
        ("[[draw]]", "[draw]", "draw: stands in single brackets; write its head as [[draw]]"),
    ],
)
def test_a_slip_in_a_key_or_head_is_one_fault_alone(told, old, new, fault):
    assert told(changed((old, new))) == [fault]


def test_a_planting_in_single_brackets_is_one_fault_alone(told):
    text = EVERY_KEY.rpartition("[[bed.planting]]")
    assert told(f"{text[0]}[bed.planting]{text[2]}") == [
        "bed[2].planting: stands in single brackets; write its head as [[bed.planting]]"
    ]


def test_all_tanks_under_a_misspelt_head_are_one_fault_alone(told):
    assert told(EVERY_KEY.replace("[[tank]]", "[[tanks]]")) == ["tanks: unknown key; did you mean tank?"]


def test_what_is_misspelt_is_checked_all_the_same(told):
    """And told under the name that it should have."""
    assert told(changed(("area_m2 = 38", "area = 0"))) == [
        "roof[1].area: unknown key; did you mean area_m2?",
        f"roof[1].area_m2: is 0; write a number above 0 ({AREA})",
    ]
    assert told(changed(("[[draw]]", "[draw]"), ("l_per_day = 20", "l_per_day = -20"))) == [
        "draw: stands in single brackets; write its head as [[draw]]",
        "draw[1].l_per_day: is -20; write a number from 0 up (litres on each of its days)",
    ]


TANK_KEYS = (
    "name, joined, capacity_l, dead_l, start_l, overflow_to, loss_l_per_day, mains, float_below_l, float_to_l, shape, "
    "inner_diameter_m, inner_top_diameter_m, inner_bottom_diameter_m, inner_length_m, inner_width_m, inner_height_m"
)


def test_a_key_that_is_misspelt_beside_the_right_one_is_not_taken_for_it(told):
    assert told(changed(("capacity_l = 1500", "capacity_l = 1500\ncapacity = 'large'"))) == [
        "tank[1].capacity: unknown key; did you mean capacity_l?"
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("colour = 3", f"tank[1].colour: unknown key; known here: {TANK_KEYS}"),
        ("minutes = 3", "tank[1].minutes: unknown key here; it belongs to [[zone]]"),
        ("planted = '05-10'", "tank[1].planted: unknown key here; it belongs to [[bed.planting]]"),
        ("area_m2 = 3", "tank[1].area_m2: unknown key here; it belongs to [[roof]] or [[bed]]"),
        ("[[bed]]\nname = 'Bed'\narea_m2 = 3\nsoil = 'loam'\ncrop = 'tomato'",
         "bed[1].crop: unknown key here; it belongs to [[bed.planting]]"),
        ("[[planting]]\ncrop = 'tomato'", "planting: unknown key here; it belongs to [[bed.planting]]"),
        ("[hedge]\nage = 3",
         f"hedge: unknown key; known here: {', '.join(Site.model_fields)}"),
    ],
)  # fmt: skip
def test_a_key_that_is_unknown(told, text, fault):
    assert told(f"{SMALL}{text}") == [fault]


# ---- Tables of the wrong kind ----


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        (f"site = 3\n{TANK}", ["site: is 3; write a table with the head [site]"]),
        (f"site = []\n{TANK}", ["site: is []; write a table with the head [site]"]),
        (f"[[site]]\nname = 'a'\n[[site]]\nname = 'b'\n{TANK}",
         ['site: is [{"name": "a"}, {"name": "b"}]; write a table with the head [site]']),
        ("tank = 3\n[site]\nname = 'a'", ["tank: is 3; write a table with the head [[tank]]"]),
        ("tank = 'Store'\n[site]\nname = 'a'", ['tank: is "Store"; write a table with the head [[tank]]']),
        ("tank = [3, [{}]]\n[site]\nname = 'a'",
         ["tank[1]: is 3; write a table with the head [[tank]]",
          "tank[2]: is [{}]; write a table with the head [[tank]]"]),
        (f"roof = true\n{SMALL}", ["roof: is true; write a table with the head [[roof]]"]),
        (f"{SMALL}[[bed]]\nname = 'a'\narea_m2 = 1\nsoil = 'loam'\nplanting = 'tomato'",
         ['bed[1].planting: is "tomato"; write a table with the head [[bed.planting]]']),
        (f"{SMALL}[[bed]]\nname = 'a'\narea_m2 = 1\nsoil = 'loam'\nplanting = [1]",
         ["bed[1].planting[1]: is 1; write a table with the head [[bed.planting]]"]),
        (f"{SMALL}[[bed]]\nname = {{a = 1}}\narea_m2 = 1\nsoil = ['loam']",
         ['bed[1].name: is a table; write text in "double quotes" (the bed\'s name)',
          'bed[1].soil: is ["loam"]; write text in "double quotes" (a key of the soils table)']),
        (f"{SMALL}dead_l = []",
         ["tank[1].dead_l: is []; write a number (litres below the outlet, never drawn)"]),
    ],
)  # fmt: skip
def test_a_table_of_the_wrong_kind(told, text, faults):
    assert told(text) == faults


# ---- All at once ----


MEANT = 'did you mean "tomato" or "bush tomato" or "potato"? (waterbudget crops lists all)'


def test_all_faults_are_told_at_once_and_none_twice(told):
    text = changed(
        ("latitude_deg = 53.1", 'latitude_deg = "53.1 N"'),
        ("kc_bare", "kcbare"),
        ('tank = "Class-room tank"\narea_m2 = 38', 'tank = "Class room"\narea_m2 = 0'),
        ("start_l = 900", "start_l = 2000"),
        ("loss_l_per_day = 1.5", 'loss_l_per_day = 1.5\nmains = "hose"'),
        ('name = "South line"', 'name = "North line"'),
        ('weekdays = ["mon", "thu"]', 'weekdays = ["Mondi"]\nevery_days = 2\nskip_rain_days = 3'),
        ("l_per_day = 20\n", ""),
        ('crop = "tomato"', 'crop = "tomatto"'),
        ("days = [20, 30, 30, 0]", "days = [20, 30, 30]"),
    )
    assert told(text) == [
        "model.kcbare: unknown key; did you mean kc_bare?",
        'site.latitude_deg: is "53.1 N"; write a number (degrees north, south negative)',
        f"roof[1].area_m2: is 0; write a number above 0 ({AREA})",
        "tank[1].start_l: is 2000; write at most capacity_l, 1_500",
        'tank[1].mains: is "hose"; write one of "none", "direct", "float" (direct: by hose; float: by a valve)',
        f'zone[2].weekdays[1]: is "Mondi"; write one of {WEEK}, most likely "mon" (days of the week to water on)',
        "zone[2].every_days: is 2; weekdays are given too; leave out one of the two",
        "zone[2].skip_rain_days: is 3; needs skip_rain_mm; give both or neither",
        "draw[1].l_per_day: is missing; add l_per_day = … (litres on each of its days)",
        f'bed[1].planting[1].crop: is "tomatto"; unknown crop; {MEANT}',
        f"bed[2].planting[1].days: has 3 values; write 4 ({DAYS})",
        'zone[2].name: is "North line", like that of zone[1]; give each its own name',
        'roof[1].tank: is "Class room", but no tank has that name; write "Class-room tank"',
    ]


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ([("capacity_l = 1500", 'capacity_l = "1500"')], "tank[1].capacity_l"),  # not: start_l above it
        ([('mains = "float"', "mains = 1")], "tank[2].mains"),  # not: float levels without it
        ([("float_below_l = 60", "float_below_l = -60")], "tank[2].float_below_l"),  # not: missing
        ([("skip_rain_mm = 8", "skip_rain_mm = -8")], "zone[1].skip_rain_mm"),  # not: half a pair
        ([("hot_minutes = 8", "hot_minutes = nan")], "zone[1].hot_minutes"),
        ([("runoff_coefficient = 0.85", "runoff_coefficient = 85"), ('covering = "clay tile"\n', "")],
         "roof[1].runoff_coefficient"),  # not: neither is given
        ([("available_water_mm_m = 150", "available_water_mm_m = 0"), ('soil = "loam"\n', "")],
         "bed[1].available_water_mm_m"),
        ([("p = 0.45", "p = 45")], "bed[2].planting[1].p"),  # not: a crop is missing
        ([("days = [20, 30, 30, 0]", "days = [20, 30, 30]")], "bed[2].planting[1].days"),
        ([('crop = "lettuce"', 'crop = "letuce"'), ("days = [20, 30, 15, 10]\n", "")], "bed[1].planting[2].crop"),
    ],
)  # fmt: skip
def test_one_broken_key_causes_no_second_fault(told, changes, fault):
    (said,) = told(changed(*changes))
    assert said.partition(": ")[0] == fault


# ---- Whatever a file may hold ----


def toml(value):
    """A value as TOML writes it in one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        return f"{{{', '.join(f'{toml(str(key))} = {toml(inner)}' for key, inner in value.items())}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(toml, value))}]"
    return str(value)


def test_the_writer_of_these_tests_writes_toml():
    raw = tomllib.loads(EVERY_KEY)
    odd = {
        'a\n\x7f"\\': [
            [],
            {},
            -0.5,
            1e300,
            True,
            time(1, 2, 3),
            datetime.fromisoformat("2031-05-01T06:00:00"),
            "é\u2028\0",
        ]
    }
    for table in (raw, odd):
        assert tomllib.loads("\n".join(f"{toml(key)} = {toml(value)}" for key, value in table.items())) == table
    assert math.isnan(tomllib.loads(f"x = {toml(math.nan)}")["x"])


KEYS = sorted({field.alias or name for model in TABLES.values() for name, field in model.model_fields.items()})
TEXTS = st.one_of(
    st.text(st.characters(codec="utf-8"), max_size=8),
    st.sampled_from(
        ["Shed butt", "North line", "mon", "float", "refill", "02-29", "05-10", "2031-05-10", "kale", "loam"]
    ),
)
NUMBERS = st.one_of(st.integers(-400, 4000), st.integers(), st.floats(), st.floats(0, 2000))
DAYS_AND_TIMES = st.one_of(
    st.dates(),
    st.datetimes().map(lambda when: when.replace(microsecond=0)),
    st.times(),
)
VALUES = st.recursive(
    st.one_of(TEXTS, NUMBERS, st.booleans(), DAYS_AND_TIMES),
    lambda inner: st.one_of(
        st.lists(inner, max_size=5), st.dictionaries(st.one_of(st.sampled_from(KEYS), TEXTS), inner, max_size=3)
    ),
    max_leaves=6,
)
EXAMPLES = [tomllib.loads(EVERY_KEY), tomllib.loads(site_path().read_text("utf-8"))]


def places(value, place=()):
    """Every key and index of nested tables and lists."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in inner:
        yield (*place, key)
        yield from places(below, (*place, key))


@st.composite
def other_keys(draw, key):
    """Another key: one of a site file, any text, or this one with a letter lost, doubled or swapped for another."""
    at = draw(st.integers(0, max(0, len(key) - 1)))
    slip = draw(st.sampled_from(["", key[at : at + 1] * 2, "e"]))
    return draw(st.one_of(st.sampled_from(KEYS), TEXTS, st.just(key[:at] + slip + key[at + 1 :])))


def within(raw, place):
    for key in place:
        raw = raw[key]
    return raw


@st.composite
def broken_sites(draw):
    """A valid site with some values deleted, renamed, added, wrapped, copied from elsewhere or replaced."""
    raw = copy.deepcopy(draw(st.sampled_from(EXAMPLES)))
    for _ in range(draw(st.integers(1, 4))):
        there = list(places(raw))
        *way, last = draw(st.sampled_from(there))
        holder = within(raw, way)
        change = draw(st.sampled_from(["delete", "rename", "add", "wrap", "copy", "replace"]))
        if change == "delete" and len(there) > 1:
            del holder[last]
        elif change == "rename" and isinstance(holder, dict):
            holder[draw(other_keys(last))] = holder.pop(last)
        elif change == "add" and isinstance(holder, dict):
            holder[draw(other_keys(last))] = draw(VALUES)
        elif change == "wrap":
            holder[last] = [holder[last]]
        elif change == "copy":
            holder[last] = copy.deepcopy(within(raw, draw(st.sampled_from(there))))
        else:
            holder[last] = draw(VALUES)
    return raw


def is_read_or_told(path):
    """Whether the file is a site; asserts that its faults are told as they should be."""
    lines = faults_of(path)
    for line in lines:
        assert re.match(rf"{re.escape(str(path))}: .*\w", line)
        assert line.splitlines() == [line]
    assert len(lines) == len(set(lines))
    return not lines


@pytest.fixture(scope="module")
def scratch(tmp_path_factory):
    return tmp_path_factory.mktemp("sites") / "site.toml"


@settings(max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(broken_sites())
def test_any_change_of_a_site_is_read_or_told(scratch, raw):
    text = "\n".join(f"{toml(key)} = {toml(value)}" for key, value in raw.items())
    scratch.write_text(text, "utf-8")
    try:
        as_read = tomllib.loads(text)
    except ValueError:
        as_read = None
    if is_read_or_told(scratch):
        assert load_site(scratch) == Site.model_validate(as_read)


@given(st.one_of(st.binary(max_size=80), st.text(max_size=80).map(lambda text: text.encode("utf-8", "replace"))))
def test_any_file_is_read_or_told(scratch, content):
    scratch.write_bytes(content)
    assert not is_read_or_told(scratch)


@given(st.data())
def test_any_cut_or_change_of_the_text_is_read_or_told(scratch, data):
    text = EVERY_KEY
    for _ in range(data.draw(st.integers(1, 3))):
        first = data.draw(st.integers(0, len(text)))
        last = data.draw(st.integers(first, min(first + 20, len(text))))
        text = text[:first] + data.draw(st.text("[]{}\"'=#.,-\n\r\t0aé\u2028\0", max_size=4)) + text[last:]
    scratch.write_bytes(text.encode())
    is_read_or_told(scratch)
