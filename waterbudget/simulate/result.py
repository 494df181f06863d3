"""A run as people and machines read it: tidy frames of every day, and a summary."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from waterbudget.output import write_files
from waterbudget.rows.table import csv_of
from waterbudget.schedule.garden import Garden, Names
from waterbudget.simulate.keep import NEVER, Keep, Kept
from waterbudget.simulate.shares import met_by_rain
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.units import WEEK_DAYS, Array, DateArray
from waterbudget.weather.days import Weather

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {  # each kind's name column and its quantities, in the order of the files
    "roofs": ("roof", ("on_roof_l", "caught_l", "flushed_l", "filter_l", "kept_l")),
    "tanks": (
        "tank",
        (
            "inflow_l",
            "mains_l",
            "moved_in_l",
            "moved_out_l",
            "asked_l",
            "drawn_l",
            "drawn_mains_l",
            "short_l",
            "spilled_l",
            "lost_l",
            "level_l",
        ),
    ),
    "outlets": ("zone", ("asked_l", "store_l", "rain_l", "mains_l", "unmet_l", "minutes_run")),
    "beds": (
        "bed",
        (
            "kc",
            "kcb",
            "ke",
            "etc_mm",
            "ks",
            "eta_mm",
            "e_mm",
            "rain_mm",
            "irrigation_mm",
            "drained_mm",
            "subsoil_mm",
            "taw_mm",
            "raw_mm",
            "depletion_mm",
            "de_mm",
        ),
    ),
}
TANK_SUMS = COLUMNS["tanks"][1][:-1]
OUTLET_SUMS = COLUMNS["outlets"][1]
BED_SUMS = ("etc_mm", "eta_mm", "e_mm", "rain_mm", "irrigation_mm", "drained_mm", "overwatered_mm")
DAILY = tuple(f"{kind}.{name}" for kind, (_, names) in COLUMNS.items() for name in names)
SUMMARY = Keep(
    sums=(
        "roofs.caught_l",
        "feeds.fed_l",
        "transfers.moved_l",
        "transfers.is_moved",
        *(f"tanks.{name}" for name in TANK_SUMS),
        *(f"outlets.{name}" for name in OUTLET_SUMS),
        *(f"beds.{name}" for name in (*BED_SUMS, "planted", "is_thirsty")),
        *(f"whole.{name}" for name in ("is_topped_up", "is_asked", "is_served", "is_banned", "work_minutes")),
    ),
    firsts=("whole.fails", "whole.is_short", "whole.needs_mains", "tanks.is_short", "beds.is_thirsty"),
    lows=("tanks.level_l",),
)


@dataclass(frozen=True, eq=False)
class Result:
    """A run of one garden.

    names: of its items. each: what was booked every day under its kind and name, such as "tanks.level_l", (day, item);
    empty where the daily tables were not asked for. summary: plain numbers, text and lists, as in summary.json, among
    them what the plan takes of a person's time.
    """

    site: Site
    weather: Weather
    names: Names
    each: Mapping[str, Array]
    summary: dict[str, Any]

    @cached_property
    def roofs(self) -> "pd.DataFrame":
        """A tidy frame, one row a day and roof."""
        return self._frame("roofs")

    @cached_property
    def tanks(self) -> "pd.DataFrame":
        """The same of the tanks."""
        return self._frame("tanks")

    @cached_property
    def zones(self) -> "pd.DataFrame":
        """The same of the zones and the other draws."""
        return self._frame("outlets")

    @cached_property
    def beds(self) -> "pd.DataFrame":
        """The same of the beds."""
        return self._frame("beds")

    def _frame(self, kind: str) -> "pd.DataFrame":
        """Date by date, and in each in the order of the site file; empty where no days were kept."""
        import pandas as pd

        head, columns = COLUMNS[kind]
        items = np.array(getattr(self.names, kind), dtype=object)
        dates = self.weather.dates if self.each else self.weather.dates[:0]
        booked = {name: np.ravel(self.each[f"{kind}.{name}"]) if self.each else np.zeros(0) for name in columns}
        return pd.DataFrame({"date": np.repeat(dates, len(items)), head: np.tile(items, len(dates)), **booked})

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


def summary_of(garden: Garden, state: State, kept: Kept, days: DateArray, lane: int = 0) -> dict[str, Any]:
    """The summary of one lane: plain numbers and text, ready for JSON; dates as YYYY-MM-DD, None for never.

    days: those of the run, (day,). state: the evening that it ended with. kept: what SUMMARY asks for. Totals of litres
    are the sums of the columns of the same name; spilled_l therefore counts water twice that spills from one tank into
    another and on from there. A ratio without a divisor is None.
    """

    def of(name: str) -> Array:
        row: Array = kept.sums[name][..., lane]
        return row

    def day_of(name: str, item: int | tuple[()] = ()) -> str | None:
        number = kept.firsts[name][..., lane][item]
        return None if number == NEVER else str(days[int(number)])

    asked_l, rain_l = float(of("outlets.asked_l").sum()), float(of("outlets.rain_l").sum())
    return {
        "start": str(days[0]),
        "end": str(days[-1]),
        "days": kept.days,
        "days_lasted": int(kept.days_lasted[lane]),
        "first_short": day_of("whole.is_short"),
        "first_mains": day_of("whole.needs_mains"),
        "mains_l": float(of("tanks.mains_l").sum()),
        "mains_days": int(of("whole.is_topped_up")),
        "ban_days": int(of("whole.is_banned")),
        "asked_l": asked_l,
        "store_l": float(of("outlets.store_l").sum()),
        "rain_l": rain_l,
        "unmet_l": float(of("outlets.unmet_l").sum()),
        "caught_l": float(of("roofs.caught_l").sum()),
        "fed_l": float(of("feeds.fed_l").sum()),
        "transferred_l": float(of("transfers.moved_l").sum()),
        "spilled_l": float(of("tanks.spilled_l").sum()),
        "volume_reliability": float(met_by_rain(rain_l, asked_l)) if asked_l > 0.0 else None,
        "day_reliability": _ratio(float(of("whole.is_served")), float(of("whole.is_asked"))),
        "work_minutes_per_week": float(of("whole.work_minutes")) * WEEK_DAYS / kept.days,
        "tanks": _tanks(garden, state, kept, of, day_of, lane),
        "zones": _sums(garden.names.outlets, "outlets", OUTLET_SUMS, of),
        "transfers": [
            {"name": name, "moved_l": float(moved_l), "days": int(days)}
            for name, moved_l, days in zip(
                garden.names.transfers, of("transfers.moved_l"), of("transfers.is_moved"), strict=True
            )
        ],
        "beds": _beds(garden, of, day_of),
    }


Of = Callable[[str], Array]
DayOf = Callable[[str, int], str | None]


def _tanks(garden: Garden, state: State, kept: Kept, of: Of, day_of: DayOf, lane: int) -> list[dict[str, Any]]:
    def now(values: Array, tank: int) -> float:
        return float(np.broadcast_to(values, (len(values), state.level_l.shape[-1]))[tank, lane])

    return [
        {
            "name": name,
            "capacity_l": now(garden.tanks.capacity_l, tank),
            "start_l": now(garden.tanks.start_l, tank),
            "end_l": float(state.level_l[tank, lane]),
            "lowest_l": min(now(garden.tanks.start_l, tank), float(kept.lows["tanks.level_l"][tank, lane])),
            "first_short": day_of("tanks.is_short", tank),
            **{key: float(of(f"tanks.{key}")[tank]) for key in TANK_SUMS},
        }
        for tank, name in enumerate(garden.names.tanks)
    ]


def _sums(names: tuple[str, ...], kind: str, columns: tuple[str, ...], of: Of) -> list[dict[str, Any]]:
    return [
        {"name": name, **{key: float(of(f"{kind}.{key}")[number]) for key in columns}}
        for number, name in enumerate(names)
    ]


def _beds(garden: Garden, of: Of, day_of: DayOf) -> list[dict[str, Any]]:
    return [
        {
            "name": sums.pop("name"),
            "planted_days": int(of("beds.planted")[bed]),
            "stress_days": int(of("beds.is_thirsty")[bed]),
            "first_stress": day_of("beds.is_thirsty", bed),
            "eta_over_etc": _ratio(sums["eta_mm"], sums["etc_mm"]),
            **sums,
        }
        for bed, sums in enumerate(_sums(garden.names.beds, "beds", BED_SUMS, of))
    ]


def _ratio(part: float, whole: float) -> float | None:
    return float(part / whole) if whole > 0 else None
