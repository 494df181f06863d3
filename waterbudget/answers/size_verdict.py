"""What size is enough, in words: up to when a size lasts, where more litres stop helping, and what limits."""

import datetime as dt
import math
from collections.abc import Iterator

import numpy as np

from waterbudget.answers.english import as_given, count, in_words, litres, percent, percent_below, span, weekly_work
from waterbudget.answers.summers import DRAWN
from waterbudget.review.size import SizeFinding
from waterbudget.sizing.sizes import DRY_YEAR, Outcomes
from waterbudget.sizing.study import Sizing

ROUNDING = 1e-9  # of a store's litres


def title(found: SizeFinding) -> str:
    """The garden, the store and the days."""
    return f"{found.study.site.site.name}, what size for {found.study.tank.name}: {years_of(found)}"


def years_of(found: SizeFinding) -> str:
    """The days that count, in a few words."""
    stretch = found.study.stretch
    years = len(stretch.names)
    if found.drawn is not None:
        return f"{count(years, 'year')} drawn {DRAWN[found.drawn.method]}"
    if not stretch.whole:
        return span(found.opened.weather.first_day, found.opened.weather.last_day)
    return stretch.names[0] if years == 1 else f"{years} years, {stretch.names[0]} to {stretch.names[-1]}"


def per(study: Sizing) -> str:
    """What a mean is of."""
    return "a year" if study.stretch.whole else "a season"


def verdict(found: SizeFinding) -> Iterator[str]:
    """What is enough and what it is now; how long each lasts; where more litres stop helping, and what limits."""
    study = found.study
    limits = [] if is_plainly_the_tank(study) else [limit(study)]
    yield f"{enough(study)} {now(study)} {how_long(study)}"
    yield " ".join([little_more(study), *limits])


def is_plainly_the_tank(study: Sizing) -> bool:
    """Whether only the size of the store stands in the way, as one would think."""
    return study.limit == "tank" and study.enough is not None


def enough(study: Sizing) -> str:
    """The smallest size that meets the target, or that none does."""
    sizes, target = study.sizes, study.sweep.target
    wanted = f"{as_given(target)} of what {study.tank.name} is asked for"
    if study.enough is None:
        most = f"{litres(sizes.capacity_l[best(sizes)])} L, meets {percent_below(sizes.met[best(sizes)], target)}"
        return f"No size up to {litres(sizes.capacity_l[-1])} L meets {wanted}: the best, {most}."
    size_l = litres(sizes.capacity_l[study.enough])
    if study.enough == 0:
        return f"Even {size_l} L, the smallest size tried, meets {wanted}.{_by_number(study, study.enough)}"
    return f"{size_l} L is the smallest size tried that meets {wanted}.{_by_number(study, study.enough)}"


def _by_number(study: Sizing, size: int) -> str:
    """How many of the joined stores hold a size; nothing where there is but one store."""
    one = study.tank
    if one.joined == 1:
        return ""
    stores = math.ceil(float(study.sizes.capacity_l[size]) / one.capacity_l - ROUNDING)
    return f" That is {stores} joined stores of {litres(one.capacity_l)} L each."


def best(sizes: Outcomes) -> int:
    """The smallest of the sizes that meet most, by its number."""
    return int(np.argmax(sizes.met))


def just_below(study: Sizing) -> Iterator[str]:
    """How near the next smaller size comes."""
    if study.enough:
        smaller_l, met = study.sizes.capacity_l[study.enough - 1], study.sizes.met[study.enough - 1]
        yield f"{litres(smaller_l)} L, the next smaller size tried, meets {percent_below(met, study.sweep.target)}."


def now(study: Sizing) -> str:
    """What the store as it is meets."""
    return f"As it is, with {litres(study.tank.all_l)} L, it meets {percent(study.now.met[0])}."


# ---- How long --------------------------------------------------------------------------------------------------------


def how_long(study: Sizing) -> str:
    """Up to when the store as it is lasts, and the size that is enough."""
    lasts = [_size_lasts(study, study.now, years=True)]
    if study.enough is not None and study.sizes.capacity_l[study.enough] != study.now.capacity_l[0]:
        lasts.append(_size_lasts(study, study.sizes.take(np.array([study.enough])), years=False))
    return f"{'; '.join(lasts)}."


def _size_lasts(study: Sizing, one: Outcomes, *, years: bool) -> str:
    """Up to when a size lasts in a middling and in a dry year; years: whether to say in which, where there are two."""
    told = f"{litres(one.capacity_l[0])} L lasts {_lasts(study, one.median_lasted[0])}"
    if len(study.stretch.names) == 1:
        return told
    dry = _lasts(study, one.dry_lasted[0])
    return f"{told} in a middling year, and {dry} in {dry_year(study)}" if years else f"{told}, and {dry}"


def dry_year(study: Sizing) -> str:
    """The dry year that a size is told for: one in ten, or the driest where there are fewer years."""
    return "a 1-in-10 dry year" if len(study.stretch.names) >= DRY_YEAR else "the driest"


def _lasts(study: Sizing, days: float) -> str:
    if days >= study.stretch.year_days.min():
        return f"all {'year' if study.stretch.whole else 'season'}"
    return f"to {in_words(last_day(study, days))}" if days else "not even a day"


def last_day(study: Sizing, days: float) -> dt.date:
    """The last of so many days from the first one that counts; the day before it for none."""
    return dt.date.fromisoformat(str(study.stretch.begins + np.timedelta64(int(days) - 1, "D")))


def lasts_to(study: Sizing, days: float) -> dt.date | None:
    """The same, None where the days go on to the end of the year."""
    return None if days >= study.stretch.year_days.min() else last_day(study, days)


# ---- More litres -----------------------------------------------------------------------------------------------------


def little_more(study: Sizing) -> str:
    """Where another 100 L stop being worth it."""
    worth = f"{litres(study.sweep.worth_l)} L of mains {per(study)}"
    if study.knee is None:
        return f"Up to {litres(study.sizes.capacity_l[-1])} L, each extra 100 L still saves {worth} or more."
    at = litres(study.sizes.capacity_l[study.knee])
    if study.knee == 0:
        return f"Even above {at} L, the smallest size tried, each extra 100 L saves little: under {worth}."
    return f"Above {at} L, each extra 100 L saves little: under {worth}."


def limit(study: Sizing) -> str:
    """Whether the store or the roof stands in the way."""
    comes_l, asked_l = study.sizes.a_year("inflow_l")[-1], study.sizes.a_year("asked_l")[-1]
    brings = f"{litres(comes_l)} L {per(study)} run into it and {litres(asked_l)} L are asked for"
    if study.limit == "roof" and study.enough is not None:
        return f"Only the first day's filling makes that enough; year after year the roof limits: {brings}."
    if study.limit == "roof":
        return f"The roof limits, not the tank: no tank can help that far, as {brings}."
    if study.enough is None:
        return f"The tank limits, not the roof: enough rain comes, but at another time: {brings}."
    return f"Below {litres(study.sizes.capacity_l[study.enough])} L the tank limits, not the roof: {brings}."


def working(study: Sizing) -> Iterator[str]:
    """What the watering takes of your time; nothing where it takes none."""
    if not study.sizes.work_minutes.any():
        return
    mean = "On the mean of the year" if study.stretch.whole else "On the mean of these days"
    of_now, of_all = study.now.week_minutes[0], study.sizes.week_minutes
    alike = round(of_all.min()) == round(of_all.max())
    other = ", whatever the size" if alike else f" now, {of_all.min():,.0f} to {of_all.max():,.0f} with the sizes tried"
    yield f"{mean} the watering takes {weekly_work(of_now)}{other}."
