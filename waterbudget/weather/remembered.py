"""What pyet has reckoned once, kept in the user's cache folder: pyet and what it brings along take long to load.

Kept under a digest of all that it follows from, so nothing in it can be out of date; whatever cannot be read or written
is reckoned anew.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from waterbudget.errors import OutputError
from waterbudget.output import cache_folder, write_files
from waterbudget.units import Array, DateArray
from waterbudget.weather import et0 as ladder
from waterbudget.weather.days import frame_of
from waterbudget.weather.et0 import AS_GIVEN, Et0, extraterrestrial_mj_m2, reference_et0

MOST_KEPT = 64  # files; the oldest go


def kept_et0(
    days: DateArray,
    readings: Mapping[str, Array],
    latitude_deg: float | None,
    elevation_m: float | None,
    wind_height_m: float,
) -> tuple[Array, Et0]:
    """The ET0 of `reference_et0` [mm], (day,), and how it was found. days, readings: (day,). Raises as that does."""
    if "et0_mm" in readings:
        return readings["et0_mm"], AS_GIVEN

    def reckon() -> dict[str, Any]:
        et0_mm, et0 = reference_et0(frame_of(days, readings), latitude_deg, elevation_m, wind_height_m)
        return {"et0_mm": et0_mm.tolist(), "how": [et0.method, et0.assumed, et0.likely_error]}

    kept = _kept([days, *readings.items(), latitude_deg, elevation_m, wind_height_m], reckon)
    method, assumed, likely_error = kept["how"]
    return np.array(kept["et0_mm"], np.float64), Et0(method, tuple(assumed), likely_error)


def kept_sun_mj_m2(days: DateArray, latitude_deg: float) -> Array:
    """The sun's radiation above the air [MJ/m2 a day], (day,), which hangs on the day of the year alone."""

    def reckon() -> Any:  # noqa: ANN401 - numpy does not tell
        import pandas as pd

        return extraterrestrial_mj_m2(pd.date_range("2024-01-01", "2024-12-31"), latitude_deg).tolist()

    of_day: Array = np.array(_kept(["sun", latitude_deg], reckon), np.float64)
    on_days: Array = of_day[(days - days.astype("M8[Y]").astype("M8[D]")).astype(np.int64)]
    return on_days


def _kept(given: list[Any], reckon: Callable[[], Any]) -> Any:  # noqa: ANN401 - whatever JSON holds
    path = cache_folder() / "reckoned" / f"{_digest(given)}.json"
    with suppress(OSError, ValueError):
        return json.loads(path.read_bytes())
    found = reckon()
    with suppress(OutputError, OSError):
        write_files({path: json.dumps(found).encode()}, overwrite=True)
        oldest_first = sorted(path.parent.glob("*.json"), key=lambda one: one.stat().st_mtime)
        for one in oldest_first[:-MOST_KEPT]:
            one.unlink(missing_ok=True)
    return found


def _digest(given: list[Any]) -> str:
    """Of all values and arrays, each told apart from the next, and of the programs that reckon with them."""
    summed = hashlib.sha256(repr(_programs()).encode())
    for one in given:
        for part in one if isinstance(one, tuple) else (one,):
            told = part.tobytes() if isinstance(part, np.ndarray) else repr(part).encode()
            summed.update(b"%d:%s" % (len(told), told))
    return summed.hexdigest()


@cache
def _programs() -> tuple[bytes, int]:
    """Our own ladder of ET0 as it is, and when the pyet that it calls was installed."""
    spec = find_spec("pyet")
    installed_ns = Path(spec.origin).parent.stat().st_mtime_ns if spec and spec.origin else 0
    return Path(ladder.__file__).read_bytes(), installed_ns
