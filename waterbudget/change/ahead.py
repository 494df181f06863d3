"""The days after the known ones: forecast or as they usually are, by default without rain, and with the usual rain."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from waterbudget.change.known import DAY, Known
from waterbudget.units import WEEK_DAYS, Array, BoolArray, DateArray, IntArray
from waterbudget.weather.days import Weather, dates_of
from waterbudget.weather.et0 import Et0
from waterbudget.weather.files import weather_of
from waterbudget.weather.remembered import kept_sun_mj_m2
from waterbudget.weather.usual import usual_days

AHEAD_DAYS = 120
NORMAL_DAYS = 7  # either side of a calendar day
LAST_DAYS = 14
ENOUGH_DAYS = 30  # of any record, to tell how much it rains
YEAR_DAYS = 365.25
DAY_LONG = np.timedelta64(1, "D")
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

    dry: Weather
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
        return self.weather.with_readings(rain_mm=np.where(known, self.weather.readings["rain_mm"], rain_mm))

    def read(self, rain_mm: "dict[dt.date, float]") -> "Ahead":
        """The same with the rain of a gauge [mm] on days of which no weather is known."""
        read_mm = np.array([rain_mm.get(day, np.nan) for day in self.weather.days.tolist()])
        gauged = ~np.isnan(read_mm)
        told_mm = np.where(gauged, read_mm, self.weather.readings["rain_mm"])
        return replace(self, weather=self.weather.with_readings(rain_mm=told_mm), gauged=gauged)

    @property
    def _forecast(self) -> BoolArray:
        """Whether each day is forecast."""
        days = self.weather.days
        if self.forecast is None:
            return np.zeros(len(days), dtype=np.bool_)
        is_forecast: BoolArray = (days >= np.datetime64(self.forecast.first)) & (
            days <= np.datetime64(self.forecast.last)
        )
        return is_forecast


def days_ahead(known: Known, forecast: Weather | None) -> Ahead:
    """The days ahead; forecast: of some of them in a row, None where there is none."""
    days = np.arange(np.datetime64(known.last + DAY), np.datetime64(known.today + (AHEAD_DAYS + 1) * DAY))
    normal = normal_of(known, days)
    weather, told = normal.dry, None
    if forecast is not None:
        _, ours, its = np.intersect1d(days, forecast.days, return_indices=True)
        told = Period(days[ours[0]].item(), days[ours[-1]].item())
        weather = weather.with_readings(
            **{
                name: _with(values, ours, forecast.readings[name][its])
                for name, values in weather.readings.items()
                if name in forecast.readings
            }
        )
    source = "" if forecast is None else forecast.source
    none = np.zeros(len(days), dtype=np.bool_)
    return Ahead(replace(weather, source=source), normal, told, source, none)


def dry_from(ahead: Ahead, today: dt.date) -> Weather:
    """The same days without any rain from today on; one of which it is taken uses no less than dry days usually do."""
    readings, usual = ahead.weather.readings, ahead.normal.dry.readings
    later = ahead.weather.days >= np.datetime64(today)
    taken = later & (readings["rain_mm"] >= DRY_BELOW_MM)
    sunnier = {
        name: np.where(taken, np.maximum(readings[name], usual[name]), readings[name])
        for name in SUNNIER
        if name in readings
    }
    return ahead.weather.with_readings(rain_mm=np.where(later, 0.0, readings["rain_mm"]), **sunnier)


# ---- What is usual ---------------------------------------------------------------------------------------------------


def normal_of(known: Known, days: DateArray) -> Normal:
    """Dry days with the ET0 and the highest temperature that are usual, and the usual rain.

    Usual is the mean of the same calendar days, a week either side, in all other years, of dry days alone, as wet ones
    are dull and cool and say little of what days without rain will use. Where no other year has them the usual
    temperatures of the site stand in, else the last dry days, in proportion to the sun's radiation above the air.
    """
    record = known.record or known.weather
    if record is None:
        return _by_temperatures(known, days)
    return _by_record(known, record, days)


def _by_temperatures(known: Known, days: DateArray) -> Normal:
    return Normal(_dry(days, _usual_temperatures(known, days)), (UsualTemperatures(),), None, None, None)


def _dry(days: DateArray, readings: Mapping[str, Array]) -> Weather:
    """Days without rain that have these readings."""
    return Weather(days, {"rain_mm": np.zeros(len(days)), **readings}, Et0(USUAL, (), ""), "")


def _usual_temperatures(known: Known, days: DateArray) -> dict[str, Array]:
    if known.site.usual is None:
        raise AssertionError("only for a site with usual temperatures")
    usual = usual_days(known.site.usual, dates_of(days))
    weather = weather_of(usual.assign(rain_mm=0.0), known.site, "the usual temperatures")
    return {name: weather.readings[name] for name in SUNNIER}


def _by_record(known: Known, record: Weather, days: DateArray) -> Normal:
    sunnier = {name: record.readings[name] for name in SUNNIER if name in record.readings}
    rain_mm = record.readings["rain_mm"]
    is_dry = rain_mm < DRY_BELOW_MM
    apart = (days[:, np.newaxis] - record.days) / DAY_LONG
    round_the_year = apart % YEAR_DAYS
    is_other_year = np.abs(apart) > YEAR_DAYS / 2.0
    off = np.where(is_other_year, np.minimum(round_the_year, YEAR_DAYS - round_the_year), np.inf)
    near = off <= NORMAL_DAYS
    has_near: BoolArray = np.any(near, axis=1)
    usual = {name: np.full(len(days), np.nan) for name in sunnier}
    bases: list[Basis] = []
    if has_near.any():
        off = off[has_near] + np.where(is_dry, 0.0, YEAR_DAYS)  # farther than any dry day
        like = off <= np.maximum(off.min(axis=1, keepdims=True), NORMAL_DAYS)
        usual = {name: _with(usual[name], has_near, _means(like) @ values) for name, values in sunnier.items()}
        bases.append(OtherYears(len(np.unique(record.days[near.any(axis=0)].astype("M8[Y]")))))
    if not has_near.all():
        if known.site.usual is not None:
            recent: Mapping[str, Array] = _usual_temperatures(known, days[~has_near])
            bases.append(UsualTemperatures())
        else:
            recent, basis = _recent(known, record.days, sunnier, is_dry, days[~has_near])
            bases.append(basis)
        usual = {name: _with(values, ~has_near, recent[name]) for name, values in usual.items()}
    usual_mm, rain_days = _usual_rain(rain_mm, near)
    today = (known.today - days[0].item()).days
    week = slice(today, today + WEEK_DAYS)
    week_mm = float((_means(near[week]) @ rain_mm).sum()) if has_near[week].all() else None
    return Normal(_dry(days, usual), tuple(bases), usual_mm, rain_days, week_mm)


def _with(values: Array, some: BoolArray | IntArray, new: Array) -> Array:
    """The values with new ones in some places."""
    values = values.copy()
    values[some] = new
    return values


def _means(chosen: BoolArray) -> Array:
    """Weights that give the mean of what is chosen in each row."""
    weight: Array = chosen / chosen.sum(axis=1, keepdims=True)
    return weight


def _recent(
    known: Known, record_days: DateArray, readings: Mapping[str, Array], is_dry: BoolArray, days: DateArray
) -> tuple[dict[str, Array], LastDays]:
    """What the last dry days of a record say of some days, and which these are."""
    lately, dry = np.arange(len(record_days))[-LAST_DAYS:], np.flatnonzero(is_dry)
    dry_lately = dry[dry >= lately[0]]
    which: Literal["dry", "last dry", "wet"]
    if len(dry_lately):
        like, which = dry_lately, "dry"
    elif len(dry):
        like, which = dry[-1:], "last dry"
    else:
        like, which = lately, "wet"
    means = {name: np.full(len(days), values[like].mean()) for name, values in readings.items()}
    then = 0.0
    if known.site.latitude_deg is not None:
        then = float(kept_sun_mj_m2(record_days[like], known.site.latitude_deg).mean())
        if then > 0.0:
            means["et0_mm"] *= kept_sun_mj_m2(days, known.site.latitude_deg) / then
    last_dry = record_days[dry[-1]].item() if len(dry) else None
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
