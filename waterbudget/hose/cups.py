"""What cups set out on the beds tell of a zone: how evenly it waters, and which share each bed gets."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError, shown
from waterbudget.hose.bucket import zone_of
from waterbudget.line.fieldtest import Cups, cup_test
from waterbudget.rows.cells import doubled_heads, missing_heads, number_in, ragged, unfit
from waterbudget.rows.sheet import read_sheet
from waterbudget.site.edit import Change
from waterbudget.site.model import Site, Zone
from waterbudget.site.read import load_site
from waterbudget.site.write import write_changes
from waterbudget.tables.read import nearest

MOST_ML = 1e5
LEAST, MOST = 0.01, 1e4  # minutes, centimetres and millimetres that make sense here
CUP_COLUMNS = ("bed", "caught_ml")
CAUGHT = "the millilitres that the cup caught, 0 for none, with a point for decimals"


class CupSetting(NamedTuple):
    """How the cups stood: minutes of water, None for a run of the zone; a cup's mouth; the depth that beds need."""

    minutes: float | None
    mouth_cm: float
    need_mm: float


class Cup(NamedTuple):
    """What one cup caught."""

    bed: str
    caught_ml: float


@dataclass(frozen=True)
class CupsFinding:
    """What cups caught on the beds of a zone in so many minutes. caught: every cup."""

    path: Path
    site: Site
    zone: Zone
    setting: CupSetting
    minutes: float
    caught: tuple[Cup, ...]
    cups: Cups

    @property
    def driest(self) -> Cup:
        """The cup that caught least."""
        return min(self.caught, key=lambda cup: cup.caught_ml)

    def of_bed(self, bed: str) -> list[float]:
        """What the cups of a bed caught [mL]."""
        return [cup.caught_ml for cup in self.caught if cup.bed == bed]

    def write(self) -> Path:
        """Write the beds' shares into the site file; the copy of it as it was. Raises InputError where it changed."""
        return write_changes(self.path, self.site, self.changes)

    @property
    def changes(self) -> list[Change]:
        """The beds' shares of what the zone gives."""
        return [
            Change(("bed", number, "share"), self.cups.bed_factors[bed.name] * bed.ground_m2)
            for number, bed in enumerate(self.site.bed)
            if bed.name in self.cups.bed_factors
        ]


def find_cups(path: Path, name: str, cups_csv: Path, setting: CupSetting, *, every_bed: bool = False) -> CupsFinding:
    """How evenly a zone waters by cups set out on its beds.

    every_bed: whether each bed of the zone has to have a cup. Raises InputError for what the user can mend.
    """
    site = load_site(path)
    zone = zone_of(site, name)
    beds = [bed.name for bed in site.bed if bed.zone == zone.name]
    minutes = zone.minutes if setting.minutes is None else setting.minutes
    for option, value in (("minutes", minutes), ("mouth-cm", setting.mouth_cm), ("need-mm", setting.need_mm)):
        if not LEAST <= value <= MOST:
            raise InputError(f"--{option} is {value:g}; write {LEAST:g} to {MOST:,.0f}")
    caught = read_cups(cups_csv, beds)
    try:
        cups = cup_test(
            [each.caught_ml for each in caught],
            beds=[each.bed for each in caught],
            minutes=minutes,
            mouth_cm2=float(np.pi / 4.0 * setting.mouth_cm**2),
        )
    except RangeError as error:
        raise InputError(f"{cups_csv}: {error}") from error
    lacking = [bed for bed in beds if bed not in cups.bed_factors]
    if every_bed and lacking:
        raise InputError(f'{cups_csv}: "{lacking[0]}" has no cup; set some there before shares are written')
    return CupsFinding(path, site, zone, setting, minutes, tuple(caught), cups)


def read_cups(path: Path, beds: Sequence[str]) -> list[Cup]:
    """The cups of a CSV file with the columns bed and caught_ml, on these beds.

    Raises InputError naming file and row.
    """
    sheet = read_sheet(path, ",".join(CUP_COLUMNS), "a cup")
    heads = sheet.heads
    if faults := [*missing_heads(heads, CUP_COLUMNS), *doubled_heads(heads)]:
        raise InputError(f"{path}: row {sheet.header.number}: {fault}" for fault in faults)
    caught = []
    for number, cells in sheet.plain(numbers=["caught_ml"]).rows:
        if fault := ragged(cells, heads, "fill every column"):
            faults.append(f"{path}: row {number}: {fault}")
            continue
        cell = dict(zip(heads, cells, strict=True))
        cup = Cup(cell["bed"], number_in(cell["caught_ml"]))
        if cup.bed not in beds:
            near = " or ".join(f'"{name}"' for name in nearest(cup.bed, beds)[:1] or beds)
            faults.append(f"{path}: row {number}: bed is {shown(cup.bed)}, no bed of this zone; write {near}")
        elif not 0.0 <= cup.caught_ml <= MOST_ML:
            faults.append(f"{path}: row {number}: {unfit('caught_ml', cell['caught_ml'], CAUGHT)}")
        caught.append(cup)
    if faults:
        raise InputError(faults)
    return caught
