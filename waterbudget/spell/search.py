"""The search for plans that last: many are tried side by side, and three are named by what they are best at.

All options of one zone are tried. Where there are more zones, their product would be endless; so first every option is
tried in all zones alike and in each zone alone, and then, from each of the three best so far, every option of each zone
alone, and minutes moved from one zone of a store to another, until nothing gets better or very many are tried. That
finds the best of one zone for certain, and of several zones mostly one that no such step betters.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.plans import OFF, Choice, Option, Plans, near_litres, options_of
from waterbudget.spell.trial import Trial, try_plans
from waterbudget.units import Array, BoolArray

ALLOWED = 0.05  # more of the yield at risk than need be, for less work or water
ROUNDS, MOST_PLANS = 8, 8000
STEPS = 3  # in the minutes that one zone gives and another takes
HARM_STEP, MINUTES_STEP, LITRES_STEP = 0.001, 0.1, 1.0  # differences below these are none
LEAST_HARM = "least harm"
NAMES = ("least work", "least water", LEAST_HARM)


@dataclass(frozen=True, eq=False)
class Found:
    """Every plan that was tried, the present one first, what became of each, and which is best at what.

    least: the number of the best plan by its name. doomed: the columns of the stores that do not last even if no zone
    waters, for the other draws empty them. beyond: whether a plan takes more of a bed's yield than its owner accepts,
    (plan,); only where every plan does is such a one among the best.
    """

    plans: tuple[Plans, ...]
    trial: Trial
    least: dict[str, int]
    doomed: tuple[int, ...]
    beyond: BoolArray

    @property
    def least_harm(self) -> float:
        """Yield at risk of the plan that does the least harm."""
        return float(self.trial.harm[self.least["least harm"]])

    @property
    def lasting(self) -> int:
        """How many of the plans last."""
        return int(self.trial.lasts.sum())


def search(site: Site, eve: Eve, ky: Array, litres: Array | None = None, sought: tuple[str, ...] = NAMES) -> Found:
    """Try plans until the best are found. ky: the response of each bed's yield (day, bed).

    litres: what foresight gives each zone in all [L], (zone,), where that is known: then the search begins with plans
    that bring as much, in place of all options of all zones. sought: the names by which a plan is to be best; others
    are named among those tried.
    """
    options = options_of(site, eve, litres)
    present: Plans = tuple(None for _ in site.zone)
    nothing: Plans = tuple(OFF for _ in site.zone)
    if litres is None or len(site.zone) == 1:
        begin = [*alike(options), *_one_changed(present, options)]
    else:
        begin = near_litres(site, eve, options, litres)
    plans = list(dict.fromkeys([present, nothing, *begin]))
    trial = try_plans(site, eve, plans, ky)
    saved = trial.tank_lasts[plans.index(nothing)]
    most = np.array([1.0 if bed.largest_loss is None else bed.largest_loss for bed in site.bed])
    for _ in range(ROUNDS if len(site.zone) > 1 else 0):
        known, least = set(plans), best(trial, saved, _beyond(trial, most))
        leaders = sorted({least[name] for name in sought})
        more = dict.fromkeys(near for leader in leaders for near in _near(site, plans[leader], options))
        new = [plan for plan in more if plan not in known][: max(MOST_PLANS - len(plans), 0)]
        if not new:
            break
        plans += new
        trial = trial.joined(try_plans(site, eve, new, ky))
    beyond = _beyond(trial, most)
    return Found(tuple(plans), trial, best(trial, saved, beyond), tuple(np.flatnonzero(~saved).tolist()), beyond)


def _beyond(trial: Trial, most: Array) -> BoolArray:
    """Whether each plan takes more of a bed's yield than it may lose, (bed,)."""
    beyond: BoolArray = np.any(trial.at_risk > most + HARM_STEP / 2, axis=1)
    return beyond


def best(trial: Trial, saved: BoolArray, beyond: BoolArray) -> dict[str, int]:
    """The best plan by each name among those with which every store lasts that can. saved: whether a store can.

    Plans beyond what a bed may lose are left out, unless all are.

    Least harm: the least yield at risk, then the least work, then the least water. Least work and least water: among
    the plans with at most 5 points more of the yield at risk than that, then the least harm. The first wins a tie.
    """
    harm, work, water = (
        np.round(part / step)
        for part, step in (
            (trial.harm, HARM_STEP),
            (trial.week_minutes, MINUTES_STEP),
            (trial.given_l, LITRES_STEP),
        )
    )
    among: BoolArray = np.all(trial.tank_lasts[:, saved], axis=1)
    if np.any(among & ~beyond):
        among = among & ~beyond
    near = among & (harm <= harm[among].min() + ALLOWED / HARM_STEP)
    return {
        "least work": _first(near, work, harm, water),
        "least water": _first(near, water, harm, work),
        "least harm": _first(among, harm, work, water),
    }


def _first(among: BoolArray, *marks: Array) -> int:
    numbers = np.flatnonzero(among)
    order = np.lexsort([mark[numbers] for mark in reversed(marks)])
    return int(numbers[order[0]])


def alike(options: list[list[Choice]]) -> Iterator[Plans]:
    """Every option in all zones at once, by its place among theirs."""
    for place in range(max((len(listed) for listed in options), default=0)):
        yield tuple(listed[min(place, len(listed) - 1)] for listed in options)


def _one_changed(plan: Plans, options: list[list[Choice]]) -> Iterator[Plans]:
    for zone, listed in enumerate(options):
        for option in listed:
            yield (*plan[:zone], option, *plan[zone + 1 :])


def _near(site: Site, plan: Plans, options: list[list[Choice]]) -> Iterator[Plans]:
    """The plans one step away: one zone changed, or minutes moved from one zone of a store to another."""
    yield from _one_changed(plan, options)
    for gives, takes in permutations(range(len(site.zone)), 2):
        if site.zone[gives].tank == site.zone[takes].tank:
            for less in _next(plan[gives], options[gives], -1):
                for more in _next(plan[takes], options[takes], 1):
                    changed = list(plan)
                    changed[gives], changed[takes] = less, more
                    yield tuple(changed)


def _next(choice: Choice, listed: list[Choice], way: int) -> list[Option]:
    """The next few options with more minutes (way 1) or fewer (-1), the rhythm and the trigger as they are.

    From the plan of the site file, and from none at all, they are those of a timer on every day.
    """
    kind = choice[1:3] if choice is not None and choice != OFF else (1, "timer")
    alike = [option for option in listed if option is not None and option != OFF and option[1:3] == kind]
    now = choice.all_minutes if choice is not None else 0.0
    onward = [option for option in alike if way * (option.all_minutes - now) > 0.0]
    some = sorted(onward, key=lambda option: way * option.all_minutes)[:STEPS]
    return [*some, OFF] if way < 0 and choice != OFF else some
