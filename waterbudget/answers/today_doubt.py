"""How far today's verdict hangs on when a day's rain counts, in a line."""

from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.doubt import if_rain
from waterbudget.answers.english import count
from waterbudget.change.doubt import Doubt
from waterbudget.change.now import Now


class OtherDays(TypedDict):
    """What another choice would make of the days left; null for longer than was looked."""

    lasts_dry_days: int | None


class TodayDoubtFacts(TypedDict):
    """The other release rule."""

    other_release: OtherDays


def today_doubt_facts(doubt: Doubt | None) -> TodayDoubtFacts | None:
    """The same as plain values."""
    return None if doubt is None else {"other_release": {"lasts_dry_days": doubt.lasts}}


def how_sure(found: Now, doubt: Doubt | None) -> Iterator[str]:
    """What the other release rule would make of the days left, in a line; nothing where they are the same."""
    if doubt is None or doubt.lasts == found.lasts:
        return
    rule = if_rain(doubt.release)
    if found.lasts is None or doubt.lasts is None:
        other = f"more than {found.looked} days" if doubt.lasts is None else count(doubt.lasts, "day")
        yield f"If it stays dry it may be {other}, {rule}."
        return
    low, high = sorted((found.lasts, doubt.lasts))
    yield f"If it stays dry it may be {low:,} to {count(high, 'day')}: {doubt.lasts:,} {rule}."
