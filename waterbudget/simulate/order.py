"""The order of a day in a garden.

`one_day` is the table of contents. Every step takes arrays and gives new ones, nothing is written into; rows are
(item, lane), a lane being one garden of many. What hangs together how is decided by Python, so that a garden pays for
nothing that it has not; amounts are decided by `xp.where`. xp: numpy or jax.numpy.
"""

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.today import Today
from waterbudget.simulate.books import Book
from waterbudget.simulate.root_zones import soak
from waterbudget.simulate.state import State
from waterbudget.simulate.stores import draw, transfer
from waterbudget.simulate.watering import ask, flow_at, irrigate, pour
from waterbudget.units import Namespace


def one_day(xp: Namespace, garden: Garden, today: Today, state: State) -> tuple[State, Book]:
    """What happens on a day: the evening it ends with, and what is booked."""
    depletion_mm = state.depletion_mm * today.handed_over
    flow = flow_at(xp, garden, state.level_l)
    asked_l = ask(xp, garden, today, flow, depletion_mm)
    morning = transfer(xp, garden, today, state)
    tanks, store_l = draw(xp, garden, today, state, morning, asked_l)
    outlets = pour(today, flow, asked_l, store_l)
    irrigation_mm = irrigate(garden, flow, outlets)
    beds, surface = soak(xp, garden, today, state, depletion_mm, irrigation_mm)
    evening = State(tanks.level_l, tanks.mains_l, beds.depletion_mm, surface)
    return evening, Book(morning.moved_l, tanks, outlets, beds)
