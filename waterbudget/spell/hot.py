"""A dry hot stretch: what is asked for, and its days with their evapotranspiration."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeAlias

import numpy as np

from waterbudget.errors import InputError, Said, SiteError
from waterbudget.schedule.calendar import Dates, Days
from waterbudget.site.model import Site
from waterbudget.units import Array, BoolArray, DateArray, IntArray
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import WIND_HEIGHT_M
from waterbudget.weather.files import TEMPERATURES
from waterbudget.weather.remembered import kept_et0

Stretch: TypeAlias = tuple[dt.date, dt.date]  # first and last day

DAYS, LONGEST_DAYS = 21, 92
HIGH_C = 26.0
SWING_C = 11.0  # between high and low of a dry hot day inland; common practice, no source
LOWEST_C, HIGHEST_C = -10.0, 55.0
MOST_RAIN_MM = 50.0
DRY_MM = 1.0  # a day with less rain is like those of a dry spell
FEW_DAYS = 5  # dry days of a month that tell less than all of its days do


@dataclass(frozen=True)
class Spell:
    """The stretch that is asked for. Raises InputError with a line for each part that cannot be.

    high_c, low_c: highest and lowest temperature of each of its days [°C]; low_c None for 11 °C below. rain_mm: on
    each of its days. first: its first day, None for midsummer.
    """

    days: int = DAYS
    high_c: float = HIGH_C
    low_c: float | None = None
    rain_mm: float = 0.0
    first: dt.date | None = None
    no_mains: bool = False
    ban: Stretch | None = None
    away: Stretch | None = None

    def __post_init__(self) -> None:
        if faults := self._faults():
            raise InputError(faults)

    @property
    def night_c(self) -> float:
        """Lowest temperature of each day [°C]."""
        return self.high_c - SWING_C if self.low_c is None else self.low_c

    def _faults(self) -> list[str]:
        faults = []
        if not 1 <= self.days <= LONGEST_DAYS:
            faults.append(f"days is {self.days}; write 1 to {LONGEST_DAYS}, such as {DAYS} for three weeks")
        if not LOWEST_C <= self.high_c <= HIGHEST_C:
            faults.append(f"high is {self.high_c:g}; write degrees Celsius from {LOWEST_C:g} to {HIGHEST_C:g}")
        elif self.low_c is not None and not LOWEST_C - SWING_C <= self.low_c < self.high_c:
            faults.append(
                f"low is {self.low_c:g}; write degrees Celsius below the high of {self.high_c:g}, "
                f"and not under {LOWEST_C - SWING_C:g}"
            )
        if not 0.0 <= self.rain_mm <= MOST_RAIN_MM:
            faults.append(
                f"rain-mm is {self.rain_mm:g}; write the millimetres of each of its days, 0 to {MOST_RAIN_MM:g}"
            )
        faults += [
            f"{name} ends on {last}, before it begins on {first}; write its first day first"
            for name, (first, last) in self._stretches()
            if last < first
        ]
        if self.no_mains and self.ban is not None:
            faults.append("a ban is asked for, and no mains water at all; leave one of the two out")
        return faults

    def _stretches(self) -> list[tuple[str, Stretch]]:
        named = (("ban", self.ban), ("away", self.away))
        return [(name, stretch) for name, stretch in named if stretch is not None]

    def starting(self, weather: Weather, *, south: bool) -> "Spell":
        """The stretch with its first day: the last midsummer of the weather, or the day that comes nearest to one.

        Raises InputError where the wanted day lies outside the weather, which has to lead up to it, or nobody is there
        or no mains water on other days than those of the weather and the stretch.
        """
        first = self._starting(weather, south=south)
        begun, last = weather.first_day, first + dt.timedelta(days=self.days - 1)
        if self.ban and (self.ban[0] < begun or self.ban[1] > last):
            raise InputError(
                f"ban is from {self.ban[0]} to {self.ban[1]}, and weather and spell have {begun} to {last}; "
                "choose days among these"
            )
        if self.away and (self.away[0] < first or self.away[1] > last):
            raise InputError(
                f"away is from {self.away[0]} to {self.away[1]}, and the spell has {first} to {last}; choose days "
                "among these, or another --from and --days"
            )
        return replace(self, first=first)

    def _starting(self, weather: Weather, *, south: bool) -> dt.date:
        dates: list[dt.date] = weather.days.tolist()
        after = dates[-1] + dt.timedelta(days=1)
        if self.first is None:
            month = 1 if south else 7
            return min([after, *reversed(dates)], key=lambda day: _days_from_midsummer(day, month))
        if not dates[0] <= self.first <= after:
            raise InputError(
                f"from is {self.first}, and the weather that leads up to it ({weather.source}) has {dates[0]} to "
                f"{dates[-1]}; choose a day from {dates[0]} to {after}"
            )
        return self.first


class HotDays(NamedTuple):
    """The days of a spell: dates (day, 1), rain, ET0 and highest temperature (day, 1), and how ET0 was found."""

    dates: Dates
    rain_mm: Array
    et0_mm: Array
    tmax_c: Array
    et0_note: str


def hot_days(spell: Spell, site: Site, weather: Weather) -> HotDays:
    """The days of a spell whose first day is known.

    ET0 is that of the temperatures at the site's latitude on these dates (Hargreaves, FAO-56 Eq. 52). Where the
    weather has temperatures it is brought to the weather's own ET0 by a factor: its sum over the dry days of the same
    month over that of Hargreaves (FAO-56 p. 64-65, from memory: calibration against better estimates by month).
    Raises SiteError where the latitude is missing.
    """
    if site.latitude_deg is None:
        typed = (
            "site.latitude_deg: is missing; add latitude_deg = 53.1 (degrees north, south negative): "
            "the ET0 of the hot days follows from their temperatures and the sun's height"
        )
        raise SiteError(Said(typed, "How hot days dry the beds hangs on the garden's latitude: tell it first."))
    days = np.datetime64(spell.first, "D") + np.arange(spell.days)
    night_c, high_c = np.full(spell.days, spell.night_c), np.full(spell.days, spell.high_c)
    given = {"tmin_c": night_c, "tmax_c": high_c}
    hargreaves_mm, et0 = kept_et0(days, given, site.latitude_deg, None, WIND_HEIGHT_M)
    note = f"{et0.method} from the temperatures"
    if given.keys() <= weather.readings.keys() and weather.et0 != et0:
        month = _month(days)
        factor = _factors(weather, site.latitude_deg, sorted(set(month.tolist())))
        hargreaves_mm = hargreaves_mm * np.array([factor[number] for number in month.tolist()])
        shown = ", ".join(f"{value:.2f} in month {month}" for month, value in factor.items())
        note += f", brought to that of the weather ({weather.et0.method}) on dry days by a factor, {shown}"

    rain_mm = np.full(spell.days, spell.rain_mm)
    return HotDays(days[:, None], rain_mm[:, None], hargreaves_mm[:, None], high_c[:, None], note)


def _month(days: DateArray) -> IntArray:
    """Of the year, January is 1."""
    return Days.of(days).month_day // 100


def _factors(weather: Weather, latitude_deg: float, months: list[int]) -> dict[int, float]:
    """The weather's ET0 over that of its temperatures alone, for each of these months."""
    temperatures = {name: weather.readings[name] for name in TEMPERATURES}
    hargreaves_mm, _ = kept_et0(weather.days, temperatures, latitude_deg, None, WIND_HEIGHT_M)
    dry, month = weather.readings["rain_mm"] < DRY_MM, _month(weather.days)
    return {one: _factor(weather.readings["et0_mm"], hargreaves_mm, month == one, dry) for one in months}


def _factor(own_mm: Array, hargreaves_mm: Array, in_month: BoolArray, dry: BoolArray) -> float:
    """Over the dry days of the month, else over all of its days, else over all days there are."""
    for days in (in_month & dry, in_month, np.ones(len(own_mm), dtype=np.bool_)):
        if days.sum() >= FEW_DAYS and hargreaves_mm[days].sum() > 0.0:
            return float(own_mm[days].sum() / hargreaves_mm[days].sum())
    return 1.0


def _days_from_midsummer(day: dt.date, month: int) -> int:
    """Days between a date and the nearest first of the month."""
    return min(abs((day - dt.date(year, month, 1)).days) for year in (day.year - 1, day.year, day.year + 1))
