"""The whole question of odds: a garden in every recorded summer and, where asked for, in drawn ones."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from waterbudget.odds.outcomes import Odds, odds_of
from waterbudget.odds.rules import Rules, rules_of
from waterbudget.odds.summers import RECORDS, Wanted, drawn_summers, recorded_summers
from waterbudget.plan.unaided import Unaided, unaided, yields_alone
from waterbudget.simulate.fetched import spot_of
from waterbudget.simulate.opened import Opened
from waterbudget.simulate.run import sky_of_years
from waterbudget.site.model import Site
from waterbudget.units import Array


@dataclass(frozen=True, eq=False)
class OddsFinding:
    """A garden in many summers; drawn is None where recorded summers answer, rules where they were not asked for.

    unaided: the thirstiest recorded summer on stored rain alone; None where none is thirsty, or rules tell of all.
    alone: yield at risk under the present plan in every recorded summer on stored rain alone, (year,), beside it.
    """

    opened: Opened
    wanted: Wanted
    recorded: Odds
    drawn: Odds | None
    rules: Rules | None = None
    unaided: Unaided | None = None
    alone: Array | None = None

    @property
    def site(self) -> Site:
        """The garden."""
        return self.opened.site

    @property
    def asked(self) -> Odds:
        """The summers that were asked for."""
        return self.drawn or self.recorded

    @property
    def is_changed(self) -> bool:
        """Whether the weather of the years is another than the recorded."""
        return self.wanted.warmer_c != 0.0 or self.wanted.rain_factor != 1.0

    @property
    def first(self) -> dt.date:
        """First day of the season, in the year of the first record."""
        return dt.date.fromisoformat(str(self.recorded.years.dates[0, 0]))

    @property
    def last(self) -> dt.date:
        """Last day of the season, in the year of the first record or the next."""
        return dt.date.fromisoformat(str(self.recorded.years.dates[-1, 0]))

    @property
    def last_recorded(self) -> dt.date:
        """Last day of the last recorded season."""
        return dt.date.fromisoformat(str(self.recorded.years.dates[-1, -1]))


def find_odds(
    opened: Opened,
    wanted: Wanted | None = None,
    start_l: Mapping[str, float] | None = None,
    *,
    keep_levels: bool = True,
    with_rules: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> OddsFinding:
    """Run the site through the recorded summers and, where asked for, the drawn ones.

    start_l: litres in a store on the first day, by its name, instead of the site's. keep_levels: for the picture.
    with_rules: try simple watering rules in the recorded summers too, which takes a while; progress is told how much is
    done.
    Raises InputError for what the user can mend.
    """
    site, weather, wanted = opened.site, opened.weather, wanted or Wanted()
    place = site if site.weather.file is not None else spot_of(opened.path, site)
    summers = recorded_summers(site, weather, wanted, place)
    recorded = odds_of(site, summers, start_l, keep_levels=keep_levels)
    drawn = None
    if wanted.method != RECORDS:
        drawn = odds_of(site, drawn_summers(site, weather, wanted, place), start_l, keep_levels=keep_levels)
    rules = rules_of(site, summers, start_l, progress) if with_rules else None
    found = OddsFinding(opened, wanted, recorded, drawn, rules)
    return found if with_rules else _alone(found)


def _alone(found: OddsFinding) -> OddsFinding:
    """With what stored rain alone leaves at risk, and the best there can be in the summer that needs most mains water.

    The best in all of them takes too long for who does not ask for it.
    """
    site, recorded = found.site, found.recorded
    some = recorded.worst_first()[:1]
    if not len(some):
        return found
    dates, sky = recorded.years.dates, sky_of_years(site, recorded.years)
    thirstiest = sky.each(lambda rows: rows[:, some])
    best = unaided(site, dates[:, some], thirstiest, recorded.start_l)
    return (
        found if best is None else replace(found, unaided=best, alone=yields_alone(site, dates, sky, recorded.start_l))
    )
