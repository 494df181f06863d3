"""The site file as a checked, frozen model: every key of a garden, with its unit, range and default."""

import datetime as dt
import re
from typing import Annotated, Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, model_validator

from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.soils import find_soil

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_YEARLY_DAYS = 365  # a planting that comes back every year has to end before it begins again

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class MonthDay(NamedTuple):
    """A day that comes every year."""

    month: int
    day: int

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


def _month_day(value: object) -> MonthDay:
    if isinstance(value, MonthDay):
        return value
    match = re.fullmatch(r"(\d\d)-(\d\d)", value) if isinstance(value, str) else None
    if match:
        month, day = int(match[1]), int(match[2])
        if (month, day) == (2, 29):
            raise ValueError('29 February does not come every year; write "02-28" or "03-01"')
        try:
            dt.date(2001, month, day)
        except ValueError:
            pass
        else:
            return MonthDay(month, day)
    raise ValueError('write month and day as "MM-DD", such as "05-10" for 10 May')


def _date(value: object) -> dt.date:
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            pass
    raise ValueError("write a date as YYYY-MM-DD, such as 2031-05-01")


def _day_or_month_day(value: object) -> MonthDay | dt.date:
    if isinstance(value, MonthDay) or (isinstance(value, str) and re.fullmatch(r"\d\d-\d\d", value)):
        return _month_day(value)
    try:
        return _date(value)
    except ValueError:
        raise ValueError(
            'write "MM-DD" for every year, such as "05-10", or a full date for once, such as 2031-05-10'
        ) from None


Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"\S")]
Fraction = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
YearlyDay = Annotated[MonthDay, PlainValidator(_month_day)]
Day = Annotated[dt.date, PlainValidator(_date)]
PlantingDay = Annotated[MonthDay | dt.date, PlainValidator(_day_or_month_day)]


class Table(BaseModel):
    """What every table of the site file has in common: frozen, strict, no unknown key, no infinite number."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Place(Table):
    """Where the garden is; latitude and elevation serve the reference evapotranspiration."""

    name: Name = Field(description="the garden's name")
    latitude_deg: Annotated[float, Field(ge=-90, le=90)] | None = Field(None, description="degrees north, south negative")
    longitude_deg: Annotated[float, Field(ge=-180, le=180)] | None = Field(
        None, description="degrees east, west negative"
    )
    elevation_m: Annotated[float, Field(ge=-430, le=9000)] | None = Field(None, description="metres above the sea")


class Model(Table):
    """Choices of the model that few gardens change."""

    release: Literal["after_spill", "before_spill"] = Field("after_spill", description="order of overflow and draw")
    kc_bare: Annotated[float, Field(ge=0, le=2)] = Field(0.30, description="crop coefficient between plantings")
    root_start_m: Annotated[float, Field(gt=0, le=3)] = Field(
        0.15, description="root depth of a new sowing, and depth of a bare bed"
    )
    adjust_p: bool = Field(True, description="adjust p to the day's ETc (FAO-56 Table 22, footnote)")  # noqa: FBT003


class WeatherSource(Table):
    """Where the weather comes from."""

    file: str | None = Field(None, min_length=1, description="weather file, relative to the site file")
    wind_height_m: Annotated[float, Field(ge=0.5, le=200)] = Field(2.0, description="height of the wind readings, m")


class Roof(Table):
    """A roof and its way into a tank."""

    name: Name = Field(description="the roof's name")
    tank: str = Field(description="name of the tank that its downpipe feeds")
    area_m2: Positive = Field(description="plan (horizontal) area in m²")
    covering: str | None = Field(None, description="a key of the roof coverings table")
    runoff_coefficient: Fraction | None = Field(None, description="share of the rain that runs off, 0 to 1")
    loss_mm: NotNegative = Field(0.0, description="wetting loss of each rain day, mm")
    first_flush_l: NotNegative = Field(0.0, description="litres thrown away on each day with runoff")
    filter_efficiency: Fraction = Field(0.9, description="share that the filter passes on, 0 to 1")

    @property
    def runoff(self) -> float:
        """Runoff coefficient: the site's own, else that of the covering."""
        if self.runoff_coefficient is not None:
            return self.runoff_coefficient
        return find_covering(self.covering or "").runoff_coefficient

    @model_validator(mode="after")
    def _has_a_runoff(self) -> Self:
        if self.covering is not None:
            find_covering(self.covering)
        elif self.runoff_coefficient is None:
            raise ValueError("give a covering (waterbudget roofs lists them) or a runoff_coefficient")
        return self


class Tank(Table):
    """A store of rainwater."""

    name: Name = Field(description="the store's name")
    capacity_l: Positive = Field(description="litres up to the overflow")
    dead_l: NotNegative = Field(0.0, description="litres below the outlet, never drawn")
    start_l: NotNegative = Field(description="litres in the store on the first day; nobody can guess it")
    overflow_to: str | None = Field(None, description="name of the tank that takes the overflow")
    loss_l_per_day: NotNegative = Field(0.0, description="leak or evaporation, litres a day")
    mains: Literal["none", "direct", "float"] = Field("none", description="how mains water helps out")
    float_below_l: NotNegative | None = Field(None, description="level at which the float valve opens, L")
    float_to_l: NotNegative | None = Field(None, description="level at which the float valve closes, L")

    @model_validator(mode="after")
    def _levels_in_order(self) -> Self:
        for key, value in (("dead_l", self.dead_l), ("start_l", self.start_l)):
            if value > self.capacity_l:
                raise ValueError(f"{key} is {value:g}; write at most capacity_l, {self.capacity_l:g}")
        if self.mains != "float":
            if self.float_below_l is not None or self.float_to_l is not None:
                raise ValueError('float_below_l and float_to_l go with mains = "float"; leave them out or set it')
        elif self.float_below_l is None or self.float_to_l is None:
            raise ValueError('mains = "float" needs float_below_l and float_to_l')
        elif not self.float_below_l <= self.float_to_l <= self.capacity_l:
            raise ValueError(
                f"float_below_l {self.float_below_l:g}, float_to_l {self.float_to_l:g} and capacity_l "
                f"{self.capacity_l:g} have to rise in this order"
            )
        return self


class Zone(Table):
    """One valve: what it waters, how much and when."""

    name: Name = Field(description="the watering zone's name")
    tank: str = Field(description="name of the tank it draws from")
    flow_l_min: Positive = Field(description="flow of the open valve, L/min")
    minutes: NotNegative = Field(description="minutes of one run")
    runs_per_day: Annotated[int, Field(ge=1, le=96)] = Field(1, description="runs on a watering day")
    every_days: Annotated[int, Field(ge=1, le=366)] = Field(1, description="water every n days")
    weekdays: list[Weekday] | None = Field(None, min_length=1, description="days of the week to water on")
    every_from: Day | None = Field(None, description="day that every_days counts from")
    season_from: YearlyDay | None = Field(None, alias="from", description="first day of the season, MM-DD")
    season_to: YearlyDay | None = Field(None, alias="to", description="last day of the season, MM-DD")
    plan: Literal["timer", "dry", "refill"] = Field("timer", description="what opens the valve")
    dry_at: NotNegative = Field(1.0, description='share of RAW used up that opens the valve, with plan = "dry"')
    leave_mm: NotNegative = Field(0.0, description='depletion left for rain, mm, with plan = "refill"')
    skip_rain_mm: Positive | None = Field(None, description="rain that makes a run be skipped, mm")
    skip_rain_days: Annotated[int, Field(ge=1, le=60)] | None = Field(None, description="days that this rain fell in")
    hot_above_c: Annotated[float, Field(ge=-60, le=60)] | None = Field(None, description="day maximum of a hot day, °C")
    hot_minutes: NotNegative | None = Field(None, description="minutes of one run on hot days")
    priority: int = Field(1, description="lowest is served first when the tank runs short")
    efficiency: Annotated[float, Field(gt=0, le=1)] = Field(0.8, description="share that reaches the root zone")

    @model_validator(mode="after")
    def _pairs(self) -> Self:
        if self.weekdays is not None and "every_days" in self.model_fields_set:
            raise ValueError("give weekdays or every_days, not both")
        for one, other in (("skip_rain_mm", "skip_rain_days"), ("hot_above_c", "hot_minutes")):
            if (getattr(self, one) is None) != (getattr(self, other) is None):
                raise ValueError(f"{one} and {other} go together; give both or neither")
        return self


class Draw(Table):
    """Any other regular use of a store: cans, hens, washing."""

    name: Name = Field(description="what the water is for")
    tank: str = Field(description="name of the tank it comes from")
    l_per_day: NotNegative = Field(description="litres on each of its days")
    weekdays: list[Weekday] | None = Field(None, min_length=1, description="days of the week; default all")
    season_from: YearlyDay | None = Field(None, alias="from", description="first day of the season, MM-DD")
    season_to: YearlyDay | None = Field(None, alias="to", description="last day of the season, MM-DD")
    priority: int = Field(0, description="lowest is served first when the tank runs short")


class Planting(Table):
    """What grows in a bed, from when, and its FAO-56 numbers where they differ from the table's."""

    crop: str | None = Field(None, description="a key of the crops table")
    planted: PlantingDay = Field(description="day of sowing or planting out")
    days: list[Annotated[int, Field(ge=0, le=1000)]] | None = Field(
        None, min_length=4, max_length=4, description="lengths of the four growth stages, days"
    )
    kc: list[Annotated[float, Field(ge=0, le=2.5)]] | None = Field(
        None, min_length=3, max_length=3, description="Kc of the initial, mid and end stage"
    )
    p: Annotated[float, Field(ge=0, lt=1)] | None = Field(None, description="depletion fraction without stress")
    root_m: list[Annotated[float, Field(gt=0, le=10)]] | None = Field(
        None, min_length=2, max_length=2, description="root depth at sowing and at full depth, m"
    )

    @model_validator(mode="after")
    def _numbers_or_a_crop(self) -> Self:
        if self.crop is not None:
            crop = find_crop(self.crop)
            if self.days is None and not any(stages.days for stages in crop.stages):
                raise ValueError(
                    f'no stage lengths are printed for "{self.crop}"; add days = [initial, development, mid, late]'
                )
        else:
            lacking = [key for key in ("days", "kc", "p", "root_m") if getattr(self, key) is None]
            if lacking:
                raise ValueError(f"give a crop (waterbudget crops lists them) or also {', '.join(lacking)}")
        if self.days is not None and sum(self.days) == 0:
            raise ValueError("days add up to 0; write at least one day")
        if self.days is not None and isinstance(self.planted, MonthDay) and sum(self.days) > LONGEST_YEARLY_DAYS:
            raise ValueError(
                f"days add up to {sum(self.days)}, over {LONGEST_YEARLY_DAYS}, so it would overlap with next year's; "
                "give planted as a full date"
            )
        if self.root_m is not None and self.root_m[0] > self.root_m[1]:
            raise ValueError("root_m falls from sowing to full depth; roots never shrink")
        return self


class Bed(Table):
    """A bed, its soil and what grows in it."""

    name: Name = Field(description="the bed's name")
    area_m2: Positive = Field(description="area in m²")
    zone: str | None = Field(None, description="name of the zone that waters it; without it the bed lives on rain")
    share: NotNegative | None = Field(None, description="weight among the beds of its zone; default area_m2")
    soil: str | None = Field(None, description="a key of the soils table")
    available_water_mm_m: Annotated[float, Field(gt=0, le=1000)] | None = Field(
        None, description="water between field capacity and wilting point, mm per m of depth"
    )
    root_limit_m: Positive | None = Field(None, description="depth that roots cannot pass, m")
    rain_share: Fraction = Field(1.0, description="share of the rain that reaches the bed, 0 under a tunnel")
    et_factor: Annotated[float, Field(ge=0, le=2)] = Field(1.0, description="below 1 under net or shade")
    start_depleted: Fraction = Field(0.0, description="share of TAW missing on the first day")
    planting: list[Planting] = Field(default_factory=list, description="plantings, not overlapping")

    @property
    def available_mm_m(self) -> float:
        """Available water [mm/m]: the site's own, else that of the soil."""
        if self.available_water_mm_m is not None:
            return self.available_water_mm_m
        return find_soil(self.soil or "").available_water_mm_m

    @property
    def weight(self) -> float:
        """Share of the zone's water before it is divided by the sum of its beds."""
        return self.area_m2 if self.share is None else self.share

    @model_validator(mode="after")
    def _has_a_soil(self) -> Self:
        if self.soil is not None:
            find_soil(self.soil)
        elif self.available_water_mm_m is None:
            raise ValueError("give a soil (waterbudget soils lists them) or available_water_mm_m")
        return self


class Site(Table):
    """A garden as its site file tells it."""

    site: Place
    model: Model = Field(default_factory=Model)
    weather: WeatherSource = Field(default_factory=WeatherSource)
    roof: list[Roof] = Field(default_factory=list)
    tank: list[Tank] = Field(min_length=1)
    zone: list[Zone] = Field(default_factory=list)
    draw: list[Draw] = Field(default_factory=list)
    bed: list[Bed] = Field(default_factory=list)

    @property
    def latitude_deg(self) -> float | None:
        """Degrees north."""
        return self.site.latitude_deg

    @property
    def longitude_deg(self) -> float | None:
        """Degrees east."""
        return self.site.longitude_deg

    @property
    def elevation_m(self) -> float | None:
        """Metres above the sea."""
        return self.site.elevation_m

    @property
    def is_south(self) -> bool:
        """Whether the garden lies south of the equator, where months stand for the other half of the year."""
        return (self.site.latitude_deg or 0.0) < 0.0

    @property
    def wind_height_m(self) -> float:
        """Height of the wind readings above the ground, m."""
        return self.weather.wind_height_m
