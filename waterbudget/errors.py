"""What can go wrong, and who can mend it.

WaterbudgetError          any failure that is told in one line a fault, without a traceback (exit code 1)
    InputError            the user can mend it: a file, a key, an option (exit code 2)
        SiteError         the site file
        WeatherError      the weather: a file, a station, a period
        OutputError       a file or folder that cannot be written, or would be overwritten
    RangeError            a quantity outside what the physics allows
"""

from collections.abc import Iterable


class WaterbudgetError(Exception):
    """Any failure that is told in one line a fault, without a traceback."""


class InputError(WaterbudgetError):
    """Faults that the user can mend, each in one line: where, what is wrong, what would be right."""

    def __init__(self, faults: str | Iterable[str]) -> None:
        self.faults = (faults,) if isinstance(faults, str) else tuple(faults)
        super().__init__("\n".join(self.faults))


class SiteError(InputError):
    """Faults of a site file."""


class WeatherError(InputError):
    """Faults of a weather file, a station or a period."""


class OutputError(InputError):
    """A file or folder that cannot be written, or would be overwritten."""


class RangeError(WaterbudgetError, ValueError):
    """A quantity outside what the physics allows."""
