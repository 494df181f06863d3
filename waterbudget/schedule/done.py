"""What somebody did in a garden on some days, whatever its plan says."""

from dataclasses import dataclass

import numpy as np

from waterbudget.units import Array


class AsPlanned:
    """Every outlet did as planned, and nobody let mains water into a store."""

    def on(self, _day: int, planned_l: Array, _flow_l_min: Array) -> tuple[Array, None]:
        """What each outlet asks for [L], (scenario, outlet), and what was let into the stores: nothing."""
        return planned_l, None


@dataclass(frozen=True, eq=False)
class Done:
    """What was done on each day of a run.

    minutes: that each outlet ran, (day, outlet), NaN where the plan holds. poured_l: mains water that was let into each
    store [L], (day, tank).
    """

    minutes: Array
    poured_l: Array

    def on(self, day: int, planned_l: Array, flow_l_min: Array) -> tuple[Array, Array]:
        """What each outlet asks for [L], (scenario, outlet), by the minutes it ran, and what was let in [L], (tank,).

        flow_l_min: (scenario, outlet), infinite where nothing flows or there is no valve; minutes then bring no litres.
        """
        minutes = self.minutes[day]
        return np.where(np.isnan(minutes), planned_l, ran_l(minutes, flow_l_min)), self.poured_l[day]


def ran_l(minutes: Array, flow_l_min: Array) -> Array:
    """Litres of logged runs, (scenario, outlet), none where none was logged; minutes: (outlet,)."""
    return np.where(np.isfinite(flow_l_min), flow_l_min, 0.0) * np.nan_to_num(minutes)


AS_PLANNED = AsPlanned()
