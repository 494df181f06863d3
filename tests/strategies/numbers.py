"""Numbers that two programs compare alike."""

from hypothesis import strategies as st


def halves(low, high):
    """What is summed and compared: exact in binary."""
    return st.integers(2 * low, 2 * high).map(lambda n: n / 2)


def hundredths(low, high):
    return st.integers(round(100 * low), round(100 * high)).map(lambda n: n / 100)


def odd_hundredths(low, high):
    """What is compared after a round number is taken off: never round itself."""
    return hundredths(low, high).map(lambda number: round(number + 0.003, 3))


def at_times(keys):
    """The keys drawn by a strategy, or none of them."""
    return st.one_of(st.just({}), keys)
