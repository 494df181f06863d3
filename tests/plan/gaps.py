"""Random gardens in a hot spell, for the distance between the best plan that is found and the best there can be."""

import copy
import datetime as dt

import numpy as np
from gardens import site_of, weather_of

from waterbudget.spell.hot import Spell
from waterbudget.spell.study import study

FIRST = dt.date(2031, 7, 1)


def studies(tables, number, seed=1):
    """Studies of so many gardens: stores, beds and their crops' start vary about those of the tables, all without
    mains water, each before a spell of other length and heat."""
    draw = np.random.default_rng(seed)
    days = [FIRST - dt.timedelta(n) for n in range(30, 0, -1)]
    weather = weather_of([{"date": day, "rain_mm": 0.0, "et0_mm": 3.5, "tmax_c": 22.0} for day in days])
    for _ in range(number):
        garden = copy.deepcopy(tables)
        for tank in garden["tank"]:
            tank["capacity_l"] = float(draw.integers(200, 3000))
            tank["start_l"] = float(draw.uniform(0.3, 1.0)) * tank["capacity_l"]
            tank["dead_l"], tank["mains"] = 0.0, "none"
        for bed in garden["bed"]:
            bed["area_m2"] = float(draw.uniform(1.0, 10.0))
            bed["start_depleted"] = float(draw.uniform(0.0, 0.5))
        spell = Spell(int(draw.integers(10, 36)), float(draw.uniform(22.0, 32.0)), first=FIRST)
        yield study(site_of(garden), weather, spell)


def gap(found):
    """Points of the yield between the best plan that was found and foresight."""
    return 100.0 * (found.found.least_harm - found.foreseen.best.yield_at_risk)
