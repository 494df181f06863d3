"""Whole runs with printed answers: sites and weather as dictionaries, and the figures of a bed by column.

FAO-56 is Allen et al. (1998), FAO Irrigation and Drainage Paper 56; pages are printed pages. No example gives dates.
"""

import datetime as dt
from typing import NamedTuple

from reference.prints import table

FIRST_DAY = dt.date(2031, 7, 1)


class PrintedRun(NamedTuple):
    """A site and its weather, and what is printed of its one bed: a column, and its figures from the first day on."""

    source: str
    site: dict
    weather: list[dict]
    figures: dict[str, list[str]]


def dry(length, et0_mm):
    return [{"date": FIRST_DAY + dt.timedelta(n), "rain_mm": 0, "et0_mm": et0_mm} for n in range(length)]


def one_bed(*plantings, place=None, model=None, zone=None, **bed):
    """A bed of a square metre with plenty of water in reach, planted on the first day."""
    watered = {"zone": "line"} if zone else {}
    rooted = {"planted": FIRST_DAY, "p": 0.5, "root_m": [1.0, 1.0]}
    return {
        "site": {"name": "Brackenfold"} | (place or {}),
        "model": {"adjust_p": False} | (model or {}),
        "tank": [{"name": "store", "capacity_l": 1000, "start_l": 1000}],
        "zone": [{"name": "line", "tank": "store", "flow_l_min": 40, "minutes": 1, "efficiency": 1} | zone]
        if zone
        else [],
        "bed": [
            {"name": "bed", "area_m2": 1, "available_water_mm_m": 1000}
            | watered
            | bed
            | {"planting": [rooted | planting for planting in plantings]}
        ],
    }


DUAL = {"crop_coefficient": "dual"}
DRY_WIND = {"mean_wind_m_s": 3, "mean_rh_min_pct": 20}


def maize(wind_m_s, rh_min_pct):
    """Mid season, 2 m tall; the example has Kc mid and Eq. 62, which is Eq. 70."""
    stand = {"days": [0, 0, 1, 0], "kcb": [0.15, 1.20, 0.5], "height_m": 2}
    return one_bed(stand, place={"mean_wind_m_s": wind_m_s, "mean_rh_min_pct": rh_min_pct}, model=DUAL)


def cotton(zone):
    """1 m tall with a Kcb of 0.9 today, climate and all; the soil is wet."""
    climate = (0.04 * (3 - 2) - 0.004 * (20 - 45)) * (1 / 3) ** 0.3
    stand = {"days": [0, 0, 1, 0], "kcb": [0.15, 0.9 - climate, 0.5], "height_m": 1}
    return one_bed(stand, place=DRY_WIND, model=DUAL, zone=zone)


def loam_drying():
    """Kcb 0.15 on ground that is as good as bare: the taller a stand, the less ground such a Kcb covers (Eq. 76)."""
    stand = {"days": [0, 0, 10, 0], "kcb": [0.15, 0.15, 0.15], "height_m": 6}
    return one_bed(stand, model=DUAL, rew_mm=9, tew_mm=20)


def sandy_loam():
    """Kcb from 0.30 to 0.40, 0.30 m tall; the layer is empty before 40 mm of irrigation wet 0.8 of it."""
    stand = {"days": [1, 9, 0, 0], "kcb": [0.30, 0.40, 0.40], "height_m": 0.30, "perennial": True}
    zone = {"wetted_fraction": 0.8, "from": "07-01", "to": "07-01"}
    place = {"mean_wind_m_s": 1.6, "mean_rh_min_pct": 35}
    return one_bed(stand, place=place, model=DUAL, zone=zone, rew_mm=8, tew_mm=18, start_depleted=1)


def tomato():
    """Roots of 0.8 m in silt, 55 mm down, and p as it stands in the table."""
    stand = {"days": [0, 0, 10, 0], "kc": [1.2, 1.2, 1.2], "p": 0.40, "root_m": [0.8, 0.8]}
    return one_bed(stand, available_water_mm_m=1000 * (0.32 - 0.12), start_depleted=55 / 160)


def maize_and_squash():
    maize = {"days": [0, 0, 1, 0], "kc": [0.3, 1.20, 0.6], "height_m": 2, "ground_share": 0.3}
    squash = {"days": [0, 0, 1, 0], "kc": [0.5, 0.95, 0.75], "height_m": 0.3, "ground_share": 0.7}
    return one_bed(maize, squash)


def columns(rows, **named):
    return {ours: [row[theirs] for row in rows] for ours, theirs in named.items()}


BEAN = {"days": [25, 25, 30, 20], "height_m": 0.4}
BEAN_AIR = {"mean_wind_m_s": 2.2, "mean_rh_min_pct": 30}
ON_FOUR_DAYS = {int(row["day"]): row["kcb"] for row in table("fao56_example30")}
EXAMPLE_31, EXAMPLE_37 = table("fao56_example31"), table("fao56_example37")

RUNS = [
    PrintedRun("FAO-56 Example 27, p. 125, Taipei", maize(1.3, 75), dry(1, 5), {"kcb": ["1.07"]}),
    PrintedRun("FAO-56 Example 27, p. 125, Mocha", maize(4.6, 44), dry(1, 5), {"kcb": ["1.30"]}),
    PrintedRun(
        "FAO-56 Example 29, p. 136, dry bean in mid season",
        one_bed(BEAN | {"days": [0, 0, 30, 20], "kcb": [0.15, 1.10, 0.25]}, place=BEAN_AIR, model=DUAL),
        dry(50, 5),
        {"kcb": ["1.14"] * 30 + [""] * 19 + ["0.25"]},
    ),
    PrintedRun(
        "FAO-56 Example 30, p. 141, dry bean on four days",
        one_bed(BEAN | {"kcb": [0.15, 1.14, 0.25]}, model=DUAL),
        dry(100, 5),
        {"kcb": [ON_FOUR_DAYS.get(day, "") for day in range(1, 101)]},
    ),
    PrintedRun(
        "FAO-56 Example 31, p. 146, the surface of a loam dries",
        loam_drying(),
        dry(10, 4.5),
        columns(EXAMPLE_31, ke="ke", e_mm="evaporation_mm", de_mm="de_end_mm", etc_mm="etc_mm"),
    ),
    PrintedRun("FAO-56 Example 32, p. 150, sprinkler", cotton({}), dry(1, 7), {"ke": ["0.40"], "kc": ["1.30"]}),
    PrintedRun(
        "FAO-56 Example 33, p. 150, furrow",
        cotton({"jets": "can", "wetted_fraction": 0.3}),
        dry(1, 7),
        {"ke": ["0.39"], "kc": ["1.29"]},
    ),
    PrintedRun(
        "FAO-56 Example 34, p. 151, drip",
        cotton({"jets": "drip", "wetted_fraction": 0.3}),
        dry(1, 7),
        {"ke": ["0.25"], "kc": ["1.15"]},
    ),
    PrintedRun(
        "FAO-56 Example 35, p. 154-155, the first two days; later ones carry rounded depths and slips of the print",
        sandy_loam(),
        [day | {"et0_mm": et0_mm} for day, et0_mm in zip(dry(2, 0), (4.5, 5.0), strict=True)],
        {
            "kcb": ["0.30", "0.31"],
            "ke": ["0.91", "0.90"],
            "e_mm": ["4.1", "4.5"],
            "de_mm": ["5", "11"],
            "kc": ["1.21", "1.21"],
            "etc_mm": ["5.5", "6.1"],
        },
    ),
    PrintedRun(
        "FAO-56 Example 37, p. 168, ten days of drying",
        tomato(),
        dry(10, 5),
        {"taw_mm": ["160"] * 10, "raw_mm": ["64"] * 10}
        | columns(EXAMPLE_37, kc="kc", etc_mm="etc_mm", ks="ks", eta_mm="eta_mm", depletion_mm="dr_end_mm"),
    ),
    PrintedRun("FAO-56 Example 46, p. 200, maize with squash", maize_and_squash(), dry(1, 5), {"kc": ["1.14"]}),
]
