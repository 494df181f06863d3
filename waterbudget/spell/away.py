"""Days on which nobody is there: what would need a hand, what level to leave with, and how far timers carry."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from waterbudget.plan.response import risk_of
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import hosed
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.hot import Stretch
from waterbudget.spell.plans import Option, lanes, spell_minutes
from waterbudget.units import Array, BoolArray

RISK = Keep(sums=("beds.planted_etc_mm", "tanks.short_l"), each=("beds.lack_mm",))
NEED = Keep(each=("outlets.asked_l", "tanks.inflow_l", "tanks.moved_in_l", "tanks.moved_out_l"))


class Alone(NamedTuple):
    """The yield at risk if nobody comes, and the stores that run short so."""

    yield_at_risk: float
    short: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Away:
    """Some days of a spell without anybody there.

    hands: on how many of the days each outlet that does not run by itself is to be seen to, by its name; by_itself: the
    zones that do. needed_l: in each store on the first morning, for all that is asked of it on these days, (tank,).
    alone: with what runs by itself. timed: with a timer at every zone and its present minutes. Other draws get nothing,
    and a hose of the mains needs a hand, a float valve none.
    """

    stretch: Stretch
    days: int
    hands: dict[str, int]
    by_itself: tuple[str, ...]
    needed_l: Array
    alone: Alone
    timed: Alone


def away_of(site: Site, eve: Eve, ky: Array, stretch: Stretch) -> Away:
    """What becomes of the garden while nobody is there; before and after it follows its plan."""
    dates = eve.season.dates[:, 0]
    gone = (dates >= np.datetime64(stretch[0], "D")) & (dates <= np.datetime64(stretch[1], "D"))
    by_itself = tuple(zone.name for zone in site.zone if zone.name in site.effort.by_battery and zone.plan == "timer")
    names = eve.garden.names.outlets
    # what stores lack is counted too: whoever comes fetches it
    _, kept = drive(hosed(eve.garden), eve.season, eve.sky, eve.state, keep=NEED)
    asked_l = kept.each["outlets.asked_l"][gone, :, 0]
    hands = {
        name: int((asked_l[:, number] > SHORT_L).sum()) for number, name in enumerate(names) if name not in by_itself
    }
    inflow_l, moved_in_l, moved_out_l = (kept.each[name][gone, :, 0] for name in NEED.each[1:])
    came_l = inflow_l + moved_in_l - moved_out_l
    timers = lanes(site, eve.garden, [_on_timers(site, eve)], dates[0].item())
    runs = [name in by_itself for name in names]
    zones = [number < len(site.zone) for number in range(len(names))]
    return Away(
        stretch=stretch,
        days=int(gone.sum()),
        hands={name: days for name, days in hands.items() if days},
        by_itself=by_itself,
        needed_l=_needed_l(eve.garden, asked_l, came_l),
        alone=_alone(site, eve, ky, gone, eve.garden, runs),
        timed=_alone(site, eve, ky, gone, timers, zones),
    )


def _on_timers(site: Site, eve: Eve) -> tuple[Option, ...]:
    """Every zone on its present days, whatever the soil is like."""
    return tuple(Option(spell_minutes(zone, eve.sky), None, "timer") for zone in site.zone)


def _needed_l(garden: Garden, asked_l: Array, came_l: Array) -> Array:
    """What each store must hold on the first morning, as a day's water comes in after it is drawn [L]."""
    tanks = garden.structure.tank_of_outlet
    drawn_l = np.stack([asked_l[:, tanks == tank].sum(axis=1) for tank in range(len(garden.structure.mains))], axis=1)
    before_l = np.cumsum(drawn_l, axis=0) - np.cumsum(came_l, axis=0) + came_l
    needed_l: Array = np.maximum(before_l.max(axis=0, initial=0.0), 0.0) + garden.tanks.dead_l[:, 0]
    return needed_l


def _alone(site: Site, eve: Eve, ky: Array, gone: BoolArray, timed: Garden, runs: list[bool]) -> Alone:
    """What becomes of the garden if on these days only some outlets run, as the garden `timed` has them.

    A hose gives nothing then, as nobody is there to hold it.
    """
    handless = timed.restructured(mains=tuple("none" if kind == "direct" else kind for kind in timed.structure.mains))
    first, last = int(np.argmax(gone)), len(gone) - int(np.argmax(gone[::-1]))
    minutes = np.where(runs, np.nan, np.zeros((last - first, len(runs))))
    shut = Actions(minutes, np.zeros((last - first, len(site.tank))))
    lack_mm: list[Array] = []
    etc_mm, short_l, state = np.zeros((len(site.bed), 1)), np.zeros((len(site.tank), 1)), eve.state
    for some, garden, actions in (
        (slice(0, first), eve.garden, None),
        (slice(first, last), handless, shut),
        (slice(last, len(gone)), eve.garden, None),
    ):
        if some.start < some.stop:
            state, kept = drive(garden, eve.season.of(some), eve.sky.of(some), state, actions, keep=RISK)
            lack_mm.append(kept.each["beds.lack_mm"])
            etc_mm = etc_mm + kept.sums["beds.planted_etc_mm"]
            short_l = short_l + kept.sums["tanks.short_l"] * (actions is not None)
    harm = risk_of(site, ky[:, :, None], np.concatenate(lack_mm), etc_mm).harm
    short = tuple(tank.name for tank, litres in zip(site.tank, short_l[:, 0], strict=True) if litres > SHORT_L)
    return Alone(float(harm[0]), short)
