"""The days after the known ones: forecast or as they usually are, by default without rain, and with the usual rain."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias

import numpy as np

from waterbudget.change.known import DAY, Known
from waterbudget.units import WEEK_DAYS, Array, BoolArray
from waterbudget.weather.et0 import Et0, extraterrestrial_mj_m2
from waterbudget.weather.files import Weather, weather_of
from waterbudget.weather.usual import usual_days

if TYPE_CHECKING:
    import pandas as pd

AHEAD_DAYS = 120
NORMAL_DAYS = 7  # either side of a calendar day
LAST_DAYS = 14
ENOUGH_DAYS = 30  # of any record, to tell how much it rains
YEAR_DAYS = 365.25
USUAL = "usual"  # how the ET0 of days ahead is come by; Normal tells more
DRY_BELOW_MM = 0.2  # a gauge's first mark, at which British records begin to count a day of rain (from memory)
SUNNIER = ("et0_mm", "tmax_c")  # what a dry day has more of than a wet one


class Period(NamedTuple):
    """Days from a first to a last, both included."""

    first: dt.date
    last: dt.date


@dataclass(frozen=True)
class OtherYears:
    """The mean of the dry days at this time of so many other years."""

    years: int


@dataclass(frozen=True)
class UsualTemperatures:
    """ET0 by the usual temperatures of the site."""


@dataclass(frozen=True)
class LastDays:
    """The dry ones among so many last days, the last dry day before them, or, where none is known, those wet days.

    by_sun: in proportion to the sun's radiation above the air.
    """

    days: int
    which: Literal["dry", "last dry", "wet"]
    last_dry: dt.date | None
    by_sun: bool


Basis: TypeAlias = OtherYears | UsualTemperatures | LastDays


class Normal(NamedTuple):
    """Days as they usually are. dry: without rain. bases: of their ET0, the first where it reaches, else the next.
    rain_mm: usual rain as it falls, in events, None where none is known; rain_days: of how many days it is the mean,
    None for those of this time of other years. week_mm: mean of a week from today, of other years.
    """

    dry: "pd.DataFrame"
    bases: tuple[Basis, ...]
    rain_mm: Array | None
    rain_days: int | None
    week_mm: float | None


@dataclass(frozen=True, eq=False)
class Ahead:
    """Weather from the day after the known to AHEAD_DAYS after today, no rain on days of which nothing is known.

    normal: the same days as they usually are. forecast: the days that are forecast, None for none; source: where it
    comes from. gauged: whether the gauge has told the rain of each day.
    """

    weather: Weather
    normal: Normal
    forecast: Period | None
    source: str
    gauged: BoolArray

    @property
    def usual(self) -> Weather | None:
        """The same days with the usual rain where nothing is known, None where no rain is usual."""
        rain_mm = self.normal.rain_mm
        if rain_mm is None:
            return None
        known = self.gauged | self._forecast
        return replace(
            self.weather,
            daily=self.weather.daily.assign(rain_mm=np.where(known, self.weather.daily["rain_mm"], rain_mm)),
        )

    def read(self, rain_mm: "dict[dt.date, float]") -> "Ahead":
        """The same with the rain of a gauge [mm] on days of which no weather is known."""
        import pandas as pd

        read = pd.Series(rain_mm, dtype="float64").reindex(self.weather.dates.date)
        gauged = read.notna().to_numpy()
        daily = self.weather.daily.assign(rain_mm=np.where(gauged, read, self.weather.daily["rain_mm"]))
        return replace(self, weather=replace(self.weather, daily=daily), gauged=gauged)

    @property
    def _forecast(self) -> BoolArray:
        """Whether each day is forecast."""
        days = self.weather.dates.date
        if self.forecast is None:
            return np.zeros(len(days), dtype=np.bool_)
        is_forecast: BoolArray = (days >= self.forecast.first) & (days <= self.forecast.last)
        return is_forecast


def days_ahead(known: Known, forecast: Weather | None) -> Ahead:
    """The days ahead; forecast: of some of them in a row, None where there is none."""
    import pandas as pd

    days = pd.date_range(known.last + DAY, known.today + AHEAD_DAYS * DAY, freq="D", name="date")
    normal = normal_of(known, days)
    daily, told = normal.dry.copy(), None
    if forecast is not None:
        shared = days.intersection(forecast.dates)
        told = Period(shared[0].date(), shared[-1].date())
        for name in daily.columns.intersection(forecast.daily.columns):
            daily.loc[shared, name] = forecast.daily.loc[shared, name]
    source = "" if forecast is None else forecast.source
    none = np.zeros(len(days), dtype=np.bool_)
    return Ahead(Weather(daily, Et0(USUAL, (), ""), source), normal, told, source, none)


def dry_from(ahead: Ahead, today: dt.date) -> Weather:
    """The same days without any rain from today on; one of which it is taken uses no less than dry days usually do."""
    import pandas as pd

    daily = ahead.weather.daily.copy()
    later = daily.index >= pd.Timestamp(today)
    taken = later & (daily["rain_mm"] >= DRY_BELOW_MM)
    for name in SUNNIER:
        if name in daily:
            daily.loc[taken, name] = np.maximum(daily[name], ahead.normal.dry[name])[taken]
    daily.loc[later, "rain_mm"] = 0.0
    return replace(ahead.weather, daily=daily)


# ---- What is usual ---------------------------------------------------------------------------------------------------


def normal_of(known: Known, days: "pd.DatetimeIndex") -> Normal:
    """Dry days with the ET0 and the highest temperature that are usual, and the usual rain.

    Usual is the mean of the same calendar days, a week either side, in all other years, of dry days alone, as wet ones
    are dull and cool and say little of what days without rain will use. Where no other year has them the usual
    temperatures of the site stand in, else the last dry days, in proportion to the sun's radiation above the air.
    """
    record = known.record or known.weather
    if record is None:
        return _by_temperatures(known, days)
    return _by_record(known, record.daily, days)


def _by_temperatures(known: Known, days: "pd.DatetimeIndex") -> Normal:
    dry = _usual_temperatures(known, days)
    return Normal(dry, (UsualTemperatures(),), None, None, None)


def _usual_temperatures(known: Known, days: "pd.DatetimeIndex") -> "pd.DataFrame":
    if known.site.usual is None:
        raise AssertionError("only for a site with usual temperatures")
    weather = weather_of(usual_days(known.site.usual, days).assign(rain_mm=0.0), known.site, "the usual temperatures")
    return weather.daily[["rain_mm", *SUNNIER]]


def _by_record(known: Known, record: "pd.DataFrame", days: "pd.DatetimeIndex") -> Normal:
    import pandas as pd

    names = [name for name in SUNNIER if name in record]
    is_dry = record["rain_mm"] < DRY_BELOW_MM
    apart = (days.to_numpy()[:, np.newaxis] - record.index.to_numpy()) / np.timedelta64(1, "D")
    round_the_year = apart % YEAR_DAYS
    is_other_year = np.abs(apart) > YEAR_DAYS / 2.0
    off = np.where(is_other_year, np.minimum(round_the_year, YEAR_DAYS - round_the_year), np.inf)
    near = off <= NORMAL_DAYS
    has_near: BoolArray = np.any(near, axis=1)
    dry = pd.DataFrame({"rain_mm": 0.0, **dict.fromkeys(names, np.nan)}, index=days)
    bases: list[Basis] = []
    if has_near.any():
        off = off[has_near] + np.where(is_dry.to_numpy(), 0.0, YEAR_DAYS)  # farther than any dry day
        like = off <= np.maximum(off.min(axis=1, keepdims=True), NORMAL_DAYS)
        dry.loc[days[np.flatnonzero(has_near)], names] = _means(like) @ record[names].to_numpy()
        years = len(set(pd.DatetimeIndex(record.index[np.flatnonzero(near.any(axis=0))]).year))
        bases.append(OtherYears(years))
    if not has_near.all():
        without = pd.DatetimeIndex(days[~has_near])
        if known.site.usual is not None:
            dry.loc[without, names] = _usual_temperatures(known, without)[names]
            bases.append(UsualTemperatures())
        else:
            recent, basis = _recent(known, record[names], is_dry, without)
            dry.loc[without, names] = recent
            bases.append(basis)
    rain_mm, rain_days = _usual_rain(record["rain_mm"].to_numpy(), near)
    week = slice((known.today - days[0].date()).days, (known.today - days[0].date()).days + WEEK_DAYS)
    week_mm = float((_means(near[week]) @ record["rain_mm"].to_numpy()).sum()) if has_near[week].all() else None
    return Normal(dry, tuple(bases), rain_mm, rain_days, week_mm)


def _means(chosen: BoolArray) -> Array:
    """Weights that give the mean of what is chosen in each row."""
    weight: Array = chosen / chosen.sum(axis=1, keepdims=True)
    return weight


def _recent(
    known: Known, record: "pd.DataFrame", is_dry: "pd.Series[bool]", days: "pd.DatetimeIndex"
) -> "tuple[pd.DataFrame, LastDays]":
    """What the last dry days of a record say of some days, and which these are."""
    import pandas as pd

    lately, dry = record.iloc[-LAST_DAYS:], record.loc[is_dry]
    dry_lately = dry.loc[lately.index[0] :]
    which: Literal["dry", "last dry", "wet"]
    if len(dry_lately):
        like, which = dry_lately, "dry"
    elif len(dry):
        like, which = dry.iloc[-1:], "last dry"
    else:
        like, which = lately, "wet"
    means = pd.DataFrame({name: like[name].mean() for name in like}, index=days)
    then = 0.0
    if known.site.latitude_deg is not None:
        sun = extraterrestrial_mj_m2(pd.DatetimeIndex(like.index.append(days)), known.site.latitude_deg)
        then = float(sun[: len(like)].mean())
        if then > 0.0:
            means["et0_mm"] *= sun[len(like) :] / then
    last_dry = dry.index[-1].date() if len(dry) else None
    return means, LastDays(len(lately), which, last_dry, then > 0.0)


def _usual_rain(rain_mm: Array, near: BoolArray) -> tuple[Array | None, int | None]:
    """Usual rain as it falls: not a drizzle every day, which no roof would give on, but as many wet days as are usual.

    Of the same time of other years; on days that have none of it of all the record.
    """
    if len(rain_mm) < ENOUGH_DAYS and not near.any():
        return None, None
    weight = _means(near | ~near.any(axis=1, keepdims=True))
    mean_mm, wet = weight @ rain_mm, weight @ (rain_mm >= DRY_BELOW_MM)
    events = np.floor(np.cumsum(wet) + 0.5)  # half an event has passed before the first day
    begins = np.diff(events, prepend=0.0) > 0.0
    fallen_mm = np.maximum.accumulate(np.where(begins, np.cumsum(mean_mm), 0.0))
    falls_mm = np.diff(fallen_mm, prepend=0.0)
    return falls_mm, None if near.any() else len(rain_mm)
