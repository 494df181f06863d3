"""Open what a command names: the site, its weather and what the reader should know about both."""

import datetime as dt
import shlex
from dataclasses import dataclass, replace
from pathlib import Path

from waterbudget.errors import InputError, Said, SiteError
from waterbudget.example import site_path
from waterbudget.site.model import Site, Usual
from waterbudget.site.read import load_site
from waterbudget.weather.days import Weather
from waterbudget.weather.files import called, credit_of, read_daily, weather_of, weather_of_file
from waterbudget.weather.gaps import use_gauge
from waterbudget.weather.usual import gauge_weather

HERE = Path("site.toml")
NO_WEATHER = "Without weather nothing can be reckoned. Bring in weather from a file."
INVENTED = (
    "{file} is the invented weather that came with the starter, so this is no real summer of yours. Bring in your own"
)


@dataclass(frozen=True)
class Opened:
    """A site with its weather; notes are for people, one line each."""

    path: Path
    site: Site
    weather: Weather
    notes: tuple[str, ...]


def open_site(
    path: str | Path | None, first: dt.date | None = None, last: dt.date | None = None, *, every_year: bool = False
) -> Opened:
    """Open a site file, else site.toml of this folder, else the built-in example, and its weather from first to last.

    Weather of a station comes from the cache alone; where no days are named it is that of the last whole summer, or of
    every year that was fetched where every_year is True. Raises SiteError or WeatherError with every fault of the file
    at once.
    """
    notes = []
    if path is None:
        path = HERE if HERE.exists() else site_path()
        if path != HERE:
            notes.append(
                "No site.toml here, so this is the built-in example, the school garden Brackenfold; "
                "its weather is invented. Start your own with: waterbudget new my-garden"
            )
    path = Path(path)
    site = load_site(path)
    notes += unwatered(site)
    if site.weather.file is not None:
        weather, told = _weather_of_file(path.parent / site.weather.file, path, site, first, last)
    elif site.weather.station is not None or site.weather.nearest:
        from waterbudget.simulate.fetched import cached_weather

        weather, told = cached_weather(path, site, first, last, every_year=every_year)
    elif site.weather.gauge is not None and site.usual is not None:
        weather, told = _weather_of_gauge(path.parent / site.weather.gauge, site, site.usual, first, last)
    else:
        raise SiteError(Said(f"{path}: weather.file: is missing; {_ways(site)}", NO_WEATHER))
    return Opened(path, site, weather, (*notes, *told))


def own_site(path: str | Path | None) -> Path:
    """The site file that was named, else site.toml of this folder. Raises InputError where neither is there."""
    if path is None and not HERE.exists():
        raise InputError(f"{HERE}: there is none here; name your site file, or start one: waterbudget new my-garden")
    return HERE if path is None else Path(path)


def _weather_of_file(
    file: Path, path: Path, site: Site, first: dt.date | None, last: dt.date | None
) -> tuple[Weather, tuple[str, ...]]:
    """The weather of a file, with the rain of the gauge and the credit that the file brings along; and notes."""
    notes = []
    if site.weather.gauge is None:
        weather = weather_of_file(file, site, file.name)
    else:
        daily, note = use_gauge(read_daily(file), path.parent / site.weather.gauge)
        weather = weather_of(daily, site, file.name)
        notes.append(note)
    name, credit = called(file), credit_of(file)
    if name != file.name:
        invented = INVENTED.format(file=file.name)
        notes.append(
            Said(
                f"{invented}: waterbudget weather {shlex.quote(str(path))} --import FILE",
                f"{invented}, under Garden.",
            )
        )
    weather = weather.between(first, last)
    return replace(weather, source=f"{name}; {credit}" if credit else name), tuple(notes)


def _weather_of_gauge(
    file: Path, site: Site, usual: Usual, first: dt.date | None, last: dt.date | None
) -> tuple[Weather, tuple[str, ...]]:
    """The rain of the garden's own gauge with usual temperatures; and notes."""
    weather, unread = gauge_weather(file, usual, site)
    days = (
        "1 day between its readings has none and counts"
        if unread == 1
        else (f"{unread:,} days between its readings have none and count")
    )
    return weather.between(first, last), (f"{file.name}: {days} as dry.",) if unread else ()


def _ways(site: Site) -> str:
    """What a site without weather has to say."""
    if site.weather.gauge is not None:
        return "for a gauge alone add [usual] with july_high_c, july_low_c, january_high_c and january_low_c"
    if site.usual is not None:
        return 'beside [usual] add [weather] with gauge = "gauge.csv", your own rain readings'
    return (
        'add [weather] with file = "weather.csv", with nearest = true for the nearest weather station, or with '
        'gauge = "gauge.csv" and a table [usual] beside it'
    )


def unwatered(site: Site) -> list[str]:
    """A line for each zone that waters no bed."""
    watered = {bed.zone for bed in site.bed}
    return [
        f'"{zone.name}" waters no bed: all that it gives is lost to the beds. '
        f'Add zone = "{zone.name}" to a bed, or make it a [[draw]].'
        for zone in site.zone
        if zone.name not in watered
    ]
