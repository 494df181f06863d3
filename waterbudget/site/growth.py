"""A planting's numbers: its own, else those of its crop."""

from typing import NamedTuple

from waterbudget.site.beds import Planting
from waterbudget.site.model import Site
from waterbudget.tables.crops import Crop, find_crop
from waterbudget.tables.kcb import basal_kc

HEIGHT_WITHOUT_CROP_M = 0.4
MOST_KCB_INI = 0.15  # Kcb below Kc: ours, medians of FAO-56 Table 12 less Table 17, mid and end of annuals
BELOW_KC_INI_OF_PERENNIALS, BELOW_KC_MID, BELOW_KC_END = 0.10, 0.05, 0.10


class Growth(NamedTuple):
    """All that a planting needs to grow.

    days: lengths of the four stages. kc, kcb: single and basal crop coefficients of the initial, mid and end stage [-];
    where the site file knows Kcb alone, which only the dual coefficient allows, kc holds the same numbers. p: depletion
    fraction without stress [-]. root_start_m, root_full_m: root depth at sowing and full, the same for perennials.
    height_m: full height. perennial: roots and height are full from the first day. ground_share: share of the bed's
    ground. basis: in words where the stage lengths come from.
    """

    days: tuple[int, ...]
    kc: tuple[float, ...]
    kcb: tuple[float, ...]
    p: float
    root_start_m: float
    root_full_m: float
    height_m: float
    perennial: bool
    ground_share: float
    basis: str


def growth_of(planting: Planting, site: Site) -> Growth:
    """The numbers of a planting of a site, each its own where it gives it, else that of its crop."""
    crop = None if planting.crop is None else find_crop(planting.crop)
    kc = planting.kc or (crop.kc if crop else planting.kcb)
    p = crop.p if planting.p is None and crop else planting.p
    root_m = planting.root_m or (_roots(crop, site) if crop else None)
    if kc is None or p is None or root_m is None:
        raise AssertionError("the site model lets no planting through that lacks numbers")
    perennial = bool(crop and crop.perennial) if planting.perennial is None else planting.perennial
    start_m, full_m = root_m
    printed = planting.printed_stages(south=site.is_south)
    return Growth(
        days=planting.stage_lengths(south=site.is_south),
        kc=tuple(kc),
        kcb=_kcb(planting, crop, perennial=perennial),
        p=p,
        root_start_m=full_m if perennial else start_m,
        root_full_m=full_m,
        height_m=planting.height_m or (crop.height_m if crop else HEIGHT_WITHOUT_CROP_M),
        perennial=perennial,
        ground_share=planting.ground_share,
        basis=printed.basis if printed else "given in the site file",
    )


def _roots(crop: Crop, site: Site) -> tuple[float, float]:
    return min(site.model.root_start_m, crop.root_full_m), crop.root_full_m


def _kcb(planting: Planting, crop: Crop | None, *, perennial: bool) -> tuple[float, ...]:
    """Kcb: the planting's own, else after its own Kc, else as printed, else after the crop's Kc."""
    if planting.kcb:
        return tuple(planting.kcb)
    if planting.kc:
        return kcb_of(tuple(planting.kc), perennial=perennial)
    if crop is None:
        raise AssertionError("the site model lets no planting through that lacks numbers")
    return basal_kc(crop) or kcb_of(crop.kc, perennial=perennial)


def kcb_of(kc: tuple[float, ...], *, perennial: bool) -> tuple[float, ...]:
    """Kcb of the initial, mid and end stage after Kc of the same [-], none below 0: ours, see the constants."""
    ini, mid, end = kc
    basal = (
        ini - BELOW_KC_INI_OF_PERENNIALS if perennial else min(MOST_KCB_INI, ini),
        mid - BELOW_KC_MID,
        end - BELOW_KC_END,
    )
    return tuple(max(0.0, one) for one in basal)
