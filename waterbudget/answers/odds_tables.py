"""The tables of odds: how long the stored rain lasts, what the summers add up to, the worst, their dry spells."""

import datetime as dt
from functools import partial

import numpy as np

from waterbudget.answers.english import capital, count, dated, in_words, litres, percent
from waterbudget.answers.summers import chance_of, day_of, made, named, of_years, one
from waterbudget.blocks import Cell, Column, Lane, Strip, Table
from waterbudget.odds.chances import not_above
from waterbudget.odds.outcomes import WORST_SHOWN, Odds
from waterbudget.odds.study import OddsFinding
from waterbudget.weather.years import LONG_SPELLS_DAYS, spell_table


def lasting(found: OddsFinding) -> Table:
    """The chance that the stored rain lasts so many days; with few years the bare counts.

    Where rules are asked for, it waits for the full screen.
    """
    odds = found.asked
    behind, is_recorded = odds.years.years_behind, found.drawn is None
    columns = [
        Column("days", "It lasts", write=lambda days: count(days, "day")),
        Column("date", "up to", write=in_words),
    ]
    if is_recorded:
        columns.append(Column("years", f"in {one(found)}s", write=lambda years: f"{years} of {behind}"))
    if not odds.is_few:
        columns.append(Column("share", "chance", write=chance_of(behind)))
        columns += [Column("least", "at least", write=percent), Column("most", "at most", write=percent)]
    rows = []
    for days in odds.steps() if odds.asked_l.any() else []:
        chance = odds.chance_of_lasting(days)
        row: list[Cell] = [days, found.first + dt.timedelta(days=days - 1)]
        row += [int((odds.days_lasted >= days).sum())] if is_recorded else []
        row += [] if odds.is_few else [float(chance.share), float(chance.low), float(chance.high)]
        rows.append(tuple(row))
    return Table("How long the stored rain lasts", tuple(columns), tuple(rows), full=found.rules is not None)


def chances(found: OddsFinding) -> Strip | None:
    """The chance of lasting along the months; none where nothing is asked for or the season passes New Year."""
    odds = found.asked
    if not odds.asked_l.any() or found.first.year != found.last.year:
        return None
    share = np.asarray(odds.chance_of_lasting(np.arange(1, odds.days + 1)).share, dtype=np.float64)
    legend = f"█ in all {one(found)}s"
    return Strip("The stored rain lasts", legend, (Lane("It lasts", share),), found.recorded.years.dates[:, 0])


def numbers(found: OddsFinding) -> Table:
    """What the summers add up to; the recorded ones stand beside the drawn ones."""
    few, ones = found.asked.is_few, f"{one(found)}s"
    days, water = partial(count, thing="day"), lambda needed_l: f"{litres(needed_l)} L"
    columns = (
        Column("method", capital(f"{ones} {made(found)}".strip())),
        Column("years", "tried"),
        Column("runs_short", "run short", "in"),
        Column("days_lasted_half", "half last", "at most", days),
        *(() if few else (Column("days_lasted_four_of_five", "4 of 5 last", "at least", days),)),
        Column("days_lasted_worst", "shortest", "lasts", days),
        Column("needed_l_half", "mains", "for half", water),
        *(() if few else (Column("needed_l_four_of_five", "mains", "for 4 of 5", water),)),
        Column("needed_l_worst", "mains", "in the worst", water),
    )
    shown = [(_record(found), found.recorded)] + ([("drawn", found.drawn)] if found.drawn else [])
    rows = [_numbers(name, odds, few=few) for name, odds in shown] if found.asked.asked_l.any() else []
    return Table(f"What the {ones} add up to", columns, tuple(rows), full=True)


def _numbers(name: str, odds: Odds, *, few: bool) -> tuple[Cell, ...]:
    lasted, needed_l = odds.days_lasted, odds.needed_l
    return (
        name,
        len(lasted),
        of_years(odds, odds.runs_short),
        int(not_above(lasted, 1, 2)),
        *(() if few else (-int(not_above(-lasted, 4, 5)),)),
        int(lasted.min()),
        float(not_above(needed_l, 1, 2)),
        *(() if few else (float(not_above(needed_l, 4, 5)),)),
        float(needed_l.max()),
    )


def _record(found: OddsFinding) -> str:
    """The years of the record, at the head of a row."""
    return "of the record" if found.is_changed else "recorded"


def worst(found: OddsFinding) -> Table:
    """The recorded years that need most mains water; where they are few all of them, as they came."""
    recorded, few = found.recorded, found.recorded.is_few
    shown = list(range(len(recorded.days_lasted))) if few else recorded.worst_first()[:WORST_SHOWN].tolist()
    words = ["" if few else "worst", "" if found.is_changed else "recorded", f"{one(found)}s", made(found)]
    title = capital(" ".join(word for word in words if word))
    columns = (
        Column("year", title),
        Column("days_lasted", "lasted", "days"),
        Column("first_out", "short from", write=partial(_day, found), none="never"),
        Column("needed_l", "mains", "L", litres),
    )
    rows = tuple(
        (
            named(recorded, year),
            int(recorded.days_lasted[year]),
            day_of(recorded, recorded.first_out[year], year),
            float(recorded.needed_l[year]),
        )
        for year in shown
    )
    return Table(title, columns, rows, full=not few)


def _day(found: OddsFinding, day: dt.date) -> str:
    """A day of a season, with its year where the season touches more than one."""
    return dated(day, found.first, found.last)


def dry_spells(found: OddsFinding) -> Table:
    """The dry spells of the drawn summers beside the recorded: a method that makes them too rare flatters the store."""
    columns = (
        Column("method", f"Dry spells of a {one(found)}"),
        Column("longest_mean_days", "longest", "mean, days", "{:.0f}".format),
        *(Column(f"share_{days}_days", f"{days} days", "or more", percent) for days in LONG_SPELLS_DAYS),
    )
    title = f"Dry spells of a {one(found)}, in the record and drawn"
    if found.drawn is None:
        return Table(title, columns, (), full=True)
    spells = spell_table(found.recorded.years, found.drawn.years)
    recorded, drawn = (row.to_dict() for _, row in spells.iterrows())
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (name, *(float(row[column.quantity]) for column in columns[1:]))
        for name, row in ((_record(found), recorded), ("drawn", drawn))
    )
    rarer = [days for days in LONG_SPELLS_DAYS if drawn[f"share_{days}_days"] < recorded[f"share_{days}_days"]]
    below = tuple(
        f"Dry spells of {days} days and more come more rarely in the drawn {one(found)}s than in the record: trust the "
        "record where it is worse."
        for days in rarer[-1:]
    )
    return Table(title, columns, rows, below, full=True)
