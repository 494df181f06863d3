"""The programme of one store, written a second time, equation by equation, for scipy's linprog."""

import numpy as np
from scipy.optimize import linprog

PARTS = ("given", "level", "spill", "used", "depletion", "drained")


def least_harm(prospect):
    """Least yield at risk of one store and one bed. Variables by day: litres given, level and depletion in the
    morning, spill, evapotranspiration and drainage."""
    days, ground, stores = prospect.days, prospect.ground, prospect.stores
    width = len(PARTS)
    equal, equals, below, limits = [], [], [], []
    bounds = []

    def row(**factors):
        line = np.zeros(days * width)
        for key, (day, factor) in factors.items():
            if day < days:
                line[day * width + PARTS.index(key.rstrip("_"))] += factor
        return line

    for day in range(days):
        etc, taw, raw = (float(part[day, 0]) for part in (ground.etc_mm, ground.taw_mm, ground.raw_mm))
        rain, caught = float(ground.rain_mm[day, 0]), float(stores.caught_l[day, 0])
        mm = float(ground.mm_per_l[0])
        bounds += [(0, None), (0, None), (0, None), (0, etc), (0, None), (0, None)]
        if day == 0:
            equal += [row(level=(0, 1.0)), row(depletion=(0, 1.0))]
            equals += [float(stores.level_l[0]), float(ground.depletion_mm[0])]
        below.append(row(used=(day, 1.0), depletion=(day, etc / (taw - raw))))  # Eq. 84
        limits.append(etc * taw / (taw - raw))
        below.append(row(used=(day, 1.0), depletion=(day, 1.0), given=(day, -mm)))
        limits.append(taw + rain)
        if stores.before_spill:
            below.append(row(given=(day, 1.0), level=(day, -1.0)))
            limits.append(caught)
            below.append(row(level=(day, 1.0), given=(day, -1.0), spill=(day, -1.0)))
        else:
            below.append(row(given=(day, 1.0), level=(day, -1.0)))
            limits.append(0.0)
            below.append(row(level=(day, 1.0), spill=(day, -1.0)))
        limits.append(float(stores.capacity_l[0]) - caught)
        if day + 1 < days:
            equal.append(
                row(
                    depletion_=(day + 1, 1.0),
                    depletion=(day, -1.0),
                    given=(day, mm),
                    used=(day, -1.0),
                    drained=(day, -1.0),
                )
            )
            equals.append(-rain)
            equal.append(row(level_=(day + 1, 1.0), level=(day, -1.0), given=(day, 1.0), spill=(day, 1.0)))
            equals.append(caught)
    costs = np.zeros(days * width)
    costs[PARTS.index("used") :: width] = -ground.harm_per_mm[:, 0]
    found = linprog(costs, np.array(below), limits, np.array(equal), equals, bounds)
    assert found.status == 0, found.message
    return float((ground.harm_per_mm * ground.etc_mm).sum() + found.fun)
