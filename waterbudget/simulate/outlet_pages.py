"""Every quantity of the outlets, reckoned once, and the minutes of a person."""

from functools import cached_property

from waterbudget.schedule.course import due_l
from waterbudget.schedule.garden import Outlets
from waterbudget.simulate.books import SHORT_L, Flow
from waterbudget.simulate.day_books import DayBooks, Part
from waterbudget.simulate.store_pages import TankPages
from waterbudget.units import Array, BoolArray, Namespace, may_count


class OutletPages(Part):
    """Litres and minutes of zones and other draws."""

    def __init__(self, days: DayBooks, tanks: TankPages) -> None:
        """tanks: of the same days."""
        super().__init__(days)
        self.tanks = tanks

    @cached_property
    def asked_l(self) -> Array:
        """What was asked for."""
        return self.days.stacked([book.outlets.asked_l for book in self.days.books])

    @cached_property
    def wet_l(self) -> Array:
        """What the store held of it."""
        return self.days.stacked([book.outlets.wet_l for book in self.days.books])

    @cached_property
    def made_up_l(self) -> Array:
        """What the mains gave in place of what the store lacked."""
        made_up_l = [book.outlets.made_up_l for book in self.days.books if book.outlets.made_up_l is not None]
        return self.days.stacked(made_up_l) if made_up_l else self.asked_l * 0.0

    @cached_property
    def store_l(self) -> Array:
        """From the store, its float valve's water included."""
        if not self._has_valves:
            return self.wet_l
        return self.wet_l + self.made_up_l * self._of_tanks(self._kinds("float"))

    @cached_property
    def rain_l(self) -> Array:
        """Part of store_l that is not mains water."""
        if not any(self.days.structure.holds_mains):
            return self.wet_l
        return self.wet_l * (1.0 - self._of_tanks(self.tanks.mains_share))

    @cached_property
    def mains_l(self) -> Array:
        """By hose."""
        if not self._has_valves:
            return self.made_up_l
        return self.made_up_l * self._of_tanks(self._kinds("direct"))

    @cached_property
    def given_l(self) -> Array:
        """From store and hose."""
        return self.wet_l + self.made_up_l

    @cached_property
    def unmet_l(self) -> Array:
        """Asked for and not given."""
        return self.asked_l - self.given_l

    @cached_property
    def flow_l_min(self) -> Array:
        """With the stores as they stood, infinite where nothing flows."""
        if not self.days.structure.follows:
            flow_l_min = self.days.garden.outlets.flow_l_min
            return self.days.xp.broadcast_to(flow_l_min, (len(self.days.books), *flow_l_min.shape))
        return self.days.stacked([flow.l_min for flow in self._flows])

    @cached_property
    def due_l(self) -> Array:
        """What the clock alone would ask for at that flow."""
        by_clock_l = due_l(self.days.xp, self.days.garden, self.days.course)
        if not self.days.structure.follows:
            return by_clock_l
        return by_clock_l * self.days.stacked([flow.factor for flow in self._flows if flow.factor is not None])

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether an outlet asked for water."""
        return self.asked_l > SHORT_L

    @cached_property
    def minutes_run(self) -> Array:
        """That the valve was open."""
        return self.given_l / self.flow_l_min

    @cached_property
    def minutes_asked(self) -> Array:
        """That the valve would be open for all that was asked for."""
        return self.asked_l / self.flow_l_min

    @cached_property
    def work_minutes(self) -> Array:
        """Of a person, for all that is asked for: by valve, can, battery and feeling the soil."""
        outlets = self.days.garden.outlets
        due_l = self.due_l if may_count(outlets.look_minutes) else None
        minutes_asked = self.minutes_asked if may_count(outlets.charge_minutes) else None
        return labour_minutes(self.days.xp, outlets, self.asked_l, due_l, minutes_asked)

    @property
    def _flows(self) -> list[Flow]:
        return [book.outlets.flow for book in self.days.books if book.outlets.flow is not None]

    def _of_tanks(self, of_tank: Array) -> Array:
        return of_tank[..., self.days.structure.tank_of_outlet, :]


def labour_minutes(
    xp: Namespace, outlets: Outlets, asked_l: Array, due_l: Array | None, minutes_asked: Array | None
) -> Array:
    """Minutes of a person for all that outlets ask for on some days, (day, outlet, lane).

    A day with a run takes those of its valves or hoses, every started can and every minute of a battery its own, and
    somebody feels the soil on each day that is due. due_l: what the clock alone would ask for, None where nobody
    looks; minutes_asked: None without a battery. Water that a store lacks is counted too: somebody fetches it from the
    mains.
    """
    minutes = xp.where(asked_l > SHORT_L, outlets.run_minutes, 0.0)
    if due_l is not None:
        minutes = minutes + (due_l > SHORT_L) * outlets.look_minutes
    if may_count(outlets.can_minutes):
        cans = xp.maximum(xp.ceil((asked_l - SHORT_L) / outlets.can_l), 0.0)
        minutes = minutes + cans * outlets.can_minutes
    if minutes_asked is not None:
        minutes = minutes + minutes_asked * outlets.charge_minutes
    return minutes
