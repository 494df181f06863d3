"""The whole question of a hot spell: what becomes of the present plan, and which plans last."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from waterbudget.plan.response import Sensitivity
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.lanes import hosed
from waterbudget.simulate.run import started
from waterbudget.site.model import Site
from waterbudget.spell.away import Away, away_of
from waterbudget.spell.both import move_and_ration
from waterbudget.spell.carry import Eve, eve_of
from waterbudget.spell.foreseen import Foreseen, foresee
from waterbudget.spell.hot import HotDays, Spell, hot_days
from waterbudget.spell.moving import move_water
from waterbudget.spell.plans import Plans
from waterbudget.spell.rationing import Rationing, ration_draws
from waterbudget.spell.saving import Saving, saving_of
from waterbudget.spell.search import LEAST_HARM, Found, search
from waterbudget.spell.stages import ky_by_stage
from waterbudget.spell.terms import on_terms
from waterbudget.spell.trial import Course, Trial, courses_of, harm_of, sensitivity_of, try_plans
from waterbudget.tables.read import named
from waterbudget.units import Array
from waterbudget.weather.days import Weather


class Named(NamedTuple):
    """A plan under its name: its number among those tried, the plan and its days."""

    name: str
    number: int
    plan: Plans
    course: Course


@dataclass(frozen=True, eq=False)
class Rationed:
    """The same spell with less for the draws that may get less. share: of their litres that they keep."""

    share: float
    study: "Study"


@dataclass(frozen=True, eq=False)
class Study:
    """What is known about a garden in a hot spell.

    site: on the terms of the spell. start_l: litres that stores were dipped at. named: the present plan, then the best
    by each name. with_mains: the present plan where every store that lacks water is helped by hose, banned or not.
    foreseen: the best that anybody could do. by_stage: yield at risk of the named plans with Ky by growth stage, in
    their order; None where no stage of what grows has a factor. moving: the same with one transfer more, the last of
    its site, and of its plans the one of least harm; None where moving water would help little. rationing: as moving,
    with draws rationed; None where that helps little or none may be. both: water moved and draws rationed; None where
    that helps little more than either. saving: where there is no mains water or a ban on it. away:
    where nobody is there on some days.
    """

    site: Site
    weather: Weather
    spell: Spell
    hot: HotDays
    start_l: Mapping[str, float]
    eve: Eve
    sensitivity: Sensitivity
    found: Found
    with_mains: Trial
    named: tuple[Named, ...]
    foreseen: Foreseen
    by_stage: Array | None = None
    moving: "Study | None" = None
    rationing: Rationed | None = None
    both: Rationed | None = None
    saving: Saving | None = None
    away: Away | None = None

    @property
    def saved(self) -> tuple[str, ...]:
        """The stores that can last, those that the best plans make last."""
        names = self.eve.garden.names.tanks
        return tuple(name for column, name in enumerate(names) if column not in self.found.doomed)


def study(site: Site, weather: Weather, spell: Spell, start_l: Mapping[str, float] | None = None) -> Study:
    """Lay a spell over the weather and try plans in it.

    start_l: litres in a store on the first day of the spell, by its name, instead of what the weather up to it leaves.
    Raises InputError where the first day lies outside the weather or a store cannot hold its start, SiteError where
    the latitude is missing, WeatherError where hot days cannot be told.
    """
    spell = spell.starting(weather, south=site.is_south)
    site = on_terms(site, spell)
    hot, garden = hot_days(spell, site, weather), garden_of(site)
    start_l = {named(name, garden.names.tanks, "tank"): litres for name, litres in (start_l or {}).items()}
    eve = dipped_eve(eve_of(site, garden, weather, hot), garden, start_l)
    sensitivity = sensitivity_of(site, eve)
    ky = sensitivity.ky
    found, foreseen = search(site, eve, ky), foresee(site, eve, ky)
    with_mains = try_plans(site, replace(eve, garden=hosed(eve.garden).restructured(bans=())), found.plans[:1], ky)
    best = _named(site, eve, found)
    known = Study(site, weather, spell, hot, start_l, eve, sensitivity, found, with_mains, best, foreseen)
    stages = ky_by_stage(site, eve, ky)
    if stages.differs:
        known = replace(known, by_stage=np.array([harm_of(site, stages.ky, one.course) for one in best]))
    if spell.no_mains or spell.ban:
        known = replace(known, saving=saving_of(site, eve, ky, foreseen))
    if spell.away:
        known = replace(known, away=away_of(site, eve, ky, spell.away))
    moved = move_water(site, eve, ky, foreseen, found.least_harm)
    rationed = ration_draws(site, eve, ky, foreseen.fewer, found.least_harm)
    either = [one.found.least_harm for one in (moved, rationed) if one is not None]
    both = move_and_ration(site, eve, ky, foreseen, min([found.least_harm, *either]))
    return replace(
        known,
        moving=None if moved is None else _instead(known, moved.site, moved.eve, moved.found),
        rationing=_rationed(known, rationed),
        both=_rationed(known, both),
    )


def _rationed(known: Study, rationing: Rationing | None) -> Rationed | None:
    if rationing is None:
        return None
    return Rationed(rationing.share, _instead(known, rationing.site, rationing.eve, rationing.found))


def _instead(known: Study, site: Site, eve: Eve, found: Found) -> Study:
    """The study of a changed garden, of whose plans that of least harm is named."""
    best = _named(site, eve, found, LEAST_HARM)
    return replace(known, site=site, eve=eve, found=found, named=best, by_stage=None)


def dipped_eve(eve: Eve, garden: Garden, start_l: Mapping[str, float]) -> Eve:
    """The eve with other litres in some stores. Raises InputError where one is unknown or cannot hold them."""
    dipped_l = started(garden, start_l).tanks.start_l[:, 0]
    for tank, name in enumerate(garden.names.tanks):
        if name in start_l:
            eve = replace(eve, state=eve.state.dipped(tank, float(dipped_l[tank])))
    return eve


def _named(site: Site, eve: Eve, found: Found, *names: str) -> tuple[Named, ...]:
    """The present plan, then the best by each name, or those of these names alone."""
    numbers = {name: number for name, number in {"present": 0, **found.least}.items() if name in names or not names}
    different = sorted(set(numbers.values()))
    courses = dict(zip(different, courses_of(site, eve, [found.plans[number] for number in different]), strict=True))
    return tuple(Named(name, number, found.plans[number], courses[number]) for name, number in numbers.items())
