"""What stands in each bed on each day: crop coefficient, height, roots, and the days on which plantings change."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from waterbudget.physics.crop import climate_kc, cover_fraction, exposed_kc_mid, height, kc_curve, root_depth
from waterbudget.schedule.calendar import Dates, Days, day_in_planting
from waterbudget.site.growth import Growth, growth_of
from waterbudget.site.model import Bed, MonthDay, Planting, Site
from waterbudget.units import Array, BoolArray, IntArray

BARE_P = 0.5  # the depletion fraction of bare soil
EXPOSED_KCB_LESS = 0.05  # of a basal coefficient beside a single one (FAO-56 Table 12 against 17)
DAY = np.timedelta64(1, "D")


class Season(NamedTuple):
    """What calendar and site alone make of the beds, arrays (day, bed, lane) but for dates (day, lane).

    begun: the day number of the first day of the run, (lane,). kc: crop coefficient, basal with the dual coefficient.
    p: the table's value. handed_over: what the depletion of a bed is multiplied by as plantings come and go. climate,
    cover (the share of the ground that leaves cover): with the dual coefficient only.
    """

    dates: Dates
    begun: IntArray
    kc: Array
    p: Array
    zr_m: Array
    planted: BoolArray
    handed_over: Array
    climate: Array | None
    cover: Array | None

    @property
    def lanes(self) -> int:
        """The longest lane axis."""
        lanes: int = max(part.shape[-1] for part in self if part is not None)
        return lanes

    def of(self, some: slice) -> "Season":
        """The season of some of its days, which remember that others went before."""
        return self._of_beds(lambda part: part[some])._replace(dates=self.dates[some])

    def of_beds(self, some: Sequence[int]) -> "Season":
        """The season of some of its beds."""
        return self._of_beds(lambda part: part[:, list(some)])

    def each(self, change: Callable[[Any], Any]) -> "Season":
        """The season with every array changed alike, such as laid out for more lanes."""
        return self._of_beds(change)._replace(dates=change(self.dates), begun=change(self.begun))

    def _of_beds(self, change: Callable[[Any], Any]) -> "Season":
        beds = (None if part is None else change(part) for part in self[2:])
        return Season._make([self.dates, self.begun, *beds])


class Standing(NamedTuple):
    """What stands in one bed, (day, lane): K of all plantings, p, roots, height, share of the ground, their first days.

    begun: (planting, day, lane), the day number on which each began, 0 where it does not stand.
    """

    k: Array
    p: Array
    zr_m: Array
    height_m: Array
    ground_share: Array
    begun: IntArray


def season_of(site: Site, dates: Dates, begun: np.datetime64 | None = None) -> Season:
    """The season of every bed of a site on consecutive days, (day, lane).

    begun: the first day of the run where it began before the first of these; nothing is handed over on it. Lanes whose
    days are the same days of the year, or the same dates where a planting stands but once, are reckoned once.
    """
    calendars, lane = _calendars(site, dates)
    grown = _grown(site, calendars, begun)
    if len(lane) > 1:
        grown = grown._of_beds(lambda part: part[:, :, lane])  # noqa: SLF001 - its own
    first = dates[0] if begun is None else np.array([begun], dtype="M8[D]")
    return grown._replace(dates=dates, begun=first.astype("M8[D]").astype(np.int64))


def _calendars(site: Site, dates: Dates) -> tuple[Dates, IntArray]:
    """The columns of dates that differ for what grows, and which of them each lane has."""
    if dates.shape[1] == 1:
        return dates, np.zeros(1, dtype=np.int64)
    once = any(not isinstance(planting.planted, MonthDay) for bed in site.bed for planting in bed.planting)
    told_by = dates.astype(np.int64) if once else Days.of(dates).month_day
    found: dict[bytes, int] = {}
    lane = np.array([found.setdefault(told_by[:, n].tobytes(), len(found)) for n in range(dates.shape[1])])
    columns = [int(np.argmax(lane == number)) for number in range(len(found))]
    return dates[:, columns], lane if len(found) > 1 else np.zeros(1, dtype=np.int64)


def _grown(site: Site, dates: Dates, begun: np.datetime64 | None) -> Season:
    """The season of some calendars."""
    dual = site.model.crop_coefficient == "dual"
    with_eve = np.concatenate([dates[:1] - DAY, dates])
    days = Days.of(with_eve)
    beds = [_standing(site, bed, days, dual=dual) for bed in site.bed]

    def stacked(parts: Sequence[Array]) -> Array:
        return np.stack(parts, axis=1) if parts else np.zeros((len(dates), 0, 1))

    k = stacked([_k_of_ground(site, one, dual=dual)[1:] for one in beds])
    planted = stacked([one.ground_share[1:] for one in beds]) > 0.0
    height_m = stacked([one.height_m[1:] for one in beds])
    climate = climate_kc(site.site.mean_wind_m_s, site.site.mean_rh_min_pct, height_m) if dual else None
    return Season(
        dates=dates,
        begun=days.number[1],
        kc=k,
        p=stacked([one.p[1:] for one in beds]),
        zr_m=stacked([one.zr_m[1:] for one in beds]),
        planted=planted,
        handed_over=stacked(
            [_handed_over(bed, one, goes_on=begun is not None) for bed, one in zip(site.bed, beds, strict=True)]
        ),
        climate=climate,
        cover=None if climate is None else np.where(planted, cover_fraction(k, climate, height_m), 0.0),
    )


def _k_of_ground(site: Site, standing: Standing, *, dual: bool) -> Array:
    """The coefficient of the whole bed: its basal one, or with the bare ground beside what grows."""
    share = standing.ground_share
    return share * standing.k if dual else share * standing.k + (1.0 - share) * site.model.kc_bare


def _standing(site: Site, bed: Bed, days: Days, *, dual: bool) -> Standing:
    """What stands in a bed; side by side K and p are means by height and share of the ground (FAO-56 Eq. 104).

    Roots and height are those of the deepest and the tallest: ours.
    """
    limit_m = np.inf if bed.root_limit_m is None else bed.root_limit_m
    none = np.zeros(days.number.shape)
    bare_m = np.full(days.number.shape, min(site.model.root_start_m, limit_m))
    if not bed.planting:
        begun = np.zeros((0, *days.number.shape), dtype=np.int64)
        return Standing(none, none + BARE_P, bare_m, none, none, begun)
    rows = [_planting(site, bed, planting, days, dual=dual) for planting in bed.planting]
    k, p, zr_m, height_m, share, begun = (np.stack(parts) for parts in zip(*rows, strict=True))
    stands = begun != 0
    weight = share * height_m
    weight = np.where(weight.any(axis=0), weight, share)
    alone = stands.sum(axis=0) <= 1
    whole = np.where(alone, 1.0, weight.sum(axis=0))
    k, p = (np.where(alone, part.sum(axis=0), (weight * part).sum(axis=0) / whole) for part in (k, p))
    planted = stands.any(axis=0)
    return Standing(
        k=k,
        p=np.where(planted, p, BARE_P),
        zr_m=np.where(planted, np.minimum(zr_m.max(axis=0), limit_m), bare_m),
        height_m=height_m.max(axis=0),
        ground_share=share.sum(axis=0),
        begun=begun,
    )


def _planting(site: Site, bed: Bed, planting: Planting, days: Days, *, dual: bool) -> tuple[Array, ...]:
    """K, p, roots, height, share of the ground and first day of a planting, 0 where it does not stand, (day, lane)."""
    growth = growth_of(planting, site)
    began, day = day_in_planting(days, *_begins(planting))
    stands = (day >= 1.0) & (day <= sum(growth.days))
    curve = _curve(site, bed, growth, dual=dual)
    k = kc_curve(day, np.array(growth.days), curve)
    grown = float(sum(growth.days[:2]))
    height_m = height(day, k, curve[1], grown, growth.height_m)
    if growth.perennial:
        height_m = np.full(day.shape, growth.height_m)
    zr_m = root_depth(day, *np.array([grown, growth.root_start_m, growth.root_full_m]))
    parts = (k, np.full(day.shape, growth.p), zr_m, height_m, np.full(day.shape, growth.ground_share))
    return *(np.where(stands, part, 0.0) for part in parts), np.where(stands, began, 0)


def day_of_planting(planting: Planting, dates: Dates) -> Array:
    """Which day of a planting each date is, 1 on its first, (day, lane); it may stand no more, or not yet."""
    return day_in_planting(Days.of(dates), *_begins(planting))[1]


def _begins(planting: Planting) -> tuple[int | None, int | None]:
    """Month times 100 plus day of a planting of every year, or the day number of one that stands but once."""
    when = planting.planted
    if isinstance(when, MonthDay):
        return when.month * 100 + when.day, None
    return None, int(np.datetime64(when, "D").astype(np.int64))


def _curve(site: Site, bed: Bed, growth: Growth, *, dual: bool) -> Array:
    """K ini, mid and end as the climate and the bed's place make them."""
    if not dual:
        ini, mid, end = growth.kc
    else:
        ini, mid, end = growth.kcb
        more = float(climate_kc(site.site.mean_wind_m_s, site.site.mean_rh_min_pct, np.array(growth.height_m)))
        mid, end = (k + more if k >= CLIMATE_FROM_KC else k for k in (mid, end))
    if bed.exposed:
        stand = exposed_kc_mid(growth.height_m, bed.width_m or growth.height_m)
        mid = max(mid, stand - EXPOSED_KCB_LESS if dual else stand)
    return np.array([ini, mid, end])


CLIMATE_FROM_KC = 0.45  # a smaller mid or end coefficient is not adjusted for the climate (FAO-56 Eq. 70)


def _handed_over(bed: Bed, standing: Standing, *, goes_on: bool) -> Array:
    """What the depletion is multiplied by on each day, TAW over yesterday's where a planting came or went.

    goes_on: whether the run began before the first day; nothing is handed over on the first day of all.
    """
    changes = np.any(standing.begun[:, 1:] != standing.begun[:, :-1], axis=0)
    changes[0] &= goes_on
    deeper = np.ones(changes.shape) if bed.pots is not None else standing.zr_m[1:] / standing.zr_m[:-1]
    return np.where(changes, deeper, 1.0)
