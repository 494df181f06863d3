"""The minutes of a clock as lines to paste into a site file."""

import calendar
import json
from collections.abc import Iterator

from waterbudget.plan.minutes import Minutes, ZoneMinutes
from waterbudget.plan.settings import Setting


def is_to_paste(found: Minutes, one: ZoneMinutes) -> bool:
    """Whether one setting for the whole season betters the present plan, and the zone waters nothing else."""
    beds = [bed for bed in found.opened.site.bed if bed.zone == one.zone.name]
    return len(beds) == len(one.beds) and one.once_balance.wrong_l < one.present.wrong_l


def paste(found: Minutes) -> tuple[str, ...]:
    """The tables of the zones that one setting betters."""
    return tuple(line for one in found.zones if is_to_paste(found, one) for line in toml_of(one, one.once))


def toml_of(one: ZoneMinutes, setting: Setting) -> Iterator[str]:
    """The keys that go into a zone's table in place of those of the same name."""
    zone = one.zone
    yield "[[zone]]"
    yield f"name = {json.dumps(zone.name, ensure_ascii=False)}"
    yield f"minutes = {setting.minutes:g}"
    if setting.hot_minutes is not None:
        yield f"hot_minutes = {setting.hot_minutes:g}"
    if not setting.minutes:
        return
    if setting.runs != zone.runs_per_day:
        yield f"runs_per_day = {setting.runs}"
    if setting.every_days is not None:
        yield f"every_days = {setting.every_days}" + ("  # leave weekdays out" if zone.weekdays is not None else "")
    if zone.skip_rain_mm is None and one.skip_rain_mm is not None:
        yield f"skip_rain_mm = {one.skip_rain_mm:g}"
        yield f"skip_rain_days = {one.skip_rain_days}"


def monthly(found: Minutes) -> Iterator[str]:
    """The tables of the zones for each month, under its name."""
    if found.bed is not None:
        return
    for number in dict.fromkeys(part.month for part in found.usual.parts):
        yield f"# {calendar.month_name[number]}"
        for one in found.zones:
            for month in one.months:
                if month.month == number:
                    yield from toml_of(one, month.setting)


# ---- The balances, and what they rest on -----------------------------------------------------------------------------
