"""What today rests on: how old levels and weather are, how far off it may be, and what is assumed."""

from collections.abc import Iterator
from typing import assert_never

import numpy as np

from waterbudget.answers.english import count, in_words, listed, litres
from waterbudget.answers.near import ago
from waterbudget.change.ahead import Basis, LastDays, Normal, OtherYears, UsualTemperatures
from waterbudget.change.known import DAY
from waterbudget.change.now import Now, Store
from waterbudget.change.outlook import IN_WORDS_MM

OFF_L = 0.05  # of the capacity: a reading that misses the reckoned level by more is worth a line
OLD_DAYS = 7  # from which a reading is worth a line


def ages(found: Now) -> Iterator[str]:
    """How old levels and weather are, where that matters."""
    known = found.known
    for store in found.stores:
        if store.read is not None and (known.today - store.read.day).days > OLD_DAYS:
            yield f"{store.name} was last dipped {ago(store.read.day, known.today)}: dip it again."
    if known.weather is None:
        beds = f", and the beds were as the site file says on {in_words(known.first, year=True)}" if found.beds else ""
        yield f"No weather of the last year is known: the usual ET0 stands in, with no rain but {_since(found)}{beds}."
    elif known.bridged:
        yield (
            f"The weather is known to {in_words(known.last, year=True)}, {ago(known.last, known.today)}. Of the "
            f"{count(known.bridged, 'day')} since then only {_since(found)} counts, beside the usual ET0, so the beds "
            "may be moister than told here."
        )


def _since(found: Now) -> str:
    read = int(found.ahead.gauged.sum())
    told = f"the rain of your gauge ({count(read, 'reading')})"
    return f"{told} or the forecast" if found.ahead.forecast is not None else told


def assumptions(found: Now) -> Iterator[str]:
    """What the figures rest on."""
    known, ahead = found.known, found.ahead
    never = [store.name for store in found.stores if store.read is None]
    if never:
        were, levels, them = ("was", "its level is", "it") if len(never) == 1 else ("were", "their levels are", "them")
        yield (
            f"{listed(never)} {were} never dipped, so {levels} reckoned since {in_words(known.first, year=True)}. "
            f"Dip {them}: waterbudget log."
        )
    for store in found.stores:
        if store.read is not None:
            yield reading(store)
    weather = "no weather" if known.weather is None else f"{known.weather.source}, to {in_words(known.last)}"
    yield f"Since then watered {watered(found)}, on this weather: {weather}."
    if any(store.read is not None and store.read.day == known.today for store in found.stores):
        yield "A level that you logged today counts as read after all else that you logged today."
    if ahead.forecast is not None:
        days = count((ahead.forecast.last - ahead.forecast.first).days + 1, "day")
        yield f"Forecast, no measurement: {ahead.source}, {days}; a forecast can be wrong."
        words = listed([f"{word} {mm:g} mm" for word, mm in IN_WORDS_MM.items()])
        yield f"Rain in words in a forecast file stands for so much a day: {words} (ours)."
    after = "after it" if ahead.forecast is not None else "ahead"
    yield f"ET0 of the days {after}: {usual_et0(ahead.normal)}; and no rain is assumed."
    rain = usual_rain(ahead.normal)
    if rain is not None:
        yield (f"The usual rain is that of {rain}, on as many wet days as are usual, from the last known day on.")
    yield (
        "Waiting pays where forecast rain of three days brings the beds what today's watering would, and none of them "
        "uses up its readily available water before (FAO-56 Eq. 84)."
    )
    yield "A bed is thirsty on a day that it begins with more than its readily available water used up (FAO-56 Eq. 84)."


def usual_et0(normal: Normal) -> str:
    """What the ET0 of days ahead rests on."""
    return "; else ".join(map(_basis, normal.bases))


def _basis(one: Basis) -> str:
    match one:
        case OtherYears(years):
            return f"the mean of the dry days at this time of the year in {count(years, 'other year')}"
        case UsualTemperatures():
            return "by Hargreaves from the usual temperatures"
        case LastDays(days, which, last_dry, by_sun):
            told = {
                "dry": f"the mean of the dry ones among the last {days} known days",
                "last dry": f"that of {last_dry}, the last dry day known",
                "wet": f"the mean of the last {days} known days, none of which was dry",
            }
            return f"{told[which]}{', in proportion to the sun' if by_sun else ''}, as no other year is known"
        case _:
            assert_never(one)


def usual_rain(normal: Normal) -> str | None:
    """Of which days the usual rain is the mean; None where none is known."""
    if normal.rain_mm is None:
        return None
    return "this time of the year" if normal.rain_days is None else f"the {normal.rain_days:,} days known"


def watered(found: Now) -> str:
    """How the garden was watered since the oldest of the last readings, or all the time where a store has none."""
    first = found.known.first
    read = [first - DAY if store.read is None else store.read.day for store in found.stores]
    today = (found.known.today - first).days
    since = slice(max((min(read) - first).days + 1, 0), today + 1)
    runs = int(np.count_nonzero(~np.isnan(found.actions.minutes[since])))
    let_in_l = float(found.actions.mains_added_l[since].sum())
    but_for = [
        *([count(runs, "logged run")] if runs else []),
        *([f"{litres(let_in_l)} L of mains water that you let in"] if let_in_l else []),
    ]
    return f"as planned{' but for ' if but_for else ''}{listed(but_for)}"


def reading(store: Store) -> str:
    """What was read last, and how far the reckoning was off."""
    read = store.read
    if read is None:
        raise AssertionError("only for a store with a reading")
    dipped = f"{store.name}: you dipped {litres(read.level_l)} L on {in_words(read.day, year=True)}"
    if read.reckoned_l is None or abs(read.reckoned_l - read.level_l) <= OFF_L * store.capacity_l:
        return f"{dipped}, and the reckoning goes on from there."
    return f"{dipped}; I expected {litres(read.reckoned_l)} L. Using yours (waterbudget fit looks for the reason)."
