"""Units as people write them, and the one that a column without any must be in."""

import re
from collections.abc import Iterable
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from waterbudget.tables.read import read_rows
from waterbudget.units import Array

KINDS = {  # what a column holds, by its first letters
    "rain": "rain",
    "et0": "rain",
    "tmin": "temperature",
    "tmax": "temperature",
    "tmean": "temperature",
    "rh": "humidity",
    "wind": "wind",
    "solar": "radiation",
    "sun": "sun",
}
OURS = {"rain": "mm", "temperature": "°C", "humidity": "%", "wind": "m/s", "radiation": "MJ/m²", "sun": "h"}
RATES = {"mm a day", "W/m²"}
SHORT = 2  # letters of a unit that is told from a word only in brackets or at the end
KEPT = 4096  # texts; a table has few different ones
BRACKETS = re.compile(r"[(\[{<]([^)\]}>]*)[)\]}>]")


class Unit(NamedTuple):
    """A unit: value in ours = factor x value + offset. kind: what is measured in it; shown: as a reader sees it."""

    kind: str
    factor: float
    offset: float
    shown: str

    @property
    def is_rate(self) -> bool:
        """Whether an hour is told as if it went on for a day, so that the mean of the hours is that of the day."""
        return self.shown in RATES

    def in_ours(self, values: Array) -> Array:
        """Values in the unit of the weather file."""
        return values * self.factor + self.offset if self.offset or self.factor != 1.0 else values


def kind_of(quantity: str) -> str:
    """What kind of unit a column of the weather file has: rain_mm is rain."""
    return KINDS[quantity.split("_", maxsplit=1)[0]]


@cache
def _units() -> dict[str, list[Unit]]:
    """The units by how they are written, the longest first."""
    found: dict[str, list[Unit]] = {}
    for row in sorted(read_rows("units"), key=lambda row: -len(row["written"])):
        unit = Unit(row["kind"], float(row["factor"]), float(row["offset"]), row["shown"])
        found.setdefault(row["written"], []).append(unit)
    return found


def units_of(kind: str) -> dict[str, Unit]:
    """All units of a kind, by how a reader sees them, ours first."""
    found = {one.shown: one for alike in _units().values() for one in alike if one.kind == kind}
    ours = _named(kind, OURS[kind])
    return {ours.shown: ours, **dict(sorted(found.items()))}


@lru_cache(maxsize=KEPT)
def unit(written: str, kind: str | None = None) -> Unit | None:
    """The unit that a text is, and of this kind if one is named; None where it is none."""
    text = re.sub(r"\s+", " ", written.strip().casefold().replace("²", "2").replace("⁻", "-").strip(".:"))
    for form in (written.strip().casefold(), text, text.replace(" ", ""), text.rstrip("s")):
        for one in _units().get(form, []):
            if kind in {None, one.kind}:
                return one
    return None


def unit_in(heading: str, kind: str | None = None) -> Unit | None:
    """The unit that a heading names: in brackets, behind a slash or comma, or as its last word."""
    for inside in BRACKETS.findall(heading):
        for part in (inside, *re.split(r"[,;]\s*|\s+", inside)):
            if found := unit(part, kind):
                return found
    bare = BRACKETS.sub(" ", heading).strip()
    words = re.split(r"[\s_]+", bare)
    for number in range(max(0, len(words) - 4), len(words)):
        for joint in (" ", "/", ""):
            if (number or len(words) == 1) and (found := unit(joint.join(words[number:]).strip("-/,; "), kind)):
                return found
    for part in re.split(r"\s+in\s+|,\s*|;\s*|\s+-\s+|\s/\s*|/(?=\D+$)", bare)[1:]:
        if found := unit(part, kind):
            return found
    return next((found for word in words if len(word) > SHORT and (found := unit(word, kind))), None)


def without_unit(heading: str) -> str:
    """A heading without a unit at its end."""
    words = heading.replace(",", " ").replace("_", " ").split()
    tail = next((number for number in range(1, len(words)) if unit(" ".join(words[number:]))), len(words))
    return " ".join(words[:tail])


def guessed(kind: str, values: Array, *, is_imperial: bool, is_tenths: bool) -> Unit:
    """The unit that readings of a kind, without NaN, must be in; where several are possible, ours.

    is_imperial, is_tenths: what the temperatures beside them are in. The limits are common practice, no source.
    """
    if not len(values):
        return _named(kind, OURS[kind])
    low, mean, high = float(values.min()), float(values.mean()), float(values.max())
    name = OURS[kind]
    if kind == "temperature":
        tenths = "0.1 °c" if _is_whole(values) else "k"
        name = tenths if high > 130.0 or low < -70.0 else "°f" if high > 60.0 or mean > 38.0 else name  # noqa: PLR2004
    elif kind == "rain":
        name = "0.1 mm" if is_tenths and _is_whole(values) else "in" if is_imperial and high < 12.0 else name  # noqa: PLR2004
    elif kind == "humidity":
        name = "fraction" if high <= 1.0 else name
    elif kind == "wind":
        name = "mph" if is_imperial else "km/h" if mean > 9.0 else name  # noqa: PLR2004
    elif kind == "sun":
        name = "s" if high > 1440.0 else "min" if high > 24.0 else name  # noqa: PLR2004
    elif kind == "radiation":
        name = "j/cm2" if high > 600.0 else "w/m2" if high > 45.0 else name  # noqa: PLR2004
    return _named(kind, name)


def _named(kind: str, written: str) -> Unit:
    found = unit(written, kind)
    if found is None:
        raise AssertionError(f"{written} is no unit of {kind}")
    return found


def _is_whole(values: Iterable[float]) -> bool:
    return bool(np.all(np.asarray(values) % 1.0 == 0.0))
