"""Beds: their soil, their pots, and what grows in them."""

import math
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from waterbudget.errors import Said
from waterbudget.site.dates import EitherDay
from waterbudget.site.table import Count, Fraction, NotNegative, Positive, Share, Table
from waterbudget.site.words import CropKey, Name, SoilKey, is_left_out
from waterbudget.tables.crops import StageLengths, find_crop, stage_days
from waterbudget.tables.soils import find_soil
from waterbudget.units import CM_PER_M, MM_PER_M

COMPOST_MM_M = 300.0  # available water of potting compost: ours
SHED_BY_LEAVES = 0.5  # share of the rain that the leaves over pots let in: ours
GROWN_OVER_OPENINGS = 3.0  # ground that grown leaves cover, over the openings of their pots: ours
LARGEST_REW_MM, LARGEST_TEW_MM = 12.0, 29.0  # FAO-56 Table 19, p. 144
REW_OF_AVAILABLE_M, TEW_OF_AVAILABLE_M = 0.06, 0.14  # a line through the middles of FAO-56 Table 19: ours

Kc = Annotated[float, Field(ge=0, le=2.5)]


class Planting(Table):
    """What grows in a bed, from when, and its FAO-56 numbers where they differ from the table's."""

    planted: EitherDay = Field(title="Sown or planted out (month-day)", description="day of sowing or planting out")
    days: list[Annotated[int, Field(ge=0, le=1000)]] | None = Field(
        title="Its four stages, days",
        default=None,
        min_length=4,
        max_length=4,
        description="lengths of the four growth stages, days",
    )
    kc: list[Kc] | None = Field(
        title="Kc at first, in full leaf, at the end",
        default=None,
        min_length=3,
        max_length=3,
        description="Kc of the three stages: water use against cut grass",
    )
    kcb: list[Kc] | None = Field(
        title="Kcb at first, in full leaf, at the end",
        default=None,
        min_length=3,
        max_length=3,
        description="Kcb of the three stages: Kc without what wet soil gives",
    )
    p: Annotated[float, Field(ge=0, le=0.95)] | None = Field(
        title="Share of the soil's water it takes freely", default=None, description="depletion fraction without stress"
    )
    root_m: list[Annotated[float, Field(gt=0, le=10)]] | None = Field(
        title="Roots at first and full grown, m",
        default=None,
        min_length=2,
        max_length=2,
        description="root depth at sowing and at full depth, m",
    )
    height_m: Annotated[float, Field(gt=0, le=100)] | None = Field(
        title="Full height, m", default=None, description="full height, m"
    )
    perennial: bool | None = Field(
        title="It stands for years", default=None, description="roots and height full from the first day"
    )
    ground_share: Share = Field(
        title="Share of the bed that it takes", default=1.0, description="share of the bed's ground that it takes"
    )
    crop: CropKey | None = Field(
        title="Crop", default=None, validate_default=True, description="a key of the crops table"
    )

    def printed_stages(self, *, south: bool) -> StageLengths | None:
        """The row of the crops table that the stage lengths come from; None where the planting gives its own.

        south: whether the garden lies south of the equator.
        """
        if self.days is not None or self.crop is None:
            return None
        return stage_days(find_crop(self.crop), self.planted.month, south=south)

    def stage_lengths(self, *, south: bool) -> tuple[int, ...]:
        """Lengths of the four growth stages [days]: the planting's own, else those of `printed_stages`."""
        printed = self.printed_stages(south=south)
        return printed.days if printed else tuple(self.days or ())

    @field_validator("days")
    @classmethod
    def _grows(cls, days: list[int] | None) -> list[int] | None:
        if days is not None and sum(days) == 0:
            raise ValueError("write at least one day in all")
        return days

    @field_validator("root_m")
    @classmethod
    def _roots_grow(cls, root_m: list[float] | None) -> list[float] | None:
        if root_m is not None and root_m[0] > root_m[1]:
            raise ValueError("roots do not shrink; write the depth at sowing first, then the full depth")
        return root_m

    @field_validator("crop")
    @classmethod
    def _all_numbers_are_known(cls, crop: str | None, info: ValidationInfo) -> str | None:
        left_out = [key for key in ("days", "kc", "p", "root_m") if is_left_out(key, info)]
        if "kc" in left_out and not is_left_out("kcb", info):
            left_out.remove("kc")
        if crop is None and left_out:
            numbers = f"{', '.join(left_out)} as well"
            typed = f'add crop = "…" (waterbudget crops lists them), or {numbers}'
            raise ValueError(Said(typed, f"name a crop, or tell {numbers}"))
        if crop is not None and "days" in left_out and not find_crop(crop).stages:
            raise ValueError("its stage lengths are not in the table; add days = [initial, development, mid, late]")
        return crop


class Bed(Table):
    """A bed or a group of pots, its soil and what grows in it."""

    name: Name = Field(title="Name", description="the bed's name")
    pots: Count | None = Field(title="How many pots", default=None, description="the bed is so many alike pots")
    pot_litres: Positive | None = Field(
        title="Compost in one pot, L", default=None, validate_default=True, description="litres of compost in one pot"
    )
    pot_diameter_cm: Positive | None = Field(
        title="A pot's opening, cm across",
        default=None,
        validate_default=True,
        description="across the opening of one pot, cm",
    )
    area_m2: Positive | None = Field(
        title="Area, m²",
        default=None,
        validate_default=True,
        description="area in m²; of pots the ground that the grown leaves cover",
    )
    zone: str | None = Field(
        title="Line that waters it",
        default=None,
        description="name of the zone that waters it; without it the bed lives on rain",
    )
    share: NotNegative | None = Field(
        title="Its weight among the line's beds",
        default=None,
        description="weight among the beds of its zone; default: its area",
    )
    available_water_mm_m: Annotated[float, Field(gt=0, le=1000)] | None = Field(
        title="Water the soil holds, mm a metre",
        default=None,
        description="water between field capacity and wilting point, mm per m of depth",
    )
    soil: SoilKey | None = Field(
        title="Soil", default=None, validate_default=True, description="a key of the soils table"
    )
    tew_mm: Positive | None = Field(
        title="Water the top layer gives off in all, mm",
        default=None,
        description="total evaporable water of the top layer, mm",
    )
    rew_mm: NotNegative | None = Field(
        title="Water the top layer gives off freely, mm",
        default=None,
        validate_default=True,
        description="readily evaporable water of the top layer, mm",
    )
    root_limit_m: Positive | None = Field(
        title="Roots stop at, m", default=None, description="depth that roots cannot pass, m"
    )
    rain_share: Fraction | None = Field(
        title="Share of the rain that reaches it",
        default=None,
        description="share of the rain that reaches the bed, 0 under a tunnel",
    )
    et_factor: Annotated[float, Field(ge=0, le=2)] = Field(
        title="Water use under its cover, 1 in the open", default=1.0, description="below 1 under net or shade"
    )
    mulch_cover: Fraction = Field(
        title="Share under straw, leaves or compost",
        default=0.0,
        description="share of the ground under straw, leaves or compost",
    )
    start_depleted: Fraction = Field(
        title="Share of its water missing on the first day",
        default=0.0,
        description="share of what its soil can give (TAW, TEW) missing at first",
    )
    largest_loss: Fraction | None = Field(
        title="Largest loss of the harvest you would take, as a share",
        default=None,
        description="largest share of its yield that its owner would lose; plans beyond it come last",
    )
    exposed: bool = Field(
        title="A tall row that stands alone", default=False, description="a stand taller or freer than all around it"
    )
    width_m: Positive | None = Field(
        title="Width across the row, m", default=None, validate_default=True, description="width across the row, m"
    )
    planting: list[Planting] = Field(default_factory=list, description="plantings, together on at most all the ground")

    @property
    def available_mm_m(self) -> float:
        """Available water [mm/m]: the site's own, else that of the soil, else of pots that of compost."""
        return _available_mm_m(self.available_water_mm_m, self.soil)

    @property
    def rew(self) -> float:
        """Readily evaporable water REW [mm]: the site's own, else that of the soil or after its available water."""
        return _evaporable_mm(self.available_water_mm_m, self.soil)[0] if self.rew_mm is None else self.rew_mm

    @property
    def tew(self) -> float:
        """Total evaporable water TEW [mm], like `rew`."""
        return _evaporable_mm(self.available_water_mm_m, self.soil)[1] if self.tew_mm is None else self.tew_mm

    @property
    def rain_part(self) -> float:
        """Share of the rain that reaches the bed, or the openings of its pots."""
        if self.rain_share is not None:
            return self.rain_share
        return 1.0 if self.pots is None else SHED_BY_LEAVES

    @property
    def openings_m2(self) -> float:
        """Openings of all its pots [m²]; 0 of a bed without pots."""
        return (self.pots or 0) * math.pi / 4.0 * ((self.pot_diameter_cm or 0.0) / CM_PER_M) ** 2

    @property
    def ground_m2(self) -> float:
        """Its area [m²]; of pots that give none, the ground that their grown leaves cover."""
        return self.openings_m2 * GROWN_OVER_OPENINGS if self.area_m2 is None else self.area_m2

    @property
    def opening(self) -> float:
        """Area that takes rain over the ground: 1, or of pots that of their openings, which may be above 1."""
        return 1.0 if self.pots is None else self.openings_m2 / self.ground_m2

    @property
    def pots_taw_mm(self) -> float | None:
        """Total available water of the pots over their ground [mm]; None of a bed without pots."""
        if self.pots is None:
            return None
        return self.available_mm_m / MM_PER_M * self.pots * (self.pot_litres or 0.0) / self.ground_m2

    @property
    def weight(self) -> float:
        """Share of the zone's water before it is divided by the sum of its beds."""
        return self.ground_m2 if self.share is None else self.share

    @field_validator("pot_litres", "pot_diameter_cm")
    @classmethod
    def _goes_with_pots(cls, size: float | None, info: ValidationInfo) -> float | None:
        if size is None and info.data.get("pots") is not None:
            raise ValueError("pots need it; give pots, pot_litres and pot_diameter_cm")
        is_told = info.field_name == "pot_diameter_cm" and not is_left_out("pot_litres", info)
        if size is not None and is_left_out("pots", info) and not is_told:
            raise ValueError("needs pots; give pots, pot_litres and pot_diameter_cm, or none of them")
        return size

    @field_validator("area_m2")
    @classmethod
    def _has_ground(cls, area_m2: float | None, info: ValidationInfo) -> float | None:
        if area_m2 is None and is_left_out("pots", info):
            raise ValueError(f"add area_m2 = … ({cls.model_fields['area_m2'].description})")
        return area_m2

    @field_validator("soil")
    @classmethod
    def _gives_the_water(cls, soil: str | None, info: ValidationInfo) -> str | None:
        if soil is None and is_left_out("available_water_mm_m", info) and is_left_out("pots", info):
            raise ValueError('add soil = "…" (waterbudget soils lists them) or available_water_mm_m = …')
        return soil

    @field_validator("rew_mm")
    @classmethod
    def _is_part_of_the_whole(cls, rew_mm: float | None, info: ValidationInfo) -> float | None:
        if not {"soil", "available_water_mm_m", "tew_mm"} <= info.data.keys():
            return rew_mm
        of_soil = _evaporable_mm(info.data["available_water_mm_m"], info.data["soil"])
        tew_mm = of_soil[1] if info.data["tew_mm"] is None else info.data["tew_mm"]
        if rew_mm is not None and rew_mm > tew_mm:
            raise ValueError(f"write at most tew_mm, {tew_mm:_.15g}")
        if rew_mm is None and of_soil[0] > tew_mm:
            raise ValueError(f"that of the soil, {of_soil[0]:_.15g}, is above tew_mm; write at most {tew_mm:_.15g}")
        return rew_mm

    @field_validator("root_limit_m")
    @classmethod
    def _is_no_pot(cls, root_limit_m: float | None, info: ValidationInfo) -> float | None:
        if root_limit_m is not None and info.data.get("pots") is not None:
            raise ValueError("pots limit roots by pot_litres; leave it out")
        return root_limit_m

    @field_validator("width_m")
    @classmethod
    def _is_known_of_an_exposed_stand(cls, width_m: float | None, info: ValidationInfo) -> float | None:
        if width_m is None and info.data.get("exposed"):
            raise ValueError("exposed = true needs it, in metres across the row")
        return width_m


def _available_mm_m(of_the_site: float | None, soil: str | None) -> float:
    if of_the_site is not None:
        return of_the_site
    return COMPOST_MM_M if soil is None else find_soil(soil).available_water_mm_m


def _evaporable_mm(available_mm_m: float | None, soil: str | None) -> tuple[float, float]:
    """REW and TEW [mm] of the soil; where none is named, after the available water."""
    if soil is not None:
        return find_soil(soil).rew_mm, find_soil(soil).tew_mm
    water_mm_m = _available_mm_m(available_mm_m, None)
    return min(LARGEST_REW_MM, REW_OF_AVAILABLE_M * water_mm_m), min(LARGEST_TEW_MM, TEW_OF_AVAILABLE_M * water_mm_m)
