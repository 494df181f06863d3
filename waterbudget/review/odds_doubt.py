"""How far the odds hang on two choices: the recorded summers again with each other choice."""

from typing import NamedTuple

from waterbudget.odds.chances import not_above
from waterbudget.odds.outcomes import Odds, odds_of
from waterbudget.odds.study import OddsFinding
from waterbudget.review.doubt import choices
from waterbudget.site.model import Site


class Summers(NamedTuple):
    """Recorded summers in which the stored rain runs short, and the days that it lasts at most in half of all."""

    short_years: int
    half_days: int


class OddsDoubt(NamedTuple):
    """The recorded summers as reckoned, with the other crop coefficient, and with the other release rule.

    coefficient, release: that are in the site file. other_coefficient: None as of `with_other_coefficient`.
    """

    years: int
    now: Summers
    coefficient: str
    other_coefficient: Summers | None
    release: str
    other_release: Summers


def find_odds_doubt(found: OddsFinding) -> OddsDoubt:
    """What the recorded summers would be with each other choice."""
    return OddsDoubt(
        len(found.recorded.days_lasted),
        _summers(found.recorded),
        *choices(found.site, lambda other: _again(found, other)),
    )


def _again(found: OddsFinding, site: Site) -> Summers:
    return _summers(odds_of(site, found.recorded.years, found.recorded.start_l))


def _summers(odds: Odds) -> Summers:
    return Summers(int(odds.runs_short.sum()), int(not_above(odds.days_lasted, 1, 2)))
