"""A run as people and machines read it: tidy frames of every day, and a summary."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from waterbudget.output import write_files
from waterbudget.rows.table import csv_of
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.days import Day
from waterbudget.simulate.shares import met_by_rain
from waterbudget.simulate.totals import NEVER, Totals
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.files import Weather

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {  # each kind's name column and its quantities, in the order of the files
    "roofs": ("roof", ("on_roof_l", "caught_l", "flushed_l", "filter_l", "kept_l")),
    "tanks": (
        "tank",
        ("inflow_l", "mains_l", "asked_l", "drawn_l", "short_l", "spilled_l", "lost_l", "level_l"),
    ),
    "outlets": ("zone", ("asked_l", "store_l", "mains_l", "unmet_l", "minutes_run")),
    "beds": (
        "bed",
        (
            "kc",
            "etc_mm",
            "ks",
            "eta_mm",
            "rain_mm",
            "irrigation_mm",
            "drained_mm",
            "subsoil_mm",
            "taw_mm",
            "raw_mm",
            "depletion_mm",
        ),
    ),
}


@dataclass(frozen=True)
class Result:
    """A run of one garden.

    roofs, tanks, zones (with the other draws) and beds: a tidy frame each, one row a day and item, empty where the
    daily tables were not asked for. summary: plain numbers, text and lists, as in summary.json, among them what the
    plan takes of a person's time.
    """

    site: Site
    weather: Weather
    roofs: "pd.DataFrame"
    tanks: "pd.DataFrame"
    zones: "pd.DataFrame"
    beds: "pd.DataFrame"
    summary: dict[str, Any]

    def write(self, folder: str | Path, *, overwrite: bool = False) -> list[Path]:
        """Write tanks.csv, zones.csv, beds.csv, roofs.csv and summary.json, all of them or none.

        Raises OutputError where one exists already and overwrite is False, or the folder cannot be written to.
        """
        contents = self.contents(folder)
        write_files(contents, overwrite=overwrite)
        return list(contents)

    def contents(self, folder: str | Path) -> dict[Path, bytes]:
        """What `write` writes into the folder, by path."""
        folder = Path(folder)
        contents = {folder / f"{name}.csv": csv_of(getattr(self, name)) for name in ("tanks", "zones", "beds", "roofs")}
        contents[folder / "summary.json"] = (self.to_json() + "\n").encode()
        return contents

    def to_json(self) -> str:
        """The summary as JSON."""
        return json.dumps(self.summary, indent=2, ensure_ascii=False)


class Tables:
    """The daily tables of one scenario, filled as the days pass by."""

    def __init__(self) -> None:
        self._booked: dict[str, dict[str, list[Array]]] = {
            kind: {name: [] for name in names} for kind, (_, names) in COLUMNS.items()
        }

    def watch(self, days: Iterator[Day]) -> Iterator[Day]:
        """Pass the days on, keeping what the tables need of each."""
        for day in days:
            for kind, columns in self._booked.items():
                book = getattr(day, kind)
                for name, values in columns.items():
                    values.append(getattr(book, name)[0])
            yield day

    def frame(self, kind: str, garden: Garden, dates: "pd.DatetimeIndex") -> "pd.DataFrame":
        """The table of a kind, date by date and in each in the order of the site file."""
        import pandas as pd

        head, _ = COLUMNS[kind]
        names = np.array(getattr(garden, kind).name, dtype=object)
        columns = {name: np.ravel(values) for name, values in self._booked[kind].items()}
        booked_days = len(next(iter(self._booked[kind].values())))
        dates = dates[:booked_days]
        return pd.DataFrame({"date": np.repeat(dates, len(names)), head: np.tile(names, booked_days), **columns})


def summary_of(garden: Garden, totals: Totals, dates: "pd.DatetimeIndex", scenario: int = 0) -> dict[str, Any]:
    """The summary of one scenario: plain numbers and text, ready for JSON; dates as YYYY-MM-DD, None for never.

    Totals of litres are the sums of the columns of the same name; spilled_l therefore counts water twice that spills
    from one tank into another and on from there. A reliability without any demand is None.
    """

    def of(name: str) -> Array:
        summed = totals.sums[name]
        row: Array = summed[min(scenario, len(summed) - 1)]
        return row

    def day_of(name: str, item: int | tuple[()] = ()) -> str | None:
        first = totals.firsts[name]
        number = first[min(scenario, len(first) - 1)][item]
        return None if number == NEVER else dates[int(number)].date().isoformat()

    asked_l, rain_l = float(of("outlets.asked_l").sum()), totals.rain_l[scenario]
    demand_days = float(of("days.demand"))
    return {
        "start": dates[0].date().isoformat(),
        "end": dates[-1].date().isoformat(),
        "days": totals.days,
        "days_lasted": int(totals.days_lasted[scenario]),
        "first_short": day_of("short"),
        "first_mains": day_of("mains"),
        "mains_l": float(of("tanks.mains_l").sum()),
        "mains_days": int(of("days.mains")),
        "asked_l": asked_l,
        "store_l": float(of("outlets.store_l").sum()),
        "rain_l": float(rain_l.sum()),
        "unmet_l": float(of("outlets.unmet_l").sum()),
        "caught_l": float(of("roofs.caught_l").sum()),
        "spilled_l": float(of("tanks.spilled_l").sum()),
        "volume_reliability": _known(met_by_rain(rain_l.sum(), asked_l)),
        "day_reliability": float(of("days.served")) / demand_days if demand_days > 0 else None,
        "tanks": _tanks(garden, totals, of, day_of, scenario),
        "zones": _outlets(garden, of, rain_l),
        "beds": _beds(garden, of, day_of),
    }


Of = Callable[[str], Array]
DayOf = Callable[[str, int], str | None]


def _tanks(garden: Garden, totals: Totals, of: Of, day_of: DayOf, scenario: int) -> list[dict[str, Any]]:
    tanks = garden.tanks
    start_l = tanks.start_l[min(scenario, len(tanks.start_l) - 1)]
    capacity_l = tanks.capacity_l[min(scenario, len(tanks.capacity_l) - 1)]
    return [
        {
            "name": name,
            "capacity_l": float(capacity_l[column]),
            "start_l": float(start_l[column]),
            "end_l": float(totals.level_l[scenario, column]),
            "lowest_l": float(totals.lowest_l[scenario, column]),
            "first_short": day_of("tanks.short", column),
            **{key: float(of(f"tanks.{key}")[column]) for key in COLUMNS["tanks"][1][:-1]},
        }
        for column, name in enumerate(tanks.name)
    ]


def _outlets(garden: Garden, of: Of, rain_l: Array) -> list[dict[str, Any]]:
    outlets, drawn_l = garden.outlets, of("tanks.drawn_l")
    return [
        {
            "name": name,
            "asked_l": float(of("outlets.asked_l")[column]),
            "store_l": float(of("outlets.store_l")[column]),
            "rain_l": float(of("outlets.store_l")[column] * (_ratio(rain_l[tank], drawn_l[tank]) or 0.0)),
            "mains_l": float(of("outlets.mains_l")[column]),
            "unmet_l": float(of("outlets.unmet_l")[column]),
            "minutes_run": float(of("outlets.minutes_run")[column]),
        }
        for column, (name, tank) in enumerate(zip(outlets.name, outlets.tank, strict=True))
    ]


def _beds(garden: Garden, of: Of, day_of: DayOf) -> list[dict[str, Any]]:
    return [
        {
            "name": name,
            "planted_days": int(of("beds.planted_days")[column]),
            "stress_days": int(of("beds.stress_days")[column]),
            "first_stress": day_of("beds.stress", column),
            "eta_over_etc": _ratio(of("beds.eta_mm")[column], of("beds.etc_mm")[column]),
            **{
                key: float(of(f"beds.{key}")[column])
                for key in ("etc_mm", "eta_mm", "rain_mm", "irrigation_mm", "drained_mm", "overwatered_mm")
            },
        }
        for column, name in enumerate(garden.beds.name)
    ]


def _known(share: Array) -> float | None:
    return None if np.isnan(share) else float(share)


def _ratio(part: float, whole: float) -> float | None:
    return float(part / whole) if whole > 0 else None
