"""What cups on the beds tell of a zone: how evenly it waters, and how long it has to run."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from typing_extensions import TypedDict

from waterbudget.answers.bucket import NEXT, WRITE, care
from waterbudget.answers.english import count
from waterbudget.answers.facts import Common
from waterbudget.blocks import Answer, Bullets, Column, Table
from waterbudget.hose.cups import CupsFinding

DEPTHS_MM = (5.0, 10.0, 15.0)


class BedFacts(TypedDict):
    """What the cups of a bed caught on average; bed_factor: over the mean of all cups."""

    bed: str
    cups: int
    mean_ml: float
    bed_factor: float
    run_mm: float


class Facts(Common):
    """The test for machines; minutes_for_driest: until the driest quarter has what it needs, null for never."""

    zone: str
    cups: int
    minutes: float
    mean_ml: float
    du_pct: float
    cu_pct: float
    mm_per_min: float
    need_mm: float
    minutes_for_driest: float | None
    beds: list[BedFacts]


def answer(found: CupsFinding, *, copy: Path | None = None) -> Answer:
    """The test in words; copy: of the site file as it was, where the shares were written into it."""
    told = "The beds' shares are now their parts of the mean times their areas."
    if copy is None:
        told = f"Give each bed its part of the mean, times its area, as its share: {WRITE}"
    return Answer(
        "cups",
        f"Cup test of {found.zone.name}, {found.site.site.name}",
        tuple(verdict(found)),
        (
            bed_table(found),
            minutes_table(found),
            Bullets("tell", NEXT if copy is None else "In the site file", (told,), full=False),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "Take care", tuple(care(found.site, found.zone)), full=False),
        ),
        facts(found),
        () if copy is None else (f"Written: {found.path}; as it was: {copy}",),
    )


def facts(found: CupsFinding) -> Facts:
    """The test as plain values."""
    cups, need_mm = found.cups, found.setting.need_mm
    return {
        "site": found.site.site.name,
        "period": None,
        "zone": found.zone.name,
        "cups": len(found.caught),
        "minutes": found.minutes,
        "mean_ml": cups.mean_ml,
        "du_pct": cups.du_pct,
        "cu_pct": cups.cu_pct,
        "mm_per_min": cups.mm_per_min,
        "need_mm": need_mm,
        "minutes_for_driest": cups.minutes_for_driest(need_mm),
        "beds": [
            {"bed": bed, "cups": number, "mean_ml": mean_ml, "bed_factor": factor, "run_mm": run_mm}
            for bed, number, mean_ml, factor, run_mm in beds(found)
        ],
    }


def beds(found: CupsFinding) -> Iterator[tuple[str, int, float, float, float]]:
    """Each bed with its cups, their mean [mL], that over the mean of all, and its depth in so many minutes [mm]."""
    for bed, factor in found.cups.bed_factors.items():
        here = found.of_bed(bed)
        yield bed, len(here), float(np.mean(here)), factor, found.cups.mm_per_min * factor * found.minutes


def verdict(found: CupsFinding) -> Iterator[str]:
    """How evenly, and how long for what the beds need."""
    cups, driest, need_mm = found.cups, found.driest, found.setting.need_mm
    average = f"{count(len(found.caught), 'cup')} caught {cups.mean_ml:.0f} mL on average"
    even = f"The driest quarter gets {cups.du_pct:.0f} % of that"
    least = f"the driest, on {driest.bed}, caught {driest.caught_ml:g} mL"
    depth_mm = cups.mm_per_min * found.minutes
    yield f"{average} in {found.minutes:g} minutes, {depth_mm:.1f} mm. {even}; {least}."
    minutes = cups.minutes_for_driest(need_mm)
    if not np.isfinite(minutes):
        yield "The driest quarter caught nothing: no time gives it its water. Look for blocked or dry jets."
        return
    then = f"the beds then get {cups.mm_per_min * minutes:.1f} mm on average"
    yield f"{minutes:.1f} minutes give the driest quarter its {need_mm:g} mm; {then}."


def bed_table(found: CupsFinding) -> Table:
    """A row for each bed."""
    columns = (
        Column("bed", "Beds"),
        Column("cups", "cups"),
        Column("mean_ml", "mean", "mL", write="{:.0f}".format),
        Column("bed_factor", "of mean", write="{:.2f}".format),
        Column("run_mm", "depth", "mm", write="{:.1f}".format),
    )
    return Table("The beds", columns, tuple(beds(found)))


def minutes_table(found: CupsFinding) -> Table:
    """How long for some depths, on average and for the driest quarter."""
    columns = (
        Column("depth_mm", "Minutes for", write=lambda depth_mm: f"{depth_mm:g} mm"),
        Column("minutes_on_average", "on average", write="{:.1f}".format),
        Column("minutes_for_driest", "driest quarter", write=_minutes),
    )
    cups = found.cups
    rows = tuple(
        (depth_mm, depth_mm / cups.mm_per_min, cups.minutes_for_driest(depth_mm))
        for depth_mm in sorted({*DEPTHS_MM, found.setting.need_mm})
    )
    return Table("Minutes", columns, rows)


def _minutes(minutes: float) -> str:
    return f"{minutes:.1f}" if np.isfinite(minutes) else "never"


def assumptions(found: CupsFinding) -> Iterator[str]:
    """What the figures rest on."""
    yield f"By the usual measures: DU of the low quarter {found.cups.du_pct:.0f} %, CU {found.cups.cu_pct:.0f} %."
    yield f"Equal cups with a mouth {found.setting.mouth_cm:g} cm wide, upright, standing evenly over the beds."
    yield "The lowest quarter counts parts of a cup where the cups do not divide by four."
    yield "Cups catch what falls on the bed; of it some still drifts, runs off or dries before it is used."
