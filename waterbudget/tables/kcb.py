"""Basal crop coefficients of FAO-56 Table 17: the water use of a crop whose soil is dry on top."""

from typing import NamedTuple

from waterbudget.tables.crops import Crop
from waterbudget.tables.read import read_rows


class BasalKc(NamedTuple):
    """Basal crop coefficient Kcb of the initial, mid and end stage [-]; where a range is printed, its midpoint."""

    ini: float
    mid: float
    end: float


def basal_kc(crop: Crop) -> BasalKc | None:
    """Kcb of a crop, on supports where its Kc is; None where Table 17 has no such row. Source: FAO-56 Table 17."""
    for row in read_rows("kcb"):
        if row["crop"] == crop.name:
            mid = row["kcb_mid_staked"] if crop.on_supports and row["kcb_mid_staked"] else row["kcb_mid"]
            return BasalKc(float(row["kcb_ini"]), float(mid), float(row["kcb_end"]))
    return None
