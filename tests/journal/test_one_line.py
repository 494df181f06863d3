"""An evening in one line: in any order, with names as short as they can be told."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.entries import LogRequest
from waterbudget.journal.one_line import request_of
from waterbudget.site.read import load_site

SITE = load_site(site_path())  # Shed butt and Class-room tank, both without a shape; North line and South line
TANK, BUTT = "Class-room tank", "Shed butt"


def request(line, last_units=None):
    return request_of(SITE, line.split(), last_units or {})


@pytest.mark.parametrize(
    "line",
    [
        "62cm butt 40L rain 6.5 north 10",  # the level of the store that is not named stands alone
        "room 62cm shed 40L rain 6,5 north 10",
        "62cm class 40l butt 6.5mm rain 10min north",
        "North line 10 gauge 6.5 Class-room tank 62 cm Shed butt 40 L",
        "rain=6.5 butt=40L class=62cm n=10",
    ],
)
def test_the_order_of_words_does_not_matter(line):
    found = request(line)
    assert set(found.levels) == {f"{TANK}=62cm", f"{BUTT}=40l"}
    assert (found.gauge_mm, found.ran, found.mains) == (6.5, ("North line=10",), ())


def test_mains_water_names_its_store():
    assert request("mains 120").mains == ("120",)
    assert request("mains butt 120L").mains == (f"{BUTT}=120l",)
    assert request("120 mains shed butt").mains == (f"{BUTT}=120",)


def test_a_level_without_a_unit_is_as_the_last_one():
    tanks = [tank.model_copy(update={"shape": "box", "length_m": 1.0, "width_m": 1.0}) for tank in SITE.tank]
    site = SITE.model_copy(update={"tank": tanks})
    assert request_of(site, ["class", "40"], {TANK: "cm"}).levels == (f"{TANK}=40cm",)
    assert request_of(site, ["class", "40"], {TANK: "L"}).levels == (f"{TANK}=40L",)
    with pytest.raises(InputError, match="class 40: centimetres or litres"):
        request_of(site, ["class", "40"], {BUTT: "L"})


def test_a_store_without_a_shape_is_told_in_litres():
    assert request("butt 40").levels == (f"{BUTT}=40L",)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("line 10", '"line" may be "North line" or "South line"; write more of the name'),
        ("62cm", "62cm: of what? Write it like 62cm butt, rain 6.5, north 10"),
        ("40 butt 62cm", "40: of what?"),
        ("rain", '"rain": how much?'),
        ("rain 6.5 north", '"north": how much?'),
        ("rain 6cm", "rain 6cm: write rain in millimetres, as in rain 6.5"),
        ("rain 6 gauge 7", "rain: is said twice"),
        ("snow 6", '"snow" is no store or zone; there is'),
        ("pond 40cm", '"pond" is no tank; there is'),
        ("north 40cm", '"north" is no tank; there is'),
        ("mains pond 40", '"pond" is no tank'),
    ],
)
def test_what_may_mean_several_things_is_refused(line, said):
    with pytest.raises(InputError) as error:
        request(line)
    assert str(error.value).startswith(said)


def test_a_name_that_begins_like_the_gauge_or_another_kind_is_told_apart():
    zones = [
        zone.model_copy(update={"name": name})
        for zone, name in zip(SITE.zone, ("Rain line", "Shed line"), strict=False)
    ]
    site = SITE.model_copy(update={"zone": zones})
    with pytest.raises(InputError, match='may be the gauge or "Rain line"'):
        request_of(site, ["rain", "5"], {})
    assert request_of(site, ["rain", "line", "5"], {}).ran == ("Rain line=5",)
    with pytest.raises(InputError, match='"shed" may be "Shed butt" or "Shed line"'):
        request_of(site, ["shed", "5"], {})
    assert request_of(site, ["shed", "5min"], {}).ran == ("Shed line=5",)
    assert request_of(site, ["shed", "5L"], {}).levels == ("Shed butt=5l",)


PAIRS = {
    "rain": ("6.5", LogRequest(gauge_mm=6.5)),
    "butt": ("40L", LogRequest(levels=(f"{BUTT}=40l",))),
    "class": ("62cm", LogRequest(levels=(f"{TANK}=62cm",))),
    "south": ("3", LogRequest(ran=("South line=3",))),
    "mains shed": ("70", LogRequest(mains=(f"{BUTT}=70",))),
}


@given(st.lists(st.sampled_from(sorted(PAIRS)), unique=True, min_size=1), st.booleans())
def test_any_choice_in_any_order(names, behind):
    words = [word for name in names for word in ((PAIRS[name][0], name) if behind else (name, PAIRS[name][0]))]
    found = request(" ".join(words))
    wanted = [PAIRS[name][1] for name in names]
    assert set(found.levels) == {level for one in wanted for level in one.levels}
    assert (found.gauge_mm is None) == ("rain" not in names)
    assert set(found.ran) == {ran for one in wanted for ran in one.ran}
    assert set(found.mains) == {litres for one in wanted for litres in one.mains}


@given(st.lists(st.text(max_size=8) | st.sampled_from(["rain", "mains", "6,5", "cm", "north", "=", "40L"]), max_size=6))
def test_whatever_is_said_is_understood_or_refused_in_lines(words):
    with suppress(InputError):
        assert not request_of(SITE, words, {}).day
