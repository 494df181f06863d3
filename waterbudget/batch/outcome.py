"""What comes of gardens that ran side by side: a row each, and the sums of their days."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np

from waterbudget.batch.sites import Entry
from waterbudget.simulate.keep import NEVER, Keep, Kept
from waterbudget.simulate.shares import met_by_rain
from waterbudget.units import Array

if TYPE_CHECKING:
    import pandas as pd

DATES = ("first_short", "first_mains")
NUMBERS = (
    "days",
    "days_lasted",
    "mains_l",
    "mains_days",
    "asked_l",
    "store_l",
    "rain_l",
    "unmet_l",
    "caught_l",
    "spilled_l",
    "volume_reliability",
    "day_reliability",
)
DAILY = ("asked_l", "rain_l", "needed_l", "caught_l", "to_drain_l", "level_l")  # summed day by day over all gardens
KEEP = Keep(
    sums=(
        "roofs.caught_l",
        "tanks.mains_l",
        "tanks.spilled_l",
        *(f"outlets.{name}" for name in ("asked_l", "store_l", "rain_l", "unmet_l")),
        *(f"whole.{name}" for name in ("is_topped_up", "is_asked", "is_served")),
    ),
    firsts=("whole.fails", "whole.is_short", "whole.needs_mains"),
    each=tuple(f"whole.{name}" for name in DAILY),
)
DayKey: TypeAlias = tuple[str, float | None, dt.date, int]  # group, size, first day, how many days


class DaySums(NamedTuple):
    """Sums over the gardens of a group, and of one of the sizes tried (None without), on each day from a first.

    gardens: how many they are. sums: (day,) each, by the names of DAILY.
    """

    group: str
    capacity_l: float | None
    first: dt.date
    gardens: float
    sums: Mapping[str, Array]


def columns_of(kept: Kept, dates: "pd.DatetimeIndex") -> dict[str, list[Any]]:
    """The columns of a run's summary, a value a lane, as plain Python."""

    def of(name: str) -> Array:
        return kept.sums[name]

    def day_of(name: str) -> list[dt.date | None]:
        days = dates.date
        return [None if number == NEVER else days[int(number)] for number in kept.firsts[name].tolist()]

    asked_l, rain_l = of("outlets.asked_l").sum(axis=0), of("outlets.rain_l").sum(axis=0)
    by_volume = met_by_rain(rain_l, asked_l)
    return {
        "days": [kept.days] * len(asked_l),
        "days_lasted": kept.days_lasted.tolist(),
        "first_short": day_of("whole.is_short"),
        "first_mains": day_of("whole.needs_mains"),
        "mains_l": of("tanks.mains_l").sum(axis=0).tolist(),
        "mains_days": of("whole.is_topped_up").astype(np.int64).tolist(),
        "asked_l": asked_l.tolist(),
        "store_l": of("outlets.store_l").sum(axis=0).tolist(),
        "rain_l": rain_l.tolist(),
        "unmet_l": of("outlets.unmet_l").sum(axis=0).tolist(),
        "caught_l": of("roofs.caught_l").sum(axis=0).tolist(),
        "spilled_l": of("tanks.spilled_l").sum(axis=0).tolist(),
        "volume_reliability": [
            share if asked > 0.0 else None for share, asked in zip(by_volume.tolist(), asked_l.tolist(), strict=True)
        ],
        "day_reliability": [
            served / asked if asked > 0 else None
            for served, asked in zip(of("whole.is_served").tolist(), of("whole.is_asked").tolist(), strict=True)
        ],
    }


def add_days(
    kept: Kept,
    entries: Sequence[Entry],
    capacity_l: Array | None,
    dates: "pd.DatetimeIndex",
    daily: dict[DayKey, DaySums],
) -> None:
    """Add the days of a run to the sums of their groups, each garden as often as its weight says.

    kept: of as many lanes a site as there are sizes, site by site.
    """
    sizes = 1 if capacity_l is None else len(capacity_l)
    groups = np.array([entry.group for entry in entries])
    weights = np.array([entry.weight for entry in entries])
    first = dates[0].date()
    for group in sorted(set(groups.tolist())):
        here = np.flatnonzero(groups == group)
        weight = weights[here]
        for size in range(sizes):
            lanes = here * sizes + size
            sums = {name: (kept.each[f"whole.{name}"][:, lanes] * weight).sum(axis=1) for name in DAILY}
            litres = None if capacity_l is None else float(capacity_l[size])
            key = group, litres, first, len(dates)
            gardens = float(weight.sum())
            if key in daily:
                before = daily[key]
                gardens += before.gardens
                sums = {name: before.sums[name] + more for name, more in sums.items()}
            daily[key] = DaySums(group, litres, first, gardens, sums)
