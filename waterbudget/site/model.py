"""The site file as a checked, frozen model: every key of a garden, with its unit, range and default.

A check that looks at two keys stands at the later one and asks for the earlier in `info.data`, which holds the keys
that are free of faults: so one broken key hides no other fault and causes no second. What the tables say of each
other is checked in `links`.
"""

import datetime as dt
import re
from collections.abc import Callable
from typing import Annotated, Literal, NamedTuple

import numpy as np
from pydantic import AfterValidator, Field, PlainValidator, ValidationInfo, field_validator

from waterbudget.physics.shape import SHAPES, Shape
from waterbudget.site.line import Battery, Line, Pump
from waterbudget.site.table import Fraction, NotNegative, Positive, Table
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import StageLengths, find_crop, stage_days
from waterbudget.tables.read import UnknownKeyError
from waterbudget.tables.soils import find_soil

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_YEARLY_DAYS = 365  # a planting that comes back every year has to end before it begins again
LONGEST_NAME = 80  # letters
NAMED_AT_MOST = 3  # words that may have been meant
FIRST_YEAR, LAST_YEAR = 1700, 2200  # the years that weather can have

PAIRS = {"skip_rain_days": "skip_rain_mm", "hot_minutes": "hot_above_c"}  # second key: first key of a zone's pairs

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
MONTH_DAY = re.compile("([0-9]{2})-([0-9]{2})")
STATION_ID = re.compile("[0-9A-Za-z]+")
FULL_DATE = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")

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
    match = MONTH_DAY.fullmatch(value) if isinstance(value, str) else None
    if not match:
        raise ValueError('write month and day as "MM-DD", such as "05-10" for 10 May')
    month, day = int(match[1]), int(match[2])
    if (month, day) == (2, 29):
        raise ValueError('29 February does not come every year; write "02-28" or "03-01"')
    if _is_a_day(month, day):
        return MonthDay(month, day)
    if _is_a_day(day, month):
        raise ValueError(f'the month comes first; write "{MonthDay(day, month)}"')
    raise ValueError('no year has such a day; write month and day as "MM-DD", such as "05-10" for 10 May')


def _is_a_day(month: int, day: int) -> bool:
    try:
        dt.date(2001, month, day)
    except ValueError:
        return False
    return True


def _date(value: object) -> dt.date:
    if isinstance(value, str) and FULL_DATE.fullmatch(value):
        try:
            value = dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError("there is no such day; write a date as YYYY-MM-DD, such as 2031-05-01") from None
    if not isinstance(value, dt.date) or isinstance(value, dt.datetime):
        raise ValueError("write a date as YYYY-MM-DD, such as 2031-05-01")  # noqa: TRY004  # pydantic asks for this one
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise ValueError(f"write a date of the years {FIRST_YEAR} to {LAST_YEAR}, such as 2031-05-01")
    return value


def _planting_day(value: object) -> MonthDay | dt.date:
    if isinstance(value, MonthDay) or (isinstance(value, str) and MONTH_DAY.fullmatch(value)):
        return _month_day(value)
    if isinstance(value, dt.date) or (isinstance(value, str) and FULL_DATE.fullmatch(value)):
        return _date(value)
    raise ValueError('write "MM-DD" for every year, such as "05-10", or a full date for once, such as 2031-05-10')


def _on_one_line(text: str) -> str:
    if not text.strip():
        raise ValueError("write something between the quotes")
    if CONTROL.search(text):
        raise ValueError("write it without line breaks, tabs and other control characters")
    return text


def _names_a_day(weekdays: list[str]) -> list[str]:
    if not weekdays:
        raise ValueError('name at least one day, such as ["mon"], or leave the key out')
    return weekdays


def _key_of(find: Callable[[str], object], command: str) -> AfterValidator:
    """A check that a table has the key; the command lists the table."""

    def check(key: str) -> str:
        try:
            find(key)
        except UnknownKeyError as error:
            near = " or ".join(f'"{name}"' for name in error.nearest[:NAMED_AT_MOST])
            advice = f"did you mean {near}?" if near else "nothing is spelt like it"
            raise ValueError(f"unknown {error.kind}; {advice} (waterbudget {command} lists all)") from None
        return key

    return AfterValidator(check)


def _station_id(text: str) -> str:
    if not STATION_ID.fullmatch(text):
        raise ValueError("write letters and digits; waterbudget weather lists the stations near by")
    return text


def _is_left_out(key: str, info: ValidationInfo) -> bool:
    """Whether an earlier key is absent, which is not so when it is there with a fault."""
    return key in info.data and info.data[key] is None


Text = Annotated[str, AfterValidator(_on_one_line)]
StationId = Annotated[str, AfterValidator(_station_id)]
Name = Annotated[str, Field(max_length=LONGEST_NAME), AfterValidator(_on_one_line)]
YearlyDay = Annotated[MonthDay, PlainValidator(_month_day)]
Day = Annotated[dt.date, PlainValidator(_date)]
PlantingDay = Annotated[MonthDay | dt.date, PlainValidator(_planting_day)]
Weekdays = Annotated[list[Weekday], AfterValidator(_names_a_day)]
CoveringKey = Annotated[str, _key_of(find_covering, "roofs")]
CropKey = Annotated[str, _key_of(find_crop, "crops")]
SoilKey = Annotated[str, _key_of(find_soil, "soils")]


class Place(Table):
    """Where the garden is; latitude and elevation serve the reference evapotranspiration."""

    name: Name = Field(description="the garden's name")
    latitude_deg: Annotated[float, Field(ge=-90, le=90)] | None = Field(
        default=None, description="degrees north, south negative"
    )
    longitude_deg: Annotated[float, Field(ge=-180, le=180)] | None = Field(
        default=None, description="degrees east, west negative"
    )
    elevation_m: Annotated[float, Field(ge=-430, le=9000)] | None = Field(
        default=None, description="metres above the sea"
    )


class Model(Table):
    """Choices of the model that few gardens change."""

    release: Literal["after_spill", "before_spill"] = Field(
        default="after_spill", description="order of overflow and draw"
    )
    kc_bare: Annotated[float, Field(ge=0, le=2)] = Field(default=0.30, description="crop coefficient between plantings")
    root_start_m: Annotated[float, Field(gt=0, le=3)] = Field(
        default=0.15, description="root depth of a new sowing, and depth of a bare bed"
    )
    adjust_p: bool = Field(default=True, description="adjust p to the day's ETc (FAO-56 Table 22, footnote)")


class WeatherSource(Table):
    """Where the weather comes from."""

    file: Text | None = Field(default=None, description="weather file, relative to the site file")
    station: StationId | None = Field(default=None, description="id of a weather station")
    nearest: bool = Field(default=False, description="take the nearest weather station with rain")
    fill: bool = Field(default=False, description="mend gaps in the weather of a station")
    gauge: Text | None = Field(default=None, description="file of the garden's own rain readings")
    wind_height_m: Annotated[float, Field(ge=0.5, le=200)] = Field(
        default=2.0, description="height of the wind readings, m; of a station 10"
    )

    @field_validator("station", "nearest")
    @classmethod
    def _is_the_only_source(cls, value: object, info: ValidationInfo) -> object:
        other = next((key for key in ("file", "station") if info.data.get(key) is not None), None)
        if value not in {None, False} and other:
            raise ValueError(f"{other} is given too; leave out one of the two")
        return value

    @field_validator("fill")
    @classmethod
    def _has_a_station(cls, fill: bool, info: ValidationInfo) -> bool:  # noqa: FBT001 - as pydantic calls it
        if fill and info.data.get("file") is not None:
            raise ValueError("goes with station or nearest; a weather file has no gaps")
        return fill


class Prices(Table):
    """What water costs, in any money."""

    water_per_m3: Positive | None = Field(default=None, description="price of a cubic metre of mains water")


class Effort(Table):
    """What watering takes of a person's time, minutes each; the defaults are common practice, no source."""

    valve_minutes: NotNegative = Field(default=1.0, description="opening and closing a valve, once a run")
    hose_minutes: NotNegative = Field(default=2.0, description="moving a hose to a bed, or opening its branch")
    can_minutes: NotNegative = Field(default=2.0, description="filling, carrying and pouring a can")
    can_l: Positive = Field(default=10.0, description="litres of a can")
    look_minutes: NotNegative = Field(default=1.0, description="feeling the soil of a zone whose plan asks for it")
    battery_minutes: NotNegative = Field(default=5.0, description="charging and swapping a battery")
    battery_run_minutes: Positive = Field(default=360.0, description="minutes that a zone runs on one charge")
    by_hose: list[Text] = Field(default_factory=list, description="zones where something is moved at every bed")
    by_can: list[Text] = Field(default_factory=list, description="zones and draws that are carried in cans")
    by_battery: list[Text] = Field(default_factory=list, description="zones that a battery opens or pumps by itself")


class Roof(Table):
    """A roof and its way into a tank."""

    name: Name = Field(description="the roof's name")
    tank: str = Field(description="name of the tank that its downpipe feeds")
    area_m2: Positive = Field(description="plan (horizontal) area in m²")
    runoff_coefficient: Fraction | None = Field(default=None, description="share of the rain that runs off, 0 to 1")
    covering: CoveringKey | None = Field(
        default=None, validate_default=True, description="a key of the roof coverings table"
    )
    loss_mm: NotNegative = Field(default=0.0, description="wetting loss of each rain day, mm")
    first_flush_l: NotNegative = Field(default=0.0, description="litres thrown away on each day with runoff")
    filter_efficiency: Fraction = Field(default=0.9, description="share that the filter passes on, 0 to 1")

    @property
    def runoff(self) -> float:
        """Runoff coefficient: the site's own, else that of the covering."""
        if self.runoff_coefficient is not None:
            return self.runoff_coefficient
        return find_covering(self.covering or "").runoff_coefficient

    @field_validator("covering")
    @classmethod
    def _gives_the_runoff(cls, covering: str | None, info: ValidationInfo) -> str | None:
        if covering is None and _is_left_out("runoff_coefficient", info):
            raise ValueError('add covering = "…" (waterbudget roofs lists them) or runoff_coefficient = …')
        return covering


class Tank(Table):
    """A store of rainwater."""

    name: Name = Field(description="the store's name")
    capacity_l: Positive = Field(description="litres up to the overflow")
    dead_l: NotNegative = Field(default=0.0, description="litres below the outlet, never drawn")
    start_l: NotNegative = Field(description="litres in the store on the first day; nobody can guess it")
    overflow_to: str | None = Field(default=None, description="name of the tank that takes the overflow")
    loss_l_per_day: NotNegative = Field(default=0.0, description="leak or evaporation, litres a day")
    mains: Literal["none", "direct", "float"] = Field(default="none", description="how mains water helps out")
    float_below_l: NotNegative | None = Field(
        default=None, validate_default=True, description="level at which the float valve opens, L"
    )
    float_to_l: NotNegative | None = Field(
        default=None, validate_default=True, description="level at which the float valve closes, L"
    )
    shape: Literal["upright-cylinder", "box", "tapered", "lying-cylinder"] | None = Field(
        default=None, description="shape of the inside, to tell litres from a dipped depth"
    )
    inner_diameter_m: Positive | None = Field(default=None, validate_default=True, description="inner diameter, m")
    inner_top_diameter_m: Positive | None = Field(
        default=None, validate_default=True, description="inner diameter at the overflow, m"
    )
    inner_bottom_diameter_m: Positive | None = Field(
        default=None, validate_default=True, description="inner diameter of the floor, m"
    )
    inner_length_m: Positive | None = Field(default=None, validate_default=True, description="inner length, m")
    inner_width_m: Positive | None = Field(default=None, validate_default=True, description="inner width, m")
    inner_height_m: Positive | None = Field(
        default=None, validate_default=True, description="inner height up to the overflow, m"
    )

    @property
    def inside(self) -> Shape | None:
        """The shape of the inside, which tells litres from a depth; None where the site gives none."""
        if self.shape is None:
            return None
        kind = SHAPES[self.shape]
        return kind._make(np.asarray(getattr(self, size)) for size in kind._fields)

    @field_validator(*dict.fromkeys(size for kind in SHAPES.values() for size in kind._fields))
    @classmethod
    def _is_given_for_the_shape(cls, size_m: float | None, info: ValidationInfo) -> float | None:
        shape = info.data.get("shape")
        if size_m is None and shape is not None and info.field_name in SHAPES[shape]._fields:
            raise ValueError(f'shape = "{shape}" needs it, in metres')
        return size_m

    @field_validator("float_below_l", "float_to_l")
    @classmethod
    def _goes_with_the_float_valve(cls, level_l: float | None, info: ValidationInfo) -> float | None:
        mains = info.data.get("mains")
        if mains == "float" and level_l is None:
            raise ValueError('mains = "float" needs it, in litres')
        if mains in {"none", "direct"} and level_l is not None:
            raise ValueError('goes with mains = "float" only; leave it out, or write that')
        return level_l

    @field_validator("dead_l", "start_l", "float_below_l", "float_to_l")
    @classmethod
    def _fits(cls, level_l: float | None, info: ValidationInfo) -> float | None:
        capacity_l = info.data.get("capacity_l")
        if level_l is not None and capacity_l is not None and level_l > capacity_l:
            raise ValueError(f"write at most capacity_l, {capacity_l:_.15g}")
        return level_l

    @field_validator("float_to_l")
    @classmethod
    def _closes_above(cls, float_to_l: float | None, info: ValidationInfo) -> float | None:
        float_below_l = info.data.get("float_below_l")
        if float_to_l is not None and float_below_l is not None and float_to_l < float_below_l:
            raise ValueError(f"write at least float_below_l, {float_below_l:_.15g}")
        return float_to_l


class Zone(Table):
    """One valve: what it waters, how much and when."""

    name: Name = Field(description="the watering zone's name")
    tank: str = Field(description="name of the tank it draws from")
    line: list[Line] = Field(default_factory=list, description="its pipe and jets, from which the flow follows")
    flow_l_min: Positive | None = Field(
        default=None, validate_default=True, description="flow of the open valve, L/min"
    )
    minutes: NotNegative = Field(description="minutes of one run")
    runs_per_day: Annotated[int, Field(ge=1, le=96)] = Field(default=1, description="runs on a watering day")
    weekdays: Weekdays | None = Field(default=None, description="days of the week to water on")
    every_days: Annotated[int, Field(ge=1, le=366)] = Field(default=1, description="water every n days")
    every_from: Day | None = Field(default=None, description="day that every_days counts from")
    season_from: YearlyDay | None = Field(default=None, alias="from", description="first day of the season, MM-DD")
    season_to: YearlyDay | None = Field(default=None, alias="to", description="last day of the season, MM-DD")
    plan: Literal["timer", "dry", "refill"] = Field(default="timer", description="what opens the valve")
    dry_at: NotNegative = Field(default=1.0, description='share of RAW used up that opens the valve, with plan = "dry"')
    leave_mm: NotNegative = Field(default=0.0, description='depletion left for rain, mm, with plan = "refill"')
    skip_rain_mm: Positive | None = Field(default=None, description="rain that makes a run be skipped, mm")
    skip_rain_days: Annotated[int, Field(ge=1, le=60)] | None = Field(
        default=None, validate_default=True, description="days that this rain fell in"
    )
    hot_above_c: Annotated[float, Field(ge=-60, le=60)] | None = Field(
        default=None, description="day maximum of a hot day, °C"
    )
    hot_minutes: NotNegative | None = Field(
        default=None, validate_default=True, description="minutes of one run on hot days"
    )
    priority: int = Field(default=1, description="lowest is served first when the tank runs short")
    efficiency: Annotated[float, Field(gt=0, le=1)] = Field(default=0.8, description="share that reaches the root zone")

    @property
    def hose(self) -> Line | None:
        """Its pipe and jets, where the site tells them."""
        return self.line[0] if self.line else None

    @field_validator("flow_l_min")
    @classmethod
    def _has_a_flow(cls, flow_l_min: float | None, info: ValidationInfo) -> float | None:
        if flow_l_min is None and info.data.get("line") == []:
            raise ValueError(f"add flow_l_min = … ({cls.model_fields['flow_l_min'].description})")
        return flow_l_min

    @field_validator("every_days")
    @classmethod
    def _is_without_weekdays(cls, every_days: int, info: ValidationInfo) -> int:
        # runs only where every_days is given, as its default is not validated
        if not _is_left_out("weekdays", info):
            raise ValueError("weekdays are given too; leave out one of the two")
        return every_days

    @field_validator("skip_rain_days", "hot_minutes")
    @classmethod
    def _goes_in_pairs(cls, value: float | None, info: ValidationInfo) -> float | None:
        first = PAIRS[str(info.field_name)]
        if value is None and info.data.get(first) is not None:
            raise ValueError(f"{first} needs it; give both or neither")
        if value is not None and _is_left_out(first, info):
            raise ValueError(f"needs {first}; give both or neither")
        return value


class Draw(Table):
    """Any other regular use of a store: cans, hens, washing."""

    name: Name = Field(description="what the water is for")
    tank: str = Field(description="name of the tank it comes from")
    l_per_day: NotNegative = Field(description="litres on each of its days")
    weekdays: Weekdays | None = Field(default=None, description="days of the week; default all")
    season_from: YearlyDay | None = Field(default=None, alias="from", description="first day of the season, MM-DD")
    season_to: YearlyDay | None = Field(default=None, alias="to", description="last day of the season, MM-DD")
    priority: int = Field(default=0, description="lowest is served first when the tank runs short")


class Planting(Table):
    """What grows in a bed, from when, and its FAO-56 numbers where they differ from the table's."""

    planted: PlantingDay = Field(description="day of sowing or planting out")
    days: list[Annotated[int, Field(ge=0, le=1000)]] | None = Field(
        default=None, min_length=4, max_length=4, description="lengths of the four growth stages, days"
    )
    kc: list[Annotated[float, Field(ge=0, le=2.5)]] | None = Field(
        default=None, min_length=3, max_length=3, description="Kc of the initial, mid and end stage"
    )
    p: Annotated[float, Field(ge=0, lt=1)] | None = Field(default=None, description="depletion fraction without stress")
    root_m: list[Annotated[float, Field(gt=0, le=10)]] | None = Field(
        default=None, min_length=2, max_length=2, description="root depth at sowing and at full depth, m"
    )
    crop: CropKey | None = Field(default=None, validate_default=True, description="a key of the crops table")

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
        left_out = [key for key in ("days", "kc", "p", "root_m") if _is_left_out(key, info)]
        if crop is None and left_out:
            raise ValueError(f'add crop = "…" (waterbudget crops lists them), or {", ".join(left_out)} as well')
        if crop is not None and "days" in left_out and not find_crop(crop).stages:
            raise ValueError("its stage lengths are not in the table; add days = [initial, development, mid, late]")
        return crop


class Bed(Table):
    """A bed, its soil and what grows in it."""

    name: Name = Field(description="the bed's name")
    area_m2: Positive = Field(description="area in m²")
    zone: str | None = Field(
        default=None, description="name of the zone that waters it; without it the bed lives on rain"
    )
    share: NotNegative | None = Field(default=None, description="weight among the beds of its zone; default area_m2")
    available_water_mm_m: Annotated[float, Field(gt=0, le=1000)] | None = Field(
        default=None, description="water between field capacity and wilting point, mm per m of depth"
    )
    soil: SoilKey | None = Field(default=None, validate_default=True, description="a key of the soils table")
    root_limit_m: Positive | None = Field(default=None, description="depth that roots cannot pass, m")
    rain_share: Fraction = Field(default=1.0, description="share of the rain that reaches the bed, 0 under a tunnel")
    et_factor: Annotated[float, Field(ge=0, le=2)] = Field(default=1.0, description="below 1 under net or shade")
    start_depleted: Fraction = Field(default=0.0, description="share of TAW missing on the first day")
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

    @field_validator("soil")
    @classmethod
    def _gives_the_water(cls, soil: str | None, info: ValidationInfo) -> str | None:
        if soil is None and _is_left_out("available_water_mm_m", info):
            raise ValueError('add soil = "…" (waterbudget soils lists them) or available_water_mm_m = …')
        return soil


class Site(Table):
    """A garden as its site file tells it."""

    site: Place
    model: Model = Field(default_factory=Model)
    weather: WeatherSource = Field(default_factory=WeatherSource)
    prices: Prices = Field(default_factory=Prices)
    roof: list[Roof] = Field(default_factory=list)
    tank: list[Tank] = Field(min_length=1)
    zone: list[Zone] = Field(default_factory=list)
    draw: list[Draw] = Field(default_factory=list)
    bed: list[Bed] = Field(default_factory=list)
    effort: Effort = Field(default_factory=Effort)
    pump: Pump | None = None
    battery: Battery | None = None

    @field_validator("effort")
    @classmethod
    def _names_each_once(cls, effort: Effort, info: ValidationInfo) -> Effort:
        if not {"zone", "draw"} <= info.data.keys():
            return effort
        zones = [zone.name for zone in info.data["zone"]]
        takers = [*zones, *(draw.name for draw in info.data["draw"])]
        named: list[str] = []
        for key, known in (("by_hose", zones), ("by_can", takers), ("by_battery", zones)):
            for name in getattr(effort, key):
                if name not in known:
                    there = ", ".join(f'"{other}"' for other in known) or "none"
                    raise ValueError(f'{key} names "{name}", which is not there; write names of {there}')
                if name in named:
                    raise ValueError(f'names "{name}" twice; name it once, in one of by_hose, by_can and by_battery')
                named.append(name)
        return effort

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
