"""What may be changed in a garden to need less water or less time: each measure as data, made for the site at hand.

The marks below that name no source are common practice or ours; the screen tells them beside each measure.
"""

from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from waterbudget.change.moving import movings
from waterbudget.change.mulch import COVERED, mulched_kc
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.pulse import Pulse, pulses_of
from waterbudget.site.keys import put
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import LONGEST_NAME, WEEKDAYS, Bed, Site, Zone
from waterbudget.site.override import checked_site

SIZES_L = (100.0, 200.0, 300.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0, 3000.0, 5000.0, 7500.0, 10000.0)
NET_FACTOR = 0.8  # what shade leaves of the crop's water use, under a light net
LONGEST_INTERVAL = 366  # days
SHORTER = (0.9, 0.8, 0.7, 0.6, 0.5)  # of the minutes
DRY_AT = 0.8  # share of RAW used up that opens the valve
SKIP_MM, SKIP_DAYS = 5.0, 2
SLUDGE = 0.02  # share of the capacity that stays below the lowest outlet
GOOD_EFFICIENCY = 0.9  # of drippers and of water poured at the foot of the plants
AIMED_EFFICIENCY = 0.95  # at best, where nothing falls beside the bed
LEAST_GAIN = 0.01  # of efficiency: less is not worth a measure


@dataclass(frozen=True)
class Measure:
    """One thing to change.

    kind: such as "mulch"; thing: what it is done to, "" for the whole garden. Of measures with the same kind and thing
    the best one counts. changes: keys of the site file with their new values, and new tables. is_free: whether it costs
    nothing but the doing. price: in any money, None where nobody tells. pause_h: hours between the runs of a day where
    the soil takes no more at once, None where that asks for none.
    """

    kind: str
    thing: str
    changes: tuple[tuple[Keys, object], ...]
    is_free: bool
    price: float | None = None
    pause_h: int | None = None

    @property
    def cost(self) -> float | None:
        """What it costs, 0 where it is free, None where nobody tells."""
        return 0.0 if self.is_free else self.price

    def goes_with(self, other: "Measure") -> bool:
        """Whether both can be done: they change different keys, and are not two ways of the same thing."""
        mine, others = ({place for place, _ in one.changes} for one in (self, other))
        return mine.isdisjoint(others) and (self.kind, self.thing) != (other.kind, other.thing)


class ForSale(NamedTuple):
    """The size of a butt that can be bought, and its price in any money."""

    capacity_l: float
    price: float


class Kind(NamedTuple):
    """A kind of measure, and how those for a site are made."""

    name: str
    made: Callable[[Site, Sequence[ForSale]], Iterator[Measure]]


def with_measures(table: Raw, measures: Sequence[Measure]) -> Site:
    """The checked site with all of the measures. Raises SiteError where one breaks a check."""
    changed = deepcopy(table)
    for measure in measures:
        for place, value in measure.changes:
            if isinstance(place[-1], int):
                changed.setdefault(str(place[0]), []).append(deepcopy(value))
            else:
                put(changed, place, value)
    return checked_site(changed, "improve")


def measures_for(site: Site, for_sale: Sequence[ForSale] = ()) -> list[Measure]:
    """Every measure that can be tried on a site. for_sale: butts for sale, whose sizes and prices are taken."""
    return [measure for kind in KINDS for measure in kind.made(site, for_sale)]


def not_there(site: Site, for_sale: Sequence[ForSale] = ()) -> list[str]:
    """The kinds of which the site has nothing to try."""
    return [kind.name for kind in KINDS if next(kind.made(site, for_sale), None) is None]


# ---- Stores and roofs ----------------------------------------------------------------------------------------------


def _larger_butt(site: Site, for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    sizes: list[tuple[float, float | None]] = (
        [*sorted(for_sale)] if for_sale else [(size_l, None) for size_l in SIZES_L]
    )
    for n, tank in enumerate(site.tank):
        size = next((one for one in sizes if one[0] > tank.capacity_l), None)
        if size is not None:
            yield Measure(
                "next butt size",
                tank.name,
                ((("tank", n, "capacity_l"), size[0]),),
                is_free=False,
                price=None if size[1] is None else tank.joined * size[1],
            )


def _more_roof(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for tank in site.tank:
        feeding = [roof for roof in site.roof if roof.tank == tank.name] or site.roof
        if feeding:
            largest = max(feeding, key=lambda roof: roof.area_m2)
            number = 2
            while (name := f"Downpipe {number} to {tank.name}"[:LONGEST_NAME]) in {roof.name for roof in site.roof}:
                number += 1
            like = largest.model_dump(exclude_unset=True, by_alias=True)
            yield Measure(
                "second roof or downpipe",
                tank.name,
                ((("roof", len(site.roof)), {**like, "name": name, "tank": tank.name}),),
                is_free=False,
            )


def _mended_leak(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, tank in enumerate(site.tank):
        if tank.loss_l_per_day > 0.0:
            yield Measure(
                "mending the leak",
                tank.name,
                ((("tank", n, "loss_l_per_day"), 0.0),),
                is_free=True,
            )


def _lower_outlet(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, tank in enumerate(site.tank):
        low_l = float(ceil(SLUDGE * tank.capacity_l))
        if tank.dead_l > low_l:
            yield Measure(
                "lowering the outlet",
                tank.name,
                ((("tank", n, "dead_l"), low_l),),
                is_free=False,
            )


def _moved_water(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for one in movings(site):
        changes: tuple[tuple[Keys, object], ...] = ((("transfer", len(site.transfer)), one.table),)
        yield Measure("moving water", one.to_tank, changes, is_free=True)


# ---- Beds ----------------------------------------------------------------------------------------------------------


def _watered(site: Site) -> list[tuple[int, Bed]]:
    return [(n, bed) for n, bed in enumerate(site.bed) if bed.zone is not None and bed.planting]


def _mulch(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    beds = _watered(site)
    changes: list[tuple[Keys, object]] = (
        [(("bed", n, "mulch_cover"), COVERED) for n, bed in beds if bed.mulch_cover < COVERED]
        if site.model.crop_coefficient == "dual"  # which follows the surface itself
        else [
            (("bed", n, "planting", number, "kc"), mulched_kc(planting))
            for n, bed in beds
            for number, planting in enumerate(bed.planting)
        ]
    )
    if changes:
        yield Measure(
            "mulch",
            "",
            tuple(changes),
            is_free=False,
        )


def _shade_net(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    beds = _watered(site)
    if beds:
        yield Measure(
            "shade net",
            "",
            tuple((("bed", n, "et_factor"), round(bed.et_factor * NET_FACTOR, 6)) for n, bed in beds),
            is_free=False,
        )


# ---- Watering ------------------------------------------------------------------------------------------------------


def _zones(site: Site) -> list[tuple[int, Zone]]:
    """Zones with something to water."""
    having = {bed.zone for _, bed in _watered(site)}
    return [(n, zone) for n, zone in enumerate(site.zone) if zone.name in having]


def _jets(site: Site) -> list[tuple[int, Zone]]:
    """Zones that jets water, not cans."""
    return [(n, zone) for n, zone in _zones(site) if zone.name not in site.effort.by_can]


def _minutes(n: int, zone: Zone, factor: float) -> tuple[tuple[Keys, object], ...]:
    changes: list[tuple[Keys, object]] = [(("zone", n, "minutes"), round(zone.minutes * factor, 1))]
    if zone.hot_minutes is not None:
        changes.append((("zone", n, "hot_minutes"), round(zone.hot_minutes * factor, 1)))
    return tuple(changes)


def _fewer_minutes(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _zones(site):
        if zone.plan != "refill" and zone.minutes > 0.0:
            for factor in SHORTER:
                yield Measure(
                    "fewer minutes",
                    zone.name,
                    _minutes(n, zone, factor),
                    is_free=True,
                )


def _longer_interval(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    longest = pulses_of(site, garden_of(site))
    for n, zone in _zones(site):
        if zone.weekdays is not None:
            if len(zone.weekdays) > 1:
                kept = _spread(zone.weekdays)
                yield Measure("longer interval", zone.name, ((("zone", n, "weekdays"), kept),), is_free=True)
        elif zone.every_days < LONGEST_INTERVAL:
            days = zone.every_days + 1
            places: tuple[tuple[Keys, object], ...] = ((("zone", n, "every_days"), days),)
            yield Measure("longer interval", zone.name, places, is_free=True)
            if zone.plan != "refill":
                yield from _longer_runs(n, zone, longest[n], days / zone.every_days, places)


def _longer_runs(
    n: int, zone: Zone, longest: Pulse, share: float, places: tuple[tuple[Keys, object], ...]
) -> Iterator[Measure]:
    """Longer runs on fewer days, cut into pulses where the soil would not take them at once; none for want of room."""
    parts = longest.parts(share * max(zone.minutes, zone.hot_minutes or 0.0))
    runs = parts * zone.runs_per_day
    changes = (*places, *_minutes(n, zone, share / parts))
    if parts == 1:
        yield Measure("longer interval", zone.name, changes, is_free=True)
    elif runs <= longest.most:
        pulsed: tuple[tuple[Keys, object], ...] = (*changes, (("zone", n, "runs_per_day"), runs))
        yield Measure("longer interval", zone.name, pulsed, is_free=True, pause_h=longest.pause_h)


def _spread(weekdays: Sequence[str]) -> list[str]:
    """The days of a week without the one whose neighbours are nearest together."""
    days = [day for day in WEEKDAYS if day in weekdays]
    numbers = [WEEKDAYS.index(day) for day in days]

    def gap(place: int) -> int:
        before, after = numbers[place - 1], numbers[(place + 1) % len(numbers)]
        return (after - before) % len(WEEKDAYS) or len(WEEKDAYS)

    left_out = min(range(len(days)), key=gap)
    return [day for place, day in enumerate(days) if place != left_out]


def _by_soil(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _zones(site):
        if zone.plan == "timer":
            yield Measure(
                "watering by soil",
                zone.name,
                ((("zone", n, "plan"), "dry"), (("zone", n, "dry_at"), DRY_AT)),
                is_free=True,
            )
        if zone.plan != "refill":
            yield Measure(
                "watering by soil",
                zone.name,
                ((("zone", n, "plan"), "refill"),),
                is_free=True,
            )


def _rain_skip(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _zones(site):
        if zone.skip_rain_mm is None:
            yield Measure(
                "rain skip",
                zone.name,
                ((("zone", n, "skip_rain_mm"), SKIP_MM), (("zone", n, "skip_rain_days"), SKIP_DAYS)),
                is_free=True,
            )


def _better_jets(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _jets(site):
        if zone.applied < GOOD_EFFICIENCY - LEAST_GAIN:
            factor = zone.applied / GOOD_EFFICIENCY
            yield Measure(
                "better jets",
                zone.name,
                ((("zone", n, "efficiency"), GOOD_EFFICIENCY), *_minutes(n, zone, factor)),
                is_free=False,
            )


def _less_beside(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _jets(site):
        if zone.flow_l_min is None:
            continue
        kept = (1.0 + zone.applied) / 2.0  # of the water, without the half of what is lost
        flow_l_min = float(f"{zone.flow_l_min * kept:.3g}")
        aimed = round(zone.flow_l_min * zone.applied / flow_l_min, 6)
        if zone.applied + LEAST_GAIN < aimed <= AIMED_EFFICIENCY:
            yield Measure(
                "less flow lost beside beds",
                zone.name,
                ((("zone", n, "flow_l_min"), flow_l_min), (("zone", n, "efficiency"), aimed)),
                is_free=True,
            )
    having = {bed.zone for bed in site.bed}
    for n, zone in enumerate(site.zone):
        if zone.name not in having and zone.minutes > 0.0:
            yield Measure("less flow lost beside beds", zone.name, _minutes(n, zone, 0.0), is_free=True)


KINDS = (
    Kind("next butt size", _larger_butt),
    Kind("second roof or downpipe", _more_roof),
    Kind("moving water", _moved_water),
    Kind("mulch", _mulch),
    Kind("shade net", _shade_net),
    Kind("fewer minutes", _fewer_minutes),
    Kind("longer interval", _longer_interval),
    Kind("watering by soil", _by_soil),
    Kind("rain skip", _rain_skip),
    Kind("mending the leak", _mended_leak),
    Kind("lowering the outlet", _lower_outlet),
    Kind("better jets", _better_jets),
    Kind("less flow lost beside beds", _less_beside),
)
