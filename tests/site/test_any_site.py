"""Any site that keeps the rules is read without a fault, and any single fault is told at its key."""

import copy
import datetime as dt

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from waterbudget.site.growth import growth_of
from waterbudget.site.read import site_of
from waterbudget.tables.coverings import search_coverings
from waterbudget.tables.crops import search_crops
from waterbudget.tables.everyday import everyday_words
from waterbudget.tables.soils import search_soils

TANKS = ["Upper tank", "Lower tank", "Barrel"]
SHARE = st.floats(0.01, 1)
LITRES = st.floats(0, 5000)
DAYS = st.dates().map(lambda day: day.isoformat()[5:]).filter(lambda day: day != "02-29")
FULL_DATES = st.dates(dt.date(1990, 1, 1), dt.date(2090, 1, 1))
WEEKDAYS = st.lists(st.sampled_from(["mon", "Tue", "WED", "thu", "fri", "sat", "sun"]), min_size=1)
COVERINGS = [covering.name for covering in search_coverings()] + [one.word for one in everyday_words("covering")]
SOILS = [soil.name for soil in search_soils()] + [one.word for one in everyday_words("soil")]
CROPS = [crop.asked_as or crop.name for crop in search_crops() if crop.stages]
KC = st.lists(st.floats(0, 2.5), min_size=3, max_size=3)


def some(**keys):
    """A table with any of the keys."""
    return st.fixed_dictionaries({}, optional=keys)


def one_of_each(base, optional):
    return st.builds(lambda fixed, more: fixed | more, st.fixed_dictionaries(base), some(**optional))


SEASON = {"from": DAYS, "to": DAYS}
ROOFS = one_of_each(
    {"tank": st.sampled_from(TANKS), "area_m2": st.floats(0.1, 500), "covering": st.sampled_from(COVERINGS)},
    {
        "runoff_coefficient": st.floats(0, 1),
        "loss_mm": st.floats(0, 5),
        "first_flush_l": LITRES,
        "filter_efficiency": st.floats(0, 1),
    },
)
INFLOWS = one_of_each({"tank": st.sampled_from(TANKS), "l_per_day": LITRES}, SEASON | {"weekdays": WEEKDAYS})
TRANSFERS = one_of_each(
    {"between": st.permutations(TANKS), "l_per_day": LITRES},
    SEASON | {"weekdays": WEEKDAYS, "keep_l": LITRES, "below_l": LITRES},
).map(
    lambda table: (
        {"from_tank": table["between"][0], "to_tank": table["between"][1]}
        | {key: value for key, value in table.items() if key != "between"}
    )
)
BANS = st.one_of(
    st.fixed_dictionaries({"from": DAYS, "to": DAYS}),
    st.lists(FULL_DATES, min_size=2, max_size=2).map(lambda days: {"from": min(days), "to": max(days)}),
)
ZONES = one_of_each(
    {"tank": st.sampled_from(TANKS), "flow_l_min": st.floats(0.1, 50), "minutes": st.floats(0, 600)},
    SEASON
    | {
        "jets": st.sampled_from(["mist", "spray", "drip", "can", "Drips"]),
        "efficiency": SHARE,
        "wetted_fraction": SHARE,
        "every_days": st.integers(1, 400),
        "runs_per_day": st.integers(1, 100),
        "plan": st.sampled_from(["timer", "dry", "refill", "Refill"]),
    },
)


@st.composite
def plantings(draw, dual):
    """Plantings on at most all the ground, whenever they stand."""
    left, grown = 1.0, []
    for _ in range(draw(st.integers(0, 3))):
        share = draw(st.floats(0.01, 1)) * left
        if share < 0.01:
            break
        left -= share
        own = draw(
            some(
                kc=KC,
                kcb=KC,
                p=st.floats(0, 0.95),
                root_m=st.lists(st.floats(0.01, 10), min_size=2, max_size=2).map(sorted),
                height_m=st.floats(0.01, 20),
                perennial=st.booleans(),
                days=st.lists(st.integers(0, 90), min_size=4, max_size=4).filter(any),
            )
        )
        if (
            not draw(st.booleans())
            or {"days", "p", "root_m"} - own.keys()
            or not (own.keys() & {"kc", "kcb"} if dual else "kc" in own)
        ):
            own["crop"] = draw(st.sampled_from(CROPS))
        grown.append(own | {"planted": draw(FULL_DATES), "ground_share": share})
    return grown


@st.composite
def beds(draw, dual):
    if draw(st.booleans()):
        bed = {"pots": draw(st.integers(1, 500)), "pot_litres": draw(st.floats(0.1, 100))}
        bed |= {"pot_diameter_cm": draw(st.floats(1, 100))} | draw(some(area_m2=st.floats(0.1, 50)))
        bed |= draw(some(soil=st.sampled_from(SOILS), available_water_mm_m=st.floats(1, 1000)))
    else:
        bed = {"area_m2": draw(st.floats(0.1, 500))} | draw(some(root_limit_m=st.floats(0.05, 3)))
        water = {"soil": st.sampled_from(SOILS), "available_water_mm_m": st.floats(1, 1000)}
        bed |= draw(some(**water).filter(bool))
    if draw(st.booleans()):
        bed |= dict(
            zip(("rew_mm", "tew_mm"), sorted(draw(st.tuples(st.floats(0.1, 30), st.floats(0.1, 60)))), strict=True)
        )
    if draw(st.booleans()):
        bed |= {"exposed": True, "width_m": draw(st.floats(0.1, 5))}
    more = some(
        mulch_cover=st.floats(0, 1),
        rain_share=st.floats(0, 1),
        et_factor=st.floats(0, 2),
        start_depleted=st.floats(0, 1),
    )
    return bed | draw(more) | {"planting": draw(plantings(dual))}


@st.composite
def sites(draw):
    dual = draw(st.booleans())
    tanks = []
    for name, below in zip(TANKS, [*TANKS[1:], None], strict=True):
        capacity_l = draw(st.floats(1, 5000))
        tank = {"name": name, "joined": draw(st.integers(1, 5)), "capacity_l": capacity_l, "start_l": capacity_l / 2}
        tanks.append(tank | ({"overflow_to": below} if below and draw(st.booleans()) else {}))
    tables = {
        "roof": draw(st.lists(ROOFS, max_size=2)),
        "inflow": draw(st.lists(INFLOWS, max_size=2)),
        "transfer": draw(st.lists(TRANSFERS, max_size=2)),
        "zone": draw(st.lists(ZONES, max_size=2)),
        "bed": draw(st.lists(beds(dual), max_size=2)),
    }
    named = {kind: [{"name": f"{kind} {n}"} | table for n, table in enumerate(tables[kind])] for kind in tables}
    for bed in named["bed"]:
        if named["zone"] and draw(st.booleans()):
            bed["zone"] = named["zone"][0]["name"]
    place = draw(
        some(latitude_deg=st.floats(-90, 90), mean_wind_m_s=st.floats(1, 6), mean_rh_min_pct=st.floats(20, 80))
    )
    model = {"crop_coefficient": "dual" if dual else "single", "root_start_m": draw(st.floats(0.01, 3))}
    return {
        "site": {"name": "Brackenfold"} | place,
        "model": model,
        "tank": tanks,
        "ban": draw(st.lists(BANS, max_size=3)),
    } | named


GENTLY = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@GENTLY
@given(sites())
def test_any_site_that_keeps_the_rules_is_read(raw):
    site, faults = site_of(raw)
    assert faults == []
    for roof in site.roof:
        assert 0 <= roof.runoff <= 1
        assert roof.wetting_loss_mm >= 0
    for zone in site.zone:
        assert 0 < zone.applied <= 1
        assert 0 < zone.wetted <= 1
    for bed in site.bed:
        assert bed.ground_m2 > 0
        assert 0 <= bed.rew <= bed.tew
        assert (bed.pots_taw_mm is None) == (bed.pots is None)
        assert bed.pots is None or bed.pots_taw_mm > 0
        assert 0 <= bed.rain_part <= 1
        for planting in bed.planting:
            growth = growth_of(planting, site)
            assert 0 < growth.root_start_m <= growth.root_full_m
            assert len(growth.kc) == len(growth.kcb) == 3
            assert min(growth.kcb) >= 0


WRONG = {  # table: key and a value that no site may have, beside whatever else it has
    "site": [("mean_wind_m_s", 0.9), ("mean_wind_m_s", 6.1), ("mean_rh_min_pct", 19), ("mean_rh_min_pct", 81)],
    "model": [("crop_coefficient", "both"), ("root_start_m", 0)],
    "roof": [
        ("tank", "Nowhere"),
        ("covering", "xyzzy"),
        ("loss_mm", -0.1),
        ("area_m2", 0),
        ("runoff_coefficient", 1.1),
    ],
    "tank": [("joined", 0), ("joined", 1.5), ("start_l", 1e8), ("capacity_l", 0)],
    "inflow": [("tank", "Nowhere"), ("l_per_day", -1), ("from", "02-29"), ("weekdays", ["noday"])],
    "transfer": [("from_tank", "Nowhere"), ("to_tank", "Nowhere"), ("keep_l", -1), ("below_l", "low"), ("to", "02-29")],
    "ban": [("from", "02-29"), ("to", "13-01"), ("from", 3)],
    "zone": [("jets", "fog"), ("efficiency", 0), ("wetted_fraction", 0), ("wetted_fraction", 1.1), ("every_days", 0)],
    "bed": [("mulch_cover", 1.1), ("tew_mm", 0), ("rew_mm", 1e6), ("zone", "Nowhere"), ("pots", 0), ("soil", "moon")],
    "planting": [
        ("ground_share", 0),
        ("p", 0.96),
        ("height_m", 0),
        ("kcb", [1, 1]),
        ("root_m", [0.5, 0.4]),
        ("perennial", 1),
    ],
}


@GENTLY
@given(sites(), st.data())
def test_any_single_fault_is_told_at_its_key(raw, data):
    raw = copy.deepcopy(raw)
    places = [("site",), ("model",)] + [
        (kind, n) for kind in WRONG for n in range(len(raw.get(kind, []))) if isinstance(raw.get(kind), list)
    ]
    places += [("bed", n, "planting", m) for n, bed in enumerate(raw["bed"]) for m in range(len(bed["planting"]))]
    place = data.draw(st.sampled_from(places))
    kind = next(part for part in reversed(place) if isinstance(part, str))
    key, value = data.draw(st.sampled_from(WRONG[kind]))
    table = raw
    for part in place:
        table = table[part]
    table[key] = value
    _, faults = site_of(raw)
    assert faults
    assert all(told[: len(place)] == place for told, _ in faults), faults
    assert any(told[len(place)] == key for told, _ in faults), faults
