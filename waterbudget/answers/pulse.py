"""Runs in pulses, in words."""

from waterbudget.answers.english import count
from waterbudget.review.run_off import RunsOff


def apart(pause_h: int) -> str:
    """How long after one pulse the next begins: an hour apart, 2 hours apart."""
    return "an hour apart" if pause_h == 1 else f"{pause_h} hours apart"


def minutes_told(minutes: float) -> str:
    """Minutes as a clock is set: 1 minute, 2.5 minutes."""
    return f"{minutes:g} minute{'' if minutes == 1.0 else 's'}"


def in_runs(minutes: float, parts: int) -> str:
    """So many runs of so many minutes each: 14 minutes, or 3 runs of 5 minutes."""
    return minutes_told(minutes) if parts == 1 else f"{count(parts, 'run')} of {minutes_told(minutes)}"


def in_pulses(minutes: float, parts: int, pause_h: int) -> str:
    """So many runs of so many minutes each: 14 minutes, or 3 runs of 5 minutes an hour apart."""
    return in_runs(minutes, parts) if parts == 1 else f"{in_runs(minutes, parts)} {apart(pause_h)}"


def run_off_sentence(one: RunsOff) -> str:
    """That a run brings more at once than the soil takes, and what to do."""
    pulse = one.pulse
    soil = f"its {pulse.intake.soil.lower()} takes about {pulse.intake.intake_mm_h:g}" if pulse.intake else ""
    told = (
        f"{one.name} gives {pulse.bed} {pulse.rate_mm_h:.0f} mm an hour, and {soil}: of {minutes_told(one.minutes)} at "
        "once some runs off."
    )
    if one.each_minutes is None or one.runs is None:
        return f"{told} Water less at a time, more often, or with finer jets."
    each = float(f"{one.each_minutes:.2g}")
    return (
        f"{told} Water in {in_pulses(each, one.runs, pulse.pause_h)} (minutes = {each:g}, runs_per_day = {one.runs})."
    )
