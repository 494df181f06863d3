"""The recipe of the invented weather, which anybody can make again, byte for byte.

    python -m waterbudget.example.recipe             Brackenfold's summer of 2031
    python -m waterbudget.example.recipe allotment   the allotment's drier summer of 2033
    python -m waterbudget.example.recipe years       Brackenfold's twelve years before it

No place had this weather, and it is no forecast. It is made as follows.

Spells. A summer is a row of spells, written out below: hot and dry, thundery, wet, changeable. They give the story.
    The twelve years are made of fortnights, each with the usual weather of its month or a drier or wetter kind of it.
Rain. A day is wet with a chance that hangs on the day before (a first-order chain); a wet day's depth is exponential.
    One day's thunder is set by hand.
Warmth. The day maximum follows a yearly wave and the spell's departure from it, and drifts about that from day to day.
Sun. Each day has a share of its daylight (FAO-56 Eq. 34); wet days have half of what dry ones have on average.
The rest leans on the sun: a sunny day has a cool night (wide range) and dry air, a wet day damp air and some wind.

The numbers of spells and leanings are invented, of a size that is usual in the English Midlands (common practice, no
source). The seeds were picked from the first fifteen hundred, so that the spells come out as told and each garden has
its story: Brackenfold's butt fails in the hot spell, the allotment's in May.
Every chance is drawn with random.Random(seed).random(), whose sequence Python promises to keep.
"""

import argparse
import datetime as dt
import math
import sys
from collections.abc import Iterator
from random import Random
from typing import NamedTuple

ALL_COLUMNS = ("rain_mm", "tmin_c", "tmax_c", "rh_mean_pct", "wind_m_s", "sun_hours")

YEARLY_MEAN_C = 13.7  # of the day maximum
YEARLY_SWING_C = 8.0  # from the mean to the height of summer
WARMEST_DAY = 206  # of the year: 25 July
WET_DAY_COOLER_C = 1.5
LEAST_WET_DAY_MM = 0.2  # a gauge's first mark
DRIFT = 0.6  # share of yesterday's departure that is left today


class Spell(NamedTuple):
    """Days of one character, up to the next spell."""

    begins: dt.date
    wet_after_dry: float  # chance of rain after a dry day, 0 to 1
    wet_after_wet: float  # and after a wet one
    wet_day_mm: float  # mean rain of a wet day
    warmer_c: float  # day maximum against the yearly wave
    swing_c: float  # standard deviation of the day maximum about that
    sun_share: float  # mean share of the daylight on a dry day, 0 to 1
    wind_m_s: float  # mean at 2 m


class Summer(NamedTuple):
    """Spells from the first day to the last, one day of thunder, and what the file shows of them."""

    seed: int
    last: dt.date
    latitude_deg: float
    thunder: dt.date
    thunder_mm: float
    columns: tuple[str, ...]
    spells: tuple[Spell, ...]


BRACKENFOLD = Summer(
    seed=417,
    last=dt.date(2031, 9, 30),
    latitude_deg=52.9,
    thunder=dt.date(2031, 8, 13),
    thunder_mm=29.6,
    columns=ALL_COLUMNS,
    spells=(
        Spell(dt.date(2031, 5, 1), 0.35, 0.55, 4.5, -0.5, 2.0, 0.45, 2.6),  # spring, changeable
        Spell(dt.date(2031, 5, 17), 0.06, 0.20, 2.0, 1.5, 1.5, 0.60, 2.2),  # the first dry fortnight
        Spell(dt.date(2031, 6, 2), 0.30, 0.45, 4.0, 0.0, 1.8, 0.45, 2.4),
        Spell(dt.date(2031, 6, 12), 0.90, 0.90, 8.0, -2.5, 1.2, 0.35, 2.8),  # the wet week
        Spell(dt.date(2031, 6, 19), 0.25, 0.40, 4.5, 0.5, 1.8, 0.50, 2.2),
        Spell(dt.date(2031, 7, 4), 0.0, 0.0, 0.0, 4.3, 0.3, 0.78, 1.6),  # the hot dry spell
        Spell(dt.date(2031, 7, 23), 0.30, 0.50, 5.0, 0.0, 1.8, 0.45, 2.4),  # it breaks
        Spell(dt.date(2031, 8, 3), 0.05, 0.10, 2.0, 2.5, 1.5, 0.60, 1.8),  # warm and close, up to the thunder
        Spell(dt.date(2031, 8, 14), 0.30, 0.45, 4.0, 0.0, 1.8, 0.45, 2.2),
        Spell(dt.date(2031, 9, 1), 0.30, 0.50, 4.5, 0.0, 2.0, 0.42, 2.4),
    ),
)

ALLOTMENT = Summer(
    seed=310,
    last=dt.date(2033, 9, 30),
    latitude_deg=51.9,
    thunder=dt.date(2033, 7, 30),
    thunder_mm=18.2,
    columns=("rain_mm", "tmin_c", "tmax_c"),
    spells=(
        Spell(dt.date(2033, 5, 1), 0.22, 0.40, 3.5, 0.5, 2.0, 0.50, 2.6),
        Spell(dt.date(2033, 5, 22), 0.06, 0.20, 2.0, 2.0, 1.8, 0.62, 2.4),
        Spell(dt.date(2033, 6, 14), 0.20, 0.40, 3.5, 1.0, 2.0, 0.52, 2.4),
        Spell(dt.date(2033, 7, 1), 0.03, 0.10, 1.5, 3.5, 1.8, 0.68, 2.2),  # a month with next to nothing
        Spell(dt.date(2033, 7, 31), 0.22, 0.40, 4.0, 1.0, 2.0, 0.52, 2.2),
        Spell(dt.date(2033, 8, 21), 0.08, 0.25, 2.5, 2.0, 1.8, 0.58, 2.0),
        Spell(dt.date(2033, 9, 10), 0.25, 0.45, 4.0, 0.5, 2.0, 0.48, 2.4),
    ),
)

USUAL_MONTHS = (  # chance of rain after a dry and after a wet day, mean rain of a wet day, share of sun, wind
    (0.42, 0.66, 4.2, 0.22, 3.4),
    (0.38, 0.62, 3.6, 0.28, 3.3),
    (0.34, 0.58, 3.4, 0.33, 3.2),
    (0.30, 0.55, 3.6, 0.40, 2.8),
    (0.28, 0.52, 3.8, 0.44, 2.6),
    (0.27, 0.50, 4.4, 0.46, 2.4),
    (0.25, 0.48, 4.8, 0.46, 2.2),
    (0.27, 0.50, 5.2, 0.44, 2.2),
    (0.30, 0.53, 4.8, 0.40, 2.5),
    (0.36, 0.60, 4.8, 0.32, 2.8),
    (0.42, 0.65, 4.4, 0.25, 3.1),
    (0.43, 0.67, 4.4, 0.20, 3.3),
)
KINDS = (  # how often a fortnight is of a kind; wetter by this factor, warmer, sunnier by this factor
    (0.25, 0.25, 1.5, 1.3),  # dry
    (0.50, 1.00, 0.0, 1.0),  # usual
    (0.25, 1.50, -0.8, 0.8),  # wet
)
KEEPS_KIND = 0.5  # chance that a fortnight is of the kind of the one before
FORTNIGHT = dt.timedelta(days=14)


def _fortnights(seed: int, first: dt.date, last: dt.date) -> tuple[Spell, ...]:
    """Spells from the first day to the last, fortnight after fortnight."""
    chance = Random(seed)  # noqa: S311 -- weather, no secret
    spells, begins, kind = [], first, KINDS[1]
    while begins <= last:
        if chance.random() >= KEEPS_KIND:
            drawn = chance.random()
            kind = next(k for n, k in enumerate(KINDS) if drawn < sum(often for often, *_ in KINDS[: n + 1]))
        _, wetter, warmer_c, sunnier = kind
        after_dry, after_wet, wet_day_mm, sun, wind_m_s = USUAL_MONTHS[begins.month - 1]
        spells.append(
            Spell(begins, after_dry * wetter, after_wet * wetter, wet_day_mm, warmer_c, 2.2, sun * sunnier, wind_m_s)
        )
        begins += FORTNIGHT
    return tuple(spells)


YEARS = Summer(
    seed=58,
    last=dt.date(2030, 12, 31),
    latitude_deg=52.9,
    thunder=dt.date(2024, 7, 28),
    thunder_mm=34.4,
    columns=ALL_COLUMNS,
    spells=_fortnights(58, dt.date(2019, 1, 1), dt.date(2030, 12, 31)),
)

SUMMERS = {"brackenfold": BRACKENFOLD, "allotment": ALLOTMENT, "years": YEARS}


def weather_csv(summer: Summer) -> bytes:
    """The weather file of a summer: a header, then one row a day, every number to one decimal."""
    rows = [",".join(("date", *summer.columns))]
    for date, day in days(summer):
        rows.append(",".join((date.isoformat(), *(f"{day[name]:.1f}" for name in summer.columns))))
    return ("\n".join(rows) + "\n").encode()


def days(summer: Summer) -> Iterator[tuple[dt.date, dict[str, float]]]:
    """Each date of a summer and its weather, unrounded, under ALL_COLUMNS."""
    chance = Random(summer.seed)  # noqa: S311 -- weather, no secret
    wet, drift = False, 0.0
    ends = [*(spell.begins for spell in summer.spells[1:]), summer.last + dt.timedelta(days=1)]
    for spell, end in zip(summer.spells, ends, strict=True):
        for ahead in range((end - spell.begins).days):
            date = spell.begins + dt.timedelta(days=ahead)
            wet = chance.random() < (spell.wet_after_wet if wet else spell.wet_after_dry)
            rain_mm = _wet_day_mm(spell, chance) if wet else 0.0
            if date == summer.thunder:
                wet, rain_mm = True, summer.thunder_mm
            drift = DRIFT * drift + math.sqrt(1.0 - DRIFT**2) * _bell(chance)
            tmax_c = _wave_c(date) + spell.warmer_c + spell.swing_c * drift - (WET_DAY_COOLER_C if wet else 0.0)
            sun = _sun_share(spell, chance, wet=wet)
            yield (
                date,
                {
                    "rain_mm": rain_mm,
                    "tmin_c": tmax_c - 5.0 - 8.0 * sun + 0.6 * _bell(chance),
                    "tmax_c": tmax_c,
                    "rh_mean_pct": 88.0 - 30.0 * sun + 1.5 * _bell(chance) + (4.0 if wet else 0.0),
                    "wind_m_s": spell.wind_m_s * (0.6 + 0.8 * chance.random()) + (0.5 if wet else 0.0),
                    "sun_hours": sun * _daylight_h(date, summer.latitude_deg),
                },
            )


def _wet_day_mm(spell: Spell, chance: Random) -> float:
    return LEAST_WET_DAY_MM - (spell.wet_day_mm - LEAST_WET_DAY_MM) * math.log(1.0 - chance.random())


def _sun_share(spell: Spell, chance: Random, *, wet: bool) -> float:
    """Share of the daylight [-], about its mean and inside 0 to 1."""
    mean = 0.5 * spell.sun_share if wet else spell.sun_share
    return mean + 0.9 * min(mean, 1.0 - mean) * (2.0 * chance.random() - 1.0)


def _bell(chance: Random) -> float:
    """A bell-shaped number of mean 0 and standard deviation 1, never beyond 3: the sum of three even ones."""
    return 2.0 * (chance.random() + chance.random() + chance.random() - 1.5)


def _wave_c(date: dt.date) -> float:
    turn = 2.0 * math.pi * (date.timetuple().tm_yday - WARMEST_DAY) / 365.0
    return YEARLY_MEAN_C + YEARLY_SWING_C * math.cos(turn)


def _daylight_h(date: dt.date, latitude_deg: float) -> float:
    """Hours from sunrise to sunset. Source: FAO-56 Eq. 24, 25 and 34."""
    declination = 0.409 * math.sin(2.0 * math.pi / 365.0 * date.timetuple().tm_yday - 1.39)
    sunset = math.acos(-math.tan(math.radians(latitude_deg)) * math.tan(declination))
    return 24.0 / math.pi * sunset


def main() -> None:
    """Print the weather file of a summer."""
    parser = argparse.ArgumentParser(prog="python -m waterbudget.example.recipe", description=main.__doc__)
    parser.add_argument("summer", nargs="?", choices=SUMMERS, default="brackenfold")
    summer = SUMMERS[parser.parse_args().summer]
    sys.stdout.buffer.write(weather_csv(summer))  # as bytes, so that no system turns the line ends


if __name__ == "__main__":
    main()
