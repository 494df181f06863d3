"""More years than were recorded, drawn from a chain of wet and dry days with gamma rain.

Whether a day is wet depends on the day before alone (Markov chain, first order), its depth on its month alone.
Source: Richardson 1981, Water Resources Research 17: 182; Geng, Penning de Vries & Supit 1986, Agricultural and Forest
Meteorology 36: 363 (both from memory). Temperature follows in our own plain construction: the day's mean and the root
of its range, so that tmin never exceeds tmax.

Long dry spells come too rarely. Measured on whole years with `spell_table`, a dry day having less than 1 mm:

                                        recorded   chain   blocks of 30 days   (2000 years each)
    Fulda 1979-88, mean longest spell     17.6 d   14.5 d         17.9 d
    Fulda, years with 21 dry days           30 %      8 %           24 %
    Seattle 2012-15, mean longest spell   48.5 d   29.8 d         40.0 d
    Seattle, years with 28 dry days         75 %     50 %           76 %

The recorded means rest on ten and on four years (standard errors 1.4 d and 12.5 d), the fits on too few.
The chain's yearly rain also varies too little (standard deviation at Fulda 84 mm, recorded 109 mm), and the gamma
distribution puts 7 % of Fulda's wet days below the 0.1 mm that made a recorded day wet.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from waterbudget.errors import RangeError, WeatherError
from waterbudget.units import Array, BoolArray, DateArray, IntArray
from waterbudget.weather.years import YEAR_DAYS, Years, read_record, said, season_dates

if TYPE_CHECKING:
    import pandas as pd

MONTHS = 12
WET_MM = 0.1  # least rain that a gauge measures
FEW_DAYS = 10  # with fewer, a month's own figures are too uncertain to use; ours
LARGEST_SHAPE = 1000.0  # wet days within 3 % of each other; equal depths would give no finite shape
YEARS_WANTED = 20  # to fit a chain directly: a digest of Geng et al. 1986


@dataclass(frozen=True, eq=False)
class Normals:
    """A quantity of the day by month, dry and wet days apart, January first; each (12,).

    mean_dry, mean_wet, sd_dry, sd_wet: in its unit. lag1: correlation [-] of its standardised value with the day
    before's.
    """

    mean_dry: Array
    mean_wet: Array
    sd_dry: Array
    sd_wet: Array
    lag1: Array

    def __post_init__(self) -> None:
        _check_months(self, {"sd_dry": (0.0, np.inf), "sd_wet": (0.0, np.inf), "lag1": (-1.0, 1.0)})


@dataclass(frozen=True, eq=False)
class Chain:
    """Wet and dry days and their weather by month, January first; every array (12,).

    p_wet_dry, p_wet_wet: probability [-] of a wet day after a dry one, after a wet one. rain_shape [-], rain_scale_mm:
    gamma distribution of a wet day's rain. wet_mm: a recorded day with less counted as dry, its rain as none.
    years_behind: recorded years fitted. tmean_c: (tmin + tmax)/2 [°C]. range_root: root of tmax - tmin [°C^0.5], its
    lag1 that of the part which does not follow tmean_c. range_with_tmean: correlation [-] of the two. et0_root: root
    of ET0 [mm^0.5], from a record without temperatures. None where the record has no such thing.
    Raises RangeError where a value is impossible.
    """

    p_wet_dry: Array
    p_wet_wet: Array
    rain_shape: Array
    rain_scale_mm: Array
    wet_mm: float
    years_behind: int
    tmean_c: Normals | None = None
    range_root: Normals | None = None
    range_with_tmean: Array | None = None
    et0_root: Normals | None = None

    def __post_init__(self) -> None:
        positive = (np.finfo(float).tiny, np.inf)
        bounds = {"p_wet_dry": (0.0, 1.0), "p_wet_wet": (0.0, 1.0), "range_with_tmean": (-1.0, 1.0)}
        _check_months(self, bounds | {"rain_shape": positive, "rain_scale_mm": positive})
        if np.any((self.p_wet_dry == 0.0) & (self.p_wet_wet == 1.0)):
            raise RangeError("chain: p_wet_dry 0 and p_wet_wet 1 in one month: it would never change")
        if len({part is None for part in (self.tmean_c, self.range_root, self.range_with_tmean)}) > 1:
            raise RangeError("chain: tmean_c, range_root and range_with_tmean come together or not at all")

    @property
    def wet_share(self) -> Array:
        """Share of wet days [-] that each month tends to (12,): where P(wet) is the same on two days running."""
        return self.p_wet_dry / (1.0 + self.p_wet_dry - self.p_wet_wet)

    def to_numbers(self) -> dict[str, Any]:
        """The chain as plain numbers and lists, fit for JSON or TOML; what is None is left out."""
        numbers: dict[str, Any] = _plain(asdict(self))
        return numbers

    @classmethod
    def from_numbers(cls, numbers: Mapping[str, Any]) -> "Chain":
        """The chain that `to_numbers` wrote."""
        return cls(**{name: _part(x) for name, x in numbers.items()})


def _check_months(part: Chain | Normals, bounds: dict[str, tuple[float, float]]) -> None:
    for entry in fields(part):
        x = getattr(part, entry.name)
        if not isinstance(x, np.ndarray):
            continue
        low, high = bounds.get(entry.name, (-np.inf, np.inf))
        if x.shape != (MONTHS,) or not np.isfinite(x).all() or np.any((x < low) | (x > high)):
            raise RangeError(f"chain: {entry.name} must be 12 numbers, {low:g} to {high:g}")


def _plain(x: Any) -> Any:  # noqa: ANN401
    if isinstance(x, dict):
        return {name: _plain(part) for name, part in x.items() if part is not None}
    return x.tolist() if isinstance(x, np.ndarray) else x


def _part(x: Any) -> Any:  # noqa: ANN401
    if isinstance(x, Mapping):
        return Normals(**{name: _part(part) for name, part in x.items()})
    return np.asarray(x, dtype=np.float64) if isinstance(x, list) else x


def fit_chain(daily: "pd.DataFrame", *, wet_mm: float = WET_MM) -> Chain:
    """The chain of a daily record; probabilities and gamma shapes by maximum likelihood.

    daily: one row a day, DatetimeIndex, rain_mm [mm] and, as available, tmin_c, tmax_c [°C] or et0_mm [mm]; days that
    lack a value are passed over. A month with fewer than 10 wet days takes the gamma shape of the whole year (with
    none, its mean too); one with fewer than 10 dry or wet days takes the temperatures of all its days.
    Raises WeatherError where a month has fewer than 10 days, or the whole record fewer than 10 wet ones.
    """
    record = read_record(daily)
    x = {name: column[record.known] for name, column in record.columns.items()}
    dates, wet = record.dates[record.known], x["rain_mm"] >= wet_mm
    month = _months(dates)
    thin = np.flatnonzero(_count(month) < FEW_DAYS) + 1
    if thin.size:
        raise WeatherError(
            f"record: fewer than {FEW_DAYS} days in month {', '.join(map(str, thin))}; a chain wants a year"
        )
    if wet.sum() < FEW_DAYS:
        raise WeatherError(f"record: {wet.sum()} days with {wet_mm:g} mm of rain; a chain wants at least {FEW_DAYS}")

    after = np.flatnonzero(np.diff(dates) == np.timedelta64(1, "D")) + 1  # days whose day before is known too
    p_wet_dry, p_wet_wet = (
        _quotient(_count(month[after[wet[after] & came]]), _count(month[after[came]]))
        for came in (~wet[after - 1], wet[after - 1])
    )
    shape, scale_mm = _fit_gamma(x["rain_mm"][wet], month[wet])
    return Chain(
        p_wet_dry=np.where(np.isnan(p_wet_dry), p_wet_wet, p_wet_dry),
        p_wet_wet=np.where(np.isnan(p_wet_wet), p_wet_dry, p_wet_wet),
        rain_shape=shape,
        rain_scale_mm=scale_mm,
        wet_mm=wet_mm,
        years_behind=dates.size // YEAR_DAYS,
        **_fit_temperatures(x, month, wet, after),
    )


def _fit_gamma(rain_mm: Array, month: IntArray) -> tuple[Array, Array]:
    """Shape [-] and scale [mm] of the wet days of each month."""
    wet_days, log_mm = _count(month), np.log(rain_mm)
    mean_mm = _quotient(np.bincount(month, rain_mm, MONTHS), wet_days)
    spread = np.log(mean_mm) - _quotient(np.bincount(month, log_mm, MONTHS), wet_days)
    of_the_year = np.nansum(spread * wet_days) / wet_days.sum()  # one shape, a mean for each month
    shape = gamma_shape(np.where(wet_days < FEW_DAYS, of_the_year, spread))
    return shape, np.where(wet_days == 0, rain_mm.mean(), mean_mm) / shape


def gamma_shape(spread: Array) -> Array:
    """Shape [-] of greatest likelihood; spread: log of the mean less mean of the logs, at most 17.

    Within 0.02 % of the root of the likelihood equation; a spread below 0.0005 counts as 0.0005.
    Source: Greenwood & Durand 1960, Technometrics 2: 55 (from memory).
    """
    y = np.maximum(spread, 0.5 / LARGEST_SHAPE)
    narrow = (0.5000876 + 0.1648852 * y - 0.0544274 * y**2) / y
    wide = (8.898919 + 9.059950 * y + 0.9775373 * y**2) / (y * (17.79728 + 11.968477 * y + y**2))
    return np.where(y <= 0.5772, narrow, wide)  # noqa: PLR2004


def _fit_temperatures(x: Mapping[str, Array], month: IntArray, wet: BoolArray, after: IntArray) -> dict[str, Any]:
    if not {"tmin_c", "tmax_c"} <= x.keys():
        if "et0_mm" not in x:
            return {}
        moments, z = _fit_moments(np.sqrt(x["et0_mm"]), month, wet)
        return {"et0_root": Normals(*moments, _lag1(z, month, after))}
    moments, warm = _fit_moments((x["tmin_c"] + x["tmax_c"]) / 2.0, month, wet)
    tmean_c = Normals(*moments, _lag1(warm, month, after))
    moments, wide = _fit_moments(np.sqrt(x["tmax_c"] - x["tmin_c"]), month, wet)
    shared = _correlation(wide, warm, month)
    range_root = Normals(*moments, _lag1(wide - shared[month] * warm, month, after))
    return {"tmean_c": tmean_c, "range_root": range_root, "range_with_tmean": shared}


def _fit_moments(x: Array, month: IntArray, wet: BoolArray) -> tuple[tuple[Array, Array, Array, Array], Array]:
    """Means on dry and wet days, standard deviations on dry and wet days (12,), and the standardised x (day,)."""
    mean, sd = np.empty((2, MONTHS)), np.empty((2, MONTHS))
    state = wet.astype(np.int64)  # 0 dry, 1 wet
    for number in range(MONTHS):
        of_month = month == number
        for one in (0, 1):
            alike = of_month & (state == one)
            days = x[alike if alike.sum() >= FEW_DAYS else of_month]
            mean[one, number], sd[one, number] = days.mean(), days.std()
    return (mean[0], mean[1], sd[0], sd[1]), _quotient(x - mean[state, month], sd[state, month], empty=0.0)


def _lag1(z: Array, month: IntArray, after: IntArray) -> Array:
    return _correlation(z[after], z[after - 1], month[after])


def _correlation(a: Array, b: Array, month: IntArray) -> Array:
    """Correlation [-] of two series by month (12,); 0 where one of them stands still."""
    days = _count(month)
    a, b = (x - _quotient(np.bincount(month, x, MONTHS), days, empty=0.0)[month] for x in (a, b))
    ab, aa, bb = (np.bincount(month, x, MONTHS) for x in (a * b, a * a, b * b))
    return np.clip(_quotient(ab, np.sqrt(aa * bb), empty=0.0), -1.0, 1.0)  # beyond 1 by rounding alone


def chain_years(chain: Chain, start_md: str, end_md: str, years: int, seed: int) -> Years:
    """Seasons drawn from the chain; arrays (day, scenario).

    Every season starts from the wet share of its first month, with no memory of the day before. tmin_c and tmax_c are
    None without temperatures in the chain; et0_mm is None with them: compute it from them. The same seed gives the
    same years, and the first years are the same however many are asked for. Raises RangeError where years is below 1,
    WeatherError where start_md or end_md is no MM-DD of every year.
    """
    if years < 1:
        raise RangeError(f"years {years}: give at least 1")
    dates = season_dates(start_md, end_md, years)
    month = _months(dates[:, 0])
    for_wet, for_rain, for_warm, for_range = (np.random.default_rng(s) for s in np.random.SeedSequence(seed).spawn(4))
    # each draws year after year, so that the first years stay the same
    wet = _wet_days(chain, month, np.ascontiguousarray(for_wet.random(dates.T.shape).T))
    rain_mm = _rain(chain, month, wet, for_rain)
    tmin_c = tmax_c = et0_mm = None
    if chain.tmean_c is not None and chain.range_root is not None and chain.range_with_tmean is not None:
        warm = _drift(chain.tmean_c, month, years, for_warm)
        own = _drift(chain.range_root, month, years, for_range)
        shared = chain.range_with_tmean[month, np.newaxis]
        tmean_c = _level(chain.tmean_c, month, wet, warm)
        half_c = _level(chain.range_root, month, wet, shared * warm + np.sqrt(1.0 - shared**2) * own) ** 2 / 2.0
        tmin_c, tmax_c = tmean_c - half_c, tmean_c + half_c
    elif chain.et0_root is not None:
        et0_mm = _level(chain.et0_root, month, wet, _drift(chain.et0_root, month, years, for_warm)) ** 2
    return Years(
        label=tuple(f"generated {year}" for year in range(1, years + 1)),
        dates=dates,
        rain_mm=rain_mm,
        tmin_c=tmin_c,
        tmax_c=tmax_c,
        et0_mm=et0_mm,
        method="chain",
        years_behind=chain.years_behind,
        note=_note(chain),
    )


def _wet_days(chain: Chain, month: IntArray, lots: Array) -> BoolArray:
    wet = np.empty(lots.shape, dtype=np.bool_)
    wet[0] = lots[0] < chain.wet_share[month[0]]
    for day in range(1, month.size):
        wet[day] = lots[day] < np.where(wet[day - 1], chain.p_wet_wet[month[day]], chain.p_wet_dry[month[day]])
    return wet


def _rain(chain: Chain, month: IntArray, wet: BoolArray, rng: np.random.Generator) -> Array:
    year, day = np.nonzero(wet.T)
    rain_mm = np.zeros(wet.shape)
    rain_mm[day, year] = rng.standard_gamma(chain.rain_shape[month[day]]) * chain.rain_scale_mm[month[day]]
    return rain_mm


def _drift(normals: Normals, month: IntArray, years: int, rng: np.random.Generator) -> Array:
    """Standard normal values of which each leans on the day before's (day, scenario)."""
    z = np.ascontiguousarray(rng.standard_normal((years, month.size)).T)
    lag1 = normals.lag1[month]
    for day in range(1, month.size):
        z[day] = lag1[day] * z[day - 1] + np.sqrt(1.0 - lag1[day] ** 2) * z[day]
    return z


def _level(normals: Normals, month: IntArray, wet: BoolArray, z: Array) -> Array:
    """The quantity itself from its standardised value, for the day's month and state (day, scenario)."""
    mean = np.where(wet, normals.mean_wet[month, np.newaxis], normals.mean_dry[month, np.newaxis])
    return mean + np.where(wet, normals.sd_wet[month, np.newaxis], normals.sd_dry[month, np.newaxis]) * z


def _note(chain: Chain) -> str:
    warmth = ", and temperatures by dry and wet day"
    if chain.tmean_c is None:
        warmth = "; the record had no temperatures" if chain.et0_root is None else ", and ET0 by dry and wet day"
    note = (
        f"Keeps each month's wet days and rain{warmth}. Loses what lasts longer than a day or two: wet and dry "
        "years, and long dry spells, which come too rarely; do not size a store on them alone. Steps at month ends; "
        "rare days go beyond all that was recorded. Dated in 2001; 29 February is left out."
    )
    short = f"fitted to {chain.years_behind} years; at least {YEARS_WANTED} are wanted"
    return note + said(short if chain.years_behind < YEARS_WANTED else "")


def _months(dates: DateArray) -> IntArray:
    """Month of each date, 0 for January."""
    return dates.astype("datetime64[M]").astype(np.int64) % MONTHS  # months since January 1970


def _count(month: IntArray) -> IntArray:
    return np.bincount(month, minlength=MONTHS)


def _quotient(part: Array | IntArray, whole: Array | IntArray, *, empty: float = np.nan) -> Array:
    """Quotient of two arrays, `empty` where the whole is 0."""
    return np.divide(part, whole, out=np.full(np.shape(part), empty), where=whole != 0)
