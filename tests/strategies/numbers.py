"""Numbers that two programs compare alike. Each range is made once: hypothesis looks at every new strategy anew."""

from functools import cache

from hypothesis import strategies as st


@cache
def halves(low, high):
    """What is summed and compared: exact in binary."""
    return st.integers(2 * low, 2 * high).map(lambda n: n / 2)


@cache
def hundredths(low, high):
    return st.integers(round(100 * low), round(100 * high)).map(lambda n: n / 100)


@cache
def odd_hundredths(low, high):
    """What is compared after a round number is taken off: never round itself."""
    return hundredths(low, high).map(lambda number: round(number + 0.003, 3))


def at_times(keys):
    """The keys drawn by a strategy, or none of them."""
    return st.one_of(st.just({}), keys)
