"""Who takes water from a tank: watering zones, and any other draw."""

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from waterbudget.site.dates import Day, YearlyDay
from waterbudget.site.line import Line
from waterbudget.site.table import Count, NotNegative, Positive, Share, Table
from waterbudget.site.words import JetKind, Name, Plan, Weekdays, is_left_out
from waterbudget.tables.jets import find_jets

PAIRS = {"skip_rain_days": "skip_rain_mm", "hot_minutes": "hot_above_c"}  # second key: first key of a zone's pairs


class Zone(Table):
    """One valve: what it waters, how much and when."""

    name: Name = Field(title="Name", description="the watering zone's name")
    tank: str = Field(title="Store that it draws from", description="name of the tank it draws from")
    line: list[Line] = Field(default_factory=list, description="its pipe and jets, from which the flow follows")
    flow_l_min: Positive | None = Field(
        title="Flow of the open valve, L a minute",
        default=None,
        validate_default=True,
        description="flow of the open valve, L/min",
    )
    minutes: NotNegative = Field(title="Minutes of one watering", description="minutes of one run")
    runs_per_day: Count = Field(title="Waterings on a day", default=1, description="runs on a watering day")
    weekdays: Weekdays | None = Field(title="On these days", default=None, description="days of the week to water on")
    every_days: Count = Field(title="Every how many days", default=1, description="water every n days")
    every_from: Day | None = Field(
        title="Counted from the day", default=None, description="day that these days are counted from"
    )
    season_from: YearlyDay | None = Field(
        title="From (month-day)", default=None, alias="from", description="first day of the season, MM-DD"
    )
    season_to: YearlyDay | None = Field(
        title="To (month-day)", default=None, alias="to", description="last day of the season, MM-DD"
    )
    plan: Plan = Field(title="What opens the valve", default="timer", description="what opens the valve")
    dry_at: NotNegative = Field(
        title="Open it at this dryness, 1 is thirsty",
        default=1.0,
        description='opens at this share of the water used up that roots take freely (RAW), for the plan "dry"',
    )
    leave_mm: NotNegative = Field(
        title="Room left for rain, mm", default=0.0, description='depletion left for rain, mm, for the plan "refill"'
    )
    skip_rain_mm: Positive | None = Field(
        title="Skip after so much rain, mm", default=None, description="rain that makes a run be skipped, mm"
    )
    skip_rain_days: Count | None = Field(
        title="That fell in so many days",
        default=None,
        validate_default=True,
        description="days that this rain fell in",
    )
    hot_above_c: Annotated[float, Field(ge=-60, le=60)] | None = Field(
        title="A hot day is above, °C", default=None, description="day maximum of a hot day, °C"
    )
    hot_minutes: NotNegative | None = Field(
        title="Minutes on a hot day", default=None, validate_default=True, description="minutes of one run on hot days"
    )
    priority: int = Field(
        title="Turn when water is short, lowest first",
        default=1,
        description="lowest is served first when the tank runs short",
    )
    jets: JetKind = Field(title="How the water comes out", default="spray", description="kind of jets")
    efficiency: Share | None = Field(
        title="Share that reaches the roots",
        default=None,
        description="share that reaches the root zone; left out, that of the jets",
    )
    wetted_fraction: Share | None = Field(
        title="Share of the ground that gets wet",
        default=None,
        description="share of the beds' surface that a run wets; left out, that of the jets",
    )

    @property
    def applied(self) -> float:
        """Share of what leaves the jets that reaches the root zone: the site's own, else that of the jets."""
        return find_jets(self.jets).efficiency if self.efficiency is None else self.efficiency

    @property
    def wetted(self) -> float:
        """Share of the beds' surface that a run wets, like `applied`."""
        return find_jets(self.jets).wetted_fraction if self.wetted_fraction is None else self.wetted_fraction

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
        if not is_left_out("weekdays", info):
            raise ValueError("weekdays are given too; leave out one of the two")
        return every_days

    @field_validator("skip_rain_days", "hot_minutes")
    @classmethod
    def _goes_in_pairs(cls, value: float | None, info: ValidationInfo) -> float | None:
        first = PAIRS[str(info.field_name)]
        if value is None and info.data.get(first) is not None:
            raise ValueError(f"{first} needs it; give both or neither")
        if value is not None and is_left_out(first, info):
            raise ValueError(f"needs {first}; give both or neither")
        return value


class Draw(Table):
    """Any other regular use of a store: cans, hens, washing."""

    name: Name = Field(title="Name", description="what the water is for")
    tank: str = Field(title="Store that it comes from", description="name of the tank it comes from")
    l_per_day: NotNegative = Field(title="Litres a day", description="litres on each of its days")
    weekdays: Weekdays | None = Field(title="On these days", default=None, description="days of the week; default all")
    season_from: YearlyDay | None = Field(
        title="From (month-day)", default=None, alias="from", description="first day of the season, MM-DD"
    )
    season_to: YearlyDay | None = Field(
        title="To (month-day)", default=None, alias="to", description="last day of the season, MM-DD"
    )
    priority: int = Field(
        title="Turn when water is short, lowest first",
        default=0,
        description="lowest is served first when the tank runs short",
    )
    may_ration: bool = Field(
        title="May get less when water is short", default=False, description="true: may get less when water is scarce"
    )
