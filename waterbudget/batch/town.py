"""What thousands of gardens ask of mains and drain together: the worst day and week, and the greatest storms."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from waterbudget.units import WEEK_DAYS, Array

if TYPE_CHECKING:
    import pandas as pd

STORMS = 10


@dataclass(frozen=True)
class Peak:
    """The most that is asked of the mains in so many days on end; first: the first of them."""

    first: dt.date
    litres: float


@dataclass(frozen=True)
class Together:
    """Sums over the gardens of a group ("" for all), each as often as its weight says, in one size (None: as they are).

    gardens: on the day that knows most of them. asked_l, rain_l, needed_l, caught_l, to_drain_l: over all days. day,
    week: the most mains water that the watering takes, with the stores; bare_day, bare_week: without any store, when
    all that is asked for comes from the mains. storms: the days of the heaviest runoff, in order; storm_caught_l: what
    the roofs shed on them, storm_kept_l: what of it the stores kept out of the drain, which gets all of it without.
    """

    group: str
    capacity_l: float | None
    gardens: float
    asked_l: float
    rain_l: float
    needed_l: float
    caught_l: float
    to_drain_l: float
    day: Peak
    week: Peak
    bare_day: Peak
    bare_week: Peak
    storms: tuple[dt.date, ...]
    storm_caught_l: float
    storm_kept_l: float


def together(daily: "pd.DataFrame") -> Iterator[Together]:
    """All gardens in each size, then each group in each size; daily: sums of each day, group and size."""
    groups = sorted(set(daily["group"]) - {""})
    for group in ("", *groups):
        of_group = daily if not group else daily[daily["group"] == group]
        for capacity_l, table in of_group.groupby("capacity_l", dropna=False, sort=True):
            summed = table.drop(columns=["group", "capacity_l"]).groupby("date", sort=True).sum()
            size_l: Any = capacity_l
            yield _together(summed, group, None if np.isnan(size_l) else float(size_l))


def _together(daily: "pd.DataFrame", group: str, capacity_l: float | None) -> Together:
    column = {str(name): values.to_numpy(np.float64) for name, values in daily.items()}
    index: Any = daily.index
    dates = index.date
    kept_l = column["caught_l"] - column["to_drain_l"]
    storms = np.sort(np.argsort(-column["caught_l"], kind="stable")[:STORMS])
    storms = storms[column["caught_l"][storms] > 0.0]
    sums = {name: float(column[name].sum()) for name in ("asked_l", "rain_l", "needed_l", "caught_l", "to_drain_l")}
    return Together(
        group=group,
        capacity_l=capacity_l,
        gardens=float(column["gardens"].max()),
        **sums,
        day=_peak(column["needed_l"], dates, 1),
        week=_peak(column["needed_l"], dates, WEEK_DAYS),
        bare_day=_peak(column["asked_l"], dates, 1),
        bare_week=_peak(column["asked_l"], dates, WEEK_DAYS),
        storms=tuple(dates[storms].tolist()),
        storm_caught_l=float(column["caught_l"][storms].sum()),
        storm_kept_l=float(kept_l[storms].sum()),
    )


def _peak(litres: Array, dates: Sequence[dt.date], days: int) -> Peak:
    """The most in so many days on end, the first of equal ones; of a shorter record in all of it."""
    sums = np.convolve(litres, np.ones(min(days, len(litres))), mode="valid")
    first = int(np.argmax(sums))
    return Peak(dates[first], float(sums[first]))
