"""The summers that a garden is tried on: recorded ones, or drawn from them, changed as wanted and with their ET0."""

import math
from dataclasses import dataclass, replace

from waterbudget.errors import InputError, WeatherError
from waterbudget.odds.chances import FEW_YEARS
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.blocks import block_years
from waterbudget.weather.chain import chain_years, fit_chain
from waterbudget.weather.et0 import reference_et0
from waterbudget.weather.files import Weather
from waterbudget.weather.years import Years, changed, recorded_years, said, season

RECORDS, BLOCKS, CHAIN = METHODS = ("records", "blocks", "chain")
YEARS, MOST_YEARS = 500, 2000
SEED = 1
LEAST_RECORDED = 2
WARMER_C, RAIN_FACTOR = 10.0, 5.0  # beyond them it is a slip of the pen
SUMMER, SOUTHERN_SUMMER = ("05-01", "09-30"), ("11-01", "03-31")
ET0_GIVEN = "as given"  # what weather/et0.py calls an et0_mm column


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
        if faults := [*self._faults()]:
            raise InputError(faults)

    def _faults(self) -> "list[str]":
        faults = []
        if self.method not in METHODS:
            faults.append(f'method is "{self.method}"; choose {", ".join(METHODS)}')
        for name, number in (("years", self.years), ("seed", self.seed)):
            if number is not None and self.method == RECORDS:
                faults.append(
                    f"{name} is {number}, and the method records takes every recorded summer as it was; "
                    f"leave {name} out, or choose the method blocks or chain"
                )
        if self.years is not None and not 1 <= self.years <= MOST_YEARS:
            faults.append(f"years is {self.years}; write 1 to {MOST_YEARS}: more of them add no knowledge")
        if self.seed is not None and self.seed < 0:
            faults.append(f"seed is {self.seed}; write a whole number, 0 or more")
        if not abs(self.warmer_c) <= WARMER_C:
            faults.append(f"warmer is {self.warmer_c:g}; write degrees Celsius from -{WARMER_C:g} to {WARMER_C:g}")
        if not 0.0 <= self.rain_factor <= RAIN_FACTOR:
            faults.append(
                f"rain is {self.rain_factor:g}; write a factor from 0 to {RAIN_FACTOR:g}, 0.85 for 15 % less rain"
            )
        return faults

    def season(self, site: Site) -> tuple[str, str]:
        """First and last day, MM-DD. Raises WeatherError where one is no day of every year."""
        start_md, end_md = SOUTHERN_SUMMER if site.is_south else SUMMER
        start_md, end_md = self.start_md or start_md, self.end_md or end_md
        season(start_md, end_md)
        return start_md, end_md


def recorded_summers(site: Site, weather: Weather, wanted: Wanted) -> Years:
    """Every complete recorded season, changed as wanted.

    Raises WeatherError naming the days there are, where fewer than two seasons are complete or ET0 cannot be made warmer.
    """
    start_md, end_md = wanted.season(site)
    try:
        years = recorded_years(weather.daily, start_md, end_md)
        held = ", ".join(years.label)
    except WeatherError:
        years, held = None, "none"
    if years is None or years.years_behind < LEAST_RECORDED:
        first, last = weather.daily.index[0].date(), weather.daily.index[-1].date()
        raise WeatherError(
            f"{weather.source}: has {first} to {last}, and complete from {start_md} to {end_md}: {held}. Odds need at "
            f"least {LEAST_RECORDED} years, better 10 or more: give weather of more years, or try one with waterbudget run"
        )
    return _changed(site, weather, years, wanted)


def drawn_summers(site: Site, weather: Weather, wanted: Wanted) -> Years:
    """Summers drawn from the record by the wanted method, changed as wanted.

    Raises WeatherError as recorded_summers, and where fewer than five recorded years stand behind them or the chain
    cannot give what the site needs.
    """
    start_md, end_md = wanted.season(site)
    count, seed = wanted.years or YEARS, SEED if wanted.seed is None else wanted.seed
    _refuse_few(weather, recorded_summers(site, weather, wanted).years_behind)
    if wanted.method == BLOCKS:
        years = block_years(weather.daily, start_md, end_md, count, seed)
    else:
        chain = fit_chain(weather.daily[_drawn_by_chain(site, weather, wanted)])
        _refuse_few(weather, chain.years_behind)
        years = chain_years(chain, start_md, end_md, count, seed)
    return _changed(site, weather, years, wanted)


def _refuse_few(weather: Weather, years_behind: int) -> None:
    if years_behind < FEW_YEARS:
        raise WeatherError(
            f"{weather.source}: has {years_behind} whole years, too few to draw others from; "
            f"give weather of at least {FEW_YEARS}, or choose the method records"
        )


def _drawn_by_chain(site: Site, weather: Weather, wanted: Wanted) -> list[str]:
    """Columns that the chain is fitted to: temperatures where the record's ET0 is that of them alone, else ET0 itself."""
    if _is_computed(weather):
        temperatures = weather.daily[["tmin_c", "tmax_c"]]
        _, et0 = reference_et0(temperatures, site.latitude_deg, site.elevation_m, site.wind_height_m)
        if et0 == weather.et0:
            return ["rain_mm", "tmin_c", "tmax_c"]
    hot = [number for number, zone in enumerate(site.zone, 1) if zone.hot_above_c is not None]
    if wanted.warmer_c != 0.0 or hot:
        needs = "warmer" if wanted.warmer_c != 0.0 else f"zone[{hot[0]}].hot_above_c"
        raise WeatherError(
            f"{weather.source}: its ET0 does not follow from tmin_c and tmax_c alone, so the chain draws ET0 and no "
            f"temperatures, which {needs} needs; choose the method blocks or records"
        )
    return ["rain_mm", "et0_mm"]


def _is_computed(weather: Weather) -> bool:
    return weather.et0.method != ET0_GIVEN


def _changed(site: Site, weather: Weather, years: Years, wanted: Wanted) -> Years:
    """Rain and warmth changed, and ET0 by the record's own rung from the temperatures of each day, on its date."""
    years = changed(years, rain_factor=wanted.rain_factor)
    if wanted.warmer_c != 0.0:
        if not _is_computed(weather):
            raise WeatherError(
                f"{weather.source}: its ET0 is given as et0_mm and cannot be made warmer; leave warmer out, "
                "or give tmin_c and tmax_c in place of et0_mm"
            )
        note = years.note + said(f"{wanted.warmer_c:+g} °C on every day; humidity, wind and sun as they were")
        years = replace(changed(years, warmer_c=wanted.warmer_c), note=note)
    if not _is_computed(weather) or years.tmin_c is None or years.tmax_c is None:
        return years
    return replace(years, et0_mm=_et0_mm(site, years, {"tmin_c": years.tmin_c, "tmax_c": years.tmax_c}))


def _et0_mm(site: Site, years: Years, temperatures: dict[str, Array]) -> Array:
    """ET0 [mm] of every day, (day, scenario): all years one under the other in a single table, as pyet is slow to start."""
    import pandas as pd

    readings = {name: x.ravel(order="F") for name, x in (temperatures | dict(years.others)).items()}
    daily = pd.DataFrame(readings, pd.DatetimeIndex(years.dates.ravel(order="F")))
    et0_mm, _ = reference_et0(daily, site.latitude_deg, site.elevation_m, site.wind_height_m)
    return et0_mm.to_numpy().reshape(years.dates.shape, order="F")
