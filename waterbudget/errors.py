"""What can go wrong, and who can mend it.

WaterbudgetError          any failure that is told in one line a fault, without a traceback (exit code 1)
    InputError            the user can mend it: a file, a key, an option (exit code 2)
        SiteError         the site file
        WeatherError      the weather: a file, a station, a period
        OutputError       a file or folder that cannot be written, or would be overwritten
    RangeError            a quantity outside what the physics allows

What a message repeats of what somebody wrote is `shown`, so that it is neither long nor obeyed by the terminal. What a
command says and a page says otherwise is `Said`.
"""

import json
import re
from collections.abc import Iterable
from typing import Self

SHOWN_LETTERS, LONGEST_FAULT = 80, 1000
# Letters that a terminal obeys in place of showing them, such as those that move the cursor or turn the direction of
# writing; joiners stay, which names need in some scripts. Source: Unicode, general categories Cc, Zl, Zp and Cs, and
# the property Bidi_Control.
OBEYED = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


class Said(str):
    """A sentence for who types commands, such as one that names an option.

    plain: the same for who taps on a page, "" for nothing.
    """

    __slots__ = ("plain",)
    plain: str

    def __new__(cls, typed: str, tapped: str) -> Self:
        """As it is typed, and as it is tapped."""
        made = super().__new__(cls, typed)
        made.plain = tapped
        return made

    def __reduce__(self) -> tuple[type[Self], tuple[str, str]]:
        """Both, when it goes from one process to another."""
        return type(self), (str(self), self.plain)


def plain(sentence: str) -> str:
    """A sentence as a page says it."""
    return sentence.plain if isinstance(sentence, Said) else sentence


def headed(words: str, sentence: str) -> str:
    """A sentence behind some words, as it is typed and as it is tapped."""
    if isinstance(sentence, Said):
        return Said(f"{words}{sentence}", f"{words}{sentence.plain}")
    return f"{words}{sentence}"


class WaterbudgetError(Exception):
    """Any failure that is told in one line a fault, without a traceback."""


class InputError(WaterbudgetError):
    """Faults that the user can mend, each in one line of visible letters: where, what is wrong, what would be right."""

    def __init__(self, faults: str | Iterable[str]) -> None:
        lines = (faults,) if isinstance(faults, str) else faults
        self.faults = tuple(_one_line(line) for line in lines)
        super().__init__("\n".join(self.faults))

    @property
    def plain(self) -> tuple[str, ...]:
        """The same as a page says them."""
        return tuple(filter(None, map(plain, self.faults)))


class SiteError(InputError):
    """Faults of a site file; places: the key of each, such as ("bed", 1, "area_m2"), where they are known."""

    def __init__(self, faults: str | Iterable[str], places: Iterable[tuple[str | int, ...]] = ()) -> None:
        super().__init__(faults)
        self.places = tuple(places)


class WeatherError(InputError):
    """Faults of a weather file, a station or a period."""


class OutputError(InputError):
    """A file or folder that cannot be written, or would be overwritten."""


class RangeError(WaterbudgetError, ValueError):
    """A quantity outside what the physics allows."""


def _one_line(fault: str) -> str:
    typed = cut(visible(fault), LONGEST_FAULT)
    return Said(typed, cut(visible(fault.plain), LONGEST_FAULT)) if isinstance(fault, Said) else typed


def visible(text: str, keep: str = "") -> str:
    """A text with the letters that a terminal would obey written out as JSON writes them; keep: but not these."""

    def written_out(match: re.Match[str]) -> str:
        return match[0] if match[0] in keep else json.dumps(match[0])[1:-1]

    return OBEYED.sub(written_out, text)


def cut(text: str, letters: int = SHOWN_LETTERS) -> str:
    """The begin of a text that is too long."""
    return text if len(text) <= letters else f"{text[: letters - 1]}…"


def shown(value: object) -> str:
    """A value as a message repeats it: in quotes, and cut where it is long."""
    return f'"{cut(str(value))}"'
