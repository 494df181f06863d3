"""What the outlets are still to give from today on: what is asked for, less what logged runs gave already."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from waterbudget.change.tonight import EXPECTED
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.outlet_pages import labour_minutes
from waterbudget.simulate.watering import logged_l
from waterbudget.units import NUMPY, Array

ASKED_FOR = tuple(f"outlets.{name}" for name in ("asked_l", "store_l", "mains_l", "due_l", "flow_l_min"))


class ToDo(NamedTuple):
    """What is to be given on each day from today on, less what logged runs gave already, as expected.

    Litres and minutes that the valves are open, (day, outlet); a person's minutes, (day,), for that and moving water.
    """

    asked_l: Array
    store_l: Array
    mains_l: Array
    minutes: Array
    work_minutes: Array

    @property
    def unmet_l(self) -> Array:
        """Asked for and not given."""
        return self.asked_l - (self.store_l + self.mains_l)


MOVED = "transfers.moved_l"


def to_do_of(garden: Garden, each: Mapping[str, Array], minutes: Array) -> ToDo:
    """What is still to do. each: ASKED_FOR, (day, outlet, lane), and MOVED, (day, transfer, lane).

    minutes: logged, (day, outlet), NaN for none.
    """
    asked_l, store_l, mains_l, due_l, flow_l_min = (each[name] for name in ASKED_FOR)
    logged = ~np.isnan(minutes)[..., None]
    done_l = np.nan_to_num(logged_l(NUMPY, minutes[..., None], flow_l_min))
    left_l = asked_l - done_l
    left_l = np.where(left_l > SHORT_L, left_l, 0.0)
    left_minutes = left_l / flow_l_min
    by_outlet = labour_minutes(NUMPY, garden.outlets, left_l, np.where(logged, left_l, due_l), left_minutes)
    moving = (each[MOVED] > SHORT_L) * garden.transfers.run_minutes
    work_minutes = by_outlet.sum(axis=1) + moving.sum(axis=1)
    parts = (
        left_l,
        np.clip(store_l - done_l, 0.0, left_l),
        np.clip(mains_l - np.maximum(done_l - store_l, 0.0), 0.0, left_l),
        left_minutes,
        work_minutes,
    )
    return ToDo(*(part[..., EXPECTED] for part in parts))
