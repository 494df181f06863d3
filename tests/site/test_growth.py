"""What a planting needs to grow, from its own keys and its crop's. FAO-56 is Allen et al. (1998), by page."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.site.growth import growth_of, kcb_of
from waterbudget.site.model import Planting, Site
from waterbudget.tables.crops import find_crop, search_crops
from waterbudget.tables.kcb import basal_kc

SITE = Site.model_validate(
    {"site": {"name": "Brackenfold", "latitude_deg": 53.1}, "tank": [{"name": "Butt", "capacity_l": 9, "start_l": 1}]}
)
OWN = {"days": [20, 30, 40, 10], "kc": [0.5, 1.05, 0.9], "p": 0.45, "root_m": [0.15, 0.5]}


def growth(**keys):
    return growth_of(Planting(planted="05-10", **keys), SITE)


def test_a_crop_brings_all_its_numbers():
    tomato = growth(crop="tomato")
    assert tomato.kc == (0.6, 1.15, 0.8)  # Table 12, p. 110; end: the middle of 0.70-0.90
    assert tomato.kcb == (0.15, 1.10, 0.70)  # Table 17, p. 137; end: the middle of 0.60-0.80
    assert (tomato.p, tomato.root_full_m) == (0.40, 0.7)  # Table 22, p. 163: the smaller of 0.7-1.5 m
    assert tomato.height_m == 0.6  # Table 12
    assert (tomato.perennial, tomato.ground_share, tomato.root_start_m) == (False, 1.0, 0.15)
    assert tomato.basis == "printed for Mediterranean"


def test_on_supports_kc_kcb_and_height_are_those_of_footnote_2():
    # Tables 12 and 17, footnote 2: tomatoes 1.20 and 1.15, green beans 1.15 and 1.10; 1.5-2 m tall
    tomato, bean = growth(crop="cordon tomato"), growth(crop="runner bean")
    assert (tomato.kc[1], tomato.kcb[1], tomato.height_m) == (1.20, 1.15, 1.75)
    assert (bean.kc[1], bean.kcb[1], bean.height_m) == (1.15, 1.10, 1.75)


@pytest.mark.parametrize(
    ("own", "name", "value"),
    [
        ({"kcb": [0.2, 1.0, 0.6]}, "kcb", (0.2, 1.0, 0.6)),
        ({"kc": [0.5, 1.0, 0.7]}, "kc", (0.5, 1.0, 0.7)),
        ({"p": 0.0}, "p", 0.0),
        ({"root_m": [0.05, 0.3]}, "root_full_m", 0.3),
        ({"height_m": 0.9}, "height_m", 0.9),
        ({"perennial": True}, "perennial", True),
        ({"ground_share": 0.25}, "ground_share", 0.25),
        ({"days": [1, 2, 3, 4]}, "days", (1, 2, 3, 4)),
    ],
)
def test_each_key_of_the_planting_goes_before_the_crop_s_number(own, name, value):
    told, plain = growth(crop="tomato", **own), growth(crop="tomato")
    assert getattr(told, name) == value != getattr(plain, name)
    follows = {"kc": {"kcb"}, "root_m": {"root_start_m"}, "perennial": {"root_start_m"}, "days": {"basis"}}
    changed = {field for field in told._fields if getattr(told, field) != getattr(plain, field)}
    assert changed == {name} | follows.get(next(iter(own)), set())


@pytest.mark.parametrize(
    ("keys", "kcb"),
    [
        ({"crop": "tomato", "kc": [0.5, 1.0, 0.7]}, (0.15, 0.95, 0.60)),  # the file's Kc before Table 17
        ({"crop": "tomato", "kc": [0.1, 1.0, 0.05]}, (0.10, 0.95, 0.0)),  # never above Kc ini, never below 0
        ({"crop": "asparagus", "kc": [0.5, 0.95, 0.3]}, (0.40, 0.90, 0.20)),  # a perennial: Kc ini less 0.10
        ({"crop": "asparagus", "kc": [0.5, 0.95, 0.3], "perennial": False}, (0.15, 0.90, 0.20)),
        ({"crop": "tomato", "kc": [0.5, 1.0, 0.7], "perennial": True}, (0.40, 0.95, 0.60)),
        ({"crop": "tomato", "kc": [0.5, 1.0, 0.7], "kcb": [0.3, 0.8, 0.4]}, (0.3, 0.8, 0.4)),
        (OWN, (0.15, 1.00, 0.80)),
        (OWN | {"perennial": True}, (0.40, 1.00, 0.80)),
        (OWN | {"kc": [0.05, 0.03, 0.06], "perennial": True}, (0.0, 0.0, 0.0)),
    ],
)
def test_kcb_follows_kc_where_it_is_not_given(keys, kcb):
    assert growth(**keys).kcb == pytest.approx(kcb, abs=1e-12)


def test_a_crop_without_a_row_in_table_17_has_kcb_after_its_kc():
    # Table 12, p. 112: alfalfa hay, averaged cutting effects, 0.40, 0.95, 0.90; a perennial; not in Table 17
    alfalfa = growth(crop="lucerne", days=[10, 20, 30, 10])
    assert alfalfa.kcb == pytest.approx((0.30, 0.90, 0.80))


def test_kcb_alone_serves_the_dual_coefficient():
    bare = {key: value for key, value in OWN.items() if key != "kc"} | {"kcb": [0.2, 1.0, 0.6]}
    assert growth(**bare).kcb == growth(**bare).kc == (0.2, 1.0, 0.6)


def test_the_rule_is_the_median_of_table_12_less_table_17():
    """The constants are ours; the printed pairs agree in the middle, those of annuals at mid-season and end."""
    pairs = [(crop, basal_kc(crop)) for crop in search_crops() if crop.asked_as is None and basal_kc(crop)]
    for stage, rule in ((1, 0.05), (2, 0.10)):
        less = sorted(crop.kc[stage] - printed[stage] for crop, printed in pairs if not crop.perennial)
        assert less[len(less) // 2] == pytest.approx(rule, abs=0.001)
    assert sorted(printed.ini for crop, printed in pairs if not crop.perennial)[len(pairs) // 4] == 0.15
    standing = sorted(crop.kc[0] - printed.ini for crop, printed in pairs if crop.perennial)
    assert standing[len(standing) // 2] == pytest.approx(0.10, abs=0.001)


def test_roots_at_sowing_are_never_deeper_than_at_full_depth():
    # Table 22, p. 164: strawberries 0.2-0.3 m
    deep = SITE.model_copy(update={"model": SITE.model.model_copy(update={"root_start_m": 0.5})})
    planting = Planting(crop="lettuce", planted="05-10")
    found = growth_of(planting, deep)
    assert (found.root_start_m, found.root_full_m) == (0.3, 0.3)
    assert growth_of(planting, SITE).root_start_m == 0.15


def test_perennials_stand_at_full_depth_from_the_first_day_unless_told():
    asparagus = growth(crop="asparagus")
    assert (asparagus.root_start_m, asparagus.root_full_m, asparagus.perennial) == (1.2, 1.2, True)
    young = growth(crop="asparagus", perennial=False)
    assert (young.root_start_m, young.root_full_m, young.perennial) == (0.15, 1.2, False)
    own = growth(**OWN, perennial=True)
    assert (own.root_start_m, own.root_full_m) == (0.5, 0.5)


def test_without_a_crop_the_height_is_0_4():
    assert growth(**OWN).height_m == 0.4
    assert (growth(**OWN).perennial, growth(**OWN).basis) == (False, "given in the site file")


def test_stage_lengths_of_common_practice_say_so():
    assert growth(crop="kale").basis == "of common practice, no source"


@pytest.mark.parametrize(
    "crop", [crop for crop in search_crops() if crop.stages], ids=lambda crop: crop.asked_as or crop.name
)
def test_every_crop_grows(crop):
    found = growth(crop=crop.asked_as or crop.name)
    assert found.height_m == crop.height_m
    assert all(0 <= kcb <= kc + 1e-9 for kcb, kc in zip(found.kcb[1:], found.kc[1:], strict=True))
    assert found.perennial is find_crop(crop.name).perennial


@given(st.lists(st.floats(0, 2.5), min_size=3, max_size=3), st.booleans())
def test_kcb_lies_between_0_and_kc(kc, perennial):
    assert all(0.0 <= basal <= single for basal, single in zip(kcb_of(tuple(kc), perennial=perennial), kc, strict=True))
