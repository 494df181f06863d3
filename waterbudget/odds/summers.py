"""The summers that a garden is tried on: recorded ones, or drawn from them, changed as wanted and with their ET0."""

from dataclasses import dataclass, replace

import numpy as np

from waterbudget.errors import InputError, Said, WeatherError, shown
from waterbudget.odds.chances import FEW_YEARS
from waterbudget.site.model import Site
from waterbudget.weather.blocks import block_years
from waterbudget.weather.chain import chain_years, fit_chain
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import GIVEN, reference_et0
from waterbudget.weather.files import Place
from waterbudget.weather.years import Years, changed, recorded_years, said, season

RECORDS, BLOCKS, CHAIN = METHODS = ("records", "blocks", "chain")
YEARS, LEAST_YEARS, MOST_YEARS = 500, 100, 2000
SEED = 1
LEAST_RECORDED = 2
WARMER_C, RAIN_FACTOR = 10.0, 5.0  # beyond them it is a slip of the pen
SUMMER, SOUTHERN_SUMMER = ("05-01", "09-30"), ("11-01", "03-31")


@dataclass(frozen=True)
class Wanted:
    """Which summers are wanted. Raises InputError with a line for each part that cannot be.

    years and seed: of the drawn ones, None for 500 and 1. start_md, end_md: first and last day as MM-DD, None for
    the summer of the site's half of the earth. warmer_c [°C]: added to every day. rain_factor [-]: for every rain.
    """

    method: str = RECORDS
    years: int | None = None
    start_md: str | None = None
    end_md: str | None = None
    warmer_c: float = 0.0
    rain_factor: float = 1.0
    seed: int | None = None

    def __post_init__(self) -> None:
        if faults := self._faults():
            raise InputError(faults)

    @property
    def years_drawn(self) -> int:
        """How many years to draw."""
        return YEARS if self.years is None else self.years

    @property
    def seed_drawn(self) -> int:
        """The seed to draw them with."""
        return SEED if self.seed is None else self.seed

    def _faults(self) -> list[str]:
        faults = []
        if self.method not in METHODS:
            faults.append(f"method is {shown(self.method)}; choose {', '.join(METHODS)}")
        for name, number in (("years", self.years), ("seed", self.seed)):
            if number is not None and self.method == RECORDS:
                faults.append(
                    f"{name} is {number}, and the method records takes every recorded summer as it was; "
                    f"leave {name} out, or choose the method blocks or chain"
                )
        if self.years is not None and not LEAST_YEARS <= self.years <= MOST_YEARS:
            faults.append(
                f"years is {self.years}; write {LEAST_YEARS} to {MOST_YEARS}: "
                "with fewer luck tells the chances, and more add no knowledge"
            )
        if self.seed is not None and self.seed < 0:
            faults.append(f"seed is {self.seed}; write a whole number, 0 or more")
        if not abs(self.warmer_c) <= WARMER_C:
            faults.append(f"warmer is {self.warmer_c:g}; write degrees Celsius from -{WARMER_C:g} to {WARMER_C:g}")
        if not 0.0 <= self.rain_factor <= RAIN_FACTOR:
            faults.append(
                f"rain is {self.rain_factor:g}; write a factor from 0 to {RAIN_FACTOR:g}, 0.85 for 15 % less rain"
            )
        return faults

    def between(self, site: Site) -> tuple[str, str]:
        """First and last day, MM-DD. Raises WeatherError where one is no day of every year."""
        first_md, last_md = SOUTHERN_SUMMER if site.is_south else SUMMER
        start_md = first_md if self.start_md is None else self.start_md
        end_md = last_md if self.end_md is None else self.end_md
        season(start_md, end_md)
        return start_md, end_md


def recorded_summers(site: Site, weather: Weather, wanted: Wanted, place: Place | None = None) -> Years:
    """Every complete recorded season, changed as wanted.

    place: where the ET0 of the weather was computed for, if not for the site itself. Raises WeatherError where fewer
    than two seasons are complete, naming the days there are, or the record cannot be made warmer.
    """
    start_md, end_md = wanted.between(site)
    try:
        years = recorded_years(weather, start_md, end_md)
        complete = f"only {years.label[0]} is"
    except WeatherError:
        years, complete = None, "no year is"
    if years is None or years.years_behind < LEAST_RECORDED:
        first, last = weather.first_day, weather.last_day
        needed = f"weather of {LEAST_RECORDED} such years or more, better 10"
        holds = f"holds {first} to {last}, of which {complete} complete from {start_md} to {end_md}"
        typed = f"{weather.source}: {holds}; give {needed}, or ask for one with waterbudget run"
        whole = 0 if years is None else years.years_behind
        taken = f"This takes the weather of {LEAST_RECORDED} whole summers or more, better 10"
        raise WeatherError(Said(typed, f"{taken}. This garden has that of {whole}."))
    years = _changed(weather, years, wanted)
    return years if years.et0_mm is not None else _with_et0(years, place or site)


def drawn_summers(site: Site, weather: Weather, wanted: Wanted, place: Place | None = None) -> Years:
    """Summers drawn from the record by the wanted method, changed as wanted.

    place: as for recorded_summers. Raises WeatherError as that does, and where fewer than five recorded years stand
    behind the drawn ones or the chain cannot give what the site needs.
    """
    start_md, end_md = wanted.between(site)
    _refuse_few(weather, recorded_summers(site, weather, wanted, place).years_behind)
    if wanted.method == BLOCKS:
        years = block_years(weather, start_md, end_md, wanted.years_drawn, wanted.seed_drawn)
    else:
        chain = fit_chain(weather.daily[_drawn_by_chain(site, weather)])
        _refuse_few(weather, chain.years_behind)
        years = chain_years(chain, start_md, end_md, wanted.years_drawn, wanted.seed_drawn)
        middle = (
            "the day's mean temperature is the middle of lowest and highest" if "tmean_c" in weather.readings else ""
        )
        years = replace(years, note=years.note + said(middle))
    years = _changed(weather, years, wanted)
    if wanted.method == CHAIN and years.tmin_c is not None:
        return _with_temperature_et0(years, weather, place or site)
    return years if years.tmin_c is None or not _is_computed(weather) else _with_et0(years, place or site)


def _refuse_few(weather: Weather, years_behind: int) -> None:
    if years_behind < FEW_YEARS:
        raise WeatherError(
            f"{weather.source}: has {years_behind} whole years, too few to draw others from; "
            f"give weather of at least {FEW_YEARS}, or choose the method records"
        )


def _drawn_by_chain(site: Site, weather: Weather) -> list[str]:
    """Columns to fit the chain to: temperatures where ET0 or a hot day has to follow from them, else ET0 itself."""
    hot = [f"zone[{number}].hot_above_c" for number, zone in enumerate(site.zone, 1) if zone.hot_above_c is not None]
    has_temperatures = {"tmin_c", "tmax_c"} <= set(weather.readings)
    if has_temperatures and (hot or _is_computed(weather)):
        return ["rain_mm", "tmin_c", "tmax_c"]
    if hot:
        raise WeatherError(f"{weather.source}: {hot[0]} needs tmin_c and tmax_c columns; add them to the weather")
    return ["rain_mm", "et0_mm"]


def _is_computed(weather: Weather) -> bool:
    return weather.et0.method != GIVEN


def _changed(weather: Weather, years: Years, wanted: Wanted) -> Years:
    """Rain and warmth changed; made warmer, the years have no ET0 yet."""
    years = changed(years, rain_factor=wanted.rain_factor)
    if wanted.warmer_c == 0.0:
        return years
    if not _is_computed(weather):
        raise WeatherError(
            f"{weather.source}: its ET0 is given as et0_mm and cannot be made warmer; leave warmer out, "
            "or give tmin_c and tmax_c in place of et0_mm"
        )
    note = years.note + said(f"{wanted.warmer_c:+g} °C on every day; humidity, wind and sun as they were")
    return replace(changed(years, warmer_c=wanted.warmer_c), note=note)


def _with_temperature_et0(years: Years, weather: Weather, place: Place) -> Years:
    """ET0 of drawn temperatures: Hargreaves, brought by month to the record's own ET0.

    Source: FAO-56 Eq. 52 and its calibration against better estimates, p. 64-65 (from memory: a factor for each month).
    """
    temperatures = weather.daily[["tmin_c", "tmax_c"]]
    hargreaves_mm, et0 = reference_et0(temperatures, place.latitude_deg, place.elevation_m, place.wind_height_m)
    month = weather.dates.month
    own_mm = weather.daily["et0_mm"].groupby(month).sum()
    factor = (own_mm / hargreaves_mm.groupby(month).sum()).reindex(range(1, 13), fill_value=1.0).to_numpy(np.float64)
    years = _with_et0(years, place)
    if et0 == weather.et0 or years.et0_mm is None:
        return years
    drawn_month = years.dates.astype("M8[M]").astype(np.int64) % len(factor)
    brought = f"ET0 is that of the temperatures alone, brought by month to the record's ({et0.method}, by a factor)"
    return replace(years, et0_mm=years.et0_mm * factor[drawn_month], note=years.note + said(brought))


def _with_et0(years: Years, place: Place) -> Years:
    """ET0 from the readings of each day on its own date, of all years in one long table: pyet is slow to start."""
    import pandas as pd

    readings = {"tmin_c": years.tmin_c, "tmax_c": years.tmax_c, **years.others}
    daily = pd.DataFrame(
        {name: x.ravel() for name, x in readings.items() if x is not None}, pd.DatetimeIndex(years.dates.ravel())
    )
    et0_mm, _ = reference_et0(daily, place.latitude_deg, place.elevation_m, place.wind_height_m)
    return replace(years, et0_mm=np.reshape(et0_mm.to_numpy(), years.dates.shape))
