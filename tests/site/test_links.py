"""What the tables of a site say of each other. Stage lengths are those of FAO-56 Table 11, by page of the print."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.site.links import link_faults

OWN = {"kc": [0.5, 1.05, 0.9], "p": 0.45, "root_m": [0.15, 0.5]}
OVER = "let one be over before the other begins, or give shares that come to 1"


def site_of(**tables):
    """A site as TOML gives it; every tank, zone and so on by its name or as a table."""
    raw = {"site": {"name": "Brackenfold", "latitude_deg": 53.1}}
    return raw | {
        kind: [{"name": each} if isinstance(each, str) else each for each in each_kind]
        for kind, each_kind in tables.items()
    }


def bed_of(*plantings, **keys):
    return {"name": "Bed", "planting": list(plantings)} | keys


def grown(planted, *days, **keys):
    return OWN | {"planted": planted, "days": list(days)} | keys


# ---- Names ----


def test_each_name_is_used_once_in_its_kind():
    raw = site_of(roof=["A", "B", "A", "A"], tank=["A", "B"], zone=["A"], bed=["A", "B"])
    assert link_faults(raw) == [
        (("roof", 2, "name"), 'is "A", like that of roof[1]; give each its own name'),
        (("roof", 3, "name"), 'is "A", like that of roof[1]; give each its own name'),
    ]


def test_zones_and_draws_are_one_kind():
    raw = site_of(zone=["Line"], draw=["Cans", "Line"])
    assert link_faults(raw) == [(("draw", 1, "name"), 'is "Line", like that of zone[1]; give each its own name')]


@pytest.mark.parametrize("kind", ["roof", "tank", "inflow", "transfer", "zone", "draw", "bed"])
def test_every_kind_needs_its_own_names(kind):
    assert [place for place, _ in link_faults(site_of(**{kind: ["A", "A"]}))] == [(kind, 1, "name")]


def test_names_differ_by_case_and_blanks():
    assert link_faults(site_of(tank=["Butt", "butt", "butt "])) == []


# ---- References ----


@pytest.mark.parametrize(
    ("kind", "key", "target"),
    [
        ("roof", "tank", "tank"),
        ("tank", "overflow_to", "tank"),
        ("zone", "tank", "tank"),
        ("draw", "tank", "tank"),
        ("bed", "zone", "zone"),
    ],
)
def test_every_reference_has_to_exist(kind, key, target):
    raw = site_of(tank=["Shed butt", "Class-room tank"], zone=["Shed butt", "Class-room tank"])
    one = {"name": "One", key: "Shed but"}
    raw[kind] = [*raw.get(kind, []), one]
    place = (kind, len(raw[kind]) - 1, key)
    known = '"Shed butt"'
    assert link_faults(raw) == [(place, f'is "Shed but", but no {target} has that name; write {known}')]
    one[key] = "Shed butt"
    assert link_faults(raw) == []


def test_a_reference_unlike_any_name_is_shown_all_names():
    raw = site_of(tank=["Shed butt", "Class-room tank"], roof=[{"name": "Roof", "tank": "Xyz"}])
    assert link_faults(raw) == [
        (("roof", 0, "tank"), 'is "Xyz", but no tank has that name; write "Shed butt" or "Class-room tank"')
    ]


def test_a_bed_may_name_no_draw_and_no_zone_that_is_not_there():
    raw = site_of(tank=["Butt"], draw=["Cans"], bed=[{"name": "Bed", "zone": "Cans"}])
    assert link_faults(raw) == [
        (("bed", 0, "zone"), 'is "Cans", but no zone has that name; add a [[zone]] of that name, or leave it out')
    ]


@pytest.mark.parametrize(
    "tanks",
    [
        [{"name": "Butt"}, {}],
        [{"name": "Butt"}, {"name": 3}],
        [{"name": "Butt"}, 3],
        [3],
        [],
        {"name": "Butt"},
        3,
        None,
    ],
)
def test_where_a_tank_is_at_fault_it_may_be_the_one_that_is_meant(tanks):
    raw = site_of(roof=[{"name": "Roof", "tank": "Store"}])
    assert link_faults(raw if tanks is None else raw | {"tank": tanks}) == []


@pytest.mark.parametrize("tank", [3, ["Butt"], {}, None])
def test_a_reference_that_is_no_text_is_passed_over(tank):
    assert link_faults(site_of(tank=["Butt"], roof=[{"name": "Roof", "tank": tank}])) == []


# ---- Overflow ----


def chain(*pairs):
    return site_of(
        tank=[{"name": name, "overflow_to": after} if after else {"name": name} for name, after in pairs],
    )


@pytest.mark.parametrize(
    ("pairs", "number", "ring"),
    [
        ([("A", "A")], 0, '"A" → "A"'),
        ([("A", "B"), ("B", "A")], 0, '"A" → "B" → "A"'),
        ([("A", "C"), ("B", "A"), ("C", "B")], 0, '"A" → "C" → "B" → "A"'),
        ([("A", "B"), ("B", "C"), ("C", "B")], 1, '"B" → "C" → "B"'),  # A runs into the ring
        ([("A", None), ("B", "B"), ("C", "A")], 1, '"B" → "B"'),
    ],
)
def test_a_ring_of_overflows_is_told_once(pairs, number, ring):
    said = f"closes a ring, {ring}; let one of them spill to the drain: leave it out"
    assert link_faults(chain(*pairs)) == [(("tank", number, "overflow_to"), said)]


def test_each_ring_is_told():
    pairs = [("A", "B"), ("B", "A"), ("C", "C")]
    assert [place for place, _ in link_faults(chain(*pairs))] == [
        ("tank", 0, "overflow_to"),
        ("tank", 2, "overflow_to"),
    ]


def test_tanks_may_overflow_one_into_another():
    assert link_faults(chain(("A", "C"), ("B", "C"), ("C", "D"), ("D", None))) == []


def test_no_ring_is_told_of_tanks_with_one_name_or_no_text_for_a_name():
    doubled = chain(("A", "B"), ("B", "A"), ("A", None))
    assert [place for place, _ in link_faults(doubled)] == [("tank", 2, "name")]
    assert link_faults(site_of(tank=[{"name": ["A"], "overflow_to": ["A"]}, {"overflow_to": {}}])) == []


# ---- Shares ----


def test_the_beds_of_a_zone_may_not_all_have_share_0():
    beds = [{"name": name, "zone": "North", "share": share} for name, share in (("A", 0), ("B", 0.0))]
    raw = site_of(zone=["South", "North"], bed=[{"name": "Dry", "share": 0}, *beds])
    assert link_faults(raw) == [(("bed", 1, "share"), 'is 0, like that of every bed of "North"; write one above 0')]


@pytest.mark.parametrize("other", [{"share": 0.1}, {}, {"share": "0"}, {"share": False}, {"zone": "South", "share": 1}])
def test_a_zone_needs_one_bed_with_a_share_only(other):
    """One without the key has its area; one that is at fault may have meant a share."""
    beds = [{"name": "A", "zone": "North", "share": 0}, {"name": "B", "zone": "North"} | other]
    raw = site_of(zone=["South", "North"], bed=beds)
    told = [place for place, _ in link_faults(raw)]
    assert told == ([("bed", 0, "share")] if other.get("zone") == "South" else [])


def test_beds_without_a_zone_and_zones_without_a_name_are_passed_over():
    raw = site_of(zone=[{}], bed=[{"name": "A", "share": 0}, {"name": "B", "share": 0, "zone": ["North"]}])
    assert link_faults(raw) == []


# ---- Plantings ----


def told_of(*plantings, latitude_deg=53.1):
    raw = site_of(bed=["Bare", bed_of(*plantings)])
    raw["site"]["latitude_deg"] = latitude_deg
    faults = link_faults(raw)
    assert all(place[:3] == ("bed", 1, "planting") and place[4:] == ("planted",) for place, _ in faults)
    return {place[3]: said for place, said in faults}


def test_plantings_of_every_year_may_not_overlap():
    told = told_of(grown("03-01", 20, 30, 30, 20), grown("06-08", 20, 30, 30, 0))
    assert told == {1: f"stands with planting[1] on 06-08, where ground_share comes to 2; {OVER}"}


def test_a_planting_may_begin_on_the_day_after_the_last_of_another():
    assert told_of(grown("03-01", 20, 30, 30, 20), grown("06-09", 20, 30, 30, 0)) == {}


def test_they_may_be_listed_in_any_order():
    told = told_of(grown("06-08", 20, 30, 30, 0), grown("03-01", 20, 30, 30, 20))
    assert told == {1: f"stands with planting[1] on 06-08, where ground_share comes to 2; {OVER}"}


def test_plantings_may_meet_over_new_year():
    autumn = grown("11-01", 30, 60, 30, 30)  # 150 days, to 30 March; in a leap year to 29 March
    assert told_of(autumn, grown("03-30", 20, 20, 20, 20)) == {
        1: f"stands with planting[1] on 03-30, where ground_share comes to 2; {OVER}"
    }
    assert told_of(autumn, grown("03-31", 20, 20, 20, 20)) == {}


def test_a_leap_day_is_not_counted_for_a_planting_of_every_year():
    """From 1 February 29 days end on 1 March, in a leap year too."""
    assert set(told_of(grown("02-01", 29, 0, 0, 0), grown("03-01", 20, 0, 0, 0))) == {1}
    assert told_of(grown("02-01", 29, 0, 0, 0), grown("03-02", 20, 0, 0, 0)) == {}


def test_dated_plantings_overlap_in_their_own_year_only():
    assert told_of(grown(dt.date(2031, 3, 1), 20, 30, 30, 20), grown(dt.date(2032, 3, 1), 20, 30, 30, 20)) == {}
    assert told_of(grown(dt.date(2031, 3, 1), 20, 30, 30, 20), grown("2031-06-08", 9, 9, 9, 9)) == {
        1: f"stands with planting[1] on 2031-06-08, where ground_share comes to 2; {OVER}"
    }


def test_a_dated_planting_meets_that_of_every_year():
    every = grown("03-01", 20, 30, 30, 20)
    assert told_of(every, grown(dt.date(2031, 6, 8), 5, 5, 5, 5)) == {
        1: f"stands with planting[1] on 2031-06-08, where ground_share comes to 2; {OVER}"
    }
    assert told_of(every, grown(dt.date(2031, 6, 9), 5, 5, 5, 5)) == {}
    assert told_of(every, grown(dt.date(2031, 6, 9), 66, 66, 66, 67)) == {}  # 265 days, to the last of February
    assert set(told_of(every, grown(dt.date(2031, 6, 9), 66, 66, 66, 69))) == {1}


def test_a_dated_planting_over_new_year_meets_that_of_spring():
    told = told_of(grown(dt.date(2031, 11, 1), 40, 40, 40, 40), grown("03-01", 5, 5, 5, 5))
    assert told == {1: f"stands with planting[1] from 2032-03-01 to 2032-03-20, where ground_share comes to 2; {OVER}"}


def test_a_planting_of_several_years_meets_every_other_of_them():
    shrub = grown(dt.date(2031, 3, 1), 200, 300, 300, 300)  # 1100 days, to 4 March 2034
    assert set(told_of(shrub, grown("05-01", 5, 5, 5, 5), grown("2034-03-04", 1, 0, 0, 0))) == {1, 2}
    assert told_of(shrub, grown("2034-03-05", 1, 0, 0, 0)) == {}


def test_every_planting_that_finds_no_ground_is_told_once():
    three = [grown("05-01", 10, 10, 10, 10)] * 3
    raw = site_of(bed=[bed_of(*three)])
    assert [place[3] for place, _ in link_faults(raw)] == [1, 2]


def test_stage_lengths_come_from_the_crops_table():
    """FAO-56 Table 11, p. 105: potato planted in April in Europe takes 30 + 35 + 50 + 30 days."""
    assert told_of({"crop": "potato", "planted": "04-10"}, grown("09-01", 5, 5, 5, 5)) == {
        1: f"stands with planting[1] on 09-01, where ground_share comes to 2; {OVER}"
    }
    assert told_of({"crop": "potato", "planted": "04-10"}, grown("09-02", 5, 5, 5, 5)) == {}


def test_south_of_the_equator_stage_lengths_are_those_of_half_a_year_later():
    """FAO-56 Table 11, p. 104: cabbage and its kin in the Mediterranean, 80 days from April and 195 from October."""
    sprouts, follower = {"crop": "brussels sprouts", "planted": "04-01"}, grown("06-20", 5, 5, 5, 5)
    assert told_of(sprouts, follower) == {}
    assert told_of(sprouts, follower, latitude_deg=-37.8) == {
        1: f"stands with planting[1] from 06-20 to 07-09, where ground_share comes to 2; {OVER}"
    }


def test_a_planting_of_every_year_takes_a_year_at_most():
    assert told_of(grown("05-10", 100, 100, 100, 65)) == {}
    assert told_of(grown("05-10", 100, 100, 100, 66), grown("06-01", 1, 1, 1, 1)) == {
        0: 'is "05-10", every year, but takes 366 days; write a full date, such as 2031-05-10'
    }
    assert told_of(grown(dt.date(2031, 5, 10), 100, 100, 100, 66)) == {}


@pytest.mark.parametrize(
    ("crop", "days"),
    [("pineapple, bare soil", 60 + 120 + 600 + 10), ("sugar cane", 35 + 60 + 190 + 120)],  # FAO-56 Table 11, p. 107
)
def test_a_crop_of_more_than_a_year_is_planted_once(crop, days):
    assert told_of({"crop": crop, "planted": "05-10"}) == {
        0: f'is "05-10", every year, but takes {days} days; write a full date, such as 2031-05-10'
    }
    assert told_of({"crop": crop, "planted": dt.date(2031, 5, 10)}) == {}


@pytest.mark.parametrize(
    "broken", [grown("13-01", 9, 9, 9, 9), grown("05-01", 9, 9, 9), {"crop": "tomatto", "planted": "05-01"}, {}, 3]
)
def test_a_planting_at_fault_is_passed_over_and_the_others_are_not(broken):
    good = grown("05-01", 9, 9, 9, 9)
    assert told_of(good, broken) == {}
    assert set(told_of(good, broken, good)) == {2}


def test_crops_may_stand_side_by_side_on_shares_that_come_to_1():
    beans, maize, squash = (grown("05-20", 20, 30, 30, 20, ground_share=share) for share in (0.3, 0.3, 0.4))
    assert told_of(beans, maize, squash) == {}
    tenths = [grown("05-20", 20, 30, 30, 20, ground_share=0.1)] * 10  # 0.1 ten times is 0.9999999999999999
    assert told_of(*tenths) == {}


def crowded(*plantings):
    return link_faults(site_of(bed=["Bare", bed_of(*plantings)]))


def test_shares_above_1_are_told_with_the_days():
    beans = grown("05-20", 20, 30, 30, 20, ground_share=0.7)  # 100 days, to 27 August
    salad = grown("08-01", 10, 10, 10, 10, ground_share=0.5)  # 40 days, to 9 September
    assert crowded(beans, salad) == [
        (
            ("bed", 1, "planting", 1, "ground_share"),
            f"stands with planting[1] from 08-01 to 08-27, where ground_share comes to 1.2; {OVER}",
        )
    ]
    assert crowded(beans, salad | {"ground_share": 0.3}) == []


def test_the_first_days_that_are_too_full_are_told_with_all_that_stand_on_them():
    spring, summer = grown("03-01", 20, 20, 20, 20, ground_share=0.6), grown("06-01", 9, 9, 9, 9, ground_share=0.6)
    shrub = grown("01-01", 90, 90, 90, 95, ground_share=0.5)  # all year
    assert crowded(spring, summer, shrub) == [
        (
            ("bed", 1, "planting", 2, "ground_share"),
            f"stands with planting[1] from 03-01 to 05-19, where ground_share comes to 1.1; {OVER}",
        )
    ]
    three = [grown("03-01", 5, 5, 5, 5, ground_share=0.4)] * 3
    assert crowded(*three) == [
        (
            ("bed", 1, "planting", 2, "ground_share"),
            f"stands with planting[1] and planting[2] from 03-01 to 03-20, where ground_share comes to 1.2; {OVER}",
        )
    ]


def test_a_year_of_365_days_leaves_no_day_bare_and_meets_itself_on_none():
    assert told_of(grown("03-01", 100, 100, 100, 65)) == {}
    assert set(told_of(grown("03-01", 100, 100, 100, 65), grown(dt.date(2032, 2, 29), 1, 0, 0, 0))) == {1}


# ---- Single and dual ----


@pytest.mark.parametrize("model", [{}, {"crop_coefficient": "single"}, {"crop_coefficient": " Single"}])
def test_kcb_alone_is_not_enough_for_the_single_coefficient(model):
    planting = {key: value for key, value in grown("05-20", 9, 9, 9, 9).items() if key != "kc"} | {"kcb": [0.2, 1, 0.6]}
    raw = site_of(bed=[bed_of(planting)]) | {"model": model}
    assert link_faults(raw) == [
        (
            ("bed", 0, "planting", 0, "kc"),
            'is missing; kcb alone is for crop_coefficient = "dual"; add kc = [initial, mid, end] or crop = "…"',
        )
    ]
    assert link_faults(raw | {"model": {"crop_coefficient": "dual"}}) == []
    assert link_faults(site_of(bed=[bed_of(planting | {"crop": "tomato"})])) == []


@pytest.mark.parametrize(
    "odd", [{"model": 3}, {"model": {"crop_coefficient": 3}}, {"model": {"crop_coefficient": "x"}}]
)
def test_of_an_odd_model_nothing_is_told(odd):
    planting = grown("05-20", 9, 9, 9, 9, kcb=[0.2, 1, 0.6])
    del planting["kc"]
    assert link_faults(site_of(bed=[bed_of(planting)]) | odd) == []


@pytest.mark.parametrize("odd", [{"site": 3}, {"bed": 3}, {"bed": {"planting": []}}, {"bed": [{"planting": {}}]}, {}])
def test_odd_tables_are_passed_over(odd):
    assert link_faults(odd) == []


YEARS = range(2026, 2036)  # around the dated plantings, each day looked at one by one: a second way to the same answer


def standing(planting):
    """The days of a planting, walked one by one; of one of every year 29 February goes with the 28th."""
    planted, length = planting["planted"], sum(planting["days"])
    if not isinstance(planted, str):
        return {planted + dt.timedelta(n) for n in range(length)}
    days = set()
    for year in YEARS:
        day, left = dt.date(year, *map(int, planted.split("-"))), length
        while left or (day.month, day.day) == (2, 29):
            left -= (day.month, day.day) != (2, 29)
            days.add(day)
            day += dt.timedelta(1)
    return days


YEARLY = st.dates(dt.date(2031, 1, 1), dt.date(2031, 12, 31)).map(lambda day: day.isoformat()[5:])
PLANTINGS = st.builds(
    grown,
    st.one_of(YEARLY, st.dates(dt.date(2028, 1, 1), dt.date(2033, 1, 1))),
    st.integers(1, 200),
    st.integers(0, 160),
    st.just(0),
    st.just(0),
)


@given(PLANTINGS, PLANTINGS)
def test_plantings_overlap_where_both_stand_on_one_day(one, other):
    assert bool(told_of(one, other)) == bool(standing(one) & standing(other))
