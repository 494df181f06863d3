"""Litres and depths of a tank that the site gives a shape; litres are those of all joined stores."""

import datetime as dt

import numpy as np

from waterbudget.errors import InputError
from waterbudget.journal.book import LEVEL, Entry, Journal
from waterbudget.site.model import Tank
from waterbudget.units import CM_PER_M

ROUNDING_CM = 1e-6


def refuse_before_last(journal: Journal, name: str, day: dt.date) -> None:
    """Raise InputError where a day lies before the last dip: what comes after it is known by then."""
    dips = [line.entry.date for line in journal.counting if line.entry.kind == LEVEL]
    if dips and day < dips[-1]:
        raise InputError(f"{name} begins on {day}, before the last dip of {dips[-1]}; choose a day from {dips[-1]} on")


def full_cm(tank: Tank) -> float | None:
    """Depth of the full tank [cm]; None without a shape."""
    return None if tank.inside is None else float(tank.inside.height_m) * CM_PER_M


def litres_of(tank: Tank, level: Entry) -> float | None:
    """Litres of a logged level, at most the tank's capacity, as what stands above its overflow runs off.

    None for a depth where the tank has no shape any more, or a lower one.
    """
    if level.unit == "L":
        return min(level.value, tank.all_l)
    inside, most_cm = tank.inside, full_cm(tank)
    if inside is None or most_cm is None or level.value > most_cm + ROUNDING_CM:
        return None
    depth_m = np.minimum(level.value / CM_PER_M, inside.height_m)
    return min(tank.joined * float(inside.litres(depth_m)), tank.all_l)


def cm_of(tank: Tank, level: Entry) -> float | None:
    """Depth of a logged level [cm]; None for litres where the tank has no shape, or one that holds less."""
    if level.unit == "cm":
        return level.value
    inside = tank.inside
    if inside is None or level.value / tank.joined > inside.litres(inside.height_m):
        return None
    return float(inside.depth_m(np.asarray(level.value / tank.joined))) * CM_PER_M


def too_much(tank: Tank, level: Entry) -> str | None:
    """Why a store cannot hold a logged level, in words; None where it can."""
    most_cm = full_cm(tank)
    if level.unit == "cm" and most_cm is not None and level.value > most_cm + ROUNDING_CM:
        return f"{level.value:g} cm is deeper than {tank.name}, which is {most_cm:g} cm deep"
    if level.unit == "L" and level.value > tank.all_l:
        return f"{level.value:g} L is more than {tank.name} holds, which is {tank.all_l:g} L"
    return None
