"""A table of weather brought into a garden: understood, mended, written beside the site file and named in it."""

import datetime as dt
import os
from dataclasses import dataclass
from pathlib import Path

from waterbudget.errors import InputError, OutputError, WeatherError
from waterbudget.example import is_invented
from waterbudget.output import refuse_existing, write_files
from waterbudget.rows.text import read_content
from waterbudget.site.edit import Change
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.site.starter import WEATHER_FILE
from waterbudget.site.write import write_changes
from waterbudget.weather.days import Weather
from waterbudget.weather.files import COLUMNS, weather_of
from waterbudget.weather.gaps import BRIDGED
from waterbudget.weather.table.mended import Mended, mended, weather_bytes
from waterbudget.weather.table.understand import Hints, Understood, understand

GAUGE_FILE = "gauge.csv"


@dataclass(frozen=True, eq=False)
class WeatherImport:
    """A table as it would come into a garden; nothing is written yet.

    target: the file to write. ready: its days. weather: what a run makes of them, None for a gauge's and where the site
    file lacks what ET0 needs, which lacking_for_et0 then says. replaces: what lies at the target: "" for nothing.
    changes: what the site file has to say.
    """

    path: Path
    site: Site
    understood: Understood
    target: Path
    ready: Mended
    weather: Weather | None
    lacking_for_et0: tuple[str, ...]
    replaces: str
    changes: tuple[Change, ...]

    @property
    def content(self) -> bytes:
        """The file to write."""
        return weather_bytes(self.ready, self.understood.name)

    @property
    def stands_alone(self) -> bool:
        """Whether a gauge's rain goes with usual temperatures, in place of a starter's invented weather."""
        return self.understood.is_gauge and any(change.place == ("weather", "file") for change in self.changes)

    @property
    def bridged(self) -> dict[str, int]:
        """How many days of a reading were bridged between those beside them; only readings that have such days."""
        days = {name: int((self.ready.daily[f"{name}_source"] == BRIDGED).sum()) for name in self._kept}
        return {name: number for name, number in days.items() if number}

    @property
    def given_up(self) -> tuple[str, ...]:
        """Readings that are left out altogether, as too many of their days are missing."""
        there = map(str, self.understood.daily)
        return tuple(name for name in there if name not in self._kept and not self.understood.is_gauge)

    @property
    def _kept(self) -> list[str]:
        return [name for name in COLUMNS if f"{name}_source" in self.ready.daily]

    @property
    def needs_overwrite(self) -> bool:
        """Whether it would replace a file of the gardener's own."""
        return self.replaces == OWN


INVENTED, SAME, OWN = "invented", "same", "own"


def find_import(
    path: Path,
    table: Path,
    hints: Hints,
    *,
    first: dt.date | None = None,
    last: dt.date | None = None,
    out: Path | None = None,
) -> WeatherImport:
    """What a table in a file would give a garden; as `import_of`.

    table: CSV or .xlsx. Raises InputError in lines that name file, row or column, and what would be right.
    """
    content = read_content(table, "table", "check its name and folder", WeatherError)
    found = import_of(path, understand(content, table.name, hints), first=first, last=last, out=out)
    if found.target.resolve() == table.resolve():
        raise OutputError(f"{table}: is the file to be written, too; give it another name, or name another with --out")
    return found


def import_of(
    path: Path,
    understood: Understood,
    *,
    first: dt.date | None = None,
    last: dt.date | None = None,
    out: Path | None = None,
) -> WeatherImport:
    """What a table as it was understood would give the garden of a site file.

    first, last: the days to take, by default all. out: file to write, by default the one that the site names, else
    weather.csv or, for rain alone, gauge.csv beside it. Raises InputError in lines that name file, row or column, and
    what would be right.
    """
    site = load_site(path)
    ready = mended(understood, first, last)
    named = site.weather.gauge or GAUGE_FILE if understood.is_gauge else site.weather.file or WEATHER_FILE
    target = path.parent / named if out is None else out
    weather: Weather | None = None
    lacking: tuple[str, ...] = ()
    if not understood.is_gauge:
        try:
            weather = weather_of(ready.daily, site, target.name)
        except WeatherError as error:
            lacking = error.faults
    return WeatherImport(
        path=path,
        site=site,
        understood=understood,
        target=target,
        ready=ready,
        weather=weather,
        lacking_for_et0=lacking,
        replaces=_there(target, weather_bytes(ready, understood.name)),
        changes=tuple(_changes(path, site, understood, target)),
    )


def write_import(found: WeatherImport, *, overwrite: bool) -> tuple[Path, ...]:
    """Write the file and name it in the site file; what was written, and the copy of the site file as it was.

    Raises OutputError where a file of the gardener's own would be replaced and overwrite is False, or nothing can be
    written, SiteError where the site file cannot be changed.
    """
    refuse_existing([found.target], overwrite=overwrite or not found.needs_overwrite)
    written = [] if found.replaces == SAME else [found.target]
    if written:
        write_files({found.target: found.content}, overwrite=True)
    copy = [write_changes(found.path, found.site, found.changes)] if found.changes else []
    return (*written, *([found.path] if copy else []), *copy)


def _there(target: Path, content: bytes) -> str:
    """What lies at the target already."""
    if not os.path.lexists(target):
        return ""
    try:
        there = read_content(target, "weather file", "write it")
    except InputError:
        return OWN
    return SAME if there == content else INVENTED if is_invented(there) else OWN


def _only_invented(path: Path, site: Site) -> bool:
    """Whether a starter's invented weather is all that a gauge would stand beside, and usual temperatures can do."""
    if site.weather.file is None or site.usual is None:
        return False
    try:
        return is_invented(read_content(path.parent / site.weather.file, "weather file", "write it"))
    except InputError:
        return False


def _changes(path: Path, site: Site, understood: Understood, target: Path) -> list[Change]:
    """What the site file has to say for a run to take the file."""
    source = site.weather
    named = Path(os.path.relpath(target, path.parent)).as_posix()
    if understood.is_gauge:
        alone = [Change(("weather", "file"), None)] if _only_invented(path, site) else []
        return [*alone, *([] if source.gauge == named else [Change(("weather", "gauge"), named)])]
    changes = [] if source.file == named else [Change(("weather", "file"), named)]
    given = {"station": source.station, "nearest": source.nearest, "fill": source.fill}
    changes += [Change(("weather", key), None) for key, value in given.items() if value]
    height_m = understood.wind_height_m
    if height_m is not None and height_m != source.wind_height_m:
        changes.append(Change(("weather", "wind_height_m"), height_m))
    return changes
