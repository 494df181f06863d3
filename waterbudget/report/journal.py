"""The screens of log and fit: what was written down, what is in the journal, and measured against modelled levels."""

import datetime as dt
import json
import math
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.book import (
    GAUGE,
    LEVEL,
    MAINS,
    RAN,
    UNDO,
    Journal,
    Line,
    append,
    journal_path,
    read_journal,
)
from waterbudget.journal.diary import LET_IN
from waterbudget.journal.dip import cm_of, litres_of
from waterbudget.journal.entries import Said, entries_of, refuse_earlier, undoing
from waterbudget.journal.fit import Fit, Told, fit
from waterbudget.output import refuse_existing, write_files
from waterbudget.report.answer import Answer
from waterbudget.report.text import LEVELS, PICTURE_COLUMNS, block, month_row, short_name
from waterbudget.report.words import (
    WIDTH,
    capital,
    count,
    listed,
    litres,
    screen,
    section,
    shortened,
    span,
    table,
    wrapped,
)
from waterbudget.simulate.opened import HERE, open_site
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.site.write import Change, write_changes, written

SHOWN_READINGS = 24
CALLED = {LEVEL: "level", GAUGE: "rain in the gauge", RAN: "run", MAINS: "mains water", UNDO: "undoes"}
OF = {  # what is fitted, and its unit
    "runoff_coefficient": ("Runoff coefficient of", ""),
    "first_flush_l": ("First flush of", "L a day"),
    "loss_l_per_day": ("Leak of", "L a day"),
    "flow_l_min": ("Flow of", "L/min"),
    "start_l": ("First level of", "L"),
}
ERROR_FIGURES = 2


@dataclass(frozen=True)
class Asked:
    """What else is wanted of the journal: to see it, to take a line back (the last, or the one of a number)."""

    show: bool = False
    undo: bool = False
    number: int | None = None
    as_json: bool = False


# ---- log -----------------------------------------------------------------------------------------------------------


def answer_log(path: Path | None, said: Said, asked: Asked) -> Answer:
    """Write lines into the journal of a site, take one back or show it; with nothing of these tell what to log.

    Raises InputError for what the user can mend.
    """
    _refuse_mixed(said, asked)
    if said.is_nothing and not (asked.show or asked.undo):
        return _what_to_log(path)
    path = own_site(path)
    site, file, today = load_site(path), journal_path(path), dt.datetime.now().astimezone().date()
    added: tuple[Line, ...] = ()
    if asked.undo:
        added = append(file, lambda journal: [undoing(journal, asked.number, today)])
    elif not said.is_nothing:
        entries = entries_of(site, said, today)

        def in_order(journal: Journal) -> list[Any]:
            refuse_earlier(journal, entries)
            return list(entries)

        added = append(file, in_order)
    journal = read_journal(file)
    shown = journal.lines if asked.show else added
    if asked.as_json:
        return Answer(journal_json(site, journal, shown), journal.damaged)
    text = journal_screen(site, journal) if asked.show else added_screen(site, journal, added)
    return Answer(text, journal.damaged)


def own_site(path: Path | None) -> Path:
    """The site file that was named, else site.toml of this folder. Raises InputError where neither is there."""
    if path is None and not HERE.exists():
        raise InputError(f"{HERE}: there is none here; name your site file, or start one: waterbudget new my-garden")
    return path or HERE


def _refuse_mixed(said: Said, asked: Asked) -> None:
    faults = []
    if asked.undo and not said.is_nothing:
        faults.append("--undo: stands alone; take the line back first, then log what is right")
    if asked.number is not None and not asked.undo:
        faults.append("--line: goes with --undo")
    if said.is_nothing and (said.note or said.day is not None):
        faults.append("--note and --on: go with a reading; add --tank, --gauge, --ran or --mains")
    if faults:
        raise InputError(faults)


def added_screen(site: Site, journal: Journal, added: Sequence[Line]) -> str:
    """What was just written, and below it what that takes back."""
    undone = [line for line in journal.lines if journal.undone_by.get(line.number) in {new.number for new in added}]
    return screen([f"Logged in {journal.path}:"], lines_table(site, journal, [*added, *undone]))


def journal_screen(site: Site, journal: Journal) -> str:
    """All lines of the journal, the newest last."""
    if not journal.lines:
        return f"{journal.path} holds no line yet. What to log: waterbudget log"
    count_of = f"{journal.path}: {count(len(journal.lines), 'line')}, {len(journal.counting)} of them count"
    in_order = sorted(journal.lines, key=lambda line: (line.entry.date, line.number))
    return screen([count_of], lines_table(site, journal, in_order))


def lines_table(site: Site, journal: Journal, lines: Sequence[Line]) -> list[str]:
    """A row a line; a level in litres and, where the tank has a shape, in depth."""
    head = ("Line", "day", "what", "of", "amount", "depth", "remark")
    rows = [head, *(_line_row(site, journal, line) for line in lines)]
    left = {"day", "what", "of", "remark"}
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    return [
        shortened(
            "  ".join(cell.ljust(width) if name in left else cell.rjust(width) for cell, width, name in cells).rstrip(),
            WIDTH,
        )
        for cells in (zip(row, widths, head, strict=True) for row in rows)
    ]


def _line_row(site: Site, journal: Journal, line: Line) -> tuple[str, ...]:
    entry = line.entry
    in_l, in_cm = _level(site, line)
    if entry.kind == UNDO:
        amount, of = "", f"line {entry.value:.0f}"
    elif entry.kind == LEVEL:
        amount, of = "–" if in_l is None else f"{in_l:,.0f} L", short_name(entry.name)
    else:
        amount, of = f"{entry.value:g} {entry.unit}", short_name(entry.name)
    by = journal.undone_by.get(line.number)
    remark = "; ".join([*([f"undone by line {by}"] if by else []), *([entry.note] if entry.note else [])])
    depth = "" if in_cm is None else f"{in_cm:.1f} cm"
    return (str(line.number), entry.date.isoformat(), CALLED[entry.kind], of, amount, depth, remark)


def _level(site: Site, line: Line) -> tuple[float | None, float | None]:
    """Litres and depth of a level, None where they cannot be told."""
    tank = next((tank for tank in site.tank if tank.name == line.entry.name), None)
    if line.entry.kind != LEVEL or tank is None:
        return None, None
    return litres_of(tank, line.entry), cm_of(tank, line.entry)


def journal_json(site: Site, journal: Journal, lines: Sequence[Line]) -> str:
    """Lines as JSON, with litres and depth of the levels; undone_by: the line that takes a line back."""
    told = []
    for line in lines:
        in_l, in_cm = _level(site, line)
        told.append(
            {
                "line": line.number,
                "written_at": line.written_at.isoformat(),
                **line.entry._asdict(),
                "date": line.entry.date.isoformat(),
                "level_l": in_l,
                "depth_cm": in_cm,
                "undone_by": journal.undone_by.get(line.number),
            }
        )
    return json.dumps(
        {"journal": str(journal.path), "lines": told, "damaged": journal.damaged}, indent=2, ensure_ascii=False
    )


def _what_to_log(path: Path | None) -> Answer:
    """What can be logged, in the words of this garden."""
    notes: tuple[str, ...] = ()
    if path is None and not HERE.exists():
        notes = ("No site.toml here, so the names are those of the built-in example.",)
        site, named = load_site(site_path()), ""
    else:
        site, named = load_site(own_site(path)), "" if path is None else f" {shlex.quote(str(path))}"
    log = f"waterbudget log{named}"
    tank = next((tank for tank in site.tank if tank.inside is not None), site.tank[0])
    level = f"{tank.name}={'38cm' if tank.inside is not None else f'{tank.capacity_l / 2:g}L'}"
    what = {
        "How full a store is, in the evening; by a dip stick if the site gives the store a shape, else in litres": (
            f"{log} --tank {shlex.quote(level)}"
        ),
        "The day's rain in the gauge, in millimetres, before you empty it; 0 for a dry day": f"{log} --gauge 6.5",
        **(
            {
                "How many minutes a line ran on a day, if not by its plan; 0 if it was kept shut": (
                    f"{log} --ran {shlex.quote(f'{site.zone[0].name}={site.zone[0].minutes:g}')}"
                )
            }
            if site.zone
            else {}
        ),
        "How many litres of mains water were let into a store, by its meter": (
            f"{log} --mains {shlex.quote(f'{tank.name}=120')}"
        ),
    }
    lines = [part for words, command in what.items() for part in (wrapped(f"{words}:"), f"    {command}")]
    names = [
        wrapped(f"Stores: {listed([one.name for one in site.tank])}."),
        *([wrapped(f"Lines: {listed([one.name for one in site.zone])}.")] if site.zone else []),
        wrapped("All of it may stand in one command. It is of today unless you add --on 2031-06-01."),
        wrapped(
            "Levels of every few days, some of them soon after rain, let waterbudget fit check the model. There and in "
            "waterbudget today what you log goes before the plan and the weather of its day."
        ),
    ]
    then = ["To look at it, and to take the last line back:", f"    {log} --show", f"    {log} --undo"]
    return Answer(screen(["What to log:"], lines, names, then), notes)


# ---- fit -----------------------------------------------------------------------------------------------------------


def answer_fit(path: Path | None, plot: Path | None, *, write: bool, overwrite: bool, as_json: bool) -> Answer:
    """Fit a site to the levels in its journal; plot: picture file; write: take the values over into the site file.

    Raises InputError for what the user can mend.
    """
    if plot is not None:
        refuse_existing([plot], overwrite=overwrite)
    path = own_site(path)
    opened = open_site(path, every_year=True)
    journal = read_journal(journal_path(path))
    fitted = fit(opened, journal)
    notes = [*opened.notes, *journal.damaged, *fitted.readings.notes, *fitted.diary.notes]
    if plot is not None:
        from waterbudget.report.journal_figure import fit_picture

        write_files({plot: fit_picture(fitted, plot.suffix)}, overwrite=overwrite)
        notes.append(f"Drawn: {plot}")
    told = [(one.quantity, one.fitted) for one in fitted.changes]
    changes = [Change((of.kind, of.number, of.key), value) for of, value in told]
    copy = write_changes(path, opened.site, changes) if write and changes else None
    if copy is not None:
        notes.append(f"Written: {path}; as it was before: {copy}")
    return Answer(fit_json(fitted) if as_json else fit_screen(fitted, is_written=copy is not None), tuple(notes))


def fit_screen(fitted: Fit, *, is_written: bool) -> str:
    """Everything a gardener needs to know of a fit, at most 100 columns wide."""
    title = f"{fitted.site.site.name}, {span(fitted.readings.first_day, fitted.readings.last_day)}"
    return screen(
        [wrapped(f"{title}: measured against modelled levels")],
        [wrapped(sentence) for sentence in verdict(fitted)],
        values(fitted),
        section("Doubts", doubts(fitted), lead="  * "),
        readings(fitted),
        picture(fitted),
        section("Logged beside the levels", beside(fitted)),
        section("Assumed", assumptions(fitted)),
        _next(fitted, is_written=is_written),
    )


def verdict(fitted: Fit) -> Iterator[str]:
    """How far the model is from what was measured, before and after, for each store."""
    for tank, levels in fitted.readings.level_l.items():
        now_l, best_l = fitted.misses_l(tank)
        yield (
            f"{tank}: the model misses {count(len(levels), 'measured level')} by {litres(now_l)} L (root mean square) "
            f"with what the site file says, and by {litres(best_l)} L with what fits best."
        )


def called(told: Told) -> str:
    """A quantity in words: Leak of Shed butt."""
    return f"{OF[told.quantity.key][0]} {told.quantity.name}"


def values(fitted: Fit) -> list[str]:
    """A line for each quantity, what the site file says of it and what fits best."""
    rows = [
        (
            shortened(called(told), WIDTH // 2),
            OF[told.quantity.key][1],
            f"{told.quantity.now:g}",
            written(told.fitted) if told.error is not None else "not told",
            _error(told),
        )
        for told in fitted.told
        if not told.quantity.is_start
    ]
    return table(("Quantity", "unit", "site file", "fits best", "give or take"), rows)


def _error(told: Told) -> str:
    quantity = told.quantity
    if told.error is None or told.error > quantity.high - quantity.low:
        return "–"
    return written(told.error, ERROR_FIGURES)


def doubts(fitted: Fit) -> Iterator[str]:
    """What the readings cannot tell, or cannot tell apart."""
    for told in fitted.told:
        if told.error is None:
            yield (
                f"{called(told)} cannot be told from these levels: changing it by {written(told.quantity.notable)} "
                "moves none of them by a litre. It was left as the site file has it."
            )
        elif told.at_bound and not told.quantity.is_start and told.fitted > told.quantity.high / 2:
            yield (
                f"{called(told)} went up to the highest value that was tried, {written(told.fitted)}: something else "
                "must be wrong. Look at the roof's area, the watering plan and the stick."
            )
    for alike in fitted.alike:
        names = [_lower(called(fitted.told[place])) for place in alike.places]
        if alike.correlation is None:
            yield f"{capital(listed(names))} cannot be told apart: only all of them together fit the levels."
        else:
            more = "more of both" if alike.correlation > 0.0 else "more of one and less of the other"
            yield (
                f"{capital(listed(names))} cannot well be told apart (correlation {alike.correlation:.2f}): "
                f"{more} would give nearly the same levels. Trust them together, not each alone."
            )
    for place, value in dict.fromkeys((rival.place, written(rival.value)) for rival in fitted.rivals):
        told = fitted.told[place]
        yield (
            f"{called(told)} could as well be {value} {OF[told.quantity.key][1]}".rstrip() + ", with other values "
            "beside it. The answer nearest to the site file was taken; more levels will decide."
        )


def _lower(text: str) -> str:
    return f"{text[0].lower()}{text[1:]}"


def readings(fitted: Fit) -> list[str]:
    """A line for each measured level beside the modelled ones, the last of them where they are many."""
    compared = fitted.compared
    shown = compared[-SHOWN_READINGS:]
    rows = [
        (
            f"{row.date.day} {row.date:%b %Y}",
            short_name(row.tank),
            *(f"{level_l:,.0f}" for level_l in (row.measured_l, row.now_l, row.fitted_l)),
            f"{round(row.fitted_l - row.measured_l):+,d}",
        )
        for row in shown
    ]
    head = ("Levels", "store", "measured", "by site file", "fitted", "off by")
    lines = table(head, rows, units=("", "", "L", "L", "L", "L"))
    left_out = len(compared) - len(shown)
    return [*lines, f"... and {count(left_out, 'earlier level')}; --json has all."] if left_out else lines


def picture(fitted: Fit) -> list[str]:
    """The fitted level of each store as a row of blocks, with the measured ones in a row below."""
    dates = list(fitted.dates)
    per_column = math.ceil(len(dates) / PICTURE_COLUMNS)
    starts = range(0, len(dates), per_column)
    step = "one column a day" if per_column == 1 else f"one column for {per_column} days"
    stores = [tank for tank in fitted.site.tank if tank.name in fitted.readings.level_l]
    width = max(len(short_name(tank.name)) for tank in stores)
    lines = [f"Level, {step}; {LEVELS[-1]} full; · no level was measured"]
    for number, tank in enumerate(fitted.site.tank):
        if tank not in stores:
            continue
        share = fitted.fitted_l[:, number] / tank.capacity_l
        measured = {
            (day - fitted.readings.first_day).days // per_column: level_l / tank.capacity_l
            for day, level_l in fitted.readings.level_l[tank.name].items()
        }
        modelled = [  # on the day of the measurement, where there is one
            share[_day_in(fitted, tank.name, column, per_column, start)] for column, start in enumerate(starts)
        ]
        marks = "".join(block(measured[column]) if column in measured else "·" for column in range(len(starts)))
        lines.append(f"{short_name(tank.name):<{width}}  modelled |{''.join(map(block, np.clip(modelled, 0.0, 1.0)))}|")
        lines.append(f"{'':<{width}}  measured |{marks}|")
    return [*lines, f"{'':<{width}}            {month_row([dates[day] for day in starts])}"]


def _day_in(fitted: Fit, tank: str, column: int, per_column: int, start: int) -> int:
    """The day that a column of the picture shows: that of the last level measured in it, else its first."""
    days = [(day - fitted.readings.first_day).days for day in fitted.readings.level_l[tank]]
    return max((day for day in days if day // per_column == column), default=start)


def beside(fitted: Fit) -> Iterator[str]:
    """Logged runs, mains water and rain, and what stands beside them."""
    mains = {tank.name: tank.mains for tank in fitted.site.tank}
    for logged in fitted.logged:
        on_days = f"on {count(logged.days, 'day')}"
        if logged.kind == RAN:
            other = (
                f"on {count(logged.other_days, 'other day')} it ran by its plan, for {logged.other:,.0f} minutes"
                if logged.other_days
                else "its plan opened it on no other day"
            )
            yield f"{logged.name} ran {logged.logged:,.0f} minutes {on_days} as logged; {other}."
        elif logged.kind == GAUGE:
            yield (
                f"Rain {on_days} is that of your gauge, {logged.logged:,.1f} mm, where the weather has "
                f"{logged.other:,.1f} mm."
            )
        elif mains[logged.name] == LET_IN:
            yield f"{litres(logged.logged)} L of mains water were let into {logged.name} {on_days} as logged."
        else:
            own = "float valve let in" if mains[logged.name] == "float" else "hose gave the lines"
            yield (
                f"{litres(logged.logged)} L of mains water were logged for {logged.name} {on_days}; they are not let "
                f"in a second time, as in the model its {own} {litres(logged.other)} L on "
                f"{count(logged.other_days, 'day')} by itself."
            )


def assumptions(fitted: Fit) -> list[str]:
    """What the figures rest on."""
    weather, kinds = fitted.opened.weather, {logged.kind for logged in fitted.logged}
    ran = (
        "A line ran as logged, and by its plan on days without a line in the journal"
        if RAN in kinds
        else ("The lines ran by their plan, as no run was logged")
    )
    return [
        f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}.",
        f"A level is that of the evening, after the day's rain and watering. {ran}.",
        *(["A reading of the gauge is the rain of its day."] if GAUGE in kinds else []),
        "Give or take is one standard error; twice that covers about 95 % if nothing but the dipping scatters.",
        "What else was not as in the site file, such as a clogged filter, goes into these numbers, too.",
        "The filter passes what the site file says; whatever else is lost goes into the runoff coefficient.",
    ]


def _next(fitted: Fit, *, is_written: bool) -> list[str]:
    path = shlex.quote(str(fitted.opened.path))
    if is_written:
        return [f"Next: waterbudget run {path}"]
    if not fitted.changes:
        return ["Nothing could be told from these levels, so there is nothing to write."]
    return [
        "Nothing was written. To take what fits best into the site file:",
        f"  waterbudget fit {path} --write",
    ]


def fit_json(fitted: Fit) -> str:
    """The fit as JSON."""

    def key(told: Told) -> str:
        quantity = told.quantity
        return f"{quantity.kind}[{quantity.number + 1}].{quantity.key}"

    summary = {
        "site": fitted.site.site.name,
        "first": fitted.readings.first_day.isoformat(),
        "last": fitted.readings.last_day.isoformat(),
        "stores": [
            {
                "name": tank,
                "levels": len(levels),
                "misses_now_l": fitted.misses_l(tank)[0],
                "misses_fitted_l": fitted.misses_l(tank)[1],
            }
            for tank, levels in fitted.readings.level_l.items()
        ],
        "quantities": [
            {
                "key": key(told),
                "name": told.quantity.name,
                "now": told.quantity.now,
                "fitted": told.fitted,
                "standard_error": told.error,
                "at_bound": told.at_bound,
            }
            for told in fitted.told
        ],
        "alike": [
            {"keys": [key(fitted.told[place]) for place in alike.places], "correlation": alike.correlation}
            for alike in fitted.alike
        ],
        "rivals": [{"key": key(fitted.told[rival.place]), "value": rival.value} for rival in fitted.rivals],
        "levels": [{**row._asdict(), "date": row.date.isoformat()} for row in fitted.compared],
        "logged": [logged._asdict() for logged in fitted.logged],
    }
    return json.dumps(summary, indent=2, ensure_ascii=False)
