"""One bed, one day: handover in the morning, water early in the day, then evaporation, use and drainage."""

from plain.calendar import standing
from plain.crop import climatic, stand_on

WETTING_MM = 0.01  # a smaller irrigation does not change the wetted share
WETTING_RAIN_MM = 3.0
SOON_DAYS = 2


def bed_morning(bed, model, day, yesterday):
    """The bed as the day finds it, after what stood yesterday has handed its depletion over to what stands today."""
    stands = standing(bed["planting"], day["date"])
    stand = stand_on(stands, model)
    dual = model["crop_coefficient"] == "dual"
    k = stand["share"] * stand["k"] + (0.0 if dual else (1 - stand["share"]) * model["kc_bare"])
    e0_mm = day["et0_mm"] * bed["et_factor"]

    if "pots" in bed:
        taw_mm = bed["available_water_mm_m"] / 1000 * bed["pots"] * bed["pot_litres"] / bed["area_m2"]
    else:
        taw_mm = bed["available_water_mm_m"] * min(stand["root_m"], bed["root_limit_m"])  # Eq. 82
    p = stand["p"]
    if model["adjust_p"]:
        p = min(0.8, max(0.1, p + 0.04 * (5 - k * e0_mm)))  # Table 22, footnote
    identities = [(id(planting), planted) for planting, _, planted in stands]

    subsoil_mm = 0.0
    if yesterday is None:
        depletion_mm = bed["start_depleted"] * taw_mm
        layer = {"de_mm": bed["start_depleted"] * bed["tew_mm"], "fw": 1.0, "top": 1.2, "wetted_on": None}
    else:
        depletion_mm = yesterday["depletion_mm"]
        if identities != yesterday["identities"]:
            depletion_mm = depletion_mm * taw_mm / yesterday["taw_mm"]
            subsoil_mm = yesterday["depletion_mm"] - depletion_mm
        layer = {key: yesterday[key] for key in ("de_mm", "fw", "top", "wetted_on")}
    return layer | {
        "identities": identities,
        "k": k,
        "e0_mm": e0_mm,
        "height_m": stand["height_m"],
        "taw_mm": taw_mm,
        "raw_mm": p * taw_mm,  # Eq. 83
        "subsoil_mm": subsoil_mm,
        "depletion_mm": depletion_mm,
    }


def bed_day(bed, model, morning, day, irrigation_mm):
    """The row of the day, and what the bed remembers until tomorrow."""
    depletion_mm, taw_mm, raw_mm, e0_mm, k = (
        morning[key] for key in ("depletion_mm", "taw_mm", "raw_mm", "e0_mm", "k")
    )
    arriving_mm = day["rain_mm"] * bed["rain_share"]  # on each place that the rain reaches
    rain_mm = arriving_mm * bed["open"]
    ks = 1.0 if depletion_mm <= raw_mm else max(0.0, (taw_mm - depletion_mm) / (taw_mm - raw_mm))  # Eq. 84
    reach_mm = max(0.0, taw_mm - depletion_mm + rain_mm + irrigation_mm)

    layer = {"de_mm": 0.0, "fw": 1.0, "top": 1.2, "wetted_on": None}
    ke = e_mm = 0.0
    if model["crop_coefficient"] == "dual":
        layer = wetted_layer(bed, morning, day["date"], arriving_mm, irrigation_mm)
        few = exposed_share(bed, model, morning, layer["fw"])
        ke = surface_coefficient(bed, model, morning, layer, few)
        e_mm = min(ke * e0_mm, reach_mm)
        layer["de_mm"] = min(bed["tew_mm"], layer["de_mm"] + e_mm / few)
    eta_mm = e_mm + min(ks * k * e0_mm, reach_mm - e_mm)

    after_mm = depletion_mm - rain_mm - irrigation_mm + eta_mm  # Eq. 85
    drained_mm = max(0.0, -after_mm)  # Eq. 88
    row = {
        "kc": k + ke,
        "kcb": k,
        "ke": ke,
        "etc_mm": (k + ke) * e0_mm,
        "ks": ks,
        "eta_mm": eta_mm,
        "e_mm": e_mm,
        "rain_mm": rain_mm,
        "irrigation_mm": irrigation_mm,
        "drained_mm": drained_mm,
        "subsoil_mm": morning["subsoil_mm"],
        "taw_mm": taw_mm,
        "raw_mm": raw_mm,
        "depletion_mm": after_mm + drained_mm,
        "de_mm": layer["de_mm"],
    }
    kept = {"identities": morning["identities"], "taw_mm": taw_mm, "depletion_mm": row["depletion_mm"]}
    return row, kept | layer


def wetted_layer(bed, morning, today, arriving_mm, irrigation_mm):
    """The top layer after the water of the day: wetted share, depletion, and how often it is wetted."""
    layer = {key: morning[key] for key in ("de_mm", "fw", "top", "wetted_on")}
    if irrigation_mm > WETTING_MM or arriving_mm >= WETTING_RAIN_MM:  # p. 149
        layer["fw"] = bed["wetted_fraction"] if irrigation_mm > WETTING_MM else 1.0
        before = layer["wetted_on"]
        layer["top"] = 1.1 if before is not None and (today - before).days <= SOON_DAYS else 1.2  # p. 144
        layer["wetted_on"] = today
    watered = layer["fw"] * min(1.0, bed["open"])
    layer["de_mm"] = max(0.0, layer["de_mm"] - arriving_mm - irrigation_mm / watered)  # Eq. 77 and 79
    return layer


def exposed_share(bed, model, morning, fw):
    """The share of the bed that is both bare of leaves and wetted; Eq. 75 and 76, drip p. 147."""
    covered = 0.0
    if morning["identities"]:
        kcb, height_m = morning["k"], morning["height_m"]
        most = max(1.2 + climatic(model, height_m), kcb + 0.05)
        covered = min(0.99, (max(0.01, kcb - 0.15) / (most - 0.15)) ** (1 + 0.5 * height_m))
    watered = fw * min(1.0, bed["open"])
    if bed["dripped"]:
        watered *= 1 - covered * 2 / 3
    return min(1 - covered, watered)


def surface_coefficient(bed, model, morning, layer, few):
    """Ke under mulch, no more than the layer holds; Eq. 71, 72 and 74, mulch p. 197."""
    kcb, e0_mm, rew_mm, tew_mm = morning["k"], morning["e0_mm"], bed["rew_mm"], bed["tew_mm"]
    kc_max = max(layer["top"] + climatic(model, morning["height_m"]), kcb + 0.05)
    depletion_mm = layer["de_mm"]
    kr = 1.0 if depletion_mm <= rew_mm else max(0.0, (tew_mm - depletion_mm) / (tew_mm - rew_mm))
    ke = min(kr * (kc_max - kcb), few * kc_max) * (1 - 0.5 * bed["mulch_cover"])
    held_mm = few * (tew_mm - depletion_mm)
    return held_mm / e0_mm if ke * e0_mm > held_mm else ke
