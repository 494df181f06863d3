import datetime as dt

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.site.dates import day_of_year

DATES = st.dates(dt.date(1700, 1, 1), dt.date(2200, 12, 31))


def number(date):
    return int(day_of_year(np.array([date], dtype="M8[D]"))[0])


@given(DATES)
def test_a_date_has_the_number_of_its_day_in_a_year_without_29_february(date):
    """Python's own calendar: 2001 is no leap year."""
    plain = date.replace(year=2001, day=28) if (date.month, date.day) == (2, 29) else date.replace(year=2001)
    assert number(date) == (plain - dt.date(2001, 1, 1)).days


def test_29_february_goes_with_the_28th_and_1_march_is_the_same_in_every_year():
    assert number(dt.date(2032, 2, 29)) == number(dt.date(2032, 2, 28)) == 58
    assert number(dt.date(2032, 3, 1)) == number(dt.date(2031, 3, 1)) == 59
    assert number(dt.date(2032, 12, 31)) == 364
