"""A forecast that somebody wrote down: a file with a row a day, its rain in millimetres or in words."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.change.ahead import days_ahead
from waterbudget.change.known import DAY, Known
from waterbudget.errors import WeatherError
from waterbudget.weather.days import Weather
from waterbudget.weather.files import days_of, weather_of, weather_sheet

if TYPE_CHECKING:
    from waterbudget.rows.cells import Where
    from waterbudget.rows.sheet import CsvSheet

RAIN = "rain_mm"
IN_WORDS_MM = {"none": 0.0, "some": 2.0, "a lot": 10.0}  # ours: dry, a shower, a wet day
HEAT = ("et0_mm", "tmin_c", "tmax_c")


def read_forecast(path: Path, known: Known) -> Weather:
    """The forecast of a file of whole days in a row, from the first unknown day on.

    Its rain may be told in words. Without temperatures and et0_mm its days have the ET0 that is usual for them. Raises
    WeatherError where the file is at fault, has holes, or does not reach from today or tomorrow on.
    """
    sheet = _in_mm(weather_sheet(path))
    has_heat = any(name in sheet.heads for name in HEAT)
    daily = days_of(sheet, rain_alone=not has_heat).frame
    first, last = daily.index[0].date(), daily.index[-1].date()
    if first > known.today + DAY or last < known.today:
        raise WeatherError(f"{path.name}: has {first} to {last}; write a row a day from {known.today} on")
    daily = daily.loc[str(known.last + DAY) :]
    if not has_heat:
        usual = days_ahead(known, None).normal.dry.daily.reindex(daily.index).drop(columns=RAIN)
        daily = daily[[RAIN]].join(usual.ffill())
    return weather_of(daily, known.site, path.name)


def _in_mm(sheet: "CsvSheet") -> "CsvSheet":
    """The sheet with the column of the rain called rain_mm, and its words as millimetres."""
    if RAIN not in sheet.heads:
        heads = tuple(RAIN if head.lower() == "rain" else head for head in sheet.heads)
        sheet = replace(sheet, header=sheet.header._replace(cells=heads))

    def in_mm(cells: Sequence[str], _where: "Where") -> Sequence[str]:
        return [f"{IN_WORDS_MM[word]:g}" if (word := " ".join(cell.lower().split())) in IN_WORDS_MM else cell
                for cell in cells]  # fmt: skip

    return sheet.changed([RAIN], in_mm)
