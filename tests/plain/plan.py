"""What zones and draws ask for, and what their beds get."""

from plain.calendar import in_season, is_due, is_skipped, on_weekday


def due_l(rule, today):
    """The litres a day of a draw or an inflow, on its days."""
    return rule["l_per_day"] if in_season(rule, today) and on_weekday(rule, today) else 0.0


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
        if bed["zone"] == zone["name"] and mornings[bed["name"]]["identities"]
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


def outlet_morning(outlet, asked_l, flow_l_min):
    """A zone or a draw with what it asks for today; the tank fills in what it gets."""
    return {
        "name": outlet["name"],
        "tank": outlet["tank"],
        "priority": outlet["priority"],
        "flow_l_min": flow_l_min,
        "asked_l": asked_l,
        "store_l": 0.0,
        "rain_l": 0.0,
        "mains_l": 0.0,
    }


def outlet_evening(outlet, today):
    given_l = outlet["store_l"] + outlet["mains_l"]
    return {
        "date": today,
        "zone": outlet["name"],
        "asked_l": outlet["asked_l"],
        "store_l": outlet["store_l"],
        "rain_l": outlet["rain_l"],
        "mains_l": outlet["mains_l"],
        "unmet_l": outlet["asked_l"] - given_l,
        "minutes_run": given_l / outlet["flow_l_min"] if outlet["flow_l_min"] else 0.0,
    }


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
