"""Random weather, and the days on which a run begins."""

from datetime import date, timedelta

from hypothesis import strategies as st

from strategies.numbers import halves, hundredths

EARLIEST, LATEST = date(2030, 11, 1), date(2032, 3, 20)  # two New Years and a leap day


def first_days():
    return st.one_of(
        st.dates(EARLIEST, LATEST), st.sampled_from((date(2030, 12, 20), date(2032, 2, 20), date(2031, 5, 1)))
    )


@st.composite
def weathers(draw, min_days=5, max_days=80, first_day=None):
    """A list of days without a gap: date, rain_mm, et0_mm, tmax_c."""
    first_day = first_day or draw(first_days())
    rain_mm = st.one_of(st.just(0.0), st.just(0.0), halves(0, 12), halves(10, 90))
    day = st.tuples(rain_mm, hundredths(0, 9), halves(-5, 38))
    length = draw(st.integers(min_days, max_days))
    return [
        {"date": first_day + timedelta(n), "rain_mm": rain, "et0_mm": et0, "tmax_c": tmax}
        for n, (rain, et0, tmax) in enumerate(draw(st.lists(day, min_size=length, max_size=length)))
    ]
