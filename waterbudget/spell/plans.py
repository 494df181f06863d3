"""The watering plans that are tried in a spell, and how each is written into a site file."""

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from waterbudget.schedule.garden import Garden, Outlets
from waterbudget.schedule.pulse import Pulse, on_the_clock, pulses_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.watering import flow_at
from waterbudget.site.model import Site, Zone
from waterbudget.spell.carry import Eve, spell_days
from waterbudget.units import NUMPY, WEEK_DAYS, Array, BoolArray

EVERY_DAYS = (1, 2, 3, 4)
SHARES = (0.25, 0.4, 0.55, 0.7, 0.85, 1.0, 1.25, 1.5)  # of what the beds use from one run to the next
AFFORDABLE = (0.5, 0.75, 1.0)  # of what their store can give over the spell
TRIGGERS: tuple[Literal["timer", "dry", "refill"], ...] = ("timer", "dry", "refill")
DRY_AT = 0.8  # share of RAW used up: a bed is watered before it wilts


class Option(NamedTuple):
    """A plan for one zone.

    minutes: of one run on the days of the spell; 0 leaves the zone unwatered. every_days: counted from the first day of
    the spell; None keeps the days that the site file names. pulses: how many runs stand in place of each of the site
    file's, where the soil would not take all of its water at once.
    """

    minutes: float
    every_days: int | None
    trigger: Literal["timer", "dry", "refill"]
    pulses: int = 1

    @property
    def all_minutes(self) -> float:
        """Minutes of all its pulses."""
        return self.minutes * self.pulses


OFF = Option(0.0, None, "timer")
Choice: TypeAlias = Option | None  # None leaves a zone as it is in the site file
Plans: TypeAlias = tuple[Choice, ...]  # one for each zone


def options_of(site: Site, eve: Eve, litres: Array | None = None) -> list[list[Choice]]:
    """The plans that are tried for each zone: as it is, not at all, and minutes times every so many days times trigger.

    The minutes are shares of what the beds of the zone use from one run to the next on an average day of the spell,
    some of them shares of what the store can give of that, at the flow of a store as full as on the eve; in pulses
    where the soil would not take them at once, and left out where a day has no room for these. A zone without beds that
    grow, or through which nothing flows, is left as it is, or closed. litres: what foresight gives each zone in all,
    (zone,), which is tried too.
    """
    longest = pulses_of(site, eve.garden)
    need_l, affordable = _need_l(eve), _affordable(site, eve)
    flow_l_min = flow_at(NUMPY, eve.garden, eve.state.level_l).l_min[:, 0]
    listed: list[list[Choice]] = []
    days_of_spell = len(eve.season.dates)
    for number, zone in enumerate(site.zone):
        need_minutes = need_l[number] / (float(flow_l_min[number]) * zone.runs_per_day)
        foreseen = None if litres is None else float(litres[number]) / (need_l[number] * days_of_spell or 1.0)
        grid = dict.fromkeys(
            Option(minutes, every, trigger, parts)
            for every, days in _rhythms(zone)
            for whole in _minutes(need_minutes * days, affordable[number], foreseen)
            for minutes, parts in _pulsed(whole, zone, longest[number])
            for trigger in TRIGGERS
        )
        listed.append([None, *(grid if need_minutes > 0.0 else []), OFF])
    return listed


def near_litres(site: Site, eve: Eve, options: list[list[Choice]], litres: Array) -> list[Plans]:
    """Of each rhythm and trigger the plans that bring the zones nearly so much in all [L], (zone,): next to it, below.

    A zone without that rhythm is left as it is.
    """
    flow_l_min, days = flow_at(NUMPY, eve.garden, eve.state.level_l).l_min[:, 0], len(eve.season.dates)
    found: dict[Plans, None] = {}
    for every, trigger in product(EVERY_DAYS, TRIGGERS):
        near: list[Choice] = []
        below: list[Choice] = []
        for number, (zone, listed) in enumerate(zip(site.zone, options, strict=True)):
            l_min = float(flow_l_min[number]) * zone.runs_per_day
            alike = [one for one in listed if one is not None and one[1:3] == (every, trigger) and one.minutes > 0.0]
            wanted = float(litres[number]) / days * every
            given = {one: one.all_minutes * l_min for one in alike}
            near.append(min(alike, key=lambda one: abs(given[one] - wanted), default=None))
            below.append(max((one for one in alike if given[one] <= wanted), key=lambda one: given[one], default=OFF))
        found |= {tuple(near): None, tuple(below): None}
    return list(found)


def lanes(site: Site, garden: Garden, plans: Sequence[Plans], first: dt.date) -> Garden:
    """The garden with a lane for each of the plans. first: the day that rhythms of their own are counted from."""
    outlets = garden.outlets
    first_day = int(np.datetime64(first, "D").astype(np.int64))
    wide: dict[str, Array] = {}
    for number, zone in enumerate(site.zone):
        options = {option: place for place, option in enumerate(dict.fromkeys(plan[number] for plan in plans))}
        lane = np.array([options[plan[number]] for plan in plans])
        for name, values in _settings(zone, outlets, number, list(options), first_day).items():
            rows = wide.setdefault(name, np.repeat(getattr(outlets, name), len(plans), axis=-1))
            rows[..., number, :] = values[..., lane]
    if not wide:
        return garden
    feels = np.logical_or(wide["when_dry"], wide["refill"])
    wide["look_minutes"] = feels * site.effort.look_minutes
    structure = {"opens_when_dry": bool(wide["when_dry"].any()), "refills": bool(wide["refill"].any())}
    return garden.changed(outlets=wide).restructured(**structure)


def _settings(zone: Zone, outlets: Outlets, number: int, options: list[Choice], first_day: int) -> dict[str, Array]:
    """What a zone, of this number, is set to by each of its options, by the names of its arrays, (…, option)."""
    chosen = [OFF if option is None else option for option in options]
    is_kept = np.array([option is None for option in options])
    keeps_days = np.array([option.every_days is None for option in chosen])
    minutes, every_days, pulses = np.array([(one.all_minutes, one.every_days or 1, one.pulses) for one in chosen]).T
    litres = minutes * zone.runs_per_day * outlets.flow_l_min[number, 0]

    def unless(kept: BoolArray, name: str, values: ArrayLike) -> Array:
        now: Array = getattr(outlets, name)[..., number, :1]
        return np.where(kept, now, values)

    return {
        "run_l": unless(is_kept, "run_l", litres),
        "hot_run_l": unless(is_kept, "hot_run_l", litres),
        "run_minutes": outlets.run_minutes[number, 0] * pulses,
        "when_dry": unless(is_kept, "when_dry", [option.trigger == "dry" for option in chosen]),
        "refill": unless(is_kept, "refill", [option.trigger == "refill" for option in chosen]),
        "dry_at": unless(is_kept, "dry_at", DRY_AT),
        "leave_mm": unless(is_kept, "leave_mm", 0.0),
        "every_days": unless(keeps_days, "every_days", every_days),
        "every_from": unless(keeps_days, "every_from", first_day),
        "listed": unless(keeps_days, "listed", np.True_),
    }


def toml_of(zone: Zone, option: Option, first: dt.date, *, is_hot: bool) -> list[str]:
    """The lines that go into the zone's table in place of those with the same keys.

    is_hot: whether the days of the spell are hot days of the zone.
    """
    lines = [f"hot_minutes = {option.minutes:g}" if is_hot else f"minutes = {option.minutes:g}"]
    if option.minutes == 0.0:
        return lines
    if option.pulses > 1:
        if is_hot:  # on other days as much as before
            lines.append(f"minutes = {zone.minutes / option.pulses:g}")
        lines.append(f"runs_per_day = {zone.runs_per_day * option.pulses}")
    if option.every_days is not None:
        away = "  # leave weekdays out" if zone.weekdays is not None else ""
        lines += [f"every_days = {option.every_days}{away}", f"every_from = {first}"]
    lines.append(f'plan = "{option.trigger}"')
    if option.trigger == "dry":
        lines.append(f"dry_at = {DRY_AT:g}")
    if option.trigger == "refill":
        lines.append("leave_mm = 0")
    return lines


def is_hot(zone: Zone, sky: Sky) -> bool:
    """Whether the days of a spell are hot days of the zone."""
    return zone.hot_above_c is not None and sky.tmax_c is not None and bool(sky.tmax_c.max() >= zone.hot_above_c)


def spell_minutes(zone: Zone, sky: Sky) -> float:
    """Minutes of one run of the present plan on the days of a spell."""
    return zone.hot_minutes if is_hot(zone, sky) and zone.hot_minutes is not None else zone.minutes


def _rhythms(zone: Zone) -> list[tuple[int | None, float]]:
    """Every so many days, and the days from one run to the next; weekdays that are named are one of them."""
    kept: list[tuple[int | None, float]] = [(None, WEEK_DAYS / len(zone.weekdays))] if zone.weekdays else []
    return kept + [(every, float(every)) for every in sorted({*EVERY_DAYS, zone.every_days})]


def _minutes(need_minutes: float, affordable: float, foreseen: float | None) -> list[float]:
    """Minutes to try, as somebody would set them; what the store can give is rounded down, or it would not last.

    affordable, foreseen: what the store and foresight give, as shares of the need.
    """
    shares = [share * affordable for share in AFFORDABLE if share * affordable < SHARES[0]]
    down = [on_the_clock(share * need_minutes, math.floor) for share in shares]
    if affordable < max(SHARES):
        down.append(on_the_clock(affordable * need_minutes, math.floor))
    if foreseen is not None:
        down.append(on_the_clock(foreseen * need_minutes, math.floor))
    tried = [*down, *(on_the_clock(share * need_minutes, round) for share in SHARES)]
    return [minutes for minutes in dict.fromkeys(tried) if minutes > 0.0]


def _pulsed(minutes: float, zone: Zone, longest: Pulse) -> Iterator[tuple[float, int]]:
    """The minutes of each pulse and how many there are; nothing where a day has no room for them."""
    parts = longest.parts(minutes)
    if parts == 1:
        yield minutes, 1
    elif parts * zone.runs_per_day <= longest.most and (each := on_the_clock(minutes / parts, math.floor)) > 0.0:
        yield each, parts


def _affordable(site: Site, eve: Eve) -> list[float]:
    """Share of what the beds of each zone use over the spell that the other draws leave in its store."""
    nothing: Plans = tuple(OFF for _ in site.zone)
    garden = lanes(site, eve.garden, [nothing], eve.season.dates[0, 0].item())
    state, _ = spell_days(eve, garden, Keep())
    left_l = (state.level_l - garden.tanks.dead_l)[:, 0]
    need_l, tanks = _need_l(eve), garden.structure.outlet_tank
    days = len(eve.season.dates)
    asked_l = [sum(need_l[other] for other in range(len(need_l)) if tanks[other] == tank) * days for tank in tanks]
    return [
        max(float(left_l[tanks[zone]]), 0.0) / asked_l[zone] if asked_l[zone] > 0.0 else 0.0
        for zone in range(len(need_l))
    ]


def _need_l(eve: Eve) -> list[float]:
    """Litres that leave the jets of each zone when its growing beds get what they use on an average day [L/day]."""
    garden, season = eve.garden, eve.season
    beds = garden.beds
    etc_mm = season.kc * eve.sky.et0_mm[:, None] * beds.et_factor * season.planted
    used_l = (etc_mm * beds.area_m2).mean(axis=0)[:, 0]
    efficiency = garden.outlets.efficiency[:, 0]
    bed_zone = garden.structure.bed_zone
    return [
        float(sum(used_l[bed] for bed, watered_by in enumerate(bed_zone) if watered_by == zone) / efficiency[zone])
        for zone in range(garden.structure.zones)
    ]
