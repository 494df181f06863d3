"""Roofs, transfers and tanks. A store is two numbers: its level, and how much of it is mains water."""

from plain.calendar import in_season, on_weekday


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


def downhill_order(tanks):
    """The tanks, each before the one it overflows to."""
    waiting, order = list(tanks), []
    while waiting:
        fed = {tank.get("overflow_to") for tank in waiting}
        order += [tank for tank in waiting if tank["name"] not in fed]
        waiting = [tank for tank in waiting if tank["name"] in fed]
    return order


def transfer_day(transfer, tanks, stores, today):
    """Litres that one transfer moves today; the two stores change."""
    giving, taking = tanks[transfer["from_tank"]], tanks[transfer["to_tank"]]
    source, target = stores[transfer["from_tank"]], stores[transfer["to_tank"]]
    is_day = in_season(transfer, today) and on_weekday(transfer, today)
    if not (is_day and target["level_l"] < transfer["below_l"]):
        return 0.0
    spare_l = source["level_l"] - max(transfer["keep_l"], giving["dead_l"])
    moved_l = max(0.0, min(transfer["l_per_day"], spare_l, taking["capacity_l"] - target["level_l"]))
    if moved_l > 0:
        moved_mains_l = moved_l * source["mains_l"] / source["level_l"]
        source["mains_l"] -= moved_mains_l
        target["mains_l"] += moved_mains_l
        source["level_l"] -= moved_l
        target["level_l"] += moved_l
    return moved_l


def tank_day(tank, model, store, coming, outlets, *, banned):
    """One tank after the transfers; `store` changes, and each outlet learns what it got.

    store: level_l and mains_l. coming: inflow_l of the day and inflow_mains_l, the part of it that is mains water.
    """
    floats = tank["mains"] == "float" and not banned
    valve_l = 0.0
    if floats and store["level_l"] < tank["float_below_l"]:
        valve_l = tank["float_to_l"] - store["level_l"]
    level_l = store["level_l"] + valve_l
    offered_l = level_l + coming["inflow_l"]
    mains_share = 0.0
    if offered_l > 0:
        mains_share = min(1.0, (store["mains_l"] + valve_l + coming["inflow_mains_l"]) / offered_l)

    asked_l = sum(outlet["asked_l"] for outlet in outlets)
    at_hand_l = offered_l if model["release"] == "before_spill" else level_l
    yield_l = min(asked_l, max(0.0, at_hand_l - tank["dead_l"]))
    hand_out(outlets, yield_l)
    late_l = asked_l - yield_l if floats and tank["dead_l"] < tank["float_below_l"] else 0.0
    short_l = asked_l - yield_l - late_l
    hose_l = short_l if tank["mains"] == "direct" and not banned else 0.0
    for outlet in outlets:
        outlet["rain_l"] = outlet["store_l"] * (1 - mains_share)
        missing_l = outlet["asked_l"] - outlet["store_l"]
        if late_l > 0:
            outlet["store_l"] = outlet["asked_l"]
        elif hose_l > 0:
            outlet["mains_l"] = missing_l

    drawn_first_l = yield_l if model["release"] == "before_spill" else 0.0
    spilled_l = max(0.0, offered_l - drawn_first_l - tank["capacity_l"])
    level_l = offered_l - yield_l - spilled_l
    lost_l = min(level_l, tank["loss_l_per_day"])
    store["level_l"] = level_l - lost_l
    store["mains_l"] = mains_share * store["level_l"]
    row = {
        "inflow_l": coming["inflow_l"],
        "mains_l": valve_l + late_l + hose_l,
        "asked_l": asked_l,
        "drawn_l": yield_l + late_l,
        "drawn_mains_l": mains_share * yield_l + late_l,
        "short_l": short_l,
        "spilled_l": spilled_l,
        "lost_l": lost_l,
        "level_l": store["level_l"],
    }
    return row, mains_share


def hand_out(outlets, yield_l):
    """The lowest priority number first; equal ones share in proportion to what they ask for."""
    left_l = yield_l
    for priority in sorted({outlet["priority"] for outlet in outlets}):
        group = [outlet for outlet in outlets if outlet["priority"] == priority]
        wanted_l = sum(outlet["asked_l"] for outlet in group)
        served = min(1.0, left_l / wanted_l) if wanted_l > 0 else 1.0
        for outlet in group:
            outlet["store_l"] = outlet["asked_l"] * served
        left_l = max(0.0, left_l - wanted_l)
