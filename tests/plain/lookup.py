"""The tables of the handbook as data for the plain program: the rows of CSV files, and no more of whose they are.

Crops are those of FAO-56 Tables 12, 17 and 22 with all their stage lengths of Table 11; soils those of Table 19.
"""

import csv
from pathlib import Path

from plain.site import PlainTables

ON_SUPPORTS_M = 1.75  # 1.5 to 2 m printed
LENGTHS = ("ini_days", "dev_days", "mid_days", "late_days")


def read_tables(folder: Path) -> PlainTables:
    """Crops and everyday names, soils and coverings of a folder of tables."""

    def rows(name):
        with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
            return list(csv.DictReader(handle))

    stages = rows("stages")
    kcb = {row["crop"]: row for row in rows("kcb")}
    printed = {row["crop"]: row for row in rows("crops")}
    crops = {name: crop_of(row, kcb.get(name), stages) for name, row in printed.items()}
    for alias in rows("aliases"):
        supports = alias["on_supports"] == "yes"
        crop = crop_of(printed[alias["crop"]], kcb.get(alias["crop"]), stages, supports=supports)
        crops[alias["alias"]] = crop if alias["stages"] == "yes" else crop | {"stages": []}
    return PlainTables(
        crops,
        {row["soil"]: soil_of(row) for row in rows("soils")},
        {
            row["covering"]: {key: float(row[key]) for key in ("runoff_coefficient", "loss_mm")}
            for row in rows("coverings")
        },
    )


def crop_of(row, basal, stages, *, supports=False):
    """A row of Table 12 with what the others print for it; on supports with footnote 2."""
    staked = supports and row["kc_mid_staked"]
    crop = {
        "kc": [float(row[key]) for key in ("kc_ini", "kc_mid_staked" if staked else "kc_mid", "kc_end")],
        "p": float(row["p"]),
        "root_full_m": float(row["root_min_m"]),
        "perennial": row["perennial"] == "yes",
        "stages": stages_of(row["stages_key"], stages),
    }
    if row["height_m"]:
        crop["height_m"] = ON_SUPPORTS_M if supports else float(row["height_m"])
    if basal:
        mid = "kcb_mid_staked" if supports and basal["kcb_mid_staked"] else "kcb_mid"
        crop["kcb"] = [float(basal[key]) for key in ("kcb_ini", mid, "kcb_end")]
    return crop


def stages_of(keys, stages):
    """The rows of Table 11 that have all four lengths, in print order; of one row first what makes up its total."""
    found = [row for row in stages if row["stages_key"] in keys.split("; ") and all(row[name] for name in LENGTHS)]
    lengths = [
        {
            "days": [int(row[name]) for name in LENGTHS],
            "months": [int(month) for month in row["months"].split(";") if month],
            "region": row["region"],
            "print_row": int(row["print_row"]),
            "printed_total": int(row["total_printed_days"] or 0),
        }
        for row in found
    ]
    return sorted(lengths, key=lambda row: (row["print_row"], sum(row["days"]) != row["printed_total"]))


def soil_of(row):
    """The middles of the ranges of Table 19."""
    return {
        "available_water_mm_m": 1000 * (float(row["theta_difference_lo"]) + float(row["theta_difference_hi"])) / 2,
        "rew_mm": (float(row["rew_lo_mm"]) + float(row["rew_hi_mm"])) / 2,
        "tew_mm": (float(row["tew_lo_mm"]) + float(row["tew_hi_mm"])) / 2,
    }
