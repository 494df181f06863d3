"""The daily water book once more, as a plain program: floats, dictionaries and loops, a day at a time.

It takes nothing from the package, so the tests can hold the package's numbers against it. It checks no input.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from math import inf
from typing import NamedTuple

NOTICED_L = 1e-6  # a shortage, a top-up or a demand below this is rounding
P_BARE = 0.5
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

MODEL = {"release": "after_spill", "kc_bare": 0.30, "root_start_m": 0.15, "adjust_p": True}
ROOF = {"loss_mm": 0.0, "first_flush_l": 0.0, "filter_efficiency": 0.9}
TANK = {"dead_l": 0.0, "loss_l_per_day": 0.0, "mains": "none"}
ZONE = {
    "runs_per_day": 1,
    "every_days": 1,
    "plan": "timer",
    "dry_at": 1.0,
    "leave_mm": 0.0,
    "priority": 1,
    "efficiency": 0.8,
}
DRAW = {"priority": 0}
BED = {"rain_share": 1.0, "et_factor": 1.0, "start_depleted": 0.0}
SEASON = {"from": "01-01", "to": "12-31"}


class PlainTables(NamedTuple):
    """What a site may name instead of giving numbers."""

    crops: Mapping[str, Mapping] = {}  # days, kc, p, root_full_m, perennial
    soils: Mapping[str, float] = {}  # available water, mm per m of depth
    coverings: Mapping[str, float] = {}  # runoff coefficient


def plain_run(
    site: dict,
    weather: list[dict],
    tables: PlainTables | None = None,
    start: date | str | None = None,
    end: date | str | None = None,
) -> dict:
    """The four tables (lists of rows) and the summary of a run from `start` to `end`, both included.

    site: a parsed site file. weather: a row a day with date, rain_mm, et0_mm and, where asked for, tmax_c.
    """
    tables = tables or PlainTables()
    first, last = as_date(start or weather[0]["date"]), as_date(end or weather[-1]["date"])
    weather = [day for day in weather if first <= day["date"] <= last]
    model = MODEL | site.get("model", {})
    roofs = [prepared_roof(roof, tables) for roof in site.get("roof", [])]
    tanks = [TANK | tank for tank in site.get("tank", [])]
    zones = [prepared_zone(zone, first) for zone in site.get("zone", [])]
    draws = [DRAW | SEASON | draw for draw in site.get("draw", [])]
    beds = [prepared_bed(bed, model, tables, first, last) for bed in site.get("bed", [])]
    downhill = downhill_order(tanks)

    level_l = {tank["name"]: tank["start_l"] for tank in tanks}
    beds_yesterday = dict.fromkeys((bed["name"] for bed in beds), None)
    book = {"tanks": [], "zones": [], "beds": [], "roofs": []}
    for n, day in enumerate(weather):
        roof_rows = [roof_day(roof, day) for roof in roofs]
        mornings = {bed["name"]: bed_morning(bed, model, day, beds_yesterday[bed["name"]]) for bed in beds}
        outlets = [
            outlet_morning(zone, zone_asks_l(zone, beds, mornings, weather, n), zone["flow_l_min"]) for zone in zones
        ] + [outlet_morning(draw, draw_asks_l(draw, day["date"]), None) for draw in draws]

        inflow_l = dict.fromkeys(level_l, 0.0)
        for roof, row in zip(roofs, roof_rows, strict=True):
            inflow_l[roof["tank"]] += row["caught_l"]
        tank_rows = {}
        for tank in downhill:
            name = tank["name"]
            served = [outlet for outlet in outlets if outlet["tank"] == name]
            row = tank_day(tank, model["release"], level_l[name], inflow_l[name], served)
            if "overflow_to" in tank:
                inflow_l[tank["overflow_to"]] += row["spilled_l"]
            level_l[name] = row["level_l"]
            tank_rows[name] = {"date": day["date"], "tank": name} | row
        zone_rows = [outlet_evening(outlet, day["date"]) for outlet in outlets]

        given_l = {row["zone"]: row["store_l"] + row["mains_l"] for row in zone_rows}
        irrigation_mm = irrigation_of_beds(zones, beds, given_l)
        for bed in beds:
            name = bed["name"]
            row = bed_day(bed, mornings[name], day, irrigation_mm[name])
            book["beds"].append({"date": day["date"], "bed": name} | row)
            beds_yesterday[name] = mornings[name] | {"depletion_mm": row["depletion_mm"]}
        book["roofs"] += roof_rows
        book["tanks"] += [tank_rows[tank["name"]] for tank in tanks]
        book["zones"] += zone_rows
    planted = {(bed["name"], on) for bed in beds for on in bed["calendar"]}
    return book | {"summary": summary(book, weather, tanks, planted)}


def as_date(value):
    return value if isinstance(value, date) else date.fromisoformat(value)


def prepared_roof(roof, tables):
    coefficient = roof["runoff_coefficient"] if "runoff_coefficient" in roof else tables.coverings[roof["covering"]]
    return ROOF | roof | {"runoff_coefficient": coefficient}


def prepared_zone(zone, first_day):
    return ZONE | SEASON | zone | {"every_from": as_date(zone.get("every_from", first_day))}


def prepared_bed(bed, model, tables, first_day, last_day):
    water = bed["available_water_mm_m"] if "available_water_mm_m" in bed else tables.soils[bed["soil"]]
    plantings = [prepared_planting(planting, model, tables) for planting in bed.get("planting", [])]
    calendar = {}  # day: the planting that stands, and its day number
    for planting in plantings:
        for sown in sowing_days(planting, first_day, last_day):
            for number in range(1, sum(planting["days"]) + 1):
                calendar[sown + timedelta(number - 1)] = (planting, number)
    return (
        BED
        | {"share": bed["area_m2"], "zone": None, "root_limit_m": inf}
        | bed
        | {"available_water_mm_m": water, "calendar": calendar}
    )


def prepared_planting(planting, model, tables):
    crop = tables.crops[planting["crop"]] if "crop" in planting else {}
    roots = planting["root_m"] if "root_m" in planting else (model["root_start_m"], crop["root_full_m"])
    return {
        "planted": planting["planted"],
        "days": planting["days"] if "days" in planting else crop["days"],
        "kc": planting["kc"] if "kc" in planting else crop["kc"],
        "p": planting["p"] if "p" in planting else crop["p"],
        "root_m": roots,
        "perennial": crop.get("perennial", False),
    }


def sowing_days(planting, first_day, last_day):
    planted = planting["planted"]
    if isinstance(planted, date) or len(planted) > len("MM-DD"):
        return [as_date(planted)]
    earliest = first_day.year - 1 - sum(planting["days"]) // 365  # still in the ground when the run begins
    return [date.fromisoformat(f"{year}-{planted}") for year in range(earliest, last_day.year + 1)]


def downhill_order(tanks):
    """The tanks, each before the one it overflows to."""
    waiting, order = list(tanks), []
    while waiting:
        fed = {tank.get("overflow_to") for tank in waiting}
        order += [tank for tank in waiting if tank["name"] not in fed]
        waiting = [tank for tank in waiting if tank["name"] in fed]
    return order


def roof_day(roof, day):
    on_roof_l = day["rain_mm"] * roof["area_m2"]
    runoff_l = max(0.0, day["rain_mm"] - roof["loss_mm"]) * roof["area_m2"] * roof["runoff_coefficient"]
    flushed_l = min(roof["first_flush_l"], runoff_l)
    caught_l = (runoff_l - flushed_l) * roof["filter_efficiency"]
    return {
        "date": day["date"],
        "roof": roof["name"],
        "on_roof_l": on_roof_l,
        "caught_l": caught_l,
        "flushed_l": flushed_l,
        "filter_l": runoff_l - flushed_l - caught_l,
        "kept_l": on_roof_l - runoff_l,
    }


def tank_day(tank, release, level_l, inflow_l, outlets):
    """One tank, one day; writes into each outlet what it got from the store and from the mains."""
    mains_l = 0.0
    if tank["mains"] == "float" and level_l < tank["float_below_l"]:
        mains_l = tank["float_to_l"] - level_l
        level_l = tank["float_to_l"]

    asked_l = sum(outlet["asked_l"] for outlet in outlets)
    offered_l = level_l + inflow_l
    at_hand_l = offered_l if release == "before_spill" else level_l
    drawn_l = min(asked_l, max(0.0, at_hand_l - tank["dead_l"]))
    short_l = asked_l - drawn_l
    hand_out(outlets, drawn_l)
    if tank["mains"] == "direct":
        mains_l = short_l
        for outlet in outlets:
            outlet["mains_l"] = outlet["asked_l"] - outlet["store_l"]

    drawn_first_l = drawn_l if release == "before_spill" else 0.0
    spilled_l = max(0.0, offered_l - drawn_first_l - tank["capacity_l"])
    level_l = offered_l - drawn_l - spilled_l
    lost_l = min(level_l, tank["loss_l_per_day"])
    return {
        "inflow_l": inflow_l,
        "mains_l": mains_l,
        "asked_l": asked_l,
        "drawn_l": drawn_l,
        "short_l": short_l,
        "spilled_l": spilled_l,
        "lost_l": lost_l,
        "level_l": level_l - lost_l,
    }


def hand_out(outlets, drawn_l):
    left_l = drawn_l
    for priority in sorted({outlet["priority"] for outlet in outlets}):
        group = [outlet for outlet in outlets if outlet["priority"] == priority]
        wanted_l = sum(outlet["asked_l"] for outlet in group)
        served = min(1.0, left_l / wanted_l) if wanted_l > 0 else 1.0
        for outlet in group:
            outlet["store_l"] = outlet["asked_l"] * served
        left_l = max(0.0, left_l - wanted_l)


def outlet_morning(outlet, asked_l, flow_l_min):
    """A zone or a draw with what it asks for today; the tank fills in what it gets."""
    return {
        "name": outlet["name"],
        "tank": outlet["tank"],
        "priority": outlet["priority"],
        "flow_l_min": flow_l_min,
        "asked_l": asked_l,
        "store_l": 0.0,
        "mains_l": 0.0,
    }


def outlet_evening(outlet, today):
    given_l = outlet["store_l"] + outlet["mains_l"]
    return {
        "date": today,
        "zone": outlet["name"],
        "asked_l": outlet["asked_l"],
        "store_l": outlet["store_l"],
        "mains_l": outlet["mains_l"],
        "unmet_l": outlet["asked_l"] - given_l,
        "minutes_run": given_l / outlet["flow_l_min"] if outlet["flow_l_min"] else 0.0,
    }


def in_season(rule, today):
    """Whether today lies between from and to, both included; a season may pass New Year."""
    now = today.isoformat()[5:]
    if rule["from"] <= rule["to"]:
        return rule["from"] <= now <= rule["to"]
    return now >= rule["from"] or now <= rule["to"]


def draw_asks_l(draw, today):
    listed = WEEKDAYS[today.weekday()] in draw.get("weekdays", WEEKDAYS)
    return draw["l_per_day"] if listed and in_season(draw, today) else 0.0


def zone_asks_l(zone, beds, mornings, weather, n):
    today = weather[n]
    if not (in_season(zone, today["date"]) and is_due(zone, today["date"]) and not is_skipped(zone, weather, n)):
        return 0.0
    hot = "hot_above_c" in zone and today["tmax_c"] >= zone["hot_above_c"]
    minutes = zone["hot_minutes"] if hot else zone["minutes"]
    full_l = minutes * zone["runs_per_day"] * zone["flow_l_min"]
    planted = [
        (bed, mornings[bed["name"]])
        for bed in beds
        if bed["zone"] == zone["name"] and mornings[bed["name"]]["number"] > 0
    ]
    if zone["plan"] == "dry":
        dry = any(morning["depletion_mm"] >= zone["dry_at"] * morning["raw_mm"] for _, morning in planted)
        return full_l if dry else 0.0
    if zone["plan"] == "refill":
        gap_l = sum(
            max(0.0, morning["depletion_mm"] - zone["leave_mm"]) * bed["area_m2"] / zone["efficiency"]
            for bed, morning in planted
        )
        return min(full_l, gap_l)
    return full_l


def is_due(zone, today):
    if "weekdays" in zone:
        return WEEKDAYS[today.weekday()] in zone["weekdays"]
    return (today - zone["every_from"]).days % zone["every_days"] == 0


def is_skipped(zone, weather, n):
    if "skip_rain_mm" not in zone:
        return False
    before = weather[max(0, n - zone["skip_rain_days"]) : n]
    return sum(day["rain_mm"] for day in before) >= zone["skip_rain_mm"]


def irrigation_of_beds(zones, beds, given_l):
    """Irrigation that reaches the root zone of each bed [mm]."""
    irrigation_mm = dict.fromkeys((bed["name"] for bed in beds), 0.0)
    for zone in zones:
        watered = [bed for bed in beds if bed["zone"] == zone["name"]]
        shares = sum(bed["share"] for bed in watered)
        for bed in watered:
            reaching_l = given_l[zone["name"]] * bed["share"] / shares * zone["efficiency"]
            irrigation_mm[bed["name"]] = reaching_l / bed["area_m2"]
    return irrigation_mm


def kc_on(planting, number):
    """Kc on a day of the planting; FAO-56 Eq. 66."""
    (ini, mid, end), (l_ini, l_dev, l_mid, l_late) = planting["kc"], planting["days"]
    if number <= l_ini:
        return ini
    if number <= l_ini + l_dev:
        return ini + (number - l_ini) / l_dev * (mid - ini)
    if number <= l_ini + l_dev + l_mid:
        return mid
    return mid + (number - l_ini - l_dev - l_mid) / l_late * (end - mid)


def root_on(planting, number):
    """Root depth on a day of the planting [m]."""
    start_m, full_m = planting["root_m"]
    if planting["perennial"]:
        return full_m
    return start_m + (full_m - start_m) * min(1.0, number / (planting["days"][0] + planting["days"][1]))


def bed_morning(bed, model, day, yesterday):
    """The bed as the day finds it, after one planting has handed its depletion over to the next."""
    planting, number = bed["calendar"].get(day["date"], (None, 0))
    kc, root_m, p = model["kc_bare"], model["root_start_m"], P_BARE
    if planting:
        kc, root_m, p = kc_on(planting, number), root_on(planting, number), planting["p"]
    etc_mm = kc * day["et0_mm"] * bed["et_factor"]
    taw_mm = bed["available_water_mm_m"] * min(root_m, bed["root_limit_m"])
    if model["adjust_p"]:
        p = min(0.8, max(0.1, p + 0.04 * (5 - etc_mm)))  # FAO-56 Table 22, footnote
    raw_mm = p * taw_mm

    subsoil_mm = 0.0
    if yesterday is None:
        depletion_mm = bed["start_depleted"] * taw_mm
    else:
        depletion_mm = yesterday["depletion_mm"]
        if number == 1 or (number == 0 and yesterday["number"] > 0):
            depletion_mm = depletion_mm * taw_mm / yesterday["taw_mm"]
            subsoil_mm = yesterday["depletion_mm"] - depletion_mm
    return {
        "number": number,
        "kc": kc,
        "etc_mm": etc_mm,
        "taw_mm": taw_mm,
        "raw_mm": raw_mm,
        "subsoil_mm": subsoil_mm,
        "depletion_mm": depletion_mm,
    }


def bed_day(bed, morning, day, irrigation_mm):
    """One bed, one day; FAO-56 Eq. 81, 84, 85 and 88."""
    depletion_mm, taw_mm, raw_mm, etc_mm = (morning[key] for key in ("depletion_mm", "taw_mm", "raw_mm", "etc_mm"))
    rain_mm = day["rain_mm"] * bed["rain_share"]
    ks = 1.0 if depletion_mm <= raw_mm else max(0.0, (taw_mm - depletion_mm) / (taw_mm - raw_mm))
    eta_mm = max(0.0, min(ks * etc_mm, taw_mm - depletion_mm + rain_mm + irrigation_mm))
    after_mm = depletion_mm - rain_mm - irrigation_mm + eta_mm
    drained_mm = max(0.0, -after_mm)
    return {
        "kc": morning["kc"],
        "etc_mm": etc_mm,
        "ks": ks,
        "eta_mm": eta_mm,
        "rain_mm": rain_mm,
        "irrigation_mm": irrigation_mm,
        "drained_mm": drained_mm,
        "subsoil_mm": morning["subsoil_mm"],
        "taw_mm": taw_mm,
        "raw_mm": raw_mm,
        "depletion_mm": after_mm + drained_mm,
    }


def summary(book, weather, tanks, planted):
    """The run in one dictionary, ready for JSON: dates as text, and null where there is nothing to divide by."""
    without_mains = {tank["name"] for tank in tanks if tank["mains"] == "none"}
    days = [day["date"] for day in weather]
    short, mains, needed, demand = set(), set(), set(), set()
    for row in book["tanks"]:
        if row["short_l"] > NOTICED_L:
            short.add(row["date"])
            if row["tank"] in without_mains:
                needed.add(row["date"])
        if row["mains_l"] > NOTICED_L:
            mains.add(row["date"])
        if row["asked_l"] > NOTICED_L:
            demand.add(row["date"])
    floating = {tank["name"] for tank in tanks if tank["mains"] == "float"}
    ended = short | {row["date"] for row in book["tanks"] if row["tank"] in floating and row["mains_l"] > NOTICED_L}
    asked_l, store_l = total(book["zones"], "asked_l"), total(book["zones"], "store_l")
    rain_l = sum(
        max(0.0, total(rows, "drawn_l") - (total(rows, "mains_l") if name in floating else 0.0))
        for name, rows in grouped(book["tanks"], "tank")
    )
    return {
        "start": days[0].isoformat(),
        "end": days[-1].isoformat(),
        "days": len(days),
        "days_lasted": (min(ended) - days[0]).days if ended else len(days),
        "first_short": min(short).isoformat() if short else None,
        "first_mains": min(mains | needed).isoformat() if mains | needed else None,
        "mains_l": total(book["tanks"], "mains_l"),
        "mains_days": len(mains),
        "asked_l": asked_l,
        "store_l": store_l,
        "rain_l": rain_l,
        "unmet_l": total(book["zones"], "unmet_l"),
        "caught_l": total(book["roofs"], "caught_l"),
        "spilled_l": total(book["tanks"], "spilled_l"),
        "volume_reliability": min(1.0, rain_l / asked_l) if asked_l > 0 else None,
        "day_reliability": len(demand - short) / len(demand) if demand else None,
        "tanks": [
            totals("tank", name, rows, ("inflow_l", "mains_l", "asked_l", "drawn_l", "short_l", "spilled_l", "lost_l"))
            | {"level_l": rows[-1]["level_l"]}
            for name, rows in grouped(book["tanks"], "tank")
        ],
        "zones": [
            totals("zone", name, rows, ("asked_l", "store_l", "mains_l", "unmet_l", "minutes_run"))
            for name, rows in grouped(book["zones"], "zone")
        ],
        "beds": [bed_summary(name, rows, planted) for name, rows in grouped(book["beds"], "bed")],
    }


def bed_summary(name, rows, planted):
    etc_mm = total(rows, "etc_mm")
    return {
        "bed": name,
        "stress_days": sum(1 for row in rows if row["ks"] < 1 and (name, row["date"]) in planted),
        "eta_over_etc": total(rows, "eta_mm") / etc_mm if etc_mm > 0 else None,
        "drained_mm": total(rows, "drained_mm"),
        "overwatered_mm": sum(min(row["drained_mm"], row["irrigation_mm"]) for row in rows),
    }


def grouped(rows, kind):
    """Each name with its rows, in the order of the site."""
    groups = {}
    for row in rows:
        groups.setdefault(row[kind], []).append(row)
    return groups.items()


def totals(kind, name, rows, columns):
    return {kind: name} | {column: total(rows, column) for column in columns}


def total(rows, column):
    return sum(row[column] for row in rows)
