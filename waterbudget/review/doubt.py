"""How far the verdict hangs on two choices: how the surface of the soil is followed, and when the day's rain counts."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, TypeVar

from waterbudget.errors import SiteError
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.run import sky_of, started
from waterbudget.site.model import Site
from waterbudget.site.release import with_other_release
from waterbudget.units import WEEK_DAYS
from waterbudget.weather.days import Weather

KEEP = Keep(sums=("whole.needed_l",), firsts=("whole.fails",))
WHOLE_BED = 0.99  # a run that wets so much of its beds wets all
OFTEN_DAYS = 2  # daily or every second day


OtherT = TypeVar("OtherT")


class Outcome(NamedTuple):
    """Days that the stored rain lasts, and mains water that full watering needs [L]."""

    days_lasted: int
    needed_l: float


class Doubt(NamedTuple):
    """A garden as it is reckoned, with the other crop coefficient, and with the other release rule.

    coefficient, release: that are in the site file. other_coefficient: None where no zone keeps its soil wet, or the
    crops have no numbers for it.
    """

    now: Outcome
    coefficient: str
    other_coefficient: Outcome | None
    release: str
    other_release: Outcome


def find_doubt(
    site: Site,
    weather: Weather,
    start_l: Mapping[str, float] | None = None,
    summary: Mapping[str, Any] | None = None,
) -> Doubt:
    """What the verdict would be with each other choice; start_l: as of a run. summary: of that run."""
    now = _outcome(site, weather, start_l) if summary is None else _told(summary)
    return Doubt(now, *choices(site, lambda other: _outcome(other, weather, start_l)))


def choices(site: Site, again: Callable[[Site], OtherT]) -> tuple[str, OtherT | None, str, OtherT]:
    """The crop coefficient of a site and what the other gives, the release rule and what the other gives.

    again: what a site gives. The other coefficient is None as of `with_other_coefficient`.
    """
    other = with_other_coefficient(site)
    return (
        site.model.crop_coefficient,
        None if other is None else again(other),
        site.model.release,
        again(with_other_release(site)),
    )


def with_other_coefficient(site: Site) -> Site | None:
    """The site with the other crop coefficient; None where it hardly counts or the crops lack its numbers."""
    if not keeps_soil_wet(site):
        return None
    try:
        return site.changed({"model.crop_coefficient": "single" if site.model.crop_coefficient == "dual" else "dual"})
    except SiteError:  # a Kcb by hand tells no Kc
        return None


def keeps_soil_wet(site: Site) -> bool:
    """Whether any zone wets the whole of its beds daily or every second day."""
    watered = {bed.zone for bed in site.bed}
    return any(
        zone.wetted >= WHOLE_BED
        and zone.name in watered
        and (zone.every_days if zone.weekdays is None else WEEK_DAYS / len(zone.weekdays)) <= OFTEN_DAYS
        for zone in site.zone
    )


def _told(summary: Mapping[str, Any]) -> Outcome:
    return Outcome(summary["days_lasted"], summary["mains_l"] + summary["unmet_l"])


def _outcome(site: Site, weather: Weather, start_l: Mapping[str, float] | None) -> Outcome:
    garden = started(garden_of(site), start_l or {})
    few, season = of_soil_triggered_beds(garden, season_of(site, weather.date_column))
    _, kept = drive(few, season, sky_of(site, weather), keep=KEEP)
    return Outcome(int(kept.days_lasted[0]), float(kept.sums["whole.needed_l"][0]))
