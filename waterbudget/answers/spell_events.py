"""The days of a plan in a hot spell for a calendar: when to water, and when a store runs short."""

from collections.abc import Iterator

from waterbudget.answers.english import count, litres
from waterbudget.answers.events import Event
from waterbudget.answers.spell_plans import called, dates
from waterbudget.simulate.books import SHORT_L
from waterbudget.spell.plans import spell_minutes
from waterbudget.spell.study import Named, Study


def events(found: Study, name: str) -> list[Event]:
    """The watering days of a plan by one of its names, and the day on which each store runs short."""
    one = next(one for one in found.named if one.name == name)
    return [*_watering_days(found, one), *_shortages(found, one)]


def _watering_days(found: Study, one: Named) -> Iterator[Event]:
    for column, (zone, option) in enumerate(zip(found.site.zone, one.plan, strict=True)):
        minutes = spell_minutes(zone, found.eve.sky) if option is None else option.minutes
        at_most = "at most " if (zone.plan if option is None else option.trigger) == "refill" else ""
        times = zone.runs_per_day * (1 if option is None else option.pulses)
        runs = f", {count(times, 'time')}" if times > 1 else ""
        for day, asked_l in zip(dates(found), one.course.asked_l[:, column], strict=True):
            if asked_l > SHORT_L:
                told = f"{litres(asked_l)} L (plan in a hot spell: {called(found, one.name)})"
                yield Event(day, f"Water {zone.name}: {at_most}{minutes:g} min{runs}", told)


def _shortages(found: Study, one: Named) -> Iterator[Event]:
    for column, tank in enumerate(found.site.tank):
        short_l = one.course.tank_short_l[:, column]
        day = next((day for day, short in zip(dates(found), short_l, strict=True) if short > SHORT_L), None)
        if day is not None:
            told = f"{litres(short_l.sum())} L are lacking to the end of the spell (plan: {called(found, one.name)})"
            yield Event(day, f"{tank.name} runs short", told)
