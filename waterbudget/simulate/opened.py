"""Open what a command names: the site, its weather and what the reader should know about both."""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from waterbudget.errors import SiteError
from waterbudget.example import site_path
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.weather.files import Weather, read_weather

HERE = Path("site.toml")


@dataclass(frozen=True)
class Opened:
    """A site with its weather; notes are for people, one line each."""

    path: Path
    site: Site
    weather: Weather
    notes: tuple[str, ...]


def open_site(path: Path | None, first: dt.date | None = None, last: dt.date | None = None) -> Opened:
    """Open a site file, else site.toml of this folder, else the built-in example, and its weather from first to last.

    Raises SiteError or WeatherError with every fault of the file at once.
    """
    notes = []
    if path is None:
        path = HERE if HERE.exists() else site_path()
        if path != HERE:
            notes.append(
                "No site.toml here, so this is the built-in example, the school garden Brackenfold; "
                "its weather is invented. Start your own with: waterbudget new my-garden"
            )
    site = load_site(path)
    notes += unwatered(site)
    if site.weather.file is None:
        raise SiteError(f'{path}: weather.file: is missing; add [weather] with file = "weather.csv"')
    weather = read_weather(path.parent / site.weather.file, site).between(first, last)
    return Opened(path, site, weather, tuple(notes))


def unwatered(site: Site) -> list[str]:
    """A line for each zone that waters no bed."""
    watered = {bed.zone for bed in site.bed}
    return [
        f'"{zone.name}" waters no bed: all that it gives is lost to the beds. '
        f'Add zone = "{zone.name}" to a bed, or make it a [[draw]].'
        for zone in site.zone
        if zone.name not in watered
    ]
