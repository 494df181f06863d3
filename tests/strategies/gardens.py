"""Whole sites, and weather for them."""

from hypothesis import strategies as st

from strategies.beds import bed
from strategies.numbers import halves
from strategies.stores import ban_lists, chained_tanks, inflow, roof, transfers
from strategies.watering import regular_draw, zone
from strategies.weather import first_days, weathers


@st.composite
def sites(draw, first_day=None):
    """A valid site, all numbers given; `first_day` of the run places sowings and rhythms near it."""
    first_day = first_day or draw(first_days())
    tanks = draw(chained_tanks())
    tank_names = st.sampled_from([tank["name"] for tank in tanks])
    zones = [draw(zone(f"line {n}", tank_names, first_day)) for n in range(draw(st.integers(1, 3)))]
    zone_names = st.sampled_from([*(zone["name"] for zone in zones)] * 2 + [None])
    model = {
        "crop_coefficient": draw(st.sampled_from(("single", "dual"))),
        "release": draw(st.sampled_from(("after_spill", "before_spill"))),
        "kc_bare": draw(st.sampled_from((0.3, 0.15, 0.41))),
        "root_start_m": draw(st.sampled_from((0.15, 0.1, 0.23))),
        "adjust_p": draw(st.booleans()),
    }
    dual = model["crop_coefficient"] == "dual"
    place = {
        "mean_wind_m_s": draw(st.sampled_from((2, 1, 3.7, 6))),
        "mean_rh_min_pct": draw(st.sampled_from((45, 20, 71))),
    }
    return {
        "site": {"name": "Brackenfold", "latitude_deg": 53.1, "longitude_deg": -1.9, "elevation_m": 140} | place,
        "model": model,
        "weather": {"file": "weather.csv", "wind_height_m": 2},
        "roof": [draw(roof(f"roof {n}", tank_names)) for n in range(draw(st.integers(1, 3)))],
        "tank": tanks,
        "inflow": [draw(inflow(f"spring {n}", tank_names)) for n in range(draw(st.sampled_from((0, 0, 1, 2))))],
        "transfer": draw(transfers(tanks)),
        "zone": zones,
        "draw": [draw(regular_draw(f"can {n}", tank_names)) for n in range(draw(st.integers(0, 2)))],
        "bed": [draw(bed(f"bed {n}", zone_names, first_day, dual=dual)) for n in range(draw(st.integers(1, 4)))],
    } | draw(ban_lists(first_day))


@st.composite
def cases(draw, min_days=5, max_days=80):
    """A site and weather for it."""
    first_day = draw(first_days())
    return draw(sites(first_day)), draw(weathers(min_days, max_days, first_day))


@st.composite
def runs(draw, min_days=5, max_days=80):
    """A site, weather for it, and the day on which the run begins, often with days of the weather before it."""
    site, weather = draw(cases(min_days, max_days))
    before = draw(st.sampled_from((0, 1, 1, 2, 2, 3, 9)))
    return site, weather, weather[min(before, len(weather) - 1)]["date"]


@st.composite
def one_tank_timer_cases(draw):
    """A site with one tank without mains and with timers only, and weather: whoever asks, asks whatever happens."""
    site, weather = draw(cases())
    tank = {"name": "store", "capacity_l": draw(halves(1, 3000)), "mains": "none"}
    tank["joined"] = draw(st.sampled_from((1, 1, 2)))
    tank["dead_l"] = float(draw(st.integers(0, int(tank["capacity_l"]))))
    tank["start_l"] = draw(halves(0, int(tank["capacity_l"])))
    tank["loss_l_per_day"] = float(draw(st.sampled_from((0, 0, 3))))
    site["tank"] = [tank]
    site["transfer"] = []
    for fed in (*site["roof"], *site["inflow"], *site["zone"], *site["draw"]):
        fed["tank"] = tank["name"]
    for each in site["zone"]:
        each["plan"] = "timer"
        each.pop("dry_at", None)
        each.pop("leave_mm", None)
    return site, weather
