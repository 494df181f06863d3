"""When to begin saving where mains water fails, and what to give up first."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from waterbudget.plan.response import risk_of
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.foreseen import Foreseen
from waterbudget.units import Array

SHARES = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4)  # of the minutes, as people would set them
LIKE = 0.005  # of the yield: plans so near each other are alike
KEEP = Keep(sums=("beds.planted_etc_mm", "outlets.unmet_l"), each=("beds.lack_mm",))


class Saving(NamedTuple):
    """Fewer minutes of every zone from a day on, counted from 0, and the yield at risk so and without saving.

    share: of the present minutes; 1 where no saving helps, and then from_day is 0. give_up: names of draws and beds, in
    the order in which a litre for them is worth least.
    """

    from_day: int
    share: float
    yield_at_risk: float
    without: float
    give_up: tuple[str, ...]


def saving_of(site: Site, eve: Eve, ky: Array, foreseen: Foreseen) -> Saving:
    """The latest day and the largest share of the minutes that lose as little as the best of them.

    Other draws get no less for it than without saving.
    """
    garden, state, days = eve.garden, eve.state, len(eve.season.dates)
    slow = _slower(garden)
    before: list[Array] = []
    found: list[tuple[float, int, float]] = []
    given_up_l = np.zeros(len(site.draw))
    _, whole = drive(garden, eve.season, eve.sky, state, keep=KEEP)
    etc_mm = whole.sums["beds.planted_etc_mm"]
    short_l = whole.sums["outlets.unmet_l"][len(site.zone) :, 0]
    without = float(risk_of(site, ky[:, :, None], whole.each["beds.lack_mm"], etc_mm).harm[0])
    for day in range(days):
        rest = replace(eve, season=eve.season.of(slice(day, None)), sky=eve.sky.of(slice(day, None)))
        _, kept = drive(slow, rest.season, rest.sky, state, keep=KEEP)
        lack_mm = np.concatenate(
            [*(np.repeat(rows, len(SHARES), axis=-1) for rows in before), kept.each["beds.lack_mm"]]
        )
        harms = risk_of(site, ky[:, :, None], lack_mm, etc_mm).harm
        unmet_l = given_up_l[:, None] + kept.sums["outlets.unmet_l"][len(site.zone) :]
        serves = np.all(unmet_l <= short_l[:, None] + SHORT_L, axis=0)
        found += [(float(harms[n]), day, share) for n, share in enumerate(SHARES) if serves[n]]
        state, today = _one_day(garden, eve, day, state)
        before.append(today.each["beds.lack_mm"])
        given_up_l = given_up_l + today.sums["outlets.unmet_l"][len(site.zone) :, 0]
    least = min((harm for harm, _, _ in found), default=without)
    if without - least < LIKE:
        return Saving(0, 1.0, without, without, _give_up(site, foreseen))
    good = (one for one in found if one[0] <= min(least, without - 2.0 * LIKE) + LIKE)
    harm, day, share = max(good, key=lambda one: (one[1], one[2]))
    return Saving(day, share, harm, without, _give_up(site, foreseen))


def _slower(garden: Garden) -> Garden:
    """A lane for each share of the minutes of the zones."""
    zones = garden.structure.zones
    factor = np.ones((len(garden.outlets.run_l), len(SHARES)))
    factor[:zones] = SHARES
    names = ("run_l", "hot_run_l")
    return garden.changed(outlets={name: getattr(garden.outlets, name) * factor for name in names})


def _one_day(garden: Garden, eve: Eve, day: int, state: State) -> tuple[State, Kept]:
    some = slice(day, day + 1)
    return drive(garden, eve.season.of(some), eve.sky.of(some), state, keep=KEEP)


def _give_up(site: Site, foreseen: Foreseen) -> tuple[str, ...]:
    """What may get less of its own accord, then the beds by what a litre for each is worth, least first."""
    ground = foreseen.prospect.ground
    worth_per_l = ground.harm_per_mm.max(axis=0) * ground.aimed_mm_per_l
    beds = [site.bed[ground.columns[number]].name for number in np.argsort(worth_per_l, kind="stable")]
    return (*(draw.name for draw in site.draw if draw.may_ration), *beds)
