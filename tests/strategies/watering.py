"""Zones and draws: who asks for water, when and for how much."""

from datetime import timedelta

from hypothesis import strategies as st
from plain import JETS

from strategies.dates import as_written, days_of_week, seasons, weekday_lists
from strategies.numbers import halves


@st.composite
def rhythms(draw, first_day):
    kind = draw(st.sampled_from(("daily", "weekdays", "every", "every from")))
    if kind == "weekdays":
        return {"weekdays": draw(weekday_lists())}
    if kind == "daily":
        return {"every_days": 1}
    rhythm = {"every_days": draw(st.integers(2, 6))}
    if kind == "every from":
        day = first_day + timedelta(draw(st.integers(-40, 40)))
        rhythm["every_from"] = draw(as_written(day))
    return rhythm


@st.composite
def zone(draw, name, tank_names, first_day):
    zone = {
        "name": name,
        "tank": draw(tank_names),
        "flow_l_min": draw(halves(1, 20)),
        "minutes": draw(halves(1, 30)),
        "runs_per_day": draw(st.integers(1, 3)),
        "plan": draw(st.sampled_from(("timer", "dry", "refill"))),
        "priority": draw(st.integers(0, 2)),
    }
    zone |= draw(jets()) | draw(rhythms(first_day)) | draw(seasons())
    if zone["plan"] == "dry":
        zone["dry_at"] = draw(st.sampled_from((1.0, 0.7, 0.3)))
    if zone["plan"] == "refill":
        zone["leave_mm"] = draw(st.sampled_from((0.0, 2.5, 6.0)))
    if draw(st.booleans()):
        zone |= {"skip_rain_mm": draw(halves(1, 20)), "skip_rain_days": draw(st.integers(1, 4))}
    if draw(st.booleans()):
        zone |= {"hot_above_c": draw(halves(10, 32)), "hot_minutes": draw(halves(1, 45))}
    return zone


@st.composite
def jets(draw):
    """How the water leaves, with the figures of these jets or with others."""
    kind = draw(st.sampled_from([*JETS, "drip"]))
    usual = JETS[kind]
    return {
        "jets": kind,
        "efficiency": draw(st.sampled_from([usual["efficiency"], 0.67, 0.913, 1.0])),
        "wetted_fraction": draw(st.sampled_from([usual["wetted_fraction"], 0.08, 0.63, 1.0])),
    }


@st.composite
def regular_draw(draw, name, tank_names):
    return (
        {"name": name, "tank": draw(tank_names), "l_per_day": draw(halves(1, 80)), "priority": draw(st.integers(0, 2))}
        | draw(days_of_week())
        | draw(seasons())
    )
