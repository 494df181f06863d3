"""What Dip says: a store at a time, drawn in its shape, with the level that stands there now."""

import math
from typing import Any

import numpy as np
from typing_extensions import TypedDict

from waterbudget.answers.english import in_words, litres
from waterbudget.journal.book import LEVEL, RAN, Journal
from waterbudget.journal.dip import full_cm
from waterbudget.serve.shelf import Garden
from waterbudget.site.model import Tank
from waterbudget.units import CM_PER_M

STEP_CM, STEP_L = 0.5, 5.0
POINTS = 41  # of the table of litres by depth
LEFT, TOP, WIDTH, HEIGHT = 20.0, 10.0, 160.0, 180.0  # of a store's picture, in its own units


class Scale(TypedDict):
    """A unit that a level can be told in: where its slider ends, its steps, and what it shows first."""

    unit: str
    full: float
    step: float
    value: str


class Dip(TypedDict):
    """A store to be dipped. litres: of POINTS depths, evenly from floor to overflow. outline: of the picture."""

    number: int
    name: str
    scales: list[Scale]
    litres: list[float]
    outline: str
    last: str
    evening: str


def dip(garden: Garden, number: int) -> Dip | None:
    """A store by its number, from 1; None where there is none such, or nothing is reckoned of it."""
    found, journal, site = garden.found, garden.journal, garden.site
    if site is None or journal is None or not 1 <= number <= len(site.tank):
        return None
    tank = site.tank[number - 1]
    level_l = 0.0 if found is None else found.stores[number - 1].level_l
    in_l: Scale = {"unit": "L", "full": tank.all_l, "step": STEP_L, "value": _on_step(level_l, STEP_L, tank.all_l)}
    scales, most_cm = [in_l], full_cm(tank)
    if tank.inside is not None and most_cm is not None:
        full_l = float(tank.inside.litres(tank.inside.height_m))
        depth_cm = CM_PER_M * float(tank.inside.depth_m(np.asarray(min(level_l / tank.joined, full_l))))
        in_cm: Scale = {
            "unit": "cm",
            "full": round(most_cm, 6),
            "step": STEP_CM,
            "value": _on_step(depth_cm, STEP_CM, most_cm),
        }
        scales = [in_cm, in_l]
    return {
        "number": number,
        "name": tank.name,
        "scales": scales,
        "litres": litres_by_depth(tank),
        "outline": outline(tank),
        "last": _last(journal, tank),
        "evening": _evening(journal, garden),
    }


def litres_by_depth(tank: Tank) -> list[float]:
    """Litres of evenly spaced depths; without a shape a store is taken to be as wide all the way."""
    share = np.linspace(0.0, 1.0, POINTS)
    if tank.inside is None:
        return [float(one) for one in np.round(share * tank.all_l, 3)]
    held_l = tank.joined * tank.inside.litres(share * tank.inside.height_m)
    return [float(one) for one in np.round(np.minimum(held_l, tank.all_l), 3)]


def outline(tank: Tank) -> str:
    """The store from its side, as the path of a picture."""
    right, foot = LEFT + WIDTH, TOP + HEIGHT
    if tank.shape == "lying-cylinder":
        radius = HEIGHT / 2.0
        return (
            f"M{LEFT + WIDTH / 2} {TOP}a{radius * 0.88:g} {radius:g} 0 0 1 0 {HEIGHT:g}"
            f"a{radius * 0.88:g} {radius:g} 0 0 1 0 {-HEIGHT:g}z"
        )
    if tank.shape == "tapered" and tank.inner_top_diameter_m and tank.inner_bottom_diameter_m:
        widest_m = max(tank.inner_top_diameter_m, tank.inner_bottom_diameter_m)
        at_top, at_foot = (
            (1.0 - size_m / widest_m) * WIDTH / 2.0
            for size_m in (tank.inner_top_diameter_m, tank.inner_bottom_diameter_m)
        )
        return (
            f"M{LEFT + at_top:g} {TOP}L{right - at_top:g} {TOP}L{right - at_foot:g} {foot}L{LEFT + at_foot:g} {foot}z"
        )
    return f"M{LEFT} {TOP}H{right}V{foot}H{LEFT}z"


def _on_step(value: float, step: float, most: float) -> str:
    """A value as its slider can hold it: what is shown is what will be saved."""
    last = math.floor(most / step + 1e-9) * step
    return f"{min(round(value / step) * step, last):g}"


def _last(journal: Journal, tank: Tank) -> str:
    dips = [line for line in journal.counting if line.entry.kind == LEVEL and line.entry.name == tank.name]
    if not dips:
        return "Never dipped yet."
    entry = dips[-1].entry
    amount = f"{entry.value:g} cm" if entry.unit == "cm" else f"{litres(entry.value)} L"
    return f"Last: {amount} on {in_words(entry.date)}."


def _evening(journal: Journal, garden: Garden) -> str:
    ran = any(line.entry.kind == RAN and line.entry.date == garden.today for line in journal.counting)
    return "Dip after watering: the last dip counts as this evening's." if ran else ""


def stores(garden: Garden) -> list[dict[str, Any]]:
    """The stores to choose from."""
    tanks = [] if garden.site is None else garden.site.tank
    return [{"number": number, "name": tank.name} for number, tank in enumerate(tanks, 1)]
