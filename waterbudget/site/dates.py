"""Days as a site file writes them: "MM-DD" for every year, YYYY-MM-DD for once."""

import datetime as dt
import re
from typing import Annotated, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import PlainValidator

from waterbudget.units import IntArray

FIRST_YEAR, LAST_YEAR = 1700, 2200  # the years that weather can have
DAYS_A_YEAR = 365  # 29 February is not counted
LAST_OF_FEBRUARY = 58  # its 28th, counted from 0

MONTH_DAY = re.compile("([0-9]{2})-([0-9]{2})")
FULL_DATE = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")


class MonthDay(NamedTuple):
    """A day that comes every year."""

    month: int
    day: int

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


def day_of_year(dates: NDArray[np.datetime64]) -> IntArray:
    """Each date's number in its year, 0 to 364: 29 February has that of the 28th, so years are alike."""
    years = dates.astype("M8[Y]")
    starts, ends = years.astype("M8[D]"), (years + 1).astype("M8[D]")
    number = (dates.astype("M8[D]") - starts).astype(np.int64)
    is_leap = (ends - starts).astype(np.int64) > DAYS_A_YEAR
    return np.asarray(np.where(is_leap & (number > LAST_OF_FEBRUARY), number - 1, number))


def month_day(value: object) -> MonthDay:
    """The day that comes every year; raises ValueError saying what would be right."""
    if isinstance(value, MonthDay):
        return value
    match = MONTH_DAY.fullmatch(value) if isinstance(value, str) else None
    if not match:
        raise ValueError('write month and day as "MM-DD", such as "05-10" for 10 May')
    month, day = int(match[1]), int(match[2])
    if (month, day) == (2, 29):
        raise ValueError('29 February does not come every year; write "02-28" or "03-01"')
    if _is_a_day(month, day):
        return MonthDay(month, day)
    if _is_a_day(day, month):
        raise ValueError(f'the month comes first; write "{MonthDay(day, month)}"')
    raise ValueError('no year has such a day; write month and day as "MM-DD", such as "05-10" for 10 May')


def _is_a_day(month: int, day: int) -> bool:
    try:
        dt.date(2001, month, day)
    except ValueError:
        return False
    return True


def _date(value: object) -> dt.date:
    if isinstance(value, str) and FULL_DATE.fullmatch(value):
        try:
            value = dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError("there is no such day; write a date as YYYY-MM-DD, such as 2031-05-01") from None
    if not isinstance(value, dt.date) or isinstance(value, dt.datetime):
        raise ValueError("write a date as YYYY-MM-DD, such as 2031-05-01")  # noqa: TRY004  # pydantic asks for this one
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise ValueError(f"write a date of the years {FIRST_YEAR} to {LAST_YEAR}, such as 2031-05-01")
    return value


def _either_day(value: object) -> MonthDay | dt.date:
    if isinstance(value, MonthDay) or (isinstance(value, str) and MONTH_DAY.fullmatch(value)):
        return month_day(value)
    if isinstance(value, dt.date) or (isinstance(value, str) and FULL_DATE.fullmatch(value)):
        return _date(value)
    raise ValueError('write "MM-DD" for every year, such as "05-10", or a full date for once, such as 2031-05-10')


YearlyDay = Annotated[MonthDay, PlainValidator(month_day)]
Day = Annotated[dt.date, PlainValidator(_date)]
EitherDay = Annotated[MonthDay | dt.date, PlainValidator(_either_day)]
