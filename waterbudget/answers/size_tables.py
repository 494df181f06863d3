"""The tables of a size: what each size does, the rules of thumb tried out, and sizes against roof areas."""

import datetime as dt
from collections.abc import Iterator
from functools import partial

import numpy as np

from waterbudget.answers.english import as_given, in_words, litres, percent, percent_below
from waterbudget.answers.size_verdict import lasts_to, per
from waterbudget.blocks import Cell, Column, Lane, Strip, Table
from waterbudget.sizing.sizes import DRY_YEAR, Outcomes
from waterbudget.sizing.study import ROUNDING, Sizing

ROWS, ROOF_ROWS, ROOF_COLUMNS = 4, 7, 6
ALIKE = 0.01  # shares that differ by less are told as alike
PEAK = "Thomas & Burden 1963, as credited in a manual: full at first, drawn from after the day's rain"


def sizes(study: Sizing, *, full: bool) -> Table:
    """A row for each of some sizes, for the smallest that is enough, the last that is worth it and that of now."""
    years, mean = len(study.stretch.names), per(study)
    none, to = f"all {'year' if study.stretch.whole else 'season'}", partial(_to, study)
    lasts = [Column("lasts_to_median", "lasts to", "" if years == 1 else "middling year", to, none)]
    if years > 1:
        dry = "1-in-10 dry year" if years >= DRY_YEAR else "driest year"
        lasts.append(Column("lasts_to_dry", "lasts to", dry, to, none))
    columns = (
        Column("mark", "Sizes"),
        Column("capacity_l", "holds", "L", litres),
        Column("volume_reliability", "meets", "of asked", partial(_met, target=study.sweep.target)),
        *lasts,
        Column("needed_l_per_year", "mains" if len(study.site.tank) == 1 else "all mains", f"L {mean}", litres),
        Column("spilled_l_per_year", "to drain", f"L {mean}", litres, spare=True),
    )
    rows = tuple(_size_row(study, one, mark) for mark, one in shown_sizes(study))
    return Table("What each size does", columns, rows, full=full)


def _to(study: Sizing, day: dt.date) -> str:
    """The last day that a size lasts; one before the first day is none."""
    return in_words(day) if np.datetime64(day) >= study.stretch.begins else "no day"


def _met(share: float, target: float) -> str:
    """A share that does not look like the target where it misses it."""
    return percent(share) if share >= target - ROUNDING else percent_below(share, target)


def _size_row(study: Sizing, one: Outcomes, mark: str) -> tuple[Cell, ...]:
    ends = [lasts_to(study, one.median_lasted[0])]
    ends += [lasts_to(study, one.dry_lasted[0])] if len(study.stretch.names) > 1 else []
    mains_l, drain_l = (float(one.a_year(name)[0]) for name in ("needed_l", "spilled_l"))
    return (mark, float(one.capacity_l[0]), float(one.met[0]), *ends, mains_l, drain_l)


def shown_sizes(study: Sizing) -> Iterator[tuple[str, Outcomes]]:
    """Some sizes with what they are, the smallest first."""
    every = study.sizes
    numbers = {*np.linspace(0, len(every.capacity_l) - 1, ROWS).round().astype(int).tolist()}
    worth_it = study.knee or None  # the smallest size tried says nothing of what is below it
    numbers |= {number for number in (study.enough, worth_it) if number is not None}
    rows = {float(every.capacity_l[number]): every.take(np.array([number])) for number in sorted(numbers)}
    now_l = float(study.now.capacity_l[0])
    rows[now_l] = study.now
    marks = {now_l: ["now"]}
    for number, mark in ((study.enough, f"meets {as_given(study.sweep.target)}"), (worth_it, "worth it up to here")):
        if number is not None:
            marks.setdefault(float(every.capacity_l[number]), []).append(mark)
    for capacity_l, one in sorted(rows.items(), key=lambda row: row[0]):
        yield ", ".join(marks.get(capacity_l, [])), one


def more_of_sizes(study: Sizing) -> Table:
    """What else is known of the same sizes."""
    columns = (
        Column("capacity_l", "More of them", "L", litres, is_text=False),
        Column("day_reliability", "days met", "of days", percent),
        Column("turnovers_per_year", "turned over", f"times {per(study)}", "{:.1f}".format),
        Column("work_minutes_per_week", "work", "min/week", "{:,.0f}".format),
    )
    rows = tuple(
        (float(one.capacity_l[0]), float(one.met_on_days[0]), float(one.turnovers[0]), float(one.week_minutes[0]))
        for _, one in shown_sizes(study)
    )
    return Table("What else each size does", columns, rows, full=True)


def met_by_size(study: Sizing) -> Strip:
    """What each size tried meets, from the smallest to the largest."""
    first, last = (f"{litres(study.sizes.capacity_l[end])} L" for end in (0, -1))
    lanes = (Lane(first, np.asarray(study.sizes.met, dtype=np.float64)),)
    return Strip(f"Met of what {study.tank.name} is asked for", "█ all of it", lanes, thing="size", last=last)


# ---- Rules of thumb --------------------------------------------------------------------------------------------------


def rules(study: Sizing) -> Table:
    """What the rules of thumb say, and how that would really have done; their sources below."""
    told = [(one.rule.rule, one.rule.source, one.outcome) for one in study.rules if one.outcome is not None]
    if study.no_shortage is not None:
        told.append(("never short: sequent peak", PEAK, study.no_shortage))
    sources = list(dict.fromkeys(source for _, source, _ in told))
    columns = (
        Column("rule", "Rules of thumb, tried here"),
        Column("capacity_l", "says", "L", litres),
        Column("volume_reliability", "meets", "of asked", percent),
        Column("needed_l_per_year", "mains", f"L {per(study)}", litres),
    )
    rows = tuple(
        (
            f"{rule} [{sources.index(source) + 1}]",
            float(outcome.capacity_l[0]),
            float(outcome.met[0]),
            float(outcome.a_year("needed_l")[0]),
        )
        for rule, source, outcome in told
    )
    return Table("Rules of thumb", columns, rows, tuple(_of_rules(study, sources)), full=True)


def _of_rules(study: Sizing, sources: list[str]) -> Iterator[str]:
    yield " ".join(f"[{number}] {source}." for number, source in enumerate(sources, 1))
    yield "The rules spread the demand evenly over the year; a garden asks for most of its water in summer."
    if not study.stretch.whole:
        yield "Rules that go by a year's catch or rain are left out: the weather holds no whole year."
    elif any(one.outcome is None for one in study.rules):
        yield "Left out: rules that ask for a roof, and fits made for more rain on it than is asked for here."
    if study.no_shortage is None:
        yield "No size at all is never short: more is asked for than comes in."


# ---- Roofs -----------------------------------------------------------------------------------------------------------


def litres_or_roof(study: Sizing) -> Iterator[str]:
    """Whether more litres or more roof help more, where that was asked."""
    if study.doubled is None:
        return
    gain_l, gain_m2 = study.doubled.tank - study.doubled.now, study.doubled.roof - study.doubled.now
    if max(gain_l, gain_m2) < ALIKE:
        advice = "neither helps"
    elif abs(gain_l - gain_m2) < ALIKE:
        advice = "either helps as much"
    else:
        advice = "litres help more" if gain_l > gain_m2 else "more roof, such as a second downpipe, helps more"
    today, twice_l, twice_m2 = (percent(met) for met in study.doubled)
    yield (
        f"Litres or roof? {litres(study.tank.all_l)} L under {study.roof_m2:g} m² meet {today}; "
        f"twice the litres would meet {twice_l}, twice the roof {twice_m2}: {advice}."
    )


def roofs(study: Sizing) -> Table:
    """Capacities against roof areas: no rows unless that was asked."""
    if study.roofs is None:
        return Table("Store against roof", (Column("capacity_l", "Store \\ roof"),), (), full=True)
    area_m2, capacity_l, met = study.roofs
    down = np.unique(np.linspace(0, len(capacity_l) - 1, ROOF_ROWS).round().astype(int)).tolist()
    across = np.unique(np.linspace(0, len(area_m2) - 1, ROOF_COLUMNS).round().astype(int)).tolist()
    columns = (
        Column("capacity_l", "Store \\ roof", "L", litres),
        *(
            Column(f"volume_reliability_{area_m2[column]:.3g}_m2", f"{area_m2[column]:,.3g} m²", write=percent)
            for column in across
        ),
    )
    rows = tuple((float(capacity_l[row]), *(float(met[column, row]) for column in across)) for row in down)
    return Table("Store against roof: share of what is asked for that is met", columns, rows, full=True)
