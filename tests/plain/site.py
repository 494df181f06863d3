"""A parsed site file with every key filled in that it leaves out."""

from collections.abc import Mapping
from datetime import date
from math import inf, pi
from typing import NamedTuple

from plain.calendar import SEASON, as_date
from plain.crop import climatic

MODEL = {
    "crop_coefficient": "single",
    "release": "after_spill",
    "kc_bare": 0.30,
    "root_start_m": 0.15,
    "adjust_p": True,
}
PLACE = {"mean_wind_m_s": 2.0, "mean_rh_min_pct": 45.0}
ROOF = {"loss_mm": 0.0, "first_flush_l": 0.0, "filter_efficiency": 0.9}
TANK = {"joined": 1, "dead_l": 0.0, "loss_l_per_day": 0.0, "mains": "none"}
OF_ONE_STORE = ("capacity_l", "dead_l", "start_l", "loss_l_per_day", "float_below_l", "float_to_l")
TRANSFER = {"keep_l": 0.0}
ZONE = {
    "runs_per_day": 1,
    "every_days": 1,
    "plan": "timer",
    "dry_at": 1.0,
    "leave_mm": 0.0,
    "priority": 1,
    "jets": "spray",
}
JETS = {  # efficiency and wetted fraction
    "mist": {"efficiency": 0.70, "wetted_fraction": 1.0},
    "spray": {"efficiency": 0.80, "wetted_fraction": 1.0},
    "drip": {"efficiency": 0.90, "wetted_fraction": 0.35},
    "can": {"efficiency": 0.90, "wetted_fraction": 0.5},
}
DRAW = {"priority": 0}
BED = {
    "rain_share": 1.0,
    "et_factor": 1.0,
    "mulch_cover": 0.0,
    "start_depleted": 0.0,
    "exposed": False,
}
POTS = {"rain_share": 0.5, "available_water_mm_m": 300.0}
PLANTING = {"perennial": False, "height_m": 0.4, "ground_share": 1.0}


class PlainTables(NamedTuple):
    """What a site may name instead of giving numbers."""

    # days or stages, kc, p, root_full_m, height_m, perennial and, where printed, kcb
    crops: Mapping[str, Mapping] = {}
    soils: Mapping[str, Mapping] = {}  # available_water_mm_m, rew_mm, tew_mm
    coverings: Mapping[str, Mapping] = {}  # runoff_coefficient, loss_mm


class PlainSite(NamedTuple):
    """Every table of the site file, filled in."""

    model: dict
    roofs: list[dict]
    tanks: list[dict]
    inflows: list[dict]
    transfers: list[dict]
    bans: list[dict]
    zones: list[dict]
    draws: list[dict]
    beds: list[dict]


def prepared_site(site: dict, tables: PlainTables, first_day: date) -> PlainSite:
    """The site as the days need it; rhythms count from `first_day` where nothing is said."""
    model = MODEL | PLACE | site.get("site", {}) | site.get("model", {})
    zones = [prepared_zone(zone, first_day) for zone in site.get("zone", [])]
    zone_of = {zone["name"]: zone for zone in zones}
    return PlainSite(
        model,
        [prepared_roof(roof, tables) for roof in site.get("roof", [])],
        [prepared_tank(tank) for tank in site.get("tank", [])],
        [SEASON | inflow for inflow in site.get("inflow", [])],
        [TRANSFER | SEASON | {"below_l": inf} | transfer for transfer in site.get("transfer", [])],
        site.get("ban", []),
        zones,
        [DRAW | SEASON | draw for draw in site.get("draw", [])],
        [prepared_bed(bed, model, tables, zone_of.get(bed.get("zone"))) for bed in site.get("bed", [])],
    )


def prepared_roof(roof, tables):
    covering = {} if "runoff_coefficient" in roof else tables.coverings[roof["covering"]]
    return ROOF | covering | roof


def prepared_tank(tank):
    tank = TANK | tank
    return tank | {key: tank[key] * tank["joined"] for key in OF_ONE_STORE if key in tank}


def prepared_zone(zone, first_day):
    zone = ZONE | SEASON | {"every_from": first_day} | zone
    return JETS[zone["jets"]] | zone | {"every_from": as_date(zone["every_from"])}


def prepared_bed(bed, model, tables, zone):
    openings_m2 = 0.0
    usual = BED
    if "pots" in bed:
        openings_m2 = bed["pots"] * pi / 4 * (bed["pot_diameter_cm"] / 100) ** 2
        usual = usual | POTS | {"area_m2": 3 * openings_m2}
    soil = tables.soils[bed["soil"]] if "soil" in bed else {}
    bed = usual | {"zone": None, "root_limit_m": inf} | soil | bed
    return (
        {"share": bed["area_m2"]}
        | top_layer(bed["available_water_mm_m"])
        | bed
        | {
            "open": openings_m2 / bed["area_m2"] if "pots" in bed else 1.0,
            "wetted_fraction": zone["wetted_fraction"] if zone else 1.0,
            "dripped": bool(zone) and zone["jets"] == "drip" and "pots" not in bed,
            "planting": [prepared_planting(planting, bed, model, tables) for planting in bed.get("planting", [])],
        }
    )


def top_layer(available_water_mm_m):
    """Evaporable water where no soil is named."""
    return {"rew_mm": min(12.0, 0.06 * available_water_mm_m), "tew_mm": min(29.0, 0.14 * available_water_mm_m)}


def prepared_planting(planting, bed, model, tables):
    """A planting with `k`: its Kc or, dual, its Kcb at the three points, for this climate and this stand."""
    crop = tables.crops[planting["crop"]] if "crop" in planting else {}
    filled = PLANTING | {key: crop[key] for key in ("days", "p", "height_m", "perennial") if key in crop} | planting
    if "days" not in filled:
        filled["days"] = nearest_stages(crop["stages"], planting["planted"], model.get("latitude_deg", 0))
    if "root_m" not in filled:
        full_m = crop["root_full_m"]
        filled["root_m"] = [min(model["root_start_m"], full_m), full_m]
    dual = model["crop_coefficient"] == "dual"
    if dual:
        ini, mid, end = (
            k + climatic(model, filled["height_m"]) if n > 0 and k >= 0.45 else k  # Eq. 70
            for n, k in enumerate(basal(planting, crop, perennial=filled["perennial"]))
        )
    else:
        ini, mid, end = planting["kc"] if "kc" in planting else crop["kc"]
    if bed["exposed"]:  # Eq. 105
        mid = max(mid, min(1.2 + filled["height_m"] / bed["width_m"], 2.5) - (0.05 if dual else 0.0))
    return filled | {"k": (ini, mid, end)}


def nearest_stages(stages, planted, latitude_deg):
    """The lengths of that row of Table 11 whose planting month is nearest, then by region, then in print order.

    stages: rows in print order with days, months (of several the nearest counts, without any the row is last), region.
    """
    month = int(str(planted)[-5:-3]) + (6 if latitude_deg < 0 else 0)

    def away(row):
        apart = [abs(month - other) % 12 for other in row["months"]]
        return min((min(months, 12 - months) for months in apart), default=inf)

    def place(row):
        words = (("Europe", "High Latitudes"), ("Medit",), ("Continental",))
        return next((n for n, some in enumerate(words) if any(word in row["region"] for word in some)), len(words))

    return min(stages, key=lambda row: (away(row), place(row)))["days"]


def basal(planting, crop, *, perennial):
    """Kcb at the three points before the climate: given, or from the Kc that goes before it."""
    if "kcb" in planting:
        return planting["kcb"]
    if "kc" not in planting and "kcb" in crop:
        return crop["kcb"]
    ini, mid, end = planting["kc"] if "kc" in planting else crop["kc"]
    bare = ini - 0.10 if perennial else min(0.15, ini)
    return max(0.0, bare), max(0.0, mid - 0.05), max(0.0, end - 0.10)
