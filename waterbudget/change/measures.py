"""What may be changed in a garden to need less water or less time: each measure as data, made for the site at hand.

The marks below that name no source are common practice or ours; the screen tells them beside each measure.
"""

from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from waterbudget.change.moving import TAKES, movings
from waterbudget.change.mulch import COVERED, mulched_kc
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.pulse import Pulse, pulses_of
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import LONGEST_NAME, WEEKDAYS, Bed, Site, Tank, Zone
from waterbudget.site.override import checked_site, put

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
    the best one counts. words: what is done. changes: keys of the site file with their new values, and new tables.
    is_free: whether it costs nothing but the doing. price: in any money, None where nobody tells. takes: what it takes
    for granted.
    """

    kind: str
    thing: str
    words: str
    changes: tuple[tuple[Keys, object], ...]
    is_free: bool
    price: float | None = None
    takes: str = ""

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
    """A kind of measure: how those for a site are made, and why it may have none."""

    name: str
    made: Callable[[Site, Sequence[ForSale]], Iterator[Measure]]
    otherwise: str


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
    """The kinds of which the site has nothing to try, and why."""
    return [f"{kind.name} ({kind.otherwise})" for kind in KINDS if next(kind.made(site, for_sale), None) is None]


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
                f"{tank.name}: {_each(tank)}{size[0]:,.10g} L in place of {tank.capacity_l:,.10g} L",
                ((("tank", n, "capacity_l"), size[0]),),
                is_free=False,
                price=None if size[1] is None else tank.joined * size[1],
                takes="it begins with the litres that are there today",
            )


def _each(tank: Tank) -> str:
    return f"each of {tank.joined} " if tank.joined > 1 else ""


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
                f"{tank.name}: a second downpipe or roof like {largest.name}, {largest.area_m2:,.10g} m²",
                ((("roof", len(site.roof)), {**like, "name": name, "tank": tank.name}),),
                is_free=False,
                takes="there is as much roof again that can be led there",
            )


def _mended_leak(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, tank in enumerate(site.tank):
        if tank.loss_l_per_day > 0.0:
            yield Measure(
                "mending the leak",
                tank.name,
                f"{tank.name}: mend the leak of {tank.loss_l_per_day:,.10g} L a day",
                ((("tank", n, "loss_l_per_day"), 0.0),),
                is_free=True,
                takes="all of the loss is a leak, and washers or tape cost next to nothing",
            )


def _lower_outlet(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, tank in enumerate(site.tank):
        low_l = float(ceil(SLUDGE * tank.capacity_l))
        if tank.dead_l > low_l:
            yield Measure(
                "lowering the outlet",
                tank.name,
                f"{tank.name}: {_each(tank)}outlet lowered, {low_l:,.10g} L below it in place of {tank.dead_l:,.10g} L",
                ((("tank", n, "dead_l"), low_l),),
                is_free=False,
                takes="2 % of the store stays below it for the sludge (ours)",
            )


def _moved_water(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for one in movings(site):
        changes: tuple[tuple[Keys, object], ...] = ((("transfer", len(site.transfer)), one.table),)
        yield Measure("moving water", one.to_tank, one.words, changes, is_free=True, takes=TAKES)


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
            "organic mulch on all watered beds, 80 % of the soil covered",
            tuple(changes),
            is_free=False,
            takes="it lies from planting to harvest; the rain that it holds back itself is left out",
        )


def _shade_net(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    beds = _watered(site)
    if beds:
        yield Measure(
            "shade net",
            "",
            "a light shade net over all watered beds",
            tuple((("bed", n, "et_factor"), round(bed.et_factor * NET_FACTOR, 6)) for n, bed in beds),
            is_free=False,
            takes="it cuts their water use by a fifth and lets all rain through (ours); fruit may ripen later",
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


def _shown_minutes(zone: Zone, factor: float) -> str:
    hot = "" if zone.hot_minutes is None else f", on hot days {zone.hot_minutes * factor:.3g}"
    return f"{zone.minutes * factor:.3g} minutes{hot}"


def _fewer_minutes(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _zones(site):
        if zone.plan != "refill" and zone.minutes > 0.0:
            for factor in SHORTER:
                yield Measure(
                    "fewer minutes",
                    zone.name,
                    f"{zone.name}: {_shown_minutes(zone, factor)} in place of {_shown_minutes(zone, 1.0)}",
                    _minutes(n, zone, factor),
                    is_free=True,
                )


def _longer_interval(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    longest = pulses_of(site, garden_of(site))
    for n, zone in _zones(site):
        if zone.weekdays is not None:
            if len(zone.weekdays) > 1:
                kept = _spread(zone.weekdays)
                words = f"{zone.name}: on {', '.join(kept)} only"
                yield Measure("longer interval", zone.name, words, ((("zone", n, "weekdays"), kept),), is_free=True)
        elif zone.every_days < LONGEST_INTERVAL:
            days = zone.every_days + 1
            words = f"{zone.name}: every {days} days in place of {_every(zone.every_days)}"
            places: tuple[tuple[Keys, object], ...] = ((("zone", n, "every_days"), days),)
            yield Measure("longer interval", zone.name, words, places, is_free=True)
            if zone.plan != "refill":
                yield from _longer_runs(n, zone, longest[n], days / zone.every_days, words, places)


def _longer_runs(
    n: int, zone: Zone, longest: Pulse, share: float, words: str, places: tuple[tuple[Keys, object], ...]
) -> Iterator[Measure]:
    """Longer runs on fewer days, cut into pulses where the soil would not take them at once; none for want of room."""
    parts = longest.parts(share * max(zone.minutes, zone.hot_minutes or 0.0))
    runs = parts * zone.runs_per_day
    told, changes = f"{words}, {_shown_minutes(zone, share / parts)}", (*places, *_minutes(n, zone, share / parts))
    if parts == 1:
        yield Measure("longer interval", zone.name, f"{told} each time", changes, is_free=True)
    elif runs <= longest.most:
        pulsed: tuple[tuple[Keys, object], ...] = (*changes, (("zone", n, "runs_per_day"), runs))
        apart = "an hour" if longest.pause_h == 1 else f"{longest.pause_h} hours"
        words = f"{told}, {runs} times a day {apart} apart, as the soil takes no more at once"
        yield Measure("longer interval", zone.name, words, pulsed, is_free=True)


def _every(days: int) -> str:
    return "every day" if days == 1 else f"every {days}"


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
                f"{zone.name}: only when a bed is nearly thirsty, not by the clock",
                ((("zone", n, "plan"), "dry"), (("zone", n, "dry_at"), DRY_AT)),
                is_free=True,
                takes="somebody feels the soil on each watering day",
            )
        if zone.plan != "refill":
            yield Measure(
                "watering by soil",
                zone.name,
                f"{zone.name}: no more than the soil lacks, {_shown_minutes(zone, 1.0)} at most",
                ((("zone", n, "plan"), "refill"),),
                is_free=True,
                takes="what the soil lacks is known, by a reading or from this model",
            )


def _rain_skip(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _zones(site):
        if zone.skip_rain_mm is None:
            yield Measure(
                "rain skip",
                zone.name,
                f"{zone.name}: not after {SKIP_MM:g} mm of rain in {SKIP_DAYS} days",
                ((("zone", n, "skip_rain_mm"), SKIP_MM), (("zone", n, "skip_rain_days"), SKIP_DAYS)),
                is_free=True,
                takes="somebody reads a rain gauge",
            )


def _better_jets(site: Site, _for_sale: Sequence[ForSale]) -> Iterator[Measure]:
    for n, zone in _jets(site):
        if zone.applied < GOOD_EFFICIENCY - LEAST_GAIN:
            factor = zone.applied / GOOD_EFFICIENCY
            yield Measure(
                "better jets",
                zone.name,
                f"{zone.name}: drippers of the same flow, {_shown_minutes(zone, factor)} for as much at the roots",
                ((("zone", n, "efficiency"), GOOD_EFFICIENCY), *_minutes(n, zone, factor)),
                is_free=False,
                takes="nine tenths of what drippers give reach the roots (common practice, from memory)",
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
                f"{zone.name}: turn or shut jets that spray outside the bed, {flow_l_min:g} L/min in place of "
                f"{zone.flow_l_min:g}",
                ((("zone", n, "flow_l_min"), flow_l_min), (("zone", n, "efficiency"), aimed)),
                is_free=True,
                takes="half of what is lost falls beside the beds (ours); as much reaches the roots as before",
            )
    having = {bed.zone for bed in site.bed}
    for n, zone in enumerate(site.zone):
        if zone.name not in having and zone.minutes > 0.0:
            words = f"{zone.name}: waters no bed, leave it shut"
            yield Measure("less flow lost beside beds", zone.name, words, _minutes(n, zone, 0.0), is_free=True)


KINDS = (
    Kind("next butt size", _larger_butt, "no larger one is known"),
    Kind("second roof or downpipe", _more_roof, "there is no roof"),
    Kind("moving water", _moved_water, "there is no other store to move it from"),
    Kind("mulch", _mulch, "no planted bed is watered"),
    Kind("shade net", _shade_net, "no planted bed is watered"),
    Kind("fewer minutes", _fewer_minutes, "no zone runs for fixed minutes"),
    Kind("longer interval", _longer_interval, "no zone has a day that it could leave out"),
    Kind("watering by soil", _by_soil, "every zone goes by the soil already"),
    Kind("rain skip", _rain_skip, "every zone heeds rain already"),
    Kind("mending the leak", _mended_leak, "no store is said to leak"),
    Kind("lowering the outlet", _lower_outlet, "every outlet is low"),
    Kind("better jets", _better_jets, "every zone's jets are good"),
    Kind("less flow lost beside beds", _less_beside, "no zone is known to lose much"),
)
