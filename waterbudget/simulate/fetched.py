"""A site's weather from stations: fetched for it, and found again in the cache when it is run."""

import datetime as dt
import shlex
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.errors import SiteError, WeatherError
from waterbudget.output import refuse_existing, write_files
from waterbudget.site.model import Site
from waterbudget.weather.files import Weather
from waterbudget.weather.place import (
    Closed,
    Measured,
    close_gaps,
    last_whole_year,
    measured_at,
    period_of,
    remember_period,
    remembered_period,
    station_weather,
    weather_csv,
    years_without_gaps,
)
from waterbudget.weather.shelf import NetworkError, Spot, cache_folder, named

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, eq=False)
class Looked:
    """What was found out about the weather of a site's place.

    station: the id that was asked for, None for the nearest. first, last: the days fetched. run_first, run_last: those
    that a run takes by itself. closed: the record with gaps mended where fill is True. weather: of all days, None where
    gaps are left. run_gaps: the gaps that stop a run. good_years: calendar years without any. is_kept: whether a run
    finds it in the cache. written: the weather file that was made.
    """

    path: Path
    site: Site
    station: str | None
    first: dt.date
    last: dt.date
    run_first: dt.date
    run_last: dt.date
    fill: bool
    measured: Measured
    closed: Closed
    weather: Weather | None
    run_gaps: tuple[str, ...]
    good_years: tuple[int, ...]
    notes: tuple[str, ...]
    is_kept: bool
    written: Path | None


def fetch_weather(
    path: Path,
    site: Site,
    first: dt.date | None,
    last: dt.date | None,
    *,
    station: str | None = None,
    fill: bool = False,
    refresh: bool = False,
    out: Path | None = None,
    overwrite: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Looked:
    """Fetch the weather of a site's place, look at it, and keep it for runs.

    first, last: as for `period_of`. station: an id, by default the site's own, else the nearest. fill: mend gaps, as
    does fill = true in the site. out: weather file to write. Raises SiteError naming the key that is missing,
    WeatherError where there is no such weather or gaps would go into the file, NetworkError where it cannot be had,
    OutputError where the file may not be written.
    """
    if out is not None:
        refuse_existing([out], overwrite=overwrite)
    spot, fill = spot_of(path, site), fill or site.weather.fill
    station = station or site.weather.station
    first, last = period_of(first, last, dt.datetime.now(tz=dt.UTC).date())
    measured = measured_at(
        spot, first, last, station=station, gauge=_gauge(path, site), refresh=refresh, progress=progress
    )
    neighbours = measured.fetched.neighbours
    closed = close_gaps(measured.daily, neighbours, fill=fill)
    run_first, run_last = last_whole_year(first, last, south=site.is_south)
    run_gaps = close_gaps(_days(measured.daily, run_first, run_last), neighbours, fill=fill).gaps
    weather, notes = None, [*measured.notes, *closed.notes]
    if not closed.gaps:
        weather, more = station_weather(closed.daily, spot, measured.fetched)
        notes += more
    if out is not None:
        if closed.gaps:
            raise WeatherError(_refusal(f"{out}: not written", path, closed.gaps, fill=fill))
        content = weather_csv(closed.daily, spot, measured.fetched, site.wind_height_m)
        write_files({out: content}, overwrite=overwrite)
    return Looked(
        path=path,
        site=site,
        station=station,
        first=first,
        last=last,
        run_first=run_first,
        run_last=run_last,
        fill=fill,
        measured=measured,
        closed=closed,
        weather=weather,
        run_gaps=run_gaps,
        good_years=tuple(years_without_gaps(measured.daily, neighbours, fill=fill)),
        notes=tuple(notes),
        is_kept=remember_period(spot, station, first, last),
        written=out,
    )


def cached_weather(
    path: Path, site: Site, first: dt.date | None, last: dt.date | None, *, every_year: bool
) -> tuple[Weather, tuple[str, ...]]:
    """The weather that was fetched for a site, from the cache alone, and what to know about it.

    Where neither first nor last is given: the last whole year there, or all of it where every_year is True. Raises
    SiteError naming the key that is missing, WeatherError where nothing was fetched, the days are not among those that
    were, or gaps are left in them.
    """
    spot, station = spot_of(path, site), site.weather.station
    key = "weather.station" if station else "weather.nearest"
    period = remembered_period(spot, station)
    command = f"waterbudget weather {shlex.quote(str(path))}"
    if period is None:
        raise WeatherError(f"{path}: {key}: nothing has been fetched for this place yet; run first: {command}")
    start, end = _run_days(period, first, last, south=site.is_south, every_year=every_year)
    if start > end:
        raise WeatherError(
            f"{path}: the period starts on {start} and ends before it, on {end}; "
            f"choose days from {period[0]} to {period[1]}"
        )
    if start < period[0] or end > period[1]:
        raise WeatherError(
            f"{path}: {key}: of {start} to {end} only {period[0]} to {period[1]} was fetched; choose days of these, "
            f"or run first: {command} --from {min(start, period[0])} --to {max(end, period[1])}"
        )
    try:
        measured = measured_at(spot, *period, station=station, gauge=_gauge(path, site), offline=True)
    except NetworkError as error:
        raise WeatherError(
            f"{path}: {key}: the cache {cache_folder()} has lost some of this weather; run first: {command}"
        ) from error
    fetched = measured.fetched
    closed = close_gaps(_days(measured.daily, start, end), fetched.neighbours, fill=site.weather.fill)
    if closed.gaps:
        raise WeatherError(_refusal(str(path), path, closed.gaps, fill=site.weather.fill))
    weather, notes = station_weather(closed.daily, spot, fetched)
    which = ""
    if (start, end) != period and first is last is None:
        which = f", the last whole year of {period[0]} to {period[1]} (other days: --from and --to)"
    told = f"Weather of station {named(fetched.station)}, {start} to {end}{which}, from the cache."
    return weather, (told, *measured.notes, *closed.notes, *notes)


def spot_of(path: Path, site: Site) -> Spot:
    """Where the site lies, for stations. Raises SiteError naming each key that is missing."""
    example = {
        "latitude_deg": "53.1 (degrees north, south negative)",
        "longitude_deg": "-1.9 (degrees east, west negative)",
    }
    missing = [key for key in example if getattr(site, key) is None]
    if site.latitude_deg is None or site.longitude_deg is None:
        raise SiteError(
            f"{path}: site.{key}: is missing; add {key} = {example[key]} to find weather stations" for key in missing
        )
    spot = Spot(site.latitude_deg, site.longitude_deg, site.elevation_m)
    # The default height is that of readings in a file.
    given = "wind_height_m" in site.weather.model_fields_set
    return spot._replace(wind_height_m=site.wind_height_m) if given else spot


def _gauge(path: Path, site: Site) -> Path | None:
    return None if site.weather.gauge is None else path.parent / site.weather.gauge


def _days(daily: "pd.DataFrame", first: dt.date, last: dt.date) -> "pd.DataFrame":
    import pandas as pd

    return daily.loc[pd.Timestamp(first) : pd.Timestamp(last)]


def _run_days(
    period: tuple[dt.date, dt.date], first: dt.date | None, last: dt.date | None, *, south: bool, every_year: bool
) -> tuple[dt.date, dt.date]:
    if first is None and last is None and not every_year:
        return last_whole_year(*period, south=south)
    return first or period[0], last or period[1]


def _refusal(where: str, path: Path, gaps: tuple[str, ...], *, fill: bool) -> list[str]:
    """What to say of gaps that are in the way, a line for each and one with the way out."""
    look = f"waterbudget weather {shlex.quote(str(path))} --fill"
    way_out = (
        f"{look} lists other stations near by, and the years without a gap"
        if fill
        else f"to have gaps mended where that is sound, add fill = true to [weather]; {look} shows how"
    )
    return [*(f"{where}: {gap}" for gap in gaps), f"{where}: {way_out}"]
