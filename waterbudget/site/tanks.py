"""Where water comes from and where it is kept: roofs, tanks, inflows, transfers, bans on the mains."""

import datetime as dt

import numpy as np
from pydantic import Field, ValidationInfo, field_validator

from waterbudget.errors import Said
from waterbudget.physics.shape import SHAPES, Shape
from waterbudget.site.dates import EitherDay, MonthDay, YearlyDay
from waterbudget.site.table import Count, Fraction, NotNegative, Positive, Table
from waterbudget.site.words import CoveringKey, Mains, Name, ShapeName, Weekdays, is_left_out
from waterbudget.tables.coverings import find_covering


class Roof(Table):
    """A roof and its way into a tank."""

    name: Name = Field(title="Name", description="the roof's name")
    tank: str = Field(title="Store that it fills", description="name of the tank that its downpipe feeds")
    area_m2: Positive = Field(title="Area on the ground, m²", description="plan (horizontal) area in m²")
    runoff_coefficient: Fraction | None = Field(
        title="Share of the rain that runs off", default=None, description="share of the rain that runs off, 0 to 1"
    )
    covering: CoveringKey | None = Field(
        title="What lies on it", default=None, validate_default=True, description="a key of the roof coverings table"
    )
    loss_mm: NotNegative | None = Field(
        title="Rain that only wets it, mm a day",
        default=None,
        description="wetting loss of each rain day, mm; left out, that of the covering",
    )
    first_flush_l: NotNegative = Field(
        title="First flush thrown away, L a day", default=0.0, description="litres thrown away on each day with runoff"
    )
    filter_efficiency: Fraction = Field(
        title="Share that passes the filter", default=0.9, description="share that the filter passes on, 0 to 1"
    )

    @property
    def runoff(self) -> float:
        """Runoff coefficient: the site's own, else that of the covering."""
        if self.runoff_coefficient is not None:
            return self.runoff_coefficient
        return find_covering(self.covering or "").runoff_coefficient

    @property
    def wetting_loss_mm(self) -> float:
        """Wetting loss of each rain day [mm]: the site's own, else that of the covering that gives the runoff."""
        if self.loss_mm is not None:
            return self.loss_mm
        return 0.0 if self.runoff_coefficient is not None else find_covering(self.covering or "").loss_mm

    @field_validator("covering")
    @classmethod
    def _gives_the_runoff(cls, covering: str | None, info: ValidationInfo) -> str | None:
        if covering is None and is_left_out("runoff_coefficient", info):
            typed = 'add covering = "…" (waterbudget roofs lists them) or runoff_coefficient = …'
            raise ValueError(Said(typed, "name a covering, or tell runoff_coefficient"))
        return covering


class Tank(Table):
    """A store of rainwater, or several alike that are joined near the foot; all litres are those of one."""

    name: Name = Field(title="Name", description="the store's name")
    joined: Count = Field(
        title="How many alike, joined at the foot",
        default=1,
        description="so many alike stores joined near the foot, which fill as one",
    )
    capacity_l: Positive = Field(title="It holds, L", description="litres up to the overflow")
    dead_l: NotNegative = Field(
        title="Below the outlet, L", default=0.0, description="litres below the outlet, never drawn"
    )
    start_l: NotNegative = Field(
        title="In it on the first day, L", description="litres in the store on the first day; nobody can guess it"
    )
    overflow_to: str | None = Field(
        title="It overflows into", default=None, description="name of the tank that takes the overflow"
    )
    loss_l_per_day: NotNegative = Field(
        title="Leak, L a day", default=0.0, description="leak or evaporation, litres a day"
    )
    mains: Mains = Field(
        title="How mains water helps", default="none", description="direct: by hose; float: by a valve"
    )
    float_below_l: NotNegative | None = Field(
        title="Float valve opens below, L",
        default=None,
        validate_default=True,
        description="level at which the float valve opens, L",
    )
    float_to_l: NotNegative | None = Field(
        title="Float valve closes at, L",
        default=None,
        validate_default=True,
        description="level at which the float valve closes, L",
    )
    shape: ShapeName | None = Field(
        title="Shape inside", default=None, description="shape of the inside, to tell litres from a dipped depth"
    )
    inner_diameter_m: Positive | None = Field(
        title="Width across, m", default=None, validate_default=True, description="inner diameter, m"
    )
    inner_top_diameter_m: Positive | None = Field(
        title="Width across at the overflow, m",
        default=None,
        validate_default=True,
        description="inner diameter at the overflow, m",
    )
    inner_bottom_diameter_m: Positive | None = Field(
        title="Width across at the floor, m",
        default=None,
        validate_default=True,
        description="inner diameter of the floor, m",
    )
    inner_length_m: Positive | None = Field(
        title="Length inside, m", default=None, validate_default=True, description="inner length, m"
    )
    inner_width_m: Positive | None = Field(
        title="Width inside, m", default=None, validate_default=True, description="inner width, m"
    )
    inner_height_m: Positive | None = Field(
        title="Height up to the overflow, m",
        default=None,
        validate_default=True,
        description="inner height up to the overflow, m",
    )

    @property
    def all_l(self) -> float:
        """Litres that all joined stores hold up to the overflow."""
        return self.joined * self.capacity_l

    @property
    def all_dead_l(self) -> float:
        """Litres that stay below the outlets of all joined stores."""
        return self.joined * self.dead_l

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


class Inflow(Table):
    """Water that runs into a tank whatever the weather: a spring, a well's trickle, clean house water."""

    name: Name = Field(title="Name", description="what the water comes from")
    tank: str = Field(title="Store that it runs into", description="name of the tank that it runs into")
    l_per_day: NotNegative = Field(title="Litres a day", description="litres on each of its days")
    weekdays: Weekdays | None = Field(title="On these days", default=None, description="days of the week; default all")
    season_from: YearlyDay | None = Field(
        title="From (month-day)", default=None, alias="from", description="first day of the season, MM-DD"
    )
    season_to: YearlyDay | None = Field(
        title="To (month-day)", default=None, alias="to", description="last day of the season, MM-DD"
    )


class Transfer(Table):
    """Somebody or a pump moves water between stores; litres are those of all stores joined."""

    name: Name = Field(title="Name", description="the transfer's name")
    from_tank: str = Field(title="Out of", description="name of the tank that gives")
    to_tank: str = Field(title="Into", description="name of the tank that takes")
    l_per_day: NotNegative = Field(title="At most, L a day", description="most on one day, litres")
    keep_l: NotNegative = Field(
        title="Leave in the first store, L", default=0.0, description="litres that stay in the store that gives"
    )
    below_l: NotNegative | None = Field(
        title="Only while the second holds less than, L",
        default=None,
        description="litres in the taker below which water is moved; left out, always",
    )
    weekdays: Weekdays | None = Field(title="On these days", default=None, description="days of the week; default all")
    season_from: YearlyDay | None = Field(
        title="From (month-day)", default=None, alias="from", description="first day of the season, MM-DD"
    )
    season_to: YearlyDay | None = Field(
        title="To (month-day)", default=None, alias="to", description="last day of the season, MM-DD"
    )

    @field_validator("to_tank")
    @classmethod
    def _is_another(cls, to_tank: str, info: ValidationInfo) -> str:
        if to_tank == info.data.get("from_tank"):
            raise ValueError("write another tank than that of from_tank")
        return to_tank


class Ban(Table):
    """Days without mains, both ends included: neither hose nor float valve."""

    first_day: EitherDay = Field(
        title="First day", alias="from", description="first day of the ban, MM-DD or a full date"
    )
    last_day: EitherDay = Field(title="Last day", alias="to", description="last day of the ban, MM-DD or a full date")

    @field_validator("last_day")
    @classmethod
    def _is_of_a_kind_with_the_first(cls, last_day: MonthDay | dt.date, info: ValidationInfo) -> MonthDay | dt.date:
        first_day = info.data.get("first_day")
        if first_day is None:
            return last_day
        if isinstance(first_day, MonthDay) != isinstance(last_day, MonthDay):
            raise ValueError(f'like from, "{first_day}", write both as MM-DD (every year) or both as YYYY-MM-DD (once)')
        if isinstance(first_day, dt.date) and isinstance(last_day, dt.date) and last_day < first_day:
            raise ValueError(f"write a day from {first_day} on, which is from")
        return last_day
