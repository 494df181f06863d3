"""Crops that a planting can name: what to write, their numbers of FAO-56, and their stages."""

import calendar
import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from typing_extensions import TypedDict

from waterbudget.answers.english import count, percent
from waterbudget.answers.lookup import FEW, exact, nothing, quoted, snippet
from waterbudget.blocks import Answer, Block, Bullets, Cell, Column, Paragraph, Table
from waterbudget.site.beds import Planting
from waterbudget.site.dates import MonthDay
from waterbudget.site.growth import kcb_of
from waterbudget.tables.crops import Crop, StageLengths, find_crop, search_crops, stage_days
from waterbudget.tables.kcb import basal_kc

NAMES_WIDTH = 42  # letters of names, before they go on in the next line
FOR_EXAMPLE = "tomato"  # where no word was given
GARDEN = "garden"

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
KCB = (
    "Kcb: the same without what the wet soil gives to the air. from Kc: not printed, so the Kc less what lies between "
    "them in most other crops (ours)."
)
SOURCES = "Sources: FAO-56 Tables 11 (stages), 12 (Kc, height), 17 (Kcb), 22 (p, roots); everyday names: none."
MARCH, MAY = 3, 5
MONTHS, HALF_A_YEAR = 12, 6
NO_LEAP_YEAR = 2001
NARROWER = "A narrower word tells more, stage lengths too: waterbudget crops courgette"


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
        return [written_as(crop) for crop in self.crops]

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


class StageFacts(TypedDict):
    """Days of the initial, development, mid-season and late stage, where and when planted (months, 1 to 12).

    region: as printed; empty where the lengths are of common practice.
    """

    region: str
    months: list[int]
    stage_days: list[int]
    source: str


class CropFacts(TypedDict):
    """A crop under a name that a site file may write; printed_as: whose numbers they are."""

    name: str
    printed_as: str
    group: str
    kc: tuple[float, float, float]
    kcb: tuple[float, float, float]
    height_m: float
    p: float
    root_full_m: float
    perennial: bool
    stand_in: bool
    stages: list[StageFacts]
    note: str
    source: str


class Facts(TypedDict):
    """The crops for machines; kc and kcb: at the start, at full cover and at the end."""

    crops: list[CropFacts]


def answer(word: str | None = None) -> Answer:
    """Crops with a name or group that holds the word: what to write, then their numbers; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    found = {written_as(crop) for crop in search_crops(word)}
    everything = crop_rows(search_crops())
    rows = [row for row in everything if found & set(row.names)]
    if not rows:
        raise nothing("crop", word, (name for row in everything for name in row.names), "crops")
    shown = rows if word else [row for row in rows if row.crop.use == GARDEN]
    others = [row.names[0] for row in rows if row not in shown]
    chosen = exact(find_crop, word or FOR_EXAMPLE) or search_crops(word)[0]
    return Answer("crops", "", (), tuple(blocks(chosen, shown, others)), facts(rows))


def blocks(chosen: Crop, shown: Sequence[CropRow], others: Sequence[str]) -> Iterator[Block]:
    """What to write for one crop, and all that is told of those that are shown."""
    yield planting(chosen)
    yield crop_table(shown)
    if others:
        yield Paragraph(f"Field, tropical and other crops: {'; '.join(others)}.")
    if len(shown) <= FEW:
        yield basal_table(shown)
        yield stage_table(shown)
        yield Bullets("tell", "", tuple(notes(shown)), full=False)
    else:
        yield Paragraph(NARROWER)
    yield Paragraph(SOURCES)


def facts(rows: Sequence[CropRow]) -> Facts:
    """Crops as plain values."""
    return {
        "crops": [
            {
                "name": written_as(crop),
                "printed_as": crop.name,
                "group": crop.group,
                "kc": crop.kc,
                "kcb": basal_of(crop),
                "height_m": crop.height_m,
                "p": crop.p,
                "root_full_m": crop.root_full_m,
                "perennial": crop.perennial,
                "stand_in": crop.stand_in,
                "stages": [
                    {
                        "region": stages.region,
                        "months": list(stages.months),
                        "stage_days": list(stages.days),
                        "source": stages.source,
                    }
                    for stages in crop.stages
                ],
                "note": crop.note,
                "source": crop.source,
            }
            for row in rows
            for crop in row.crops
        ]
    }


def written_as(crop: Crop) -> str:
    """The name by which a crop was asked for."""
    return crop.asked_as or crop.name


def crop_rows(crops: Sequence[Crop]) -> list[CropRow]:
    """Crops in the order of the table, each followed by its everyday names with other numbers."""
    rows: dict[str, dict[Crop, list[Crop]]] = {}
    for crop in crops:
        numbers = replace(crop, asked_as=None, note="", source="")
        rows.setdefault(crop.name, {}).setdefault(numbers, []).append(crop)
    return [CropRow(tuple(same)) for named in rows.values() for same in named.values()]


def planting(crop: Crop) -> Bullets:
    """The lines of a planting."""
    day = "the day on which it begins to grow" if crop.perennial else "the day of sowing or planting out"
    lines = [f"crop = {quoted(written_as(crop).lower())}", f'planted = "{month_of(crop):02d}-20"  # {day}, month first']
    if not crop.stages:
        lines.append("days = [.., .., .., ..]  # put in your own four, see below")
    return snippet("under the bed that it grows in", "[[bed.planting]]", *lines)


def month_of(crop: Crop) -> int:
    """The month of planting that stands in where none is told, north of the equator."""
    practised = (stages.months[0] for stages in crop.stages if stages.months and not stages.region)
    return next(practised, MARCH if crop.perennial else MAY)


def in_a_line(crop: Crop, *, south: bool = False) -> str:
    """How long a crop stands and when it drinks most, if it is planted when it usually is."""
    month = (month_of(crop) - 1 + (HALF_A_YEAR if south else 0)) % MONTHS + 1
    stages = stage_days(crop, month, south=south)
    if stages is None:
        return "its days are not in the tables: give its four stages"
    return _stands(stages.days, dt.date(NO_LEAP_YEAR, month, 20), perennial=crop.perennial)


def as_planted(planting: Planting, *, south: bool) -> str:
    """The same of a planting, with its own day and stages."""
    planted = planting.planted
    day = dt.date(NO_LEAP_YEAR, *planted) if isinstance(planted, MonthDay) else planted
    perennial = planting.perennial
    if perennial is None:
        perennial = planting.crop is not None and find_crop(planting.crop).perennial
    return _stands(planting.stage_lengths(south=south), day, perennial=perennial)


def _stands(days: Sequence[int], planted: dt.date, *, perennial: bool) -> str:
    initial, development, mid, late = days
    most = planted + dt.timedelta(initial + development + mid // 2)
    stands = "stands for years" if perennial else count(initial + development + mid + late, "day")
    return f"{stands}, drinks most in {most:%B}"


def drinks(crop: Crop) -> str:
    """What a crop drinks by its Kc, in words."""
    ini, mid, end = crop.kc
    return (
        f"Beside short grass it drinks {percent(ini)} at first, {percent(mid)} in full leaf and {percent(end)} at the "
        f"end. Roots go {crop.root_full_m:g} m deep."
    )


def crop_table(rows: Sequence[CropRow]) -> Table:
    """A row for all names with the same numbers, group by group."""
    columns = (
        Column("name", "Write any of these names", most=NAMES_WIDTH),
        *(
            Column(name, head, write=_decimals)
            for name, head in (("kc_ini", "Kc ini"), ("kc_mid", "mid"), ("kc_end", "end"))
        ),
        Column("p", "p", write="{:.2f}".format),
        Column("root_full_m", "roots", "m", write="{:.1f}".format),
        Column("marks", "mind"),
    )
    lines: list[tuple[Cell, ...]] = []
    for group in dict.fromkeys(row.crop.group for row in rows):
        lines.append((group.upper(),))
        lines += [
            (row.label, *row.crop.kc, row.crop.p, row.crop.root_full_m, ", ".join(row.marks))
            for row in rows
            if row.crop.group == group
        ]
    return Table("Crops", columns, tuple(lines), tuple(legend(rows)))


def legend(rows: Sequence[CropRow]) -> Iterator[str]:
    """What the heads and marks mean."""
    marks = {mark for row in rows for mark in row.marks}
    yield KC_AND_P
    yield from (f"{mark}: {words}." for mark, words in MARKS.items() if mark in marks)
    if "days" in marks:
        yield FOUR_STAGES


def basal_table(rows: Sequence[CropRow]) -> Table:
    """What only the dual crop coefficient asks for."""
    columns = (
        Column("name", "For the dual crop coefficient", most=NAMES_WIDTH),
        *(
            Column(name, head, write=_decimals)
            for name, head in (("kcb_ini", "Kcb ini"), ("kcb_mid", "mid"), ("kcb_end", "end"))
        ),
        Column("height_m", "height", "m", write="{:.2f}".format),
        Column("basis", ""),
    )
    lines: list[tuple[Cell, ...]] = [
        (row.label, *basal_of(row.crop), row.crop.height_m, "" if basal_kc(row.crop) else "from Kc") for row in rows
    ]
    return Table("Basal", columns, tuple(lines), (KCB,))


def basal_of(crop: Crop) -> tuple[float, float, float]:
    """Kcb of a crop, as printed or after its Kc."""
    ini, mid, end = basal_kc(crop) or kcb_of(crop.kc, perennial=crop.perennial)
    return ini, mid, end


def stage_table(rows: Sequence[CropRow]) -> Table:
    """Stage lengths by region or practice, for the crops that have them."""
    columns = (
        Column("where", "Stages, where and when planted", most=NAMES_WIDTH),
        *(
            Column(f"{name}_days", head, "days")
            for name, head in (
                ("initial", "initial"),
                ("development", "development"),
                ("mid_season", "mid"),
                ("late", "late"),
                ("all", "in all"),
            )
        ),
    )
    lines: list[tuple[Cell, ...]] = []
    for told in dict.fromkeys(row.crop.stages for row in rows if row.crop.stages):
        same = [row for row in rows if row.crop.stages == told]
        names = dict.fromkeys(row.crop.name if told[0].region else "; ".join(row.names) for row in same)
        lines.append(("; ".join(names),))
        lines += [(_where_and_when(stages), *stages.days, sum(stages.days)) for stages in told]
    return Table("Stages", columns, tuple(lines), (TAKEN,))


def _where_and_when(stages: StageLengths) -> str:
    if not stages.region:
        return f"common practice, no source: {stages.note}"
    months = ", ".join(calendar.month_abbr[month] for month in stages.months) or "no month printed"
    return f"{stages.region}; {months}"


def notes(rows: Sequence[CropRow]) -> Iterator[str]:
    """What is noted on each crop, once for all names that share it."""
    named: dict[str, list[str]] = {}
    for row in rows:
        for crop in row.crops:
            named.setdefault(crop.note, []).append(written_as(crop))
    yield from (f"Note on {'; '.join(names)}: {note}." for note, names in named.items() if note)


def _decimals(value: float) -> str:
    """Two decimals, a third only where there is one, with the points below each other."""
    text = f"{value:.3f}"
    return f"{text[:-1]} " if text.endswith("0") else text
