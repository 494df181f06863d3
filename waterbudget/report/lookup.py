"""The screens of the tables: what to write in a site file, and the numbers that it stands for."""

import calendar
import json
import textwrap
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

from waterbudget.errors import InputError
from waterbudget.report.words import table
from waterbudget.tables.coverings import Covering, find_covering, search_coverings
from waterbudget.tables.crops import Crop, find_crop, search_crops
from waterbudget.tables.read import UnknownKeyError, nearest
from waterbudget.tables.soils import find_soil, search_soils

WIDTH = 100
NAMES_WIDTH = 42
FEW = 6  # rows up to which all that is known of each is told

FOR_EXAMPLE = {"crop": "tomato", "soil": "loam", "covering": "hard roof"}  # where no word was given
GARDEN = "garden"

Row = TypeVar("Row")

MARKS = {
    "stays": "it stands for years, so its roots are at full depth from the start",
    "days": "no stage lengths are printed, so the planting needs days of its own",
    "stand-in": "FAO-56 lacks it, so a like crop's numbers stand in",
}
KC_AND_P = (
    "Kc: water use against short grass at the start, at full cover and at the end. p: share of the soil's water that "
    "it takes before it goes thirsty. roots: depth when full grown."
)
FOUR_STAGES = (  # FAO-56 chapter 5, from memory
    "The four days, in order: initial, from sowing or planting out until a tenth of the soil is shaded; development, "
    "until the leaves cover it; mid-season, until it yellows or ripens; late, until the last harvest."
)
TAKEN = (
    "Taken is the row planted in the month nearest to yours, months half a year later south of the equator. "
    "days = [.., .., .., ..] in the planting sets your own."
)
OWN_SOIL = (
    "Water that it holds for plants, in millimetres for each metre of depth (1 mm is 1 L on a square metre). "
    "A figure of your own goes before the word: available_water_mm_m = 150"
)
BY_HAND = (
    "By hand (common practice, no source): wet a pinch and roll it. Gritty and falls apart: sand or loamy sand. "
    "Gritty, a ball that crumbles: sandy loam. A ball that holds: loam. Floury or soapy: silt loam or silt. "
    "Sticky, rolls out to a worm: silt clay loam, silty clay or clay. In doubt: loam."
)
OWN_RUNOFF = (
    "Share of the rain that runs off, over a year: in summer it is less. Basis of our pick: measured on roofs, "
    "a figure of a standard or a drainage guide, or from memory and not checked. In doubt: hard roof. "
    "A figure of your own goes before the word: runoff_coefficient = 0.85"
)
ON_EATING = "Water the soil, not leaves that are eaten raw; stored rain is no drinking water. Local advice comes first."


class CropRow(NamedTuple):
    """Crops of the table that differ in nothing but what they are called and what is noted on them."""

    crops: tuple[Crop, ...]

    @property
    def crop(self) -> Crop:
        """One of them, for the numbers of all."""
        return self.crops[0]

    @property
    def names(self) -> list[str]:
        """What a site file may call them."""
        return [_written(crop) for crop in self.crops]

    @property
    def label(self) -> str:
        """All names, and whose numbers they are where that is none of them."""
        names = "; ".join(self.names)
        if self.crop.name in self.names:
            return names
        return f"{names} ({'numbers of ' if self.crop.stand_in else ''}{self.crop.name})"

    @property
    def marks(self) -> list[str]:
        """Keys of MARKS that a planting of it has to mind."""
        true = {"stays": self.crop.perennial, "days": not self.crop.stages, "stand-in": self.crop.stand_in}
        return [mark for mark in MARKS if true[mark]]


def crops_screen(word: str | None = None) -> str:
    """Crops with a name or group that holds the word: what to write, then their numbers; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    found = {_written(crop) for crop in search_crops(word)}
    everything = _crop_rows(search_crops())
    rows = [row for row in everything if found & set(row.names)]
    if not rows:
        raise _nothing("crop", word, (name for row in everything for name in row.names), "crops")
    shown = rows if word else [row for row in rows if row.crop.use == GARDEN]
    others = [row.names[0] for row in rows if row not in shown]
    few = len(shown) <= FEW
    chosen = _exact(find_crop, word or FOR_EXAMPLE["crop"]) or search_crops(word)[0]
    parts = [
        _planting(chosen),
        _crop_table(shown),
        _crop_legend(shown),
        _paragraphs(f"Field, tropical and other crops: {'; '.join(others)}.") if others else [],
        _stage_table(shown) if few else [],
        _crop_notes(shown) if few else ["A narrower word tells more, stage lengths too: waterbudget crops courgette"],
        ["Sources: FAO-56 Table 12 (Kc), Table 22 (p, roots), Table 11 (stages); everyday names: no source."],
    ]
    return _screen(parts)


def soils_screen(word: str | None = None) -> str:
    """Soils whose name holds the word: what to write, then the water they hold; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    soils = search_soils(word)
    if not soils:
        raise _nothing("soil", word, (soil.name for soil in search_soils()), "soils")
    chosen = _exact(find_soil, word or FOR_EXAMPLE["soil"]) or soils[0]
    rows = [(soil.name, f"{soil.available_water_mm_m:g}", f"{soil.low_mm_m:g} to {soil.high_mm_m:g}") for soil in soils]
    parts = [
        _snippet("under the bed", "[[bed]]", f"soil = {_quoted(chosen.name.lower())}"),
        table(("Soil", "holds", "printed range"), rows, units=("", "mm/m", "mm/m")),
        _paragraphs(OWN_SOIL, BY_HAND),
        ["Source: FAO-56 Table 19, p. 144; taken is the middle of the printed range."],
    ]
    return _screen(parts)


def roofs_screen(word: str | None = None) -> str:
    """Coverings whose name holds the word: what to write, then what runs off; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    coverings = search_coverings(word)
    if not coverings:
        raise _nothing("covering", word, (covering.name for covering in search_coverings()), "roofs")
    chosen = _exact(find_covering, word or FOR_EXAMPLE["covering"]) or coverings[0]
    rows = [
        (
            covering.name,
            f"{covering.runoff_coefficient:.2f}",
            f"{covering.low:.2f} to {covering.high:.2f}",
            covering.basis,
            "caution" if covering.edible_crop_caution else "",
        )
        for covering in coverings
    ]
    parts = [
        _snippet("under the roof", "[[roof]]", f"covering = {_quoted(chosen.name)}"),
        table(
            ("Covering", "runs off", "sources say", "basis", "vegetables"), rows, units=("", "share", "share", "", "")
        ),
        _paragraphs(OWN_RUNOFF),
        _roof_cautions(coverings),
        _roof_notes(coverings) if len(coverings) <= FEW else [],
        ["Sources: Farreny et al. 2011, Ragab et al. 2003, EN 16941-1, DIN 1986 and 1989-1, drainage guides."],
    ]
    return _screen(parts)


def _written(crop: Crop) -> str:
    return crop.asked_as or crop.name


def _crop_rows(crops: Sequence[Crop]) -> list[CropRow]:
    """Crops in the order of the table, each followed by its everyday names with other numbers."""
    rows: dict[str, dict[Crop, list[Crop]]] = {}
    for crop in crops:
        numbers = replace(crop, asked_as=None, note="", source="")
        rows.setdefault(crop.name, {}).setdefault(numbers, []).append(crop)
    return [CropRow(tuple(same)) for named in rows.values() for same in named.values()]


def _planting(crop: Crop) -> list[str]:
    day = "the day on which it begins to grow" if crop.perennial else "the day of sowing or planting out"
    lines = [f"crop = {_quoted(_written(crop).lower())}", f'planted = "05-20"  # {day}, month first']
    if not crop.stages:
        lines.append("days = [.., .., .., ..]  # put in your own four, see below")
    return _snippet("under the bed that it grows in", "[[bed.planting]]", *lines)


def _crop_table(rows: Sequence[CropRow]) -> list[str]:
    lines: list[list[str]] = []
    for group in dict.fromkeys(row.crop.group for row in rows):
        lines += [[group.upper(), *[""] * 6]]
        for row in (row for row in rows if row.crop.group == group):
            kc = (_decimals(value) for value in row.crop.kc)
            cells = [*kc, f"{row.crop.p:.2f}", f"{row.crop.root_full_m:.1f}", ", ".join(row.marks)]
            lines += _folded(row.label, cells)
    head = ("Write any of these names", "Kc ini", "mid", "end", "p", "roots", "mind")
    return table(head, lines, units=("", "", "", "", "", "m", ""))


def _crop_legend(rows: Sequence[CropRow]) -> list[str]:
    marks = {mark for row in rows for mark in row.marks}
    return _paragraphs(
        KC_AND_P,
        *(f"{mark}: {words}." for mark, words in MARKS.items() if mark in marks),
        *([FOUR_STAGES] if "days" in marks else []),
    )


def _stage_table(rows: Sequence[CropRow]) -> list[str]:
    """Printed stage lengths by region, for the crops that have them."""
    lines: list[list[str]] = []
    crops = {row.crop.name: row.crop for row in rows if row.crop.stages}.values()
    for printed in dict.fromkeys(crop.stages for crop in crops):
        lines += _folded("; ".join(crop.name for crop in crops if crop.stages == printed), [""] * 5)
        for stages in printed:
            months = ", ".join(calendar.month_abbr[month] for month in stages.months) or "no month printed"
            cells = [*(str(days) for days in stages.days), str(sum(stages.days))]
            lines += _folded(f"    {stages.region}; {months}", cells)
    if not lines:
        return []
    head = ("Stages, where and when planted", "initial", "development", "mid", "late", "in all")
    return [*table(head, lines, units=("", *["days"] * 5)), *_paragraphs(TAKEN)]


def _crop_notes(rows: Sequence[CropRow]) -> list[str]:
    named: dict[str, list[str]] = {}
    for row in rows:
        for crop in row.crops:
            named.setdefault(crop.note, []).append(_written(crop))
    return _paragraphs(*(f"Note on {'; '.join(names)}: {note}." for note, names in named.items() if note))


def _roof_cautions(coverings: Sequence[Covering]) -> list[str]:
    told = [covering for covering in coverings if covering.edible_crop_caution]
    return _paragraphs(*(f"Caution, {covering.name}: {covering.edible_crop_caution}." for covering in told), ON_EATING)


def _roof_notes(coverings: Sequence[Covering]) -> list[str]:
    return _paragraphs(*(f"Note on {covering.name}: {covering.note}." for covering in coverings if covering.note))


def _exact(find: Callable[[str], Row], word: str) -> Row | None:
    try:
        return find(word)
    except UnknownKeyError:
        return None


def _nothing(kind: str, word: str | None, names: Iterable[str], command: str) -> InputError:
    near = ", ".join(_quoted(name) for name in nearest(word or "", names))
    return InputError(
        f"no {kind} is called {_quoted(word or '')}; {f'nearest: {near}; ' if near else ''}"
        f"waterbudget {command} lists them all"
    )


def _snippet(where: str, *lines: str) -> list[str]:
    return [f"Write in your site file, {where}:", *(f"    {line}" for line in lines)]


def _decimals(value: float) -> str:
    """Two decimals, a third only where there is one, with the points below each other."""
    text = f"{value:.3f}"
    return f"{text[:-1]} " if text.endswith("0") else text


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _folded(label: str, cells: list[str]) -> list[list[str]]:
    """A row of a table whose label may take more than one line."""
    first, *more = textwrap.wrap(label, NAMES_WIDTH, subsequent_indent="  ")
    return [[first, *cells], *([line, *[""] * len(cells)] for line in more)]


def _paragraphs(*texts: str) -> list[str]:
    return [line for text in texts for line in textwrap.wrap(text, WIDTH, subsequent_indent="  ")]


def _screen(parts: Iterable[Sequence[str]]) -> str:
    return "\n\n".join("\n".join(line.rstrip() for line in part) for part in parts if part)
