"""Beds and pots, and what stands in them."""

from functools import cache

from hypothesis import strategies as st
from plain import top_layer

from strategies.dates import DAYS_A_YEAR, as_written, month_day, near, nearest
from strategies.numbers import at_times, halves, hundredths, odd_hundredths

STAGE_DAYS = st.one_of(st.integers(1, 25), st.sampled_from((0, 12)))
STRIPS = [(1.0,), (1.0,), (0.63,), (0.5, 0.5), (0.61, 0.27), (0.37, 0.41, 0.22), (0.2, 0.3, 0.5), (0.13, 0.29, 0.31)]


@st.composite
def bed(draw, name, zone_names, first_day, *, dual):
    bed = {
        "name": name,
        "area_m2": draw(halves(1, 15)),
        "share": draw(halves(1, 9)),
        "available_water_mm_m": draw(st.sampled_from((87.31, 143.71, 171.33, 223.9))),
        "rain_share": draw(st.sampled_from((1.0, 0.0, 0.41))),
        "et_factor": draw(st.sampled_from((1.0, 0.73))),
        "start_depleted": draw(st.sampled_from((0.0, 0.5, 0.37, 0.83, 1.0))),
        "mulch_cover": draw(st.sampled_from((0.0, 0.0, 0.35, 1.0))),
    }
    zone = draw(zone_names)
    if zone is not None:
        bed["zone"] = zone
    bed |= draw(pots()) if draw(st.integers(0, 3)) == 0 else draw(roots_end())
    if draw(st.booleans()):
        bed |= draw(evaporable(bed["available_water_mm_m"]))
    bed |= draw(exposures())
    if "pots" in bed and draw(st.booleans()):
        del bed["area_m2"], bed["share"]
    return bed | {"planting": draw(plantings(first_day, dual=dual))}


@cache
def exposures():
    return at_times(hundredths(0.3, 2).map(lambda width_m: {"exposed": True, "width_m": width_m}))


@cache
def roots_end():
    return at_times(st.sampled_from((0.12, 0.4)).map(lambda limit_m: {"root_limit_m": limit_m}))


@st.composite
def pots(draw):
    """As many alike pots; their openings are from a small part of the ground to more than all of it."""
    return {
        "pots": draw(st.integers(1, 40)),
        "pot_litres": draw(halves(1, 60)),
        "pot_diameter_cm": draw(halves(9, 70)),
        "available_water_mm_m": draw(st.sampled_from((300.0, 211.7))),
        "rain_share": draw(st.sampled_from((0.5, 1.0, 0.37))),
    }


@st.composite
def evaporable(draw, available_water_mm_m):
    """REW and TEW: those of the available water, others, or one and the same."""
    usual = top_layer(available_water_mm_m)
    tew_mm = draw(st.sampled_from([usual["tew_mm"], 31.7, 27.3]))
    return {"rew_mm": draw(st.sampled_from([usual["rew_mm"], 2.9, 0.0, tew_mm])), "tew_mm": tew_mm}


@st.composite
def plantings(draw, first_day, *, dual):
    """Nothing, or strips side by side, each with none to three plantings in a row or with one that lasts a year.

    They are laid out on a year without a leap day: a leap year can only put a bare day between two of them. A full
    date stands for one of the yearly ones.
    """
    rows = [draw(strip(first_day, share, dual=dual)) for share in draw(st.sampled_from(STRIPS))]
    return draw(st.permutations([planting for row in rows for planting in row]))


@st.composite
def strip(draw, first_day, share, *, dual):
    sown = draw(near(first_day, 70, 40))
    if draw(st.integers(0, 5)) == 0:
        days = [draw(st.integers(1, 90)) for _ in range(3)]
        return [draw(planting(month_day(sown), [*days, DAYS_A_YEAR - sum(days)], share, dual=dual))]
    row = []
    for _ in range(draw(st.integers(0, 3))):
        days = [draw(STAGE_DAYS) for _ in range(4)]
        if sum(days) == 0:
            days[2] = 1
        planted = month_day(sown)
        if draw(st.booleans()):
            planted = draw(as_written(nearest(planted, first_day)))
        row.append(draw(planting(planted, days, share, dual=dual)))
        sown += sum(days) + draw(st.sampled_from((0, 0, 1, 12)))
    return row


@st.composite
def planting(draw, planted, days, share, *, dual):
    start_m = draw(hundredths(0.1, 0.3))
    return {
        "planted": planted,
        "days": days,
        "p": draw(st.sampled_from((0.253, 0.307, 0.347, 0.411, 0.451, 0.557, 0.609))),  # + 0.2 is no start_depleted
        "root_m": [start_m, round(start_m + draw(st.sampled_from((0.0, 0.25, 0.5))), 2)],
        "height_m": draw(st.sampled_from((0.4, 0.07, 0.9, 1.75))),
        "perennial": draw(st.sampled_from((False, False, True))),
        "ground_share": share,
    } | draw(coefficients(dual=dual))


@cache
def coefficients(*, dual):
    """Kc, Kcb or both, as the model needs them; at times none at all in the beginning, or ever."""
    ini = st.one_of(hundredths(0.2, 0.8), st.just(0.0))
    mid = st.one_of(odd_hundredths(0.4, 1.25), odd_hundredths(0.4, 1.25), st.just(0.0))
    ways = st.fixed_dictionaries({"kc": st.tuples(ini, mid, odd_hundredths(0.2, 1.1)).map(list)})
    if dual:
        basal = st.tuples(
            st.one_of(hundredths(0.0, 0.4), st.just(0.0)), mid, st.one_of(odd_hundredths(0.1, 1.1), st.just(0.45))
        )
        kcb = st.fixed_dictionaries({"kcb": basal.map(list)})
        ways = st.one_of(ways, kcb, kcb, st.tuples(ways, kcb).map(lambda both: both[0] | both[1]))
    return ways
