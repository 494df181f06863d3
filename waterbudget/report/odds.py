"""The screen of odds: in how many summers the stored rain runs short, how long it lasts, the mains water it takes."""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.odds.chances import FEW_YEARS, not_above, on_grid
from waterbudget.odds.outcomes import WORST_SHOWN, Odds, odds_of
from waterbudget.odds.summers import BLOCKS, CHAIN, RECORDS, Wanted, drawn_summers, recorded_summers
from waterbudget.output import refuse_outputs, write_files
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
    table,
    weekly_work,
    wrapped,
)
from waterbudget.rows.table import csv_of
from waterbudget.simulate.fetched import spot_of
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.pages import SHORT_L
from waterbudget.site.model import MonthDay, Site
from waterbudget.tables.cautions import cautions
from waterbudget.weather.years import LONG_SPELLS_DAYS, spell_table

if TYPE_CHECKING:
    from waterbudget.units import Array, BoolArray

DRAWN = {BLOCKS: "in blocks of days", CHAIN: "by a chain of wet and dry days"}
RECORDED = "recorded"  # the method of recorded years, in weather/years.py
CAUTIONS = ("type", "start of season")  # subjects in the table: how to top up, and the first day's level


@dataclass(frozen=True, eq=False)
class Findings:
    """What the screen, the picture and the files are made of; drawn is None where recorded summers answer."""

    opened: Opened
    wanted: Wanted
    recorded: Odds
    drawn: Odds | None

    def __str__(self) -> str:
        """The screen."""
        return odds_screen(self)

    @property
    def site(self) -> Site:
        """The garden."""
        return self.opened.site

    @property
    def answer(self) -> Odds:
        """The summers that were asked for."""
        return self.drawn or self.recorded

    @property
    def one(self) -> str:
        """A summer, or a season that the reader chose."""
        return "summer" if self.wanted.start_md is None and self.wanted.end_md is None else "season"

    @property
    def changes(self) -> list[str]:
        """What is changed in the weather of the years, in words; empty for weather as it was recorded."""
        wanted, changes = self.wanted, []
        if wanted.warmer_c != 0.0:
            changes.append(f"{abs(wanted.warmer_c):g} °C {'warmer' if wanted.warmer_c > 0.0 else 'cooler'}")
        if wanted.rain_factor != 1.0:
            changes.append(f"with {wanted.rain_factor:g} times the rain")
        return changes

    @property
    def made(self) -> str:
        """The same in a word or two, such as made warmer and drier."""
        warmer_c, more_rain = self.wanted.warmer_c, self.wanted.rain_factor - 1.0
        words = ["warmer" if warmer_c > 0.0 else "cooler"] if warmer_c else []
        words += ["wetter" if more_rain > 0.0 else "drier"] if more_rain else []
        return f"made {listed(words)}" if words else ""

    @property
    def first(self) -> dt.date:
        """First day of the season, in the year of the first record."""
        return dt.date.fromisoformat(str(self.recorded.years.dates[0, 0]))

    @property
    def last(self) -> dt.date:
        """Last day of the season, in the year of the first record or the next."""
        return dt.date.fromisoformat(str(self.recorded.years.dates[-1, 0]))


def answer_odds(
    path: Path | None,
    wanted: Wanted,
    start_l: Mapping[str, float],
    out: Path | None,
    plot: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
) -> Answer:
    """Odds of a site over many summers; out: CSV of a row a year; plot: picture file.

    Raises InputError for what the user can mend.
    """
    refuse_outputs(out, plot, overwrite=overwrite)
    findings = find_odds(open_site(path, every_year=True), wanted, start_l, keep_levels=plot is not None)
    contents = {}
    if out is not None:
        contents[out] = csv_of(findings.answer.by_year())
    if plot is not None:
        from waterbudget.report.fan import fan_picture

        contents[plot] = fan_picture(findings, plot.suffix)
    write_files(contents, overwrite=overwrite)
    text = odds_json(findings) if as_json else odds_screen(findings)
    return Answer(text, (*findings.opened.notes, *(f"Written: {file}" for file in contents)))


def find_odds(
    opened: Opened,
    wanted: Wanted | None = None,
    start_l: Mapping[str, float] | None = None,
    *,
    keep_levels: bool = False,
) -> Findings:
    """Run the site through the recorded summers and, where asked for, the drawn ones.

    start_l: litres in a store on the first day, by its name, instead of the site's. keep_levels: for the picture.
    Raises InputError for what the user can mend.
    """
    site, weather, wanted = opened.site, opened.weather, wanted or Wanted()
    place = site if site.weather.file is not None else spot_of(opened.path, site)
    recorded = odds_of(site, recorded_summers(site, weather, wanted, place), start_l, keep_levels=keep_levels)
    drawn = None
    if wanted.method != RECORDS:
        drawn = odds_of(site, drawn_summers(site, weather, wanted, place), start_l, keep_levels=keep_levels)
    return Findings(opened, wanted, recorded, drawn)


def odds_json(findings: Findings) -> str:
    """The summary as JSON; recorded stands beside a drawn answer for comparison."""
    wanted, answer = findings.wanted, findings.answer
    summary = {
        "site": findings.site.site.name,
        "from": str(answer.years.dates[0, 0])[5:],
        "to": str(answer.years.dates[-1, 0])[5:],
        "warmer_c": wanted.warmer_c,
        "rain_factor": wanted.rain_factor,
        "seed": wanted.seed_drawn if findings.drawn else None,
        "start_l": dict(answer.start_l),
        **answer.summary(),
        "recorded": findings.recorded.summary() if findings.drawn else None,
    }
    return json.dumps(summary, indent=2, ensure_ascii=False)


def odds_screen(findings: Findings) -> str:
    """Everything a gardener needs to know of the odds, at most 100 columns wide."""
    return screen(
        [wrapped(heading(findings))],
        [wrapped(f"{verdict(findings)} {working(findings)}".strip())],
        lasting(findings),
        numbers(findings),
        worst(findings),
        dry_spells(findings),
        section("Assumed", assumptions(findings)),
        section("Take care", cautions_shown(findings)),
    )


def heading(findings: Findings) -> str:
    """The garden, the season, the years and what was changed in their weather."""
    season = f"{in_words(findings.first)} to {in_words(findings.last)}"
    return f"{findings.site.site.name}, {season}: {years_tried(findings)}"


def years_tried(findings: Findings) -> str:
    """Which years were tried and what was changed in them: 10 recorded summers, 1979 to 1988, 2 °C warmer."""
    recorded, drawn = findings.recorded, findings.drawn
    years = len(recorded.days_lasted)
    of = f"{years} recorded {findings.one}s, {named(recorded, 0)} to {named(recorded, -1)}"
    if drawn is not None:
        of = f"{count(len(drawn.days_lasted), findings.one)} drawn {DRAWN[drawn.years.method]} from {of}"
    return ", ".join([of, *findings.changes])


def verdict(findings: Findings) -> str:
    """The answer in a sentence or two: how often the stores run short, how long they last, the mains water it takes."""
    odds, one, last = findings.answer, findings.one, in_words(findings.last)
    if not odds.asked_l.any():
        return f"Nothing asks the stores for water from {in_words(findings.first)} to {last}."
    lasts = f"{of_years(odds, ~odds.runs_short)} {one}s"
    if not odds.runs_short.any():
        return f"In {lasts} the stored rain lasts to {last}: no mains water is needed."
    short = f"{of_years(odds, odds.runs_short)} {one}s"
    return f"In {short} the stored rain runs short by {last}; {_lasts(findings)}. {_mains(findings)}"


def working(findings: Findings) -> str:
    """What the watering takes of somebody's time, on the mean of the years; nothing where nothing is watered."""
    odds = findings.answer
    return f"The watering takes {weekly_work(odds.week_minutes.mean())}." if odds.asked_l.any() else ""


def of_years(odds: Odds, happens: "BoolArray") -> str:
    """How often something happens, in the years that stand behind it, such as 10 of 12."""
    of = odds.years.years_behind
    share = happens.mean()
    if 0.0 < share < 1.0 / of:
        return f"fewer than 1 of {of}"
    if 1.0 - 1.0 / of < share < 1.0:
        return f"more than {of - 1} of {of}"
    return f"{round(float(on_grid(share, of)) * of)} of {of}"


def named(odds: Odds, year: int) -> str:
    """A recorded year by its number, one that passes New Year by both: 1976, or 1976-77."""
    first, last = (int(str(day)[:4]) for day in odds.years.dates[[0, -1], year])
    return str(first) if first == last else f"{first}-{last % 100:02d}"


def worst_of_record(findings: Findings, year: int) -> str:
    """The worst year of the record by its number, as it was or as it would be with the weather changed."""
    name = named(findings.recorded, year)
    return f"worst, {name} {findings.made}" if findings.made else f"worst recorded, {name}"


def is_few(odds: Odds) -> bool:
    return odds.years.years_behind < FEW_YEARS


def _lasts(findings: Findings) -> str:
    """How long the stored rain lasts in half of all years, or in the worst."""
    odds, recorded = findings.answer, findings.recorded
    half = int(not_above(odds.days_lasted, 1, 2))
    if half < odds.days and not is_few(odds):
        return f"in half of all {findings.one}s it lasts {_at_most(half)}"
    shortest = int(recorded.days_lasted.argmin())
    if not recorded.runs_short[shortest]:
        return f"in none of the {findings.one}s of the record"
    lasts = count(int(recorded.days_lasted[shortest]), "day")
    return f"in the shortest, {named(recorded, shortest)}, it lasts {lasts}"


def _at_most(days: int) -> str:
    return f"{count(days, 'day')} or fewer" if days > 0 else "not even the first day"


def _mains(findings: Findings) -> str:
    """The mains water that is enough in half of all years, in four of five and in the worst recorded."""
    odds, recorded = findings.answer, findings.recorded
    enough = []
    if not is_few(odds):
        enough.append(f"{_litres_or_none(not_above(odds.needed_l, 1, 2))} in half of all {findings.one}s")
        enough.append(f"{_litres_or_none(not_above(odds.needed_l, 4, 5))} in 4 of 5")
    if recorded.needs_mains.any():
        thirstiest = int(recorded.worst_first()[0])
        enough.append(f"{litres(recorded.needed_l[thirstiest])} L in the {worst_of_record(findings, thirstiest)}")
    return f"Mains water that is enough: {listed(enough)}."


def _litres_or_none(amount_l: "Array") -> str:
    return "none" if amount_l <= SHORT_L else f"{litres(float(amount_l))} L"


def lasting(findings: Findings) -> list[str]:
    """The chance that the stored rain lasts so many days; with few years the bare counts."""
    odds = findings.answer
    if not odds.asked_l.any():
        return []
    head = ["The stored rain lasts", "up to"]
    head += [f"in {findings.one}s"] if odds.years.method == RECORDED else []
    head += [] if is_few(odds) else ["chance", "could be"]
    return table(head, [_lasting_row(odds, days) for days in odds.steps()])


def _lasting_row(odds: Odds, days: int) -> list[str]:
    chance, behind = odds.chance_of_lasting(days), odds.years.years_behind
    row = [count(days, "day"), in_words(str(odds.years.dates[days - 1, 0]))]
    if odds.years.method == RECORDED:
        row.append(f"{(odds.days_lasted >= days).sum()} of {behind}")
    if not is_few(odds):
        row += [_percent(float(chance.share), behind), f"{100 * chance.low:.0f} to {percent(float(chance.high))}"]
    return row


def _percent(share: float, behind: int) -> str:
    """A chance in per cent, no finer than one year of those behind it."""
    if 0.0 < share < 1.0 / behind:
        return f"under {percent(1.0 / behind)}"
    if 1.0 - 1.0 / behind < share < 1.0:
        return f"over {percent(1.0 - 1.0 / behind)}"
    return percent(float(on_grid(share, behind)))


def numbers(findings: Findings) -> list[str]:
    """What the summers add up to; the recorded ones stand beside the drawn ones."""
    if not findings.answer.asked_l.any():
        return []
    shown = [findings.recorded] + ([findings.drawn] if findings.drawn else [])
    head = [capital(f"{findings.one}s {findings.made}".strip()), _record(findings), "drawn"][: 1 + len(shown)]
    columns = [_numbers(odds) for odds in shown]
    rows = [[name, *(column[name] for column in columns)] for name in columns[0]]
    return table(head, rows, units=["", *(f"{len(odds.days_lasted):,}" for odds in shown)])


def _numbers(odds: Odds) -> dict[str, str]:
    few = is_few(odds)
    lasted, needed_l = odds.days_lasted, odds.needed_l
    rows = {
        "run short in": _of(odds, odds.runs_short),
        "half of them last at most": count(int(not_above(lasted, 1, 2)), "day"),
        "4 of 5 last at least": "" if few else count(-int(not_above(-lasted, 4, 5)), "day"),
        "the shortest lasts": count(int(lasted.min()), "day"),
        "mains water enough for half": f"{litres(float(not_above(needed_l, 1, 2)))} L",
        "mains water enough for 4 of 5": "" if few else f"{litres(float(not_above(needed_l, 4, 5)))} L",
        "mains water in the worst": f"{litres(needed_l.max())} L",
    }
    return {name: row for name, row in rows.items() if row}


def _of(odds: Odds, happens: "BoolArray") -> str:
    if odds.years.method == RECORDED:
        return f"{happens.sum()} of {happens.size}"
    return of_years(odds, happens)


def worst(findings: Findings) -> list[str]:
    """The recorded years that need most mains water; where they are few all of them, as they came."""
    recorded = findings.recorded
    few = is_few(recorded)
    shown = range(len(recorded.days_lasted)) if few else recorded.worst_first()[:WORST_SHOWN]
    rows = [
        (
            named(recorded, year),
            f"{recorded.days_lasted[year]}",
            _short_from(recorded, year),
            litres(recorded.needed_l[year]),
        )
        for year in shown
    ]
    words = ["" if few else "worst", "" if findings.made else "recorded", f"{findings.one}s", findings.made]
    title = capital(" ".join(word for word in words if word))
    return table((title, "lasted", "short from", "mains water"), rows, units=("", "days", "", "L")) if rows else []


def _short_from(recorded: Odds, year: int) -> str:
    """The day on which the rain ran short, with its year where the season touches more than one."""
    day = recorded.day(recorded.first_out[year], year)
    first, last = (str(end) for end in recorded.years.dates[[0, -1], year])
    return "never" if day is None else dated(day, first, last)


def _record(findings: Findings) -> str:
    """The years of the record, at the head of a column."""
    return "of the record" if findings.made else "recorded"


def dry_spells(findings: Findings) -> list[str]:
    """The dry spells of the drawn summers beside the recorded: a method that makes them too rare flatters the store."""
    if findings.drawn is None:
        return []
    recorded, drawn = (row for _, row in spell_table(findings.recorded.years, findings.drawn.years).iterrows())
    rows = [("longest, on average", *(f"{row['longest_mean_days']:.0f} days" for row in (recorded, drawn)))]
    rows += [
        (f"{days} dry days or more", *(percent(row[f"share_{days}_days"]) for row in (recorded, drawn)))
        for days in LONG_SPELLS_DAYS
    ]
    lines = table((f"Dry spells of a {findings.one}", _record(findings), "drawn"), rows)
    rarer = [days for days in LONG_SPELLS_DAYS if drawn[f"share_{days}_days"] < recorded[f"share_{days}_days"]]
    if rarer:
        lines.append(
            wrapped(
                f"Dry spells of {rarer[-1]} days and more come more rarely in the drawn {findings.one}s than in the "
                "record: trust the record where it is worse."
            )
        )
    return lines


def assumptions(findings: Findings) -> list[str]:
    """What the figures rest on."""
    odds, site, weather = findings.answer, findings.site, findings.opened.weather
    starts = listed([f"{name} {litres(start_l)} L" for name, start_l in odds.start_l.items()])
    release = (
        "only tomorrow (yield after spillage), on the safe side"
        if site.model.release == "after_spill"
        else "today (yield before spillage), on the hopeful side"
    )
    lines = [
        _behind(findings),
        odds.years.note,
        f"Every {findings.one} starts with the same water in the stores: {starts}.",
        f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}.",
        *(f"{capital(words)}." for words in weather.et0.assumed),
        f"Likely error of ET0: {weather.et0.likely_error}.",
        f"Order of the day: today's rain can be drawn {release}.",
    ]
    if once := [bed.name for bed in site.bed if any(not isinstance(one.planted, MonthDay) for one in bed.planting)]:
        lines.append(
            f"Planted on a full date and so in one year only: {listed(once)}. For every year write planted as MM-DD."
        )
    return lines


def _behind(findings: Findings) -> str:
    """How many years stand behind the answer, and what that means."""
    odds, seed = findings.answer, findings.wanted.seed_drawn
    behind = odds.years.years_behind
    if is_few(odds):
        return f"{behind} recorded {findings.one}s stand behind this: enough to count, too few to tell chances."
    drawn = (
        f" Drawing {len(odds.days_lasted):,} from them adds no knowledge (seed {seed}; "
        "another shows what hangs on the draw)."
    )
    return (
        f"{behind} recorded years stand behind every chance, taken as alike and independent; what it could be is the "
        f"95 % interval of Wilson (1927) for {behind} years.{drawn if findings.drawn else ''}"
    )


def cautions_shown(findings: Findings) -> list[str]:
    """The cautions that the answer calls for."""
    topics = ["first fill", *(["mains top-up"] if findings.answer.needs_mains.any() else [])]
    return [one.caution for one in cautions(*topics) if one.subject in CAUTIONS]
