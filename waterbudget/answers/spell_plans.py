"""The plans of a hot spell in words: what each is called, what it changes, saves and costs, and its lines to paste."""

import datetime as dt
import json
from collections.abc import Iterator
from typing import NamedTuple

from waterbudget.answers.english import capital, count, dated, listed, litres, percent, weekdays
from waterbudget.answers.pulse import in_pulses, minutes_told
from waterbudget.schedule.pulse import Pulse, pulses_of
from waterbudget.site.model import Zone
from waterbudget.spell.plans import Option, Plans, is_hot, toml_of
from waterbudget.spell.study import Named, Study
from waterbudget.spell.trial import Trial, day_of

PRESENT = "present"
PLANS = {"present": PRESENT, "work": "least work", "water": "least water", "harm": "least harm"}  # by a word for each
SHORT = {name: short for short, name in PLANS.items()} | {PRESENT: "now"}
WITHOUT_MAINS = "without mains"
MANY = 3  # best plans, of which one can wait
NOTICED = 0.5  # minutes a week, or litres, below which two plans are alike


class Group(NamedTuple):
    """A plan with all the names it goes by; among: what all the best have in common, such as without mains."""

    names: tuple[str, ...]
    named: Named
    among: str

    @property
    def bests(self) -> str:
        """What it is best at, such as least work and water; empty for a present plan that others better."""
        shorts = [SHORT[name] for name in self.names if name != PRESENT]
        return f"least {listed(shorts)}" if shorts else ""

    @property
    def label(self) -> str:
        """Its names in a row, such as least work and water."""
        return ", ".join(part for part in (PRESENT * (PRESENT in self.names), self.bests) if part)

    @property
    def title(self) -> str:
        """The same in full, such as least work and water without mains."""
        return f"{self.label} {self.among if self.bests else ''}".strip()

    @property
    def key(self) -> str:
        """Its names in a word each, such as work_water."""
        return "_".join(SHORT[name] for name in self.names)


def groups(found: Study) -> list[Group]:
    """The present plan, then the best ones; one that is best at several things stands there once.

    Those that take more of a bed's yield than its owner accepts come last.
    """
    beyond = found.found.beyond
    numbers = sorted(dict.fromkeys(one.number for one in found.named), key=lambda one: one != 0 and bool(beyond[one]))
    return [
        Group(tuple(one.name for one in same), same[0], among(found))
        for same in ([one for one in found.named if one.number == number] for number in numbers)
    ]


def among(found: Study) -> str:
    """What the best plans have in common: they take no mains water, at least where a store can do without."""
    if not found.found.doomed:
        return WITHOUT_MAINS
    return f"with {listed(found.saved)} lasting" if found.saved else ""


def else_title(found: Study) -> str:
    """What the best plans are beside the present one, and that this one has mains water where they have none."""
    has_mains = among(found) == WITHOUT_MAINS and found.found.trial.from_mains_l[0] > NOTICED
    return f"What else you could do {among(found)}{' (now is with it)' if has_mains else ''}".strip()


def called(found: Study, name: str) -> str:
    """A plan by one of its names, in full."""
    return name if name == PRESENT else f"{name} {among(found)}".strip()


# ---- What a plan changes, saves and costs ----------------------------------------------------------------------------


def told_first(found: Study) -> list[str]:
    """The best plans in words, what each saves and costs against the present one; of three or more one can wait."""
    return [_choice(found, group) for group in _bests(found) if not _can_wait(found, group)]


def told_later(found: Study) -> list[str]:
    """The best plan that can wait."""
    return [_choice(found, group) for group in _bests(found) if _can_wait(found, group)]


def _bests(found: Study) -> list[Group]:
    return [group for group in groups(found) if group.named.number != 0] if found.site.zone else []


def _can_wait(found: Study, group: Group) -> bool:
    return group.names == (PLANS["water"],) and len(_bests(found)) >= MANY


def _choice(found: Study, group: Group) -> str:
    plan, cost = in_plain_words(found, group.named.plan), against_now(found, group)
    return f"{capital(group.bests)}: {plan}. {cost}{too_much(found, group.named.number)}"


def too_much(found: Study, number: int) -> str:
    """The beds that a plan takes more from than they may lose, after what it costs; empty where there are none."""
    at_risk = found.found.trial.at_risk[number] if found.found.beyond[number] else []
    names = [
        f"{bed.name} {percent(share)}, which may lose {percent(bed.largest_loss)}"
        for bed, share in zip(found.site.bed, at_risk, strict=False)
        if bed.largest_loss is not None and share > bed.largest_loss
    ]
    return f" Too much for {listed(names)}." if names else ""


def in_plain_words(found: Study, plan: Plans) -> str:
    """A plan as people say it: North line 20 minutes every 2 days; South line as now."""
    longest = pulses_of(found.site, found.eve.garden)
    told = zip(found.site.zone, plan, longest, strict=True)
    return "; ".join(f"{zone.name} {_said(zone, option, pulse)}" for zone, option, pulse in told)


def _said(zone: Zone, option: Option | None, pulse: Pulse) -> str:
    if option is None:
        return "as now"
    if option.minutes == 0.0:
        return "not at all"
    if option.every_days is None:
        rhythm = weekdays(zone.weekdays or ())
    else:
        rhythm = "every day" if option.every_days == 1 else f"every {option.every_days} days"
    if option.pulses > 1:
        minutes, runs = in_pulses(option.minutes, zone.runs_per_day * option.pulses, pulse.pause_h), ","
    else:
        minutes = minutes_told(option.minutes)
        runs = f", {zone.runs_per_day} times" if zone.runs_per_day > 1 else ""
    if option.trigger == "dry":
        return f"{minutes}{runs} {rhythm}, only when a bed is dry"
    if option.trigger == "refill":
        return f"what the soil lacks, at most {minutes}{runs.rstrip(',')}, {rhythm}"
    return f"{minutes}{runs} {rhythm}"


def against_now(found: Study, group: Group, trial: Trial | None = None) -> str:
    """What a plan saves and what it takes more than the present one; without mains that of mains water goes unsaid.

    trial: where the plan was tried, by default with the others.
    """
    now, number = found.found.trial, group.named.number
    trial = trial or now
    work = float(trial.week_minutes[number] - now.week_minutes[0])
    mains_l = float(trial.needed_l[number] - now.needed_l[0])
    changes = [(work, f"{count(round(abs(work)), 'minute')} a week")]
    if group.among != WITHOUT_MAINS:
        changes.append((mains_l, f"{litres(abs(mains_l))} L from the mains"))
    saves = [told for change, told in changes if change <= -NOTICED]
    costs = [f"{told} more" for change, told in changes if change >= NOTICED]
    harm, present = float(trial.harm[number]), float(now.harm[0])
    parts = [f"saves {listed(saves)}"] if saves else []
    parts += [f"takes {listed(costs)}"] if costs else []
    than = "as now" if percent(harm) == percent(present) else f"now {percent(present)}"
    return f"{capital('; '.join([*parts, f'{percent(harm)} of the yield at risk, {than}']))}."


# ---- Its lines to paste ----------------------------------------------------------------------------------------------


def to_paste(found: Study) -> Iterator[str]:
    """The lines for the site file of each of the best plans, an empty one between two plans."""
    for place, group in enumerate(group for group in groups(found) if group.named.number != 0):
        yield from [""] if place else []
        yield f"# {group.title}"
        yield from toml_lines(found, group.named.plan)


def toml_lines(found: Study, plan: Plans) -> list[str]:
    """The keys of a plan in TOML: a table for each zone that it changes."""
    first, _ = ends(found)
    lines = []
    for zone, option in zip(found.site.zone, plan, strict=True):
        if option is not None:
            keys = toml_of(zone, option, first, is_hot=is_hot(zone, found.eve.sky))
            lines += ["[[zone]]", f"name = {json.dumps(zone.name, ensure_ascii=False)}", *keys]
    return lines


# ---- Its days --------------------------------------------------------------------------------------------------------


def dates(found: Study) -> list[dt.date]:
    """The days of the spell."""
    return [day.item() for day in found.eve.season.dates[:, 0]]


def ends(found: Study) -> tuple[dt.date, dt.date]:
    """First and last day of the spell."""
    every = dates(found)
    return every[0], every[-1]


def day(found: Study, number: float) -> dt.date | None:
    """A day of the spell counted from 0, None for never."""
    told = day_of(found.eve, number)
    return None if told is None else dt.date.fromisoformat(told)


def said_day(found: Study, date: dt.date) -> str:
    """A day of the spell, with its year where the spell touches more than one."""
    return dated(date, *ends(found))
