"""What the logged levels say of a garden: how far the model is off, and the numbers that bring it nearest."""

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import TypedDict

from waterbudget.answers.english import capital, count, listed, litres, span
from waterbudget.answers.facts import Common, period
from waterbudget.blocks import Answer, Bullets, Column, Lane, Paragraph, Picture, Strip, Table
from waterbudget.errors import Said
from waterbudget.journal.book import GAUGE, RAN
from waterbudget.journal.diary import LET_IN
from waterbudget.journal.fit import Estimate, Fit
from waterbudget.site.edit import written

if TYPE_CHECKING:
    import datetime as dt

SHOWN_READINGS = 24
OF = {  # what is fitted, and its unit
    "runoff_coefficient": ("Runoff coefficient of", ""),
    "first_flush_l": ("First flush of", "L a day"),
    "loss_l_per_day": ("Leak of", "L a day"),
    "flow_l_min": ("Flow of", "L/min"),
    "start_l": ("First level of", "L"),
}
ERROR_FIGURES = 2


class Miss(TypedDict):
    """How far the model is from a store's measured levels: roots of the mean squares."""

    tank: str
    levels: int
    miss_site_file_l: float
    miss_fitted_l: float


class Quantity(TypedDict):
    """A number of the garden, in the unit of its key; fitted and standard_error are null where nothing tells them."""

    key: str
    name: str
    site_file: float
    fitted: float
    standard_error: float | None
    at_bound: bool


class Confounded(TypedDict):
    """Quantities that cannot be told apart; correlation of two, null for more."""

    keys: list[str]
    correlation: float | None


class Alternative(TypedDict):
    """Another value that fits as well."""

    key: str
    fitted: float


class Level(TypedDict):
    """A measured level beside those of the model."""

    date: str
    tank: str
    measured_l: float
    site_file_l: float
    fitted_l: float


class Logged(TypedDict):
    """What was logged beside the levels, and what the plan, the weather or the model has in its place."""

    kind: str
    name: str
    days: int
    logged: float
    other_days: int
    other: float


class Facts(Common):
    """The fit for machines."""

    stores: list[Miss]
    quantities: list[Quantity]
    confounded: list[Confounded]
    alternatives: list[Alternative]
    levels: list[Level]
    logged: list[Logged]


def answer(fitted: Fit, *, copy: Path | None = None) -> Answer:
    """The fit in words; copy: of the site file as it was, where what fits best was written into it."""
    kept = () if copy is None else (f"Written: {fitted.opened.path}; as it was before: {copy}",)
    return Answer(
        "fit",
        f"{fitted.site.site.name}, {span(*fitted.period)}: measured against modelled levels",
        tuple(verdict(fitted)),
        (
            values(fitted),
            Bullets("help", "Doubts", tuple(doubts(fitted))),
            levels(fitted),
            picture(fitted),
            Bullets("tell", "Logged beside the levels", tuple(beside(fitted))),
            Bullets("assume", "Assumed", tuple(assumptions(fitted))),
            following(fitted, is_written=copy is not None),
        ),
        facts(fitted),
        (*fitted.notes, *kept),
    )


def facts(fitted: Fit) -> Facts:
    """The fit as plain values."""
    keys = [f"{one.quantity.kind}[{one.quantity.number + 1}].{one.quantity.key}" for one in fitted.estimates]
    return {
        "site": fitted.site.site.name,
        "period": period(*fitted.period),
        "stores": [
            {
                "tank": tank,
                "levels": len(levels),
                "miss_site_file_l": fitted.misses_l(tank)[0],
                "miss_fitted_l": fitted.misses_l(tank)[1],
            }
            for tank, levels in fitted.readings.level_l.items()
        ],
        "quantities": [
            {
                "key": key,
                "name": one.quantity.name,
                "site_file": one.quantity.now,
                "fitted": one.fitted,
                "standard_error": one.error,
                "at_bound": one.at_bound,
            }
            for key, one in zip(keys, fitted.estimates, strict=True)
        ],
        "confounded": [
            {"keys": [keys[place] for place in group.places], "correlation": group.correlation}
            for group in fitted.confounded
        ],
        "alternatives": [{"key": keys[one.place], "fitted": one.value} for one in fitted.alternatives],
        "levels": [
            {
                "date": row.date.isoformat(),
                "tank": row.tank,
                "measured_l": row.measured_l,
                "site_file_l": row.now_l,
                "fitted_l": row.fitted_l,
            }
            for row in fitted.compared
        ],
        "logged": [
            {
                "kind": one.kind,
                "name": one.name,
                "days": one.days,
                "logged": one.logged,
                "other_days": one.other_days,
                "other": one.other,
            }
            for one in fitted.logged
        ],
    }


# ---- The verdict, and what is doubtful about it ----------------------------------------------------------------------


def verdict(fitted: Fit) -> Iterator[str]:
    """How far the model is from what was measured, before and after, for each store."""
    for tank, levels in fitted.readings.level_l.items():
        now_l, best_l = fitted.misses_l(tank)
        yield (
            f"{tank}: the model misses {count(len(levels), 'measured level')} by {litres(now_l)} L (root mean square) "
            f"with what the site file says, and by {litres(best_l)} L with what fits best."
        )


def called(one: Estimate) -> str:
    """A quantity in words: Leak of Shed butt."""
    return f"{OF[one.quantity.key][0]} {one.quantity.name}"


def _in_a_sentence(one: Estimate) -> str:
    what, _ = OF[one.quantity.key]
    return f"{what[0].lower()}{what[1:]} {one.quantity.name}"


def doubts(fitted: Fit) -> Iterator[str]:
    """What the readings cannot tell, or cannot tell apart."""
    for one in fitted.estimates:
        if one.error is None:
            yield (
                f"{called(one)} cannot be told from these levels: changing it by {written(one.quantity.notable)} "
                "moves none of them by a litre. It was left as the site file has it."
            )
        elif one.at_bound and not one.quantity.is_start and one.fitted > one.quantity.high / 2:
            yield (
                f"{called(one)} went up to the highest value that was tried, {written(one.fitted)}: something else "
                "must be wrong. Look at the roof's area, the watering plan and the stick."
            )
    for group in fitted.confounded:
        names = capital(listed([_in_a_sentence(fitted.estimates[place]) for place in group.places]))
        if group.correlation is None:
            yield f"{names} cannot be told apart: only all of them together fit the levels."
        else:
            more = "more of both" if group.correlation > 0.0 else "more of one and less of the other"
            yield (
                f"{names} cannot well be told apart (correlation {group.correlation:.2f}): "
                f"{more} would give nearly the same levels. Trust them together, not each alone."
            )
    for place, value in dict.fromkeys((other.place, written(other.value)) for other in fitted.alternatives):
        one = fitted.estimates[place]
        yield (
            f"{called(one)} could as well be {value} {OF[one.quantity.key][1]}".rstrip() + ", with other values "
            "beside it. The answer nearest to the site file was taken; more levels will decide."
        )


# ---- The tables and the picture --------------------------------------------------------------------------------------


def values(fitted: Fit) -> Table:
    """A row for each quantity, what the site file says of it and what fits best."""
    columns = (
        Column("quantity", "Quantity", most=50),
        Column("unit", "unit"),
        Column("site_file", "site file", write="{:g}".format),
        Column("fitted", "fits best", write=written, none="not told"),
        Column("standard_error", "give or take", write=lambda error: written(error, ERROR_FIGURES)),
    )
    rows = tuple(
        (
            called(one),
            OF[one.quantity.key][1],
            one.quantity.now,
            one.fitted if one.error is not None else None,
            one.error if one.error is not None and one.error <= one.quantity.high - one.quantity.low else None,
        )
        for one in fitted.estimates
        if not one.quantity.is_start
    )
    return Table("What fits best", columns, rows)


def levels(fitted: Fit) -> Table:
    """A row for each measured level beside the modelled ones, the last of them where they are many."""
    columns = (
        Column("date", "Levels", write=_day),
        Column("tank", "store"),
        *(
            Column(name, head, "L", write="{:,.0f}".format)
            for name, head in (("measured_l", "measured"), ("site_file_l", "by site file"), ("fitted_l", "fitted"))
        ),
        Column("off_l", "off by", "L", write=lambda off_l: f"{round(off_l):+,d}"),
    )
    shown = fitted.compared[-SHOWN_READINGS:]
    rows = tuple(
        (row.date, row.tank, row.measured_l, row.now_l, row.fitted_l, row.fitted_l - row.measured_l) for row in shown
    )
    left_out = len(fitted.compared) - len(shown)
    earlier = f"... and {count(left_out, 'earlier level')}"
    below = (Said(f"{earlier}; --json has all.", f"{earlier}."),) if left_out else ()
    return Table("Measured and modelled levels", columns, rows, below, full=True)


def _day(date: "dt.date") -> str:
    return f"{date.day} {date:%b %Y}"


def picture(fitted: Fit) -> Picture:
    """The fitted level of each store day by day, with the measured ones below."""
    first = fitted.readings.first_day
    rows: list[Lane] = []
    for number, tank in enumerate(fitted.site.tank):
        measured = fitted.readings.level_l.get(tank.name)
        if measured is None:
            continue
        share = np.full(len(fitted.days), np.nan)
        share[[(day - first).days for day in measured]] = np.array(list(measured.values())) / tank.all_l
        on = ~np.isnan(share)
        rows.append(Lane(tank.name, fitted.fitted_l[:, number] / tank.all_l, on, "modelled"))
        rows.append(Lane("", share, on, "measured"))
    legend = "█ full; · no level was measured"
    strip = Strip("Level", legend, tuple(rows), fitted.days)
    return Picture("fit", f"Measured levels on the modelled ones, by date. {' '.join(verdict(fitted))}", strip)


# ---- What stands beside it -------------------------------------------------------------------------------------------


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


def assumptions(fitted: Fit) -> Iterator[str]:
    """What the figures rest on."""
    weather, kinds = fitted.opened.weather, {logged.kind for logged in fitted.logged}
    ran = (
        "A line ran as logged, and by its plan on days without a line in the journal"
        if RAN in kinds
        else "The lines ran by their plan, as no run was logged"
    )
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    yield f"A level is that of the evening, after the day's rain and watering. {ran}."
    if GAUGE in kinds:
        yield "A reading of the gauge is the rain of its day."
    yield "Give or take is one standard error; twice that covers about 95 % if nothing but the dipping scatters."
    yield "What else was not as in the site file, such as a clogged filter, goes into these numbers, too."
    yield "The filter passes what the site file says; whatever else is lost goes into the runoff coefficient."


def following(fitted: Fit, *, is_written: bool) -> Bullets | Paragraph:
    """What to do next."""
    path = shlex.quote(str(fitted.opened.path))
    if is_written:
        return Paragraph(f"Next: waterbudget run {path}")
    if not fitted.changes:
        return Paragraph("Nothing could be told from these levels, so there is nothing to write.")
    title = "Nothing was written. To take what fits best into the site file:"
    return Bullets("paste", title, (f"waterbudget fit {path} --write",))
