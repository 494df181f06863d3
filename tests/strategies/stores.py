"""Roofs, stores, what runs into them and between them, and the days without mains."""

from datetime import timedelta

from hypothesis import strategies as st

from strategies.dates import as_written, days_of_week, month_day, near, seasons
from strategies.numbers import at_times, halves

FED_L = (7.31, 23.17, 58.91, 311.43)  # never as much as a draw takes: levels do not come back to where they were


@st.composite
def chained_tanks(draw):
    """One to three tanks; water runs down `downhill`, whatever the order they are listed in."""
    names = [f"store {n}" for n in range(draw(st.sampled_from((1, 2, 2, 3))))]
    downhill = draw(st.permutations(names))
    tanks = []
    for name in names:
        tank = draw(tank_alone(name))
        below = [None, *downhill[downhill.index(name) + 1 :]]
        overflow_to = draw(st.sampled_from(below))
        tanks.append(tank | ({"overflow_to": overflow_to} if overflow_to else {}))
    return tanks


@st.composite
def tank_alone(draw, name):
    capacity_l = draw(st.integers(20, 2500))
    dead_l = draw(st.one_of(st.just(0), st.integers(0, capacity_l // 4), st.integers(0, capacity_l)))
    tank = {
        "name": name,
        "joined": draw(st.sampled_from((1, 1, 1, 2, 3))),
        "capacity_l": capacity_l,
        "dead_l": dead_l,
        "loss_l_per_day": draw(st.sampled_from((0, 0, 1, 7))),
        "mains": draw(st.sampled_from(("none", "direct", "float"))),
    }
    starts_l = [st.sampled_from((0, dead_l, capacity_l)), halves(0, capacity_l)]
    if tank["mains"] == "float":
        below_l = draw(st.integers(0, capacity_l - 1)) + 0.13  # levels stand at halves: no tie but the exact ones here
        starts_l.append(st.just(below_l))
        tank["float_below_l"] = below_l
        tank["float_to_l"] = draw(st.one_of(st.just(below_l), halves(int(below_l) + 1, capacity_l)))
    return tank | {"start_l": draw(st.one_of(starts_l))}


@st.composite
def roof(draw, name, tank_names):
    return {
        "name": name,
        "tank": draw(tank_names),
        "area_m2": draw(halves(1, 60)),
        "runoff_coefficient": draw(st.sampled_from((0.913, 0.837, 0.589, 1.0))),
        "loss_mm": draw(st.sampled_from((0.0, 0.5, 1.5))),
        "first_flush_l": draw(st.sampled_from((0.0, 12.5, 40.0))),
        "filter_efficiency": draw(st.sampled_from((0.9, 0.931, 0.877, 1.0))),
    }


@st.composite
def inflow(draw, name, tank_names):
    fed = {"name": name, "tank": draw(tank_names), "l_per_day": draw(st.sampled_from(FED_L))}
    return fed | draw(days_of_week()) | draw(seasons())


@st.composite
def transfers(draw, tanks):
    """None to three, in either direction, a pair at times twice."""
    if len(tanks) == 1:
        return []
    capacity_l = {tank["name"]: tank["capacity_l"] * tank["joined"] for tank in tanks}
    moves = []
    for n in range(draw(st.sampled_from((0, 1, 2, 2, 3)))):
        source, target = draw(st.permutations(list(capacity_l)))[:2]
        if moves and draw(st.booleans()):  # on from where the one before ended
            source, target = moves[-1]["to_tank"], source if target == moves[-1]["to_tank"] else target
        move = {
            "name": f"hose {n}",
            "from_tank": source,
            "to_tank": target,
            "l_per_day": draw(halves(1, 400)),
            "keep_l": draw(st.one_of(st.just(0.0), st.just(0.0), halves(0, capacity_l[source]))),
        }
        if draw(st.booleans()):
            move["below_l"] = draw(st.integers(0, capacity_l[target])) + 0.29  # no level stands there
        moves.append(move | draw(days_of_week()) | draw(seasons()))
    return moves


@st.composite
def bans(draw, first_day):
    """A stretch near the run, every year or once."""
    days = draw(st.integers(0, 40))
    if draw(st.booleans()):
        begins = draw(near(first_day, 20, 60))
        return {"from": month_day(begins), "to": month_day(begins + days)}
    begins = first_day + timedelta(draw(st.integers(-20, 60)))
    return {"from": draw(as_written(begins)), "to": draw(as_written(begins + timedelta(days)))}


def ban_lists(first_day):
    return at_times(st.lists(bans(first_day), min_size=1, max_size=2).map(lambda rows: {"ban": rows}))
