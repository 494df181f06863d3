"""What the outlets are still to give from today on: what is asked for, less what logged runs gave already."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from waterbudget.change.tonight import EXPECTED
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.pages import SHORT_L, labour_minutes
from waterbudget.simulate.watering import logged_l
from waterbudget.units import NUMPY, Array

ASKED_FOR = tuple(f"outlets.{name}" for name in ("asked_l", "store_l", "mains_l", "due_l", "flow_l_min"))


class ToDo(NamedTuple):
    """What is to be given on each day from today on, less what logged runs gave already: litres and minutes that the
    valves are open, (day, outlet), and a person's minutes for all of it, (day,); as expected.
    """

    asked_l: Array
    store_l: Array
    mains_l: Array
    minutes: Array
    work_minutes: Array

    @property
    def unmet_l(self) -> Array:
        """Asked for and not to be had."""
        return self.asked_l - (self.store_l + self.mains_l)


def to_do_of(garden: Garden, each: Mapping[str, Array], minutes: Array) -> ToDo:
    """What is still to do. each: ASKED_FOR, (day, outlet, lane). minutes: logged, (day, outlet), NaN for none."""
    asked_l, store_l, mains_l, due_l, flow_l_min = (each[name] for name in ASKED_FOR)
    logged = ~np.isnan(minutes)[..., None]
    done_l = np.nan_to_num(logged_l(NUMPY, minutes[..., None], flow_l_min))
    left_l = asked_l - done_l
    left_l = np.where(left_l > SHORT_L, left_l, 0.0)
    left_minutes = left_l / flow_l_min
    work_minutes = labour_minutes(NUMPY, garden.outlets, left_l, np.where(logged, left_l, due_l), left_minutes)
    parts = (
        left_l,
        np.clip(store_l - done_l, 0.0, left_l),
        np.clip(mains_l - np.maximum(done_l - store_l, 0.0), 0.0, left_l),
        left_minutes,
        work_minutes.sum(axis=1),
    )
    return ToDo(*(part[..., EXPECTED] for part in parts))
