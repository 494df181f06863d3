"""What people type, and what they are told where it cannot be read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import InputError
from waterbudget.site import replies

LENGTH_CM = st.floats(1.0, 300.0).map(lambda value: round(value, 1))


@pytest.mark.parametrize(
    ("read", "words", "value"),
    [
        (replies.longitude, "-0.8", -0.8),
        (replies.longitude, "skip", None),
        (replies.usual, "21 12 7 1", (21.0, 12.0, 7.0, 1.0)),
        (replies.usual, "skip", None),
        (replies.covering, "Tin", "metal sheet"),
        (replies.jets, "Drip", "drip"),
        (replies.cover, "insect nets", "insect net"),
        (replies.soil, "falls apart", "sand"),
        (replies.soil, "Crumbles", "sandy loam"),
        (replies.soil, "holds together", "loam"),
        (replies.soil, "sticky worm", "clay"),
    ],
)
def test_words_that_are_understood(read, words, value):
    assert read(words) == value


@pytest.mark.parametrize(
    ("read", "words", "line"),
    [
        (replies.longitude, "181", '"181" is more than half round the earth; write degrees from -180 to 180'),
        (replies.usual, "21 12 7", '"21 12 7" are not four; write four numbers'),
        (replies.usual, "21 12 warm 1", '"warm" is no number; write four numbers'),
        (replies.usual, "12 21 7 1", '"12 21 7 1" are no such temperatures'),
        (replies.jets, "drips and drabs", 'unknown kind of jets "drips and drabs"'),
        (lambda words: replies.fill_10_l_s(words, 1000.0), "57.8 to 62 of 95", '"57.8 to 62 of 95" is no drop'),
        (lambda words: replies.fill_10_l_s(words, 1000.0), "62 to 57.8 of 50", '"62 to 57.8 of 50" is no drop'),
        (lambda words: replies.fill_10_l_s(words, 1000.0), "62 to 57.8 of 95 in 0", "is no drop"),
        (lambda words: replies.fill_10_l_s(words, 1000.0), "62 57.8", '"62 57.8" is no number; write seconds'),
        (lambda words: replies.fill_10_l_s(words, 1000.0), "0 l/min", '"0" is not above 0; write litres a minute'),
    ],
)
def test_words_that_are_not_say_what_would_be_right(read, words, line):
    with pytest.raises(InputError) as told:
        read(words)
    assert line in str(told.value)
    assert "\n" not in str(told.value)


def test_a_flow_by_bucket_by_its_own_number_and_by_a_drop_is_one_flow():
    # By hand: 4 cm of 100 cm of a store of 1,000 L are 40 L; in 10 minutes that is 4 L/min, and 10 L take 150 s.
    for words in (
        "150",
        "4 L/min",
        "60 to 56 of 100 in 10",
        "60 to 56 of 100",
        "60 cm to 56 cm of 100 cm in 10 minutes",
    ):
        assert replies.fill_10_l_s(words, 1000.0) == pytest.approx(150.0, rel=1e-12)
    assert replies.flow_l_min(150.0) == 4.0


@given(LENGTH_CM, LENGTH_CM, LENGTH_CM, st.floats(1.0, 1e5), st.floats(0.5, 600.0))
def test_the_drop_gives_the_litres_that_left_the_store(one_cm, other_cm, full_cm, capacity_l, minutes):
    after_cm, before_cm, full_cm = sorted((one_cm, other_cm, full_cm))
    words = f"{before_cm:f} to {after_cm:f} of {full_cm:f} in {minutes:f}"
    if before_cm == after_cm:
        with pytest.raises(InputError, match="is no drop"):
            replies.fill_10_l_s(words, capacity_l)
        return
    gone_l = capacity_l * before_cm / full_cm - capacity_l * after_cm / full_cm
    flow_l_min = 600.0 / replies.fill_10_l_s(words, capacity_l)
    assert flow_l_min * float(f"{minutes:f}") == pytest.approx(gone_l, rel=1e-6)
