"""Zones whose longest run brings more water at once than the soil takes."""

from collections.abc import Iterator
from typing import NamedTuple

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.pulse import Pulse, pulses_of
from waterbudget.simulate.result import Result
from waterbudget.site.model import Zone

NOTABLE = 1.1  # times the longest run, from which a run is worth a line: no intake is known better


class RunsOff(NamedTuple):
    """A zone whose run of so many minutes runs off a bed, and the longest run that its soil takes.

    each_minutes, runs: what would stand in place of a day's runs, None where a day has no room for the pulses.
    """

    name: str
    minutes: float
    each_minutes: float | None
    runs: int | None
    pulse: Pulse


def runs_off(result: Result) -> Iterator[RunsOff]:
    """The zones that asked for water in the days of a run, and for more at a time than the soil takes."""
    asked_l = {row["name"]: row["asked_l"] for row in result.summary["zones"]}
    pulses = pulses_of(result.site, garden_of(result.site))
    for zone, pulse in zip(result.site.zone, pulses, strict=True):
        minutes = _longest_run(zone, result)
        if asked_l[zone.name] > 0.0 and minutes > NOTABLE * pulse.longest_minutes:
            parts = pulse.parts(minutes)
            if parts * zone.runs_per_day <= pulse.most:
                yield RunsOff(zone.name, minutes, minutes / parts, parts * zone.runs_per_day, pulse)
            else:
                yield RunsOff(zone.name, minutes, None, None, pulse)


def _longest_run(zone: Zone, result: Result) -> float:
    """Minutes of its longest run, on a hot day only where there was one."""
    tmax_c = result.weather.readings.get("tmax_c")
    if zone.hot_above_c is None or tmax_c is None or not (tmax_c >= zone.hot_above_c).any():
        return zone.minutes
    return max(zone.minutes, zone.hot_minutes or 0.0)
