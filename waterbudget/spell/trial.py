"""What becomes of a garden in a spell under many plans, all of them run side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np

from waterbudget.plan.response import Sensitivity, response_of, risk_of
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve, spell_days
from waterbudget.spell.plans import Plans, lanes
from waterbudget.units import WEEK_DAYS, Array, BoolArray, IntArray

KEEP = Keep(
    sums=(
        "tanks.short_l",
        "tanks.mains_l",
        "outlets.given_l",
        "outlets.rain_l",
        "outlets.unmet_l",
        "whole.needed_l",
        "whole.work_minutes",
        "beds.planted_etc_mm",
        "beds.is_thirsty",
    ),
    firsts=("whole.fails", "tanks.is_short", "beds.is_thirsty"),
    each=("beds.lack_mm",),
)
EACH_DAY = Keep(
    sums=("beds.planted_etc_mm",),
    each=(
        *("tanks.level_l", "tanks.short_l", "outlets.asked_l", "outlets.unmet_l", "transfers.moved_l"),
        *("beds.depletion_mm", "beds.taw_mm", "beds.raw_mm", "beds.lack_mm"),
    ),
)


@dataclass(frozen=True, eq=False)
class Trial:
    """What became of each plan, arrays (plan,) unless said otherwise.

    days_lasted: whole days before the first on which a store was short or a float valve opened, all days where none.
    tank_short: (plan, tank), the first day, counted from 0, on which a store was short, infinite for never.
    tank_lasts: (plan, tank), whether a store gives all without mains water. given_l: what the zones and the draws got,
    rain_l the stored rain in it; unmet_l: what they asked for and did not get. needed_l: mains water that all the
    watering takes, given or not; left_l: in the stores at the end. week_minutes: of the person. first_stress: (plan,
    bed), the first day on which a planted bed wilted; stress_days (plan, bed). lack: (plan, bed), share of the water
    use of a planted bed that it lacked. at_risk: (plan, bed), share of its yield by Ky, at most all of it; harm: its
    mean over the watered beds that grow, by area.
    """

    days_lasted: IntArray
    tank_short: Array
    tank_lasts: BoolArray
    given_l: Array
    rain_l: Array
    unmet_l: Array
    needed_l: Array
    left_l: Array
    week_minutes: Array
    first_stress: Array
    stress_days: Array
    lack: Array
    at_risk: Array
    harm: Array

    @property
    def from_mains_l(self) -> Array:
        """Mains water among what the zones and the draws got [L]."""
        return self.given_l - self.rain_l

    @property
    def asked_l(self) -> Array:
        """What the zones and the draws asked for [L]: stored rain, mains water and what was not given."""
        return self.given_l + self.unmet_l

    @property
    def lasts(self) -> BoolArray:
        """Whether the stores give all that is asked of them, without mains water."""
        lasts: BoolArray = np.all(self.tank_lasts, axis=1)
        return lasts

    def joined(self, other: "Trial") -> "Trial":
        """These plans and others after them."""
        return Trial(*(np.concatenate([getattr(one, field.name) for one in (self, other)]) for field in fields(self)))


class Course(NamedTuple):
    """The days of one plan: level_l (1 + day, tank) and soil, the share of TAW that is left (1 + day, bed).

    limit: the share of TAW below which a bed wilts (day, bed). asked_l and unmet_l (day, outlet), tank_short_l
    (day, tank). moved_l: by each transfer, (day, transfer). lack_mm: of each bed (day, bed), etc_mm: of all days,
    (bed,).
    """

    level_l: Array
    soil: Array
    limit: Array
    asked_l: Array
    unmet_l: Array
    tank_short_l: Array
    moved_l: Array
    lack_mm: Array
    etc_mm: Array


def sensitivity_of(site: Site, eve: Eve) -> Sensitivity:
    """The response factors of what grows in each bed on each day of the spell; 0 where nothing grows."""
    found = response_of(site, eve.season.dates)
    return Sensitivity(found.ky[:, :, 0], found.responses)


def try_plans(site: Site, eve: Eve, plans: Sequence[Plans], ky: Array) -> Trial:
    """Run the spell under every plan. ky: (day, bed)."""
    garden = lanes(site, eve.garden, plans, eve.season.dates[0, 0].item())
    state, kept = spell_days(eve, garden, KEEP)
    risk = risk_of(site, ky[:, :, None], kept.each["beds.lack_mm"], kept.sums["beds.planted_etc_mm"])
    sums, firsts = kept.sums, kept.firsts
    return Trial(
        days_lasted=kept.days_lasted,
        tank_short=firsts["tanks.is_short"].T,
        tank_lasts=(sums["tanks.short_l"] + sums["tanks.mains_l"] <= SHORT_L).T,
        given_l=sums["outlets.given_l"].sum(axis=0),
        rain_l=sums["outlets.rain_l"].sum(axis=0),
        unmet_l=sums["outlets.unmet_l"].sum(axis=0),
        needed_l=sums["whole.needed_l"],
        left_l=state.level_l.sum(axis=0),
        week_minutes=sums["whole.work_minutes"] * (WEEK_DAYS / kept.days),
        first_stress=firsts["beds.is_thirsty"].T,
        stress_days=sums["beds.is_thirsty"].T,
        lack=risk.lack.T,
        at_risk=risk.at_risk.T,
        harm=risk.harm,
    )


def courses_of(site: Site, eve: Eve, plans: Sequence[Plans]) -> list[Course]:
    """The days of each plan."""
    garden = lanes(site, eve.garden, plans, eve.season.dates[0, 0].item())
    _, kept = spell_days(eve, garden, EACH_DAY)
    return [
        _course(eve, {name: values[..., lane] for name, values in kept.each.items()}, etc_mm)
        for lane, etc_mm in enumerate(kept.sums["beds.planted_etc_mm"].T)
    ]


def harm_of(site: Site, ky: Array, course: Course) -> float:
    """Yield at risk on the days of one plan. ky: (day, bed)."""
    return float(risk_of(site, ky[:, :, None], course.lack_mm[:, :, None], course.etc_mm[:, None]).harm[0])


def _course(eve: Eve, day: Mapping[str, Array], etc_mm: Array) -> Course:
    taw_mm = day["beds.taw_mm"]
    morning_mm = eve.state.depletion_mm[:, 0] * eve.season.handed_over[0, :, 0]
    depleted = np.concatenate([(morning_mm / taw_mm[0])[None], day["beds.depletion_mm"] / taw_mm])
    return Course(
        level_l=np.concatenate([eve.level_l[None], day["tanks.level_l"]]),
        soil=1.0 - depleted,
        limit=1.0 - day["beds.raw_mm"] / taw_mm,
        asked_l=day["outlets.asked_l"],
        unmet_l=day["outlets.unmet_l"],
        tank_short_l=day["tanks.short_l"],
        moved_l=day["transfers.moved_l"],
        lack_mm=day["beds.lack_mm"],
        etc_mm=etc_mm,
    )


def day_of(eve: Eve, number: float) -> str | None:
    """A day of the spell counted from 0 as YYYY-MM-DD, None for never."""
    return None if number == NEVER else str(eve.season.dates[int(number), 0])
