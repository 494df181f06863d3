"""Organic mulch: what it leaves of a crop's single crop coefficient."""

from waterbudget.site.model import Planting
from waterbudget.tables.crops import find_crop
from waterbudget.tables.kcb import BasalKc, basal_kc

COVERED = 0.8  # share of the soil under the mulch: ours
CUT_PER_COVERED = 0.5  # share of the soil's evaporation that goes, for a soil wholly covered: 5 % for each 10 %
DIGITS = 4


def mulched(kc: tuple[float, float, float], kcb: BasalKc | None, covered: float) -> tuple[float, float, float]:
    """Kc ini, mid and end [-] under organic mulch on a share of the soil (covered, 0 to 1).

    The soil's evaporation falls by 5 % for each 10 % of the soil that is covered: Kc ini by that share, mid and end by
    that share of what lies above Kcb. Without Kcb, mid and end stay. Source: FAO-56 chapter 10, p. 197-198.
    """
    cut = CUT_PER_COVERED * covered
    ini, mid, end = kc
    if kcb is None:
        return ini * (1.0 - cut), mid, end
    return ini * (1.0 - cut), mid - cut * max(mid - kcb.mid, 0.0), end - cut * max(end - kcb.end, 0.0)


def mulched_kc(planting: Planting) -> list[float]:
    """Kc ini, mid and end of a planting under mulch; its own Kc goes before its crop's."""
    crop = None if planting.crop is None else find_crop(planting.crop)
    kc = planting.kc or (list(crop.kc) if crop is not None else None)
    if kc is None:
        raise AssertionError("the site model lets no planting through that lacks numbers")
    ini, mid, end = kc
    under = mulched((ini, mid, end), None if crop is None else basal_kc(crop), COVERED)
    return [round(one, DIGITS) for one in under]
