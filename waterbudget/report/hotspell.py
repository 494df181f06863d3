"""The screen of a hot spell: does the present plan last, what wilts first, and which plans do last, at which price."""

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from waterbudget.answers.events import Event
from waterbudget.answers.pulse import in_pulses, minutes_told
from waterbudget.output import refuse_outputs, write_files
from waterbudget.render.calendar import calendar_bytes, refuse_calendar
from waterbudget.report.answer import Answer
from waterbudget.report.words import (
    capital,
    count,
    dated,
    in_words,
    listed,
    litres,
    percent,
    screen,
    section,
    span,
    table,
    weekdays,
    weekly_work,
    wrapped,
)
from waterbudget.schedule.pulse import Pulse, pulses_of
from waterbudget.simulate.keep import NEVER
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.pages import SHORT_L
from waterbudget.spell.hot import SWING_C, Spell
from waterbudget.spell.plans import DRY_AT, Option, Plans, is_hot, spell_minutes, toml_of
from waterbudget.spell.search import ALLOWED
from waterbudget.spell.study import Named, Study, study
from waterbudget.spell.trial import day_of
from waterbudget.tables.cautions import cautions

if TYPE_CHECKING:
    from waterbudget.site.model import Zone

PRESENT = "present"
CALENDARS = {"present": PRESENT, "work": "least work", "water": "least water", "harm": "least harm"}
SHORT = {name: short for short, name in CALENDARS.items()} | {PRESENT: "now"}
KEPT = 0.05  # of the yield at risk at most, where a plan keeps the crops: ours
CAUTIONS = (("legionella", "temperature"), ("edible crops", "use"))
YIELD = (
    "Yield at risk is Ky (1 - ETa/ETc) of each bed over these days (FAO-56 Eq. 90), as if all of its season went so: "
    "it tells plans and beds apart and is no forecast of the harvest. Its mean is over watered beds, by area."
)
TRIED = (
    f"Plans tried: minutes, every so many days, and a timer, a soil that is found dry ({DRY_AT:g} of RAW gone), or "
    "what it lacks, for each zone; with several zones the best are sought step by step, so others may come close. "
    f"Least work and least water may put {100 * ALLOWED:.0f} points more of the yield at risk than least harm does; "
    "all three are sought among plans that take no mains water from a store that can do without."
)
MAINS_CAUTIONS = (("mains top-up", "type"), ("hosepipe ban", "mains"))


@dataclass(frozen=True, eq=False)
class Findings:
    """What the screen, the picture and the calendar are made of."""

    opened: Opened
    study: Study

    def __str__(self) -> str:
        """The screen."""
        return hotspell_screen(self)


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


def answer_hotspell(
    path: Path | None,
    spell: Spell,
    start_l: Mapping[str, float],
    plot: Path | None,
    ics: Path | None,
    ics_plan: str,
    *,
    overwrite: bool,
    as_json: bool,
) -> Answer:
    """Lay a hot spell over a site; plot: picture file; ics: calendar file of the plan that ics_plan names.

    Raises InputError for what the user can mend.
    """
    refuse_outputs(None, plot, overwrite=overwrite)
    refuse_calendar(ics, overwrite=overwrite)
    findings = find_hotspell(open_site(path, every_year=True), spell, start_l)
    contents = {}
    if plot is not None:
        from waterbudget.report.hotspell_figure import hotspell_picture

        contents[plot] = hotspell_picture(findings, plot.suffix)
    if ics is not None:
        contents[ics] = calendar(findings, CALENDARS[ics_plan])
    write_files(contents, overwrite=overwrite)
    text = hotspell_json(findings) if as_json else hotspell_screen(findings)
    return Answer(text, (*findings.opened.notes, *(f"Written: {file}" for file in contents)))


def find_hotspell(opened: Opened, spell: Spell | None = None, start_l: Mapping[str, float] | None = None) -> Findings:
    """Lay the spell over the site's weather and search for plans.

    start_l: litres in a store on the first day of the spell, by its name, instead of what the weather leaves.
    Raises InputError for what the user can mend.
    """
    return Findings(opened, study(opened.site, opened.weather, spell or Spell(), start_l))


def groups(found: Study) -> list[Group]:
    """The present plan, then the best ones; one that is best at several things stands there once."""
    numbers = list(dict.fromkeys(one.number for one in found.named))
    return [
        Group(tuple(one.name for one in same), same[0], among(found))
        for same in ([one for one in found.named if one.number == number] for number in numbers)
    ]


def among(found: Study) -> str:
    """What the best plans have in common: they take no mains water, at least where a store can do without."""
    if not found.found.doomed:
        return "without mains"
    return f"with {listed(found.saved)} lasting" if found.saved else ""


def called(found: Study, name: str) -> str:
    """A plan by one of its names, in full."""
    return name if name == PRESENT else f"{name} {among(found)}".strip()


def hotspell_screen(findings: Findings) -> str:
    """Everything a gardener needs to know of a hot spell, at most 100 columns wide."""
    return screen(
        [wrapped(heading(findings.study))],
        [wrapped(verdict(findings.study))],
        compared(findings.study),
        section("What each would change, and its price", choices(findings.study), lead="  * "),
        to_paste(findings.study),
        beds(findings.study),
        section("Assumed", assumptions(findings)),
        section("Take care", cautions_shown(findings.study)),
    )


def heading(found: Study) -> str:
    """The garden and the spell."""
    first, last = _ends(found)
    spell = found.spell
    rain = f"{spell.rain_mm:g} mm of rain a day" if spell.rain_mm > 0.0 else "no rain"
    when = span(first, last) if spell.days > 1 else in_words(first, year=True)
    return (
        f"{found.site.site.name}, a hot spell laid on {when}: {count(spell.days, 'day')} at "
        f"{spell.high_c:zg}\N{NO-BREAK SPACE}°C by day and {spell.night_c:zg}\N{NO-BREAK SPACE}°C by night, {rain}"
    )


def verdict(found: Study) -> str:
    """Does the present plan keep the crops, with how much mains water, what wilts first, and what does without."""
    told = [keeping(found), lasting(found), without(found), wilting(found), mains(found), *_work(found), others(found)]
    return " ".join(sentence for sentence in told if sentence)


def keeping(found: Study) -> str:
    """Whether the present plan keeps the crops if it gets its mains water; empty where it needs none."""
    trial = found.with_mains
    needed_l, harm = float(trial.needed_l[0]), float(trial.harm[0])
    if needed_l <= SHORT_L:
        return ""
    mains_water = f"{litres(needed_l)} L of mains water"
    if harm <= KEPT:
        return f"Your plan keeps the crops if you can give {mains_water}."
    return f"Even with the {mains_water} it asks for, your plan puts {percent(harm)} of the yield at risk."


def without(found: Study) -> str:
    """What the best plan that needs no mains water does to the crops; empty where the present one needs none."""
    if found.with_mains.needed_l[0] <= SHORT_L or found.found.doomed:
        return ""
    harm = float(found.found.trial.harm[found.found.least["least harm"]])
    return f"Without mains water the best plan found puts {percent(harm)} of the yield at risk."


def lasting(found: Study) -> str:
    """How long the stored rain lasts under the present plan, and what ends it."""
    trial = found.found.trial
    lasted = int(trial.days_lasted[0])
    if lasted == found.spell.days:
        return f"The present plan lasts {_all_days(found)} on stored rain."
    how = f"lasts {count(lasted, 'day')} of {found.spell.days}" if lasted else "does not last the first day"
    return f"On stored rain it {how}: {listed([*_opened(found), *_short(found)])}."


def _opened(found: Study) -> Iterator[str]:
    """The float valves that let mains water in, and from when where that comes before any store is short."""
    trial = found.found.trial
    stores = zip(found.site.tank, trial.tank_lasts[0], trial.tank_short[0], strict=True)
    names = [tank.name for tank, lasts, short in stores if tank.mains == "float" and not lasts and short == NEVER]
    if names:
        lasted = trial.days_lasted[0]
        since = f" from {_on(found, lasted)}" if lasted < trial.tank_short[0].min() else ""
        yield f"its float valve tops {listed(names)} up{since}"


def _short(found: Study) -> Iterator[str]:
    """The stores that run short, and from when."""
    for number, name in sorted(zip(found.found.trial.tank_short[0], _tanks(found), strict=True)):
        if number != NEVER:
            yield f"{name} runs short on {_on(found, number)}"


def verdict_in_short(found: Study) -> str:
    """The answer in a few words."""
    lasted = int(found.found.trial.days_lasted[0])
    if lasted == found.spell.days:
        return f"Stored rain lasts {_all_days(found)}"
    return f"Stored rain lasts {lasted} of {count(found.spell.days, 'day')}"


def _all_days(found: Study) -> str:
    return f"all {found.spell.days} days" if found.spell.days > 1 else "the day"


def wilting(found: Study) -> str:
    """Which bed wilts first and when; beds that live on rain are told apart."""
    watered = [bed.zone is not None for bed in found.site.bed]
    sentences = []
    for is_watered in (True, False):
        firsts = {
            bed.name: found.found.trial.first_stress[0, column]
            for column, bed in enumerate(found.site.bed)
            if watered[column] == is_watered and found.sensitivity.responses[column]
        }
        if not firsts:
            continue
        first = min(firsts.values())
        names = listed([name for name, number in firsts.items() if number == first])
        if first == NEVER:
            sentences.append("No watered bed wilts." if is_watered else "")
        elif is_watered:
            already = "already thirsty on the first day" if first == 0 else f"on {_on(found, first)}"
            sentences.append(f"First to wilt: {names}, {already}.")
        else:
            sentences.append(f"Of those without a zone {names} wilts first, on {_on(found, first)}.")
    return " ".join(sentence for sentence in sentences if sentence) or "No bed grows anything in these days."


def mains(found: Study) -> str:
    """The mains water that the site file gives the present plan, and what it leaves unmet."""
    trial = found.found.trial
    if trial.needed_l[0] <= SHORT_L:
        return "No mains water is needed."
    given_l, unmet_l = float(trial.from_mains_l[0]), float(trial.unmet_l[0])
    if unmet_l <= SHORT_L:
        return f"By the site file the mains give {litres(given_l)} L of it."
    if given_l <= SHORT_L:
        return f"By the site file no mains water is given: {litres(unmet_l)} L are lacking."
    return f"By the site file the mains give {litres(given_l)} L, and {litres(unmet_l)} L are lacking."


def _work(found: Study) -> list[str]:
    minutes = float(found.found.trial.week_minutes[0])
    return [f"The plan takes {weekly_work(minutes)}."] if found.site.zone or minutes else []


def others(found: Study) -> str:
    """How many plans last."""
    if found.found.doomed:
        names = listed([_tanks(found)[column] for column in found.found.doomed])
        return f"No plan lasts: even with no zone watering, other draws leave {names} short."
    if not found.site.zone:
        return "There is no zone whose plan could be changed."
    better = "" if set(found.found.least.values()) != {0} else " None takes less work or water or does less harm."
    return f"Of {len(found.found.plans):,} plans tried {found.found.lasting:,} last without mains water.{better}"


def compared(found: Study) -> list[str]:
    """The present plan beside the best ones."""
    trial = found.found.trial
    rows = []
    for place, group in enumerate(groups(found)):
        number = group.named.number
        if place == 1:
            rows.append((capital(group.among) or "Best found", *[""] * 9))
        label = capital(group.label)
        rows.append(
            (
                f"  {label}" if place else label,
                f"{trial.days_lasted[number]}",
                litres(trial.asked_l[number]),
                litres(trial.rain_l[number]),
                litres(trial.from_mains_l[number]),
                litres(trial.unmet_l[number]),
                litres(trial.left_l[number]),
                f"{trial.week_minutes[number]:.0f}",
                percent(trial.harm[number]),
                _first_wilted(found, number),
            )
        )
    head = ("Plans", "last", "asked", "rain", "mains", "lacking", "left", "work", "at risk", "wilts")
    return table(head, rows, units=("", "days", "L", "L", "L", "L", "L", "min/week", "of yield", "from"))


def _first_wilted(found: Study, number: int) -> str:
    first = found.found.trial.first_stress[number]
    watered = [column for column, bed in enumerate(found.site.bed) if bed.zone is not None]
    when = min((first[column] for column in watered), default=NEVER)
    return "none" if when == NEVER else _on(found, when)


def choices(found: Study) -> list[str]:
    """Each of the best plans in words, and what it costs and saves against the present one."""
    if not found.site.zone:
        return []
    return [
        f"{capital(group.title)}: {in_plain_words(found, group.named.plan)}. {_price(found, group.named.number)}"
        for group in groups(found)
        if group.named.number != 0
    ]


def in_plain_words(found: Study, plan: Plans) -> str:
    """A plan as people say it: North line 20 minutes every 2 days; South line as now."""
    longest = pulses_of(found.site, found.eve.garden)
    told = zip(found.site.zone, plan, longest, strict=True)
    return "; ".join(f"{zone.name} {_said(zone, option, pulse)}" for zone, option, pulse in told)


def _said(zone: "Zone", option: Option | None, pulse: Pulse) -> str:
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


def _price(found: Study, number: int) -> str:
    """What a plan costs and saves against the present one."""
    trial = found.found.trial
    rain_l, mains_l, work = (
        float(part[number] - part[0]) for part in (trial.rain_l, trial.needed_l, trial.week_minutes)
    )
    parts = [f"{percent(trial.harm[number])} of the yield at risk (now {percent(trial.harm[0])})"]
    for amount, unit, step in (
        (work, "minutes a week", 0.5),
        (rain_l, "L of stored rain", 0.5),
        (mains_l, "L of mains", 0.5),
    ):
        if abs(amount) >= step:
            parts.append(f"{litres(abs(amount))} {unit} {'more' if amount > 0 else 'less'}")
    return f"Price: {listed(parts)}."


def to_paste(found: Study) -> list[str]:
    """The lines for the site file of each of the best plans."""
    lines: list[str] = []
    for group in groups(found):
        if group.named.number != 0:
            lines += ["", f"  # {group.title}", *(f"  {line}" for line in toml_lines(found, group.named.plan))]
    return ["To paste for the spell, in place of the same keys of each zone", *lines[1:]] if lines else []


def toml_lines(found: Study, plan: Plans) -> list[str]:
    """The keys of a plan in TOML: a table for each zone that it changes."""
    first, _ = _ends(found)
    lines = []
    for zone, option in zip(found.site.zone, plan, strict=True):
        if option is not None:
            keys = toml_of(zone, option, first, is_hot=is_hot(zone, found.eve.sky))
            lines += ["[[zone]]", f"name = {json.dumps(zone.name, ensure_ascii=False)}", *keys]
    return lines


def beds(found: Study) -> list[str]:
    """Each bed under the present plan, and its yield at risk under all of them."""
    trial, shown = found.found.trial, groups(found)
    rows = []
    for column, bed in enumerate(found.site.bed):
        responses = found.sensitivity.responses[column]
        if not responses:
            continue
        first = trial.first_stress[0, column]
        rows.append(
            (
                bed.name if bed.zone is not None else f"{bed.name} (rain only)",
                " and ".join(dict.fromkeys(f"{response.ky:g}" for response in responses)),
                "never" if first == NEVER else _on(found, first),
                f"{trial.stress_days[0, column]:.0f}",
                *(percent(trial.at_risk[group.named.number, column]) for group in shown),
            )
        )
    head = ("Beds", "Ky", "wilts", "thirsty", *(_head(group) for group in shown))
    return table(head, rows, units=("", "", "now", "days", *["at risk"] * len(shown))) if rows else []


def _head(group: Group) -> str:
    return "/".join(SHORT[name] for name in group.names)


def assumptions(findings: Findings) -> list[str]:
    """What the figures rest on."""
    found = findings.study
    first, _ = _ends(found)
    start, before = found.weather.dates[0].date(), first - dt.timedelta(days=1)
    levels = listed(
        [f"{name} {litres(level_l)} L" for name, level_l in zip(_tanks(found), found.eve.level_l, strict=True)]
    )
    led_up = (
        f"after the weather of {span(start, before)} ({found.weather.source})" if before >= start else "as it begins"
    )
    swing = f" Nights {SWING_C:g} °C below the days: common practice, no source." if found.spell.low_c is None else ""
    et0_mm = found.hot.et0_mm
    return [
        f"On the first morning, {led_up}, the stores hold: {levels}. The soil is as that weather leaves it.",
        f"ET0 {et0_mm.min():.1f} to {et0_mm.max():.1f} mm a day: {found.hot.et0_note}.{swing}",
        YIELD,
        *_sources(found),
        "Work is what [effort] of the site file says; its defaults are common practice, no source.",
        TRIED,
    ]


def _sources(found: Study) -> list[str]:
    """Where each factor of the yield comes from."""
    sources: dict[str, list[str]] = {}
    for responses in found.sensitivity.responses:
        for response in responses:
            told = f"{response.label} {response.ky:g}{' as a stand-in' if response.kind == 'stand-in' else ''}"
            if response.kind == "none":
                told = f"{response.ky:g} where none is known"
            sources.setdefault(response.source, []).append(told)
    words = [f"{listed(list(dict.fromkeys(told)))}: {source}" for source, told in sources.items()]
    return [f"Ky of {'; '.join(words)}."] if words else []


def cautions_shown(found: Study) -> list[str]:
    """The cautions that heat and the answer call for."""
    wanted = [*CAUTIONS, *(MAINS_CAUTIONS if not found.found.trial.lasts[0] else ())]
    return [one.caution for topic, subject in wanted for one in cautions(topic) if one.subject == subject]


def hotspell_json(findings: Findings) -> str:
    """The answer as JSON; dates as YYYY-MM-DD, null for never."""
    found = findings.study
    first, last = _ends(found)
    spell = found.spell
    summary = {
        "site": found.site.site.name,
        "from": first.isoformat(),
        "to": last.isoformat(),
        "days": spell.days,
        "high_c": spell.high_c,
        "low_c": spell.night_c,
        "rain_mm": spell.rain_mm,
        "et0_mm": float(found.hot.et0_mm.sum()),
        "start_l": dict(zip(_tanks(found), found.eve.level_l.tolist(), strict=True)),
        "plans_tried": len(found.found.plans),
        "plans_lasting": found.found.lasting,
        "with_mains": {
            "mains_needed_l": float(found.with_mains.needed_l[0]),
            "yield_at_risk": float(found.with_mains.harm[0]),
        },
        "plans": {key: _plan_summary(found, one) for key, one in zip(CALENDARS, found.named, strict=True)},
    }
    return json.dumps(summary, indent=2, ensure_ascii=False)


def _plan_summary(found: Study, one: Named) -> dict[str, Any]:
    trial, number = found.found.trial, one.number
    return {
        "called": called(found, one.name),
        "is_present": number == 0,
        "in_words": in_plain_words(found, one.plan),
        "toml": toml_lines(found, one.plan),
        "lasts": bool(trial.lasts[number]),
        "days_lasted": int(trial.days_lasted[number]),
        "first_short": {
            name: day_of(found.eve, day) for name, day in zip(_tanks(found), trial.tank_short[number], strict=True)
        },
        "asked_l": float(trial.asked_l[number]),
        "given_l": float(trial.given_l[number]),
        "rain_l": float(trial.rain_l[number]),
        "from_mains_l": float(trial.from_mains_l[number]),
        "unmet_l": float(trial.unmet_l[number]),
        "mains_needed_l": float(trial.needed_l[number]),
        "left_l": float(trial.left_l[number]),
        "work_minutes_per_week": float(trial.week_minutes[number]),
        "yield_at_risk": float(trial.harm[number]),
        "beds": [
            {
                "name": bed.name,
                "first_stress": day_of(found.eve, trial.first_stress[number, column]),
                "stress_days": int(trial.stress_days[number, column]),
                "eta_over_etc": float(1.0 - trial.lack[number, column]),
                "yield_at_risk": float(trial.at_risk[number, column]),
            }
            for column, bed in enumerate(found.site.bed)
            if found.sensitivity.responses[column]
        ],
    }


def calendar(findings: Findings, name: str) -> bytes:
    """The watering days of a plan, and the day that each store runs short, as whole-day events of a calendar file."""
    found = findings.study
    one = next(one for one in found.named if one.name == name)
    return calendar_bytes([*_watering_days(found, one), *_shortages(found, one)])


def _watering_days(found: Study, one: Named) -> Iterator[Event]:
    for column, (zone, option) in enumerate(zip(found.site.zone, one.plan, strict=True)):
        minutes = spell_minutes(zone, found.eve.sky) if option is None else option.minutes
        at_most = "at most " if (zone.plan if option is None else option.trigger) == "refill" else ""
        times = zone.runs_per_day * (1 if option is None else option.pulses)
        runs = f", {times} times" if times > 1 else ""
        for day, asked_l in zip(_dates(found), one.course.asked_l[:, column], strict=True):
            if asked_l > SHORT_L:
                told = f"{litres(asked_l)} L (plan in a hot spell: {called(found, one.name)})"
                yield Event(day, f"Water {zone.name}: {at_most}{minutes:g} min{runs}", told)


def _shortages(found: Study, one: Named) -> Iterator[Event]:
    for column, tank in enumerate(found.site.tank):
        short_l = one.course.tank_short_l[:, column]
        day = next((day for day, short in zip(_dates(found), short_l, strict=True) if short > SHORT_L), None)
        if day is not None:
            told = f"{litres(short_l.sum())} L are lacking to the end of the spell (plan: {called(found, one.name)})"
            yield Event(day, f"{tank.name} runs short", told)


def _dates(found: Study) -> list[dt.date]:
    return [day.item() for day in found.eve.season.dates[:, 0]]


def _on(found: Study, number: float) -> str:
    """A day of the spell counted from 0, with its year where the spell touches more than one."""
    return dated(day_of(found.eve, number) or "", *_ends(found))


def _ends(found: Study) -> tuple[dt.date, dt.date]:
    dates = _dates(found)
    return dates[0], dates[-1]


def _tanks(found: Study) -> tuple[str, ...]:
    return found.eve.garden.names.tanks
