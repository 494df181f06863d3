"""Random gardens and random weather: site files as dictionaries, every option used now and then, all of them valid.

Where a quantity is compared with a threshold (rain, heat, the level of a float valve, the depletion that opens a
valve) the numbers are chosen so that a tie is either exact in binary or practically never: halves for what is summed
and compared, odd decimals for what is multiplied. Two programs that add in another order then still decide alike.
"""

import json
from datetime import date, timedelta

from hypothesis import strategies as st
from plain import BED, DRAW, MODEL, ROOF, TANK, ZONE

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PLAIN_YEAR = 2031  # no leap day: a layout of plantings that fits here fits every year
DAYS_A_YEAR = 365
EARLIEST, LATEST = date(2030, 11, 1), date(2032, 3, 20)  # two New Years and a leap day


def halves(low, high):
    return st.integers(2 * low, 2 * high).map(lambda n: n / 2)


def hundredths(low, high):
    return st.integers(round(100 * low), round(100 * high)).map(lambda n: n / 100)


def first_days():
    return st.one_of(
        st.dates(EARLIEST, LATEST), st.sampled_from([date(2030, 12, 20), date(2032, 2, 20), date(2031, 5, 1)])
    )


@st.composite
def weathers(draw, min_days=5, max_days=80, first_day=None):
    """A list of days without a gap: date, rain_mm, et0_mm, tmax_c."""
    first_day = first_day or draw(first_days())
    rain_mm = st.one_of(st.just(0.0), st.just(0.0), halves(0, 12), halves(10, 90))
    day = st.tuples(rain_mm, hundredths(0, 9), halves(-5, 38))
    length = draw(st.integers(min_days, max_days))
    return [
        {"date": first_day + timedelta(n), "rain_mm": rain, "et0_mm": et0, "tmax_c": tmax}
        for n, (rain, et0, tmax) in enumerate(draw(st.lists(day, min_size=length, max_size=length)))
    ]


@st.composite
def sites(draw, first_day=None):
    """A valid site, all numbers given; `first_day` of the run places sowings and rhythms near it."""
    first_day = first_day or draw(first_days())
    tanks = draw(chained_tanks())
    tank_names = st.sampled_from([tank["name"] for tank in tanks])
    zones = [draw(zone(f"line {n}", tank_names, first_day)) for n in range(draw(st.integers(1, 3)))]
    zone_names = st.sampled_from([*(zone["name"] for zone in zones)] * 2 + [None])
    model = {
        "release": draw(st.sampled_from(["after_spill", "before_spill"])),
        "kc_bare": draw(st.sampled_from([0.3, 0.15, 0.41])),
        "root_start_m": draw(st.sampled_from([0.15, 0.1, 0.23])),
        "adjust_p": draw(st.booleans()),
    }
    return {
        "site": {"name": "Brackenfold", "latitude_deg": 53.1, "longitude_deg": -1.9, "elevation_m": 140},
        "model": model,
        "weather": {"file": "weather.csv", "wind_height_m": 2},
        "roof": [draw(roof(f"roof {n}", tank_names)) for n in range(draw(st.integers(1, 3)))],
        "tank": tanks,
        "zone": zones,
        "draw": [draw(regular_draw(f"can {n}", tank_names)) for n in range(draw(st.integers(0, 2)))],
        "bed": [draw(bed(f"bed {n}", zone_names, first_day)) for n in range(draw(st.integers(1, 4)))],
    }


@st.composite
def cases(draw, min_days=5, max_days=80):
    """A site and weather for it."""
    first_day = draw(first_days())
    return draw(sites(first_day)), draw(weathers(min_days, max_days, first_day))


@st.composite
def one_tank_timer_cases(draw):
    """A site with one tank without mains and with timers only, and weather: whoever asks, asks whatever happens."""
    site, weather = draw(cases())
    tank = {"name": "store", "capacity_l": draw(halves(1, 3000)), "mains": "none"}
    tank["dead_l"] = float(draw(st.integers(0, int(tank["capacity_l"]))))
    tank["start_l"] = draw(halves(0, int(tank["capacity_l"])))
    tank["loss_l_per_day"] = float(draw(st.sampled_from([0, 0, 3])))
    site["tank"] = [tank]
    for fed in (*site["roof"], *site["zone"], *site["draw"]):
        fed["tank"] = tank["name"]
    for each in site["zone"]:
        each["plan"] = "timer"
        each.pop("dry_at", None)
        each.pop("leave_mm", None)
    return site, weather


@st.composite
def chained_tanks(draw):
    """One to three tanks; water runs down `downhill`, whatever the order they are listed in."""
    names = [f"store {n}" for n in range(draw(st.integers(1, 3)))]
    downhill = draw(st.permutations(names))
    tanks = []
    for name in names:
        tank = draw(tank_alone(name))
        below = [None, *downhill[downhill.index(name) + 1 :]]
        overflow_to = draw(st.sampled_from(below))
        tanks.append(tank | ({"overflow_to": overflow_to} if overflow_to else {}))
    return tanks


@st.composite
def tank_alone(draw, name):
    capacity_l = draw(st.integers(20, 2500))
    dead_l = draw(st.one_of(st.just(0), st.integers(0, capacity_l // 4), st.integers(0, capacity_l)))
    tank = {
        "name": name,
        "capacity_l": capacity_l,
        "dead_l": dead_l,
        "loss_l_per_day": draw(st.sampled_from([0, 0, 1, 7])),
        "mains": draw(st.sampled_from(["none", "direct", "float"])),
    }
    starts_l = [st.sampled_from([0, dead_l, capacity_l]), halves(0, capacity_l)]
    if tank["mains"] == "float":
        below_l = draw(st.integers(0, capacity_l - 1)) + 0.13  # levels stand at halves: no tie but the exact ones here
        starts_l.append(st.just(below_l))
        tank["float_below_l"] = below_l
        tank["float_to_l"] = draw(st.one_of(st.just(below_l), halves(int(below_l) + 1, capacity_l)))
    return tank | {"start_l": draw(st.one_of(starts_l))}


@st.composite
def roof(draw, name, tank_names):
    return {
        "name": name,
        "tank": draw(tank_names),
        "area_m2": draw(halves(1, 60)),
        "runoff_coefficient": draw(st.sampled_from([0.913, 0.837, 0.589, 1.0])),
        "loss_mm": draw(st.sampled_from([0.0, 0.5, 1.5])),
        "first_flush_l": draw(st.sampled_from([0.0, 12.5, 40.0])),
        "filter_efficiency": draw(st.sampled_from([0.9, 0.931, 0.877, 1.0])),
    }


@st.composite
def seasons(draw):
    """From and to, in one of three; about half of these seasons pass New Year."""
    ends = st.integers(0, DAYS_A_YEAR - 1).map(month_day)
    return {"from": draw(ends), "to": draw(ends)} if draw(st.integers(0, 2)) == 0 else {}


def month_day(day_of_year):
    """MM-DD; counts on from zero through a year without a leap day, and round again."""
    return (date(PLAIN_YEAR, 1, 1) + timedelta(day_of_year % DAYS_A_YEAR)).isoformat()[5:]


def weekday_lists():
    return st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=7, unique=True)


def as_written(day):
    """A date as TOML gives it, bare or quoted."""
    return st.sampled_from([day, day.isoformat()])


@st.composite
def rhythms(draw, first_day):
    kind = draw(st.sampled_from(["daily", "weekdays", "every", "every from"]))
    if kind == "weekdays":
        return {"weekdays": draw(weekday_lists())}
    if kind == "daily":
        return {"every_days": 1}
    rhythm = {"every_days": draw(st.integers(2, 6))}
    if kind == "every from":
        day = first_day + timedelta(draw(st.integers(-40, 40)))
        rhythm["every_from"] = draw(as_written(day))
    return rhythm


@st.composite
def zone(draw, name, tank_names, first_day):
    zone = {
        "name": name,
        "tank": draw(tank_names),
        "flow_l_min": draw(halves(1, 20)),
        "minutes": draw(halves(1, 30)),
        "runs_per_day": draw(st.integers(1, 3)),
        "plan": draw(st.sampled_from(["timer", "dry", "refill"])),
        "priority": draw(st.integers(0, 2)),
        "efficiency": draw(st.sampled_from([0.8, 0.67, 0.913, 1.0])),
    }
    zone |= draw(rhythms(first_day)) | draw(seasons())
    if zone["plan"] == "dry":
        zone["dry_at"] = draw(st.sampled_from([1.0, 0.7, 0.3]))
    if zone["plan"] == "refill":
        zone["leave_mm"] = draw(st.sampled_from([0.0, 2.5, 6.0]))
    if draw(st.booleans()):
        zone |= {"skip_rain_mm": draw(halves(1, 20)), "skip_rain_days": draw(st.integers(1, 4))}
    if draw(st.booleans()):
        zone |= {"hot_above_c": draw(halves(10, 32)), "hot_minutes": draw(halves(1, 45))}
    return zone


@st.composite
def regular_draw(draw, name, tank_names):
    weekdays = {"weekdays": draw(weekday_lists())} if draw(st.booleans()) else {}
    return (
        {"name": name, "tank": draw(tank_names), "l_per_day": draw(halves(1, 80)), "priority": draw(st.integers(0, 2))}
        | weekdays
        | draw(seasons())
    )


@st.composite
def bed(draw, name, zone_names, first_day):
    bed = {
        "name": name,
        "area_m2": draw(halves(1, 15)),
        "share": draw(halves(1, 9)),
        "available_water_mm_m": draw(st.sampled_from([87.31, 143.71, 171.33])),
        "rain_share": draw(st.sampled_from([1.0, 0.0, 0.4])),
        "et_factor": draw(st.sampled_from([1.0, 0.73])),
        "start_depleted": draw(st.sampled_from([0.0, 0.5, 0.37, 0.83, 1.0])),
        "planting": draw(plantings(first_day)),
    }
    zone = draw(zone_names)
    limit_m = draw(st.sampled_from([None, None, 0.12, 0.4]))
    return (
        bed | ({"zone": zone} if zone is not None else {}) | ({"root_limit_m": limit_m} if limit_m is not None else {})
    )


@st.composite
def plantings(draw, first_day):
    """None to three plantings in a row, or one that lasts a year; a full date stands for one of the yearly ones.

    They are laid out on a year without a leap day: a leap year can only put a bare day between two of them.
    """
    sown = date(PLAIN_YEAR, first_day.month, min(first_day.day, 28)).timetuple().tm_yday + draw(st.integers(-70, 40))
    if draw(st.integers(0, 5)) == 0:
        days = [draw(st.integers(1, 90)) for _ in range(3)]
        return [draw(planting(month_day(sown), [*days, DAYS_A_YEAR - sum(days)]))]
    row = []
    for _ in range(draw(st.integers(0, 3))):
        days = [draw(st.integers(1, 25)) for _ in range(4)]
        planted = month_day(sown)
        if draw(st.booleans()):
            planted = draw(as_written(nearest(planted, first_day)))
        row.append(draw(planting(planted, days)))
        sown += sum(days) + draw(st.sampled_from([0, 0, 1, 12]))
    return draw(st.permutations(row))


def nearest(month_and_day, day):
    years = (day.year - 1, day.year, day.year + 1)
    return min((date.fromisoformat(f"{year}-{month_and_day}") for year in years), key=lambda each: abs(each - day))


@st.composite
def planting(draw, planted, days):
    start_m = draw(hundredths(0.1, 0.3))
    return {
        "planted": planted,
        "days": days,
        "kc": [draw(hundredths(0.2, 0.8)), draw(hundredths(0.7, 1.25)), draw(hundredths(0.2, 1.1))],
        "p": draw(st.sampled_from([0.25, 0.3, 0.35, 0.4, 0.45, 0.55, 0.6])),
        "root_m": [start_m, round(start_m + draw(st.sampled_from([0.0, 0.25, 0.5])), 2)],
    }


def lean(site):
    """The same site with every key left out that stands at its default."""
    defaults = {"roof": ROOF, "tank": TANK, "zone": ZONE, "draw": DRAW, "bed": BED}
    thin = {kind: [without(row, default) for row in site[kind]] for kind, default in defaults.items()}
    return site | {"model": without(site["model"], MODEL)} | thin


def without(row, defaults):
    """The row less what is at its default; the whole area is the default share of a bed."""
    defaults = defaults | ({"share": row["area_m2"]} if "share" in row else {})
    return {key: value for key, value in row.items() if key not in defaults or value != defaults[key]}


def to_toml(table, path=""):
    """A parsed site file as TOML again."""
    heads = [key for key, value in table.items() if is_table(value)]
    lines = [f"{key} = {toml_value(value)}" for key, value in table.items() if key not in heads]
    for key in heads:
        if isinstance(table[key], dict):
            lines += [f"[{path}{key}]", to_toml(table[key], f"{path}{key}.")]
        else:
            for row in table[key]:
                lines += [f"[[{path}{key}]]", to_toml(row, f"{path}{key}.")]
    return "\n".join(lines) + "\n"


def is_table(value):
    return isinstance(value, dict) or (isinstance(value, list) and value != [] and isinstance(value[0], dict))


def toml_value(value):
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    return json.dumps(value, ensure_ascii=False)  # text, numbers and truth values look the same in both
