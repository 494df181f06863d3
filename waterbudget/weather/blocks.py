"""More years than were recorded, shuffled from blocks of recorded days (a moving-block bootstrap)."""

from typing import TYPE_CHECKING

import numpy as np

from waterbudget.errors import RangeError
from waterbudget.weather.years import Years, complete_seasons, read_record, season, season_dates, take

if TYPE_CHECKING:
    import pandas as pd

    from waterbudget.weather.days import Weather

WINDOW_DAYS = 15  # a block may be drawn this much earlier or later in the season
BLOCK_DAYS = 30  # of 5 to 30 days it came nearest to the recorded dry spells, at Fulda and at Seattle


def block_years(
    daily: "Weather | pd.DataFrame", start_md: str, end_md: str, years: int, seed: int, *, block_days: int = BLOCK_DAYS
) -> Years:
    """Seasons joined from blocks of block_days recorded days, all columns together; arrays (day, scenario).

    daily, start_md, end_md: as for recorded_years. Each block comes from a random recorded season, moved by at most
    15 days; the record's days next to a season serve as well. The same seed gives the same years, and the first years
    are the same however many are asked for. Raises WeatherError where no season is complete, RangeError where years
    or block_days is below 1. Source: Künsch 1989, Annals of Statistics 17: 1217 (from memory).
    """
    if min(years, block_days) < 1:
        raise RangeError(f"years {years}, block_days {block_days}: give at least 1")
    record = read_record(daily)
    firsts, _ = complete_seasons(record, start_md, end_md)
    _, days = season(start_md, end_md)
    unknown = np.concatenate([[0], np.cumsum(~record.known)])
    moves = np.arange(-WINDOW_DAYS, WINDOW_DAYS + 1)

    begins = range(0, days, block_days)
    lots = np.random.default_rng(seed).random((years, len(begins)))  # year after year: the first ones stay the same
    rows = np.empty((days, years), dtype=np.int64)
    for day, lot in zip(begins, lots.T, strict=True):
        length = min(block_days, days - day)
        heads = (firsts[:, np.newaxis] + day + moves).ravel()
        heads = heads[(heads >= 0) & (heads + length <= record.dates.size)]
        heads = heads[unknown[heads + length] == unknown[heads]]
        rows[day : day + length] = heads[(lot * heads.size).astype(np.int64)] + np.arange(length)[:, np.newaxis]

    note = (
        f"Keeps recorded days whole, with all that was measured on them, and spells within blocks of {block_days} "
        f"days. Loses spells and drift longer than a block, and knows no day that the {firsts.size} recorded years did "
        "not bring. Dated in 2001; 29 February is left out."
    )
    label = tuple(f"generated {year}" for year in range(1, years + 1))
    return take(record, rows, season_dates(start_md, end_md, years), label, ("blocks", firsts.size, note))
