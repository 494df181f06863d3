"""The weather at a place: the station first, then how complete it is, where it comes from, what next."""

import datetime as dt
import itertools
import json
import math
import os
import shlex
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from typing_extensions import TypedDict

from waterbudget.answers.english import count, listed, span
from waterbudget.answers.facts import Common, period
from waterbudget.blocks import Answer, Bullets, Column, Table
from waterbudget.simulate.fetched import Looked
from waterbudget.variables import REGISTER
from waterbudget.weather.days import Weather
from waterbudget.weather.kept import PARAMETERS
from waterbudget.weather.quality import quality_notes
from waterbudget.weather.shelf import WIND_HEIGHT_M, Station
from waterbudget.weather.station import ENOUGH_RAIN, WITHIN_KM

YEAR_DAYS = 365.25
FAR_KM = 10.0  # from which summer showers often miss either garden or station; common practice, no source


class Near(TypedDict):
    """A station that was considered. completeness: share of the days with rain read, null where it was not asked."""

    id: str
    name: str
    distance_km: float | None
    height_difference_m: float | None
    completeness: float | None


class Facts(Common):
    """The weather for machines. sources: days by column and who read them. odd: what looks odd."""

    station: Near
    days: int
    has_gaps: bool
    gaps: list[str]
    years_without_gaps: list[int]
    sources: dict[str, dict[str, int]]
    odd: list[str]
    candidates: list[Near]
    credit: str


def answer(looked: Looked, written: Path | None = None, usual: tuple[Path, ...] = ()) -> Answer:
    """What a gardener needs to know before a run.

    written: the weather file that was made of it. usual: the site file into which usual temperatures went, and its
    copy.
    """
    weather, notes = looked.weather()
    credit = f"{looked.measured.fetched.credit}. Name it wherever you show these figures."
    blocks = (
        candidates(looked),
        measured(looked),
        Bullets("warn", "Gaps", tuple(gaps(looked))),
        Bullets("warn", "Looks odd", tuple(quality_notes(looked.closed.daily))),
        Bullets("assume", "To know", (*notes, *to_know(looked, weather, written)), full=False),
        Bullets("paste", "Next", tuple(next_steps(looked, written))),
        Bullets("tell", "Credit", (credit,), full=False),
    )
    told = (
        *((f"Written to {written}.",) if written is not None else ()),
        *((f"Usual temperatures written into {usual[0]}, [usual]; as it was: {usual[1]}.",) if usual else ()),
    )
    title = f"{looked.site.site.name}, weather of {span(looked.first, looked.last)}"
    return Answer("weather", title, (verdict(looked),), blocks, facts(looked), told)


def facts(looked: Looked) -> Facts:
    """What was found, for machines."""
    fetched, daily = looked.measured.fetched, looked.closed.daily
    return {
        "site": looked.site.site.name,
        "period": period(looked.first, looked.last),
        "station": _near(fetched.station),
        "days": len(daily),
        "has_gaps": bool(looked.closed.gaps),
        "gaps": list(looked.closed.gaps),
        "years_without_gaps": list(looked.good_years),
        "sources": {column: _sources(looked, column) for column in PARAMETERS if column in daily},
        "odd": list(quality_notes(daily)),
        "candidates": [_near(station) for station in fetched.candidates],
        "credit": fetched.credit,
    }


def _near(station: Station) -> Near:
    return {
        "id": station.id,
        "name": station.name,
        "distance_km": station.distance_km,
        "height_difference_m": station.height_difference_m,
        "completeness": station.completeness,
    }


def verdict(looked: Looked) -> str:
    """Which station, how far, how complete, and whether a run can take it."""
    station, days = looked.measured.fetched.station, len(looked.closed.daily)
    read_days = round((station.completeness or 0.0) * days)
    rain_mm = looked.closed.daily["rain_mm"]
    amount = f"{rain_mm.mean() * YEAR_DAYS:,.0f} mm a year" if days >= int(YEAR_DAYS) else f"{rain_mm.sum():,.0f} mm"
    return (
        f"{_ready(looked)} Station {station.id} {station.name}, {station.distance_km or 0.0:.1f} km away, "
        f"gives the rain: read on {'all' if read_days == days else f'{read_days:,} of'} {count(days, 'day')}, "
        f"{amount}. {_chosen(looked)}"
    )


def _ready(looked: Looked) -> str:
    if looked.run_gaps:
        return "Not ready for a run: days are missing."
    if looked.closed.gaps:
        return f"Ready for a run of {span(*looked.run_days)}; other days have gaps."
    return "Ready for a run, its gaps mended." if looked.closed.notes else "Ready for a run: no day is missing."


def _chosen(looked: Looked) -> str:
    if looked.station is not None:
        return "It is the station that you named."
    if (looked.measured.fetched.station.completeness or 0.0) >= ENOUGH_RAIN:
        return "It is the nearest with rain read on nine days in ten."
    return f"None within {WITHIN_KM:g} km has rain read on nine days in ten; this one has it on most."


def candidates(looked: Looked) -> Table:
    """A row for each station that was considered, nearest first; an arrow points to the one taken."""
    taken = looked.measured.fetched.station.id
    columns = (
        Column("station", "Stations near by"),
        Column("distance_km", "distance", "km", "{:.1f}".format),
        Column("height_difference_m", "above you", "m", "{:+z.0f}".format),
        Column("completeness", "rain read", "% of days", _of_days, none="not asked"),
    )
    rows = tuple(
        (
            f"{'>' if station.id == taken else ' '} {station.id} {station.name}",
            station.distance_km or 0.0,
            station.height_difference_m,
            station.completeness,
        )
        for station in looked.measured.fetched.candidates
    )
    return Table("Stations near by", columns, rows)


def _of_days(share: float) -> str:
    """A share in per cent, rounded down, so that 100 means every day."""
    return f"{math.floor(1000 * share) / 10:g}"


def measured(looked: Looked) -> Table:
    """A row for each quantity: on how many days, and by whom."""
    daily = looked.closed.daily
    rows = tuple(
        (REGISTER[column].label, int(daily[column].notna().sum()), _in_words(_sources(looked, column)))
        for column in PARAMETERS
        if column in daily
    )
    columns = (
        Column("quantity", "Measured"),
        Column("days", "days", "", "{:,}".format),
        Column("sources", "by", is_text=True),
    )
    return Table("Measured", columns, rows)


def _in_words(days_by_source: dict[str, int]) -> str:
    if len(days_by_source) == 1:
        return next(iter(days_by_source))
    return ", ".join(f"{source} {days:,}" for source, days in days_by_source.items())


def _sources(looked: Looked, column: str) -> dict[str, int]:
    """Days by source, most first: the providers of the station, other stations, the gauge, a bridge."""
    fetched, daily = looked.measured.fetched, looked.closed.daily
    others = {station.id: f"station {station.id}" for station, _ in fetched.neighbours}
    own = f"station {fetched.station.id}"
    words = others | {"gauge": "your gauge", "interpolated": "bridged"}
    sources = Counter(str(source) for source in daily.loc[daily[column].notna(), f"{column}_source"])
    return {words.get(name, f"{own} ({name})" if name else own): days for name, days in sources.most_common()}


def gaps(looked: Looked) -> list[str]:
    """What is missing, and the years in which nothing is."""
    lines = list(looked.closed.gaps)
    if lines and looked.last.year > looked.first.year:
        years = listed(_runs(looked.good_years)) or "none"
        lines.append(f"Years {'that can be mended' if looked.fill else 'without a gap'}: {years}.")
    return lines


def _runs(years: tuple[int, ...]) -> list[str]:
    """Years in a row as one: 2016 to 2019, 2021."""
    return [f"{run[0]}" if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in _in_a_row(years)]


def _in_a_row(years: tuple[int, ...]) -> list[list[int]]:
    rows = itertools.groupby(enumerate(years), lambda numbered: numbered[1] - numbered[0])
    return [[year for _, year in row] for _, row in rows]


def to_know(looked: Looked, weather: Weather | None, written: Path | None) -> Iterator[str]:
    """How the days were chosen, which of them a run takes, and what the record is good for."""
    if looked.is_usual_period:
        years = looked.last.year - looked.first.year + 1
        yield (
            f"No days were named, so these are the last {years} whole years, enough to tell a dry summer from a usual "
            "one. Other days: --from and --to."
        )
    if written is None and not looked.runs_whole:
        yield (f"A run takes the last whole summer, {span(*looked.run_days)}; other days with its own --from and --to.")
    if weather is not None:
        et0 = weather.et0
        yield f"Reference evapotranspiration ET0 comes from {et0.method}. Likely error: {et0.likely_error}."
    if "wind_m_s" in looked.closed.daily and looked.spot.wind_height_m != WIND_HEIGHT_M:
        yield (
            f"wind_height_m = {looked.spot.wind_height_m:g} is taken for the height of the station's wind gauge; "
            f"most stand {WIND_HEIGHT_M:g} m above ground. Take the key out of [weather] unless you know better."
        )
    if (looked.measured.fetched.station.distance_km or 0.0) > FAR_KM and looked.site.weather.gauge is None:
        yield (
            "Summer showers differ over such a distance. A rain gauge in the garden does better: write its readings "
            'to a file of date,rain_mm, and add gauge = "gauge.csv" to [weather]; its days go before the station\'s.'
        )


def next_steps(looked: Looked, written: Path | None) -> list[str]:
    """The commands that come next, and what to write into the site file before."""
    if looked.run_gaps:
        return list(_ways_round(looked))
    if written is None and not looked.is_kept:
        return [
            "The cache cannot be written, so a run would not find this weather. Write it to a file:",
            f"{_command(looked, fill=looked.fill)} --out weather.csv",
        ]
    # A file is run from its first day to its last where no days are named.
    summer = " --from {} --to {}".format(*looked.run_days) if written and not looked.runs_whole else ""
    return [*_edits(looked, written), f"waterbudget run {shlex.quote(str(looked.path))}{summer}"]


def _ways_round(looked: Looked) -> Iterator[str]:
    """What to try where gaps stop a run."""
    if not looked.fill:
        yield "Let the gaps be mended where that is sound:"
        yield _command(looked, fill=True)
        return
    for years in sorted(_in_a_row(looked.good_years), key=len)[-1:]:
        yield "Take years that can be mended:"
        first, last = dt.date(years[0], 1, 1), dt.date(years[-1], 12, 31)
        yield _command(looked, days=(max(first, looked.first), min(last, looked.last)), fill=True)
    taken = looked.measured.fetched.station.id
    for other in [other.id for other in looked.measured.fetched.candidates if other.id != taken][:1]:
        yield "Try another station:"
        yield _command(looked, station=other, fill=True)
    yield 'Or write a weather file of your own, and name it in the site file: file = "weather.csv"'


def _command(
    looked: Looked, *, days: tuple[dt.date, dt.date] | None = None, station: str | None = None, fill: bool
) -> str:
    """The command again, with the days and the station that were asked for where no others are given."""
    days = days or (None if looked.is_usual_period else (looked.first, looked.last))
    station = station or (None if looked.station == looked.site.weather.station else looked.station)
    parts = [
        f"waterbudget weather {shlex.quote(str(looked.path))}",
        *([f"--from {days[0]} --to {days[1]}"] if days else []),
        *([f"--station {station}"] if station else []),
        *(["--fill"] if fill else []),
    ]
    return " ".join(parts)


def _edits(looked: Looked, written: Path | None) -> list[str]:
    """What the site file has to say for a run to take this weather; empty where it says so already."""
    source = looked.site.weather
    said = {
        "file": source.file,
        "station": source.station.upper() if source.station else None,
        "nearest": source.nearest or None,
        "fill": source.fill or None,
    }
    wanted: dict[str, str | bool | None] = dict.fromkeys(said)
    if written is not None:
        wanted["file"] = Path(os.path.relpath(written, looked.path.parent)).as_posix()
    elif looked.station is not None:
        wanted |= {"station": looked.measured.fetched.station.id, "fill": looked.fill or None}
    else:
        wanted |= {"nearest": True, "fill": looked.fill or None}
    new = [_line(key, value) for key, value in wanted.items() if value is not None and value != said[key]]
    old = [_line(key, value) for key, value in said.items() if value is not None and wanted[key] is None]
    if not new:
        return []
    in_place = f" in place of {listed(old)}" if old else ""
    return [
        f"In {looked.path} write under [weather]{in_place}:",
        *(f"    {line}" for line in new),
        "Then:",
    ]


def _line(key: str, value: str | bool) -> str:  # noqa: FBT001 - as TOML writes it
    return f"{key} = {json.dumps(value, ensure_ascii=False)}"
