"""Seasons, weekdays and days as a site file writes them."""

from datetime import date, timedelta
from functools import cache

from hypothesis import strategies as st

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PLAIN_YEAR = 2031  # no leap day: a layout of plantings that fits here fits every year
DAYS_A_YEAR = 365


@st.composite
def seasons(draw):
    """In every second one end or both; about half of those with both ends pass New Year."""
    return {end: draw(YEAR_DAYS) for end in draw(ENDS)}


def month_day(day_of_year):
    """MM-DD; counts on from zero through a year without a leap day, and round again."""
    return (date(PLAIN_YEAR, 1, 1) + timedelta(day_of_year % DAYS_A_YEAR)).isoformat()[5:]


ENDS = st.sampled_from(((), (), (), (), ("from", "to"), ("from", "to"), ("from",), ("to",)))
YEAR_DAYS = st.integers(0, DAYS_A_YEAR - 1).map(month_day)


def near(first_day, before, after):
    """The place of a day in a year without a leap day, some days before or after another."""
    within = date(PLAIN_YEAR, first_day.month, min(first_day.day, 28)).timetuple().tm_yday
    return st.integers(within - before, within + after)


@cache
def weekday_lists():
    return st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=7, unique=True)


@st.composite
def days_of_week(draw):
    return {"weekdays": draw(weekday_lists())} if draw(st.booleans()) else {}


def as_written(day):
    """A date as TOML gives it, bare or quoted."""
    return st.sampled_from((day, day.isoformat()))


def nearest(month_and_day, day):
    years = (day.year - 1, day.year, day.year + 1)
    return min((date.fromisoformat(f"{year}-{month_and_day}") for year in years), key=lambda each: abs(each - day))
