"""What was done and measured in a garden beside its levels, day by day: runs, mains water that was let in, and rain."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from waterbudget.journal.book import GAUGE, MAINS, RAN, Journal
from waterbudget.schedule.actions import Actions
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.days import Weather

ByDay = dict[dt.date, float]
LET_IN = "none"  # of a tank's mains: the model brings none by itself, so what is logged was let in by hand


@dataclass(frozen=True)
class Diary:
    """What the lines of a journal that count say of each day, but for the levels; several of a day add up.

    ran: minutes, by zone and day; 0 for a zone that was kept shut. mains_l: mains water [L], by tank and day. rain_mm:
    of the gauge, by day. notes: what was left out, and why.
    """

    ran: Mapping[str, ByDay]
    mains_l: Mapping[str, ByDay]
    rain_mm: ByDay
    notes: tuple[str, ...]

    def until(self, last: dt.date) -> "Diary":
        """What was known on a day: without later ones."""

        def kept(days: ByDay) -> ByDay:
            return {day: value for day, value in days.items() if day <= last}

        return replace(
            self,
            ran={name: kept(days) for name, days in self.ran.items()},
            mains_l={name: kept(days) for name, days in self.mains_l.items()},
            rain_mm=kept(self.rain_mm),
        )


def diary_of(site: Site, journal: Journal) -> Diary:
    """The diary of a site; lines of zones and tanks that it does not have are left out and told.

    Mains water without a tank belongs to the only one there is; where there are several nobody knows which, and it is
    left out.
    """
    ran: dict[str, ByDay] = {zone.name: {} for zone in site.zone}
    mains_l: dict[str, ByDay] = {tank.name: {} for tank in site.tank}
    rain_mm: ByDay = {}
    strange: Counter[tuple[str, str]] = Counter()
    for line in journal.counting:
        entry = line.entry
        if entry.kind == GAUGE:
            _add(rain_mm, entry.date, entry.value)
        elif entry.kind in {RAN, MAINS}:
            things = ran if entry.kind == RAN else mains_l
            name = site.tank[0].name if entry.kind == MAINS and not entry.name and len(site.tank) == 1 else entry.name
            if name in things:
                _add(things[name], entry.date, entry.value)
            else:
                strange[entry.kind, name] += 1
    return Diary(ran, mains_l, rain_mm, tuple(_told(kind, name, lines) for (kind, name), lines in strange.items()))


def actions_of(site: Site, diary: Diary, first: dt.date, last: dt.date) -> Actions:
    """What was done from the first day to the last, both included.

    A logged run stands in place of the plan of its zone on that day; a zone without one follows its plan. Mains water
    of a tank with mains "none" was let into it. That of a tank with mains "float" came through the valve, and that of a
    tank with mains "direct" from a hose to the beds, past the store: the model opens both by itself, so logged litres
    of theirs are not let in a second time.
    """
    mains_l = {tank.name: diary.mains_l[tank.name] if tank.mains == LET_IN else {} for tank in site.tank}
    names = [*(zone.name for zone in site.zone), *(draw.name for draw in site.draw)]
    return Actions(
        minutes=_by_day([diary.ran.get(name, {}) for name in names], first, last, np.nan),
        mains_added_l=_by_day(list(mains_l.values()), first, last, 0.0),
    )


def gauged(weather: Weather, diary: Diary) -> Weather:
    """The weather with the rain of the gauge on the days on which it was read, which its source tells.

    A reading is the rain of its day, as in the file of [weather] gauge; it goes before that file, too.
    """
    place = {day: number for number, day in enumerate(weather.days.tolist())}
    inside_mm = {place[day]: mm for day, mm in diary.rain_mm.items() if day in place}
    if not inside_mm:
        return weather
    rain_mm = weather.readings["rain_mm"].copy()
    rain_mm[list(inside_mm)] = list(inside_mm.values())
    days = f"{len(inside_mm)} day{'' if len(inside_mm) == 1 else 's'}"
    read = weather.with_readings(rain_mm=rain_mm)
    return replace(read, source=f"{weather.source}, with the rain of the logged gauge on {days}")


def left_out(name: str, lines: int, what: str, why: str) -> str:
    """A note on logged lines that do not count."""
    return f"{name}: {lines} logged {what}{' is' if lines == 1 else 's are'} left out, as {why}."


def _add(days: ByDay, day: dt.date, value: float) -> None:
    days[day] = days.get(day, 0.0) + value


def _by_day(items: Sequence[ByDay], first: dt.date, last: dt.date, otherwise: float) -> Array:
    """What is told of items on the days from first to last, (day, item)."""
    days = [first + dt.timedelta(number) for number in range((last - first).days + 1)]
    return np.array([[item.get(day, otherwise) for item in items] for day in days])


def _told(kind: str, name: str, lines: int) -> str:
    if kind == RAN:
        return left_out(name, lines, "run", "the site has no such zone")
    if name:
        return left_out(f"Mains water of {name}", lines, "line", "the site has no such tank")
    return left_out("Mains water", lines, "line", "no tank is named, of several; log it again as TANK=LITRES")
