"""The logged levels that a fit can use: of tanks of the site, within its weather, and enough of them."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from waterbudget.errors import InputError, Said, plain
from waterbudget.journal.book import LEVEL, Journal
from waterbudget.journal.diary import left_out
from waterbudget.journal.dip import litres_of
from waterbudget.journal.quantities import quantities_of
from waterbudget.site.model import Site
from waterbudget.weather.days import Weather

SPARE = 3  # readings beyond the number of quantities, so that the scatter can be told: common practice, no source


@dataclass(frozen=True)
class Readings:
    """Levels [L] by tank and day, in order; a day's last reading counts. notes: what was left out, and why."""

    level_l: dict[str, dict[dt.date, float]]
    notes: tuple[str, ...]

    @property
    def first_day(self) -> dt.date:
        """Day of the first reading of all."""
        return min(min(days) for days in self.level_l.values())

    @property
    def last_day(self) -> dt.date:
        """Day of the last reading of all."""
        return max(max(days) for days in self.level_l.values())

    @property
    def first_l(self) -> dict[str, float]:
        """The first reading of each tank [L]."""
        return {tank: next(iter(days.values())) for tank, days in self.level_l.items()}


def needed(site: Site, tank: str) -> int:
    """How many levels of a tank a fit needs: as many as there are quantities to tell, and some to spare."""
    return len(quantities_of(site, {tank: 0.0})) + SPARE


def usable(site: Site, weather: Weather, journal: Journal) -> Readings:
    """The readings of every tank that has enough.

    Raises InputError where no tank has, naming what is missing, or where it never rained between them.
    """
    notes: list[str] = []
    levels = _within(weather, levels_of(site, journal, notes), notes)
    if not levels:
        more = "".join(f". {note}" for note in notes)
        typed = f'holds no level that can be used; log some: waterbudget log --tank "{site.tank[0].name}=…"'
        tapped = "No dip is written down yet that can be used. Dip a store now and then, also soon after rain"
        raise InputError(Said(f"{journal.path}: {typed}{more}", f"{tapped}{more}."))
    short = [
        Said(
            f"{tank}: {len(days)} of the {needed(site, tank)} levels that a fit of it needs; log {missing} more, "
            "some of them soon after rain",
            f"{tank}: {len(days)} of the {needed(site, tank)} dips that this takes. Dip it {missing} times more, some "
            "of them soon after rain.",
        )
        for tank, days in levels.items()
        if (missing := needed(site, tank) - len(days)) > 0
    ]
    enough = {tank: days for tank, days in levels.items() if len(days) >= needed(site, tank)}
    if not enough:
        raise InputError(Said(f"{journal.path}: {line}", plain(line)) for line in short)
    readings = Readings(enough, (*notes, *(f"{line}. It is left out." for line in short)))
    _refuse_drought(site, weather, readings, journal)
    return readings


def levels_of(site: Site, journal: Journal, notes: list[str]) -> dict[str, dict[dt.date, float]]:
    """Logged levels [L] by tank and day, of the tanks that have some; what is left out is added to the notes."""
    tanks = {tank.name: tank for tank in site.tank}
    levels: dict[str, dict[dt.date, float]] = {tank: {} for tank in tanks}
    strange: dict[str, int] = {}
    for line in journal.counting:
        entry = line.entry
        if entry.kind != LEVEL:
            continue
        tank = tanks.get(entry.name)
        litres = litres_of(tank, entry) if tank else None
        if litres is None:
            strange[entry.name] = strange.get(entry.name, 0) + 1
        else:
            levels[entry.name][entry.date] = litres
    for name, number in strange.items():
        why = "the site gives it no shape as deep as these depths" if name in tanks else "the site has no such tank"
        notes.append(left_out(name, number, "level", why))
    return {tank: days for tank, days in levels.items() if days}


def _within(
    weather: Weather, levels: dict[str, dict[dt.date, float]], notes: list[str]
) -> dict[str, dict[dt.date, float]]:
    first, last = weather.first_day, weather.last_day
    kept = {}
    for tank, days in levels.items():
        inside = {day: litres for day, litres in days.items() if first <= day <= last}
        if len(inside) < len(days):
            notes.append(left_out(tank, len(days) - len(inside), "level", f"the weather is of {first} to {last}"))
        if inside:
            kept[tank] = inside
    return kept


def _refuse_drought(site: Site, weather: Weather, readings: Readings, journal: Journal) -> None:
    faults = list(_droughts(site, weather, readings))
    if faults:
        raise InputError(Said(f"{journal.path}: {fault}", f"{fault}.") for fault in faults)


def _droughts(site: Site, weather: Weather, readings: Readings) -> Iterator[str]:
    for tank, days in readings.level_l.items():
        roofs = [roof for roof in site.roof if roof.tank == tank]
        first, last = min(days), max(days)
        fallen_mm = weather.between(first, last).readings["rain_mm"][1:]  # a level is that of the evening
        if roofs and not (fallen_mm > min(roof.wetting_loss_mm for roof in roofs)).any():
            yield (
                f"{tank}: no rain ran off its roof from {first} to {last}, so its runoff coefficient cannot be told; "
                "log on until after a good rain"
            )
