"""What somebody does in a garden on some days, whatever its plan says."""

from dataclasses import dataclass

import numpy as np

from waterbudget.units import Array


@dataclass(frozen=True, eq=False)
class Actions:
    """What was done on each day of a run.

    minutes: that each outlet ran, (day, outlet), NaN where the plan holds. mains_added_l: mains water that was let into
    each store [L], (day, tank). open_day: number of the day that is not over, on which runs go towards the plan and a
    zone that was kept shut stays shut; None for none.
    """

    minutes: Array
    mains_added_l: Array
    open_day: int | None = None

    def of(self, some: slice) -> "Actions":
        """The actions of some of the days."""
        first = some.indices(len(self.minutes))[0]
        open_day = None if self.open_day is None else self.open_day - first
        return Actions(self.minutes[some], self.mains_added_l[some], open_day)

    @property
    def adds_mains(self) -> bool:
        """Whether any mains water was let into a store."""
        return bool(np.any(self.mains_added_l > 0.0))
