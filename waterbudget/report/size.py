"""The screen of a size: the smallest that is enough, the knee and what limits; then sizes, rules, offers and roofs."""

import datetime as dt
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from waterbudget.answers.doubt import doubt_sentence
from waterbudget.errors import InputError
from waterbudget.odds.summers import BLOCKS, CHAIN, RECORDS, Wanted, drawn_summers
from waterbudget.output import refuse_outputs, write_files
from waterbudget.report.answer import Answer
from waterbudget.report.for_sale import Market, for_sale, for_sale_json
from waterbudget.report.words import (
    as_given,
    count,
    in_words,
    listed,
    litres,
    percent,
    percent_below,
    screen,
    section,
    span,
    table,
    weekly_work,
    wrapped,
)
from waterbudget.review.doubt import find_doubt
from waterbudget.rows.table import csv_of
from waterbudget.simulate.fetched import spot_of
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.pages import SHORT_L
from waterbudget.sizing.offers import KG_PER_L, Offer, read_offers
from waterbudget.sizing.sizes import DRY_YEAR, Outcomes, Sweep
from waterbudget.sizing.stretch import NOT_COUNTED, drawn_stretch, recorded_stretch
from waterbudget.sizing.study import Study, study
from waterbudget.tables.cautions import cautions

DRAWN_YEARS = 100
DRAWN = {BLOCKS: "in blocks of days", CHAIN: "by a chain of wet and dry days"}
YEAR = {False: ("01-01", "12-31"), True: ("07-01", "06-30")}  # by whether the garden lies in the south
ROWS, ROOF_ROWS, ROOF_COLUMNS = 10, 7, 6
ROUNDING = 1e-9  # of a store's litres
FILLING_COUNTS = 0.05  # of all that is asked for, from which the first day's water is worth a line
ALIKE = 0.01  # shares that differ by less are told as alike
CAUTIONS = ("base", "openings", "type")  # subjects in the table: the load, children, how to top up
PEAK = "Thomas & Burden 1963, as credited in a manual: full at first, drawn from after the day's rain"


@dataclass(frozen=True)
class Question:
    """What a size is asked about, besides the sizes themselves.

    tank: None for the one that is asked for most. options: file of what is for sale; none_yet: whether the tank is only
    planned, so that nothing is there to reckon that against; water_per_m3: price of mains water, None for that of the
    site. roofs: whether to map roof areas.
    method, years, seed: of the weather, as for odds.
    """

    tank: str | None = None
    options: Path | None = None
    none_yet: bool = False
    water_per_m3: float | None = None
    roofs: bool = False
    method: str = RECORDS
    years: int | None = None
    seed: int | None = None

    def __post_init__(self) -> None:
        """Raises InputError with a line for each part that cannot be."""
        faults = []
        if self.water_per_m3 is not None and not 0.0 < self.water_per_m3 < math.inf:
            faults.append(
                f"water-price is {self.water_per_m3:g}; write what a cubic metre costs, above 0, such as 3.40"
            )
        given = {"none-yet": self.none_yet, "water-price": self.water_per_m3 is not None}
        if self.options is None:
            faults += [f"{name} goes with options; name a file of what is for sale" for name in given if given[name]]
        if faults:
            raise InputError(faults)


@dataclass(frozen=True, eq=False)
class Findings:
    """What the screen, the picture and the files are made of."""

    opened: Opened
    question: Question
    study: Study
    told: tuple[str, ...]  # what is to be known about drawn years

    def __str__(self) -> str:
        """The screen."""
        return size_screen(self)

    @property
    def water_per_m3(self) -> float | None:
        """Price of mains water, None where nobody tells."""
        given = self.question.water_per_m3
        return self.study.site.prices.water_per_m3 if given is None else given

    @property
    def per(self) -> str:
        """What a mean is of."""
        return "a year" if self.study.stretch.whole else "a season"

    @property
    def market(self) -> Market:
        """What the offers are judged by."""
        return Market(self.study, self.water_per_m3, self.per)


def answer_size(
    path: Path | None,
    sweep: Sweep,
    question: Question,
    out: Path | None,
    plot: Path | None,
    *,
    overwrite: bool,
    as_json: bool,
) -> Answer:
    """What size of tank; out: CSV of a row a size; plot: picture file. Raises InputError for what the user can mend."""
    refuse_outputs(out, plot, overwrite=overwrite)
    findings = find_size(open_site(path, every_year=True), sweep, question)
    contents = {}
    if out is not None:
        contents[out] = csv_of(findings.study.sizes.by_size())
    if plot is not None:
        from waterbudget.report.size_figures import size_picture

        contents[plot] = size_picture(findings, plot.suffix)
    write_files(contents, overwrite=overwrite)
    text = size_json(findings) if as_json else size_screen(findings)
    return Answer(text, (*findings.opened.notes, *(f"Written: {file}" for file in contents)))


def find_size(
    opened: Opened, sweep: Sweep | None = None, question: Question | None = None, offers: list[Offer] | None = None
) -> Findings:
    """Try the sizes on the recorded days or, where asked for, on drawn years.

    offers: what is for sale, by default what the file that the question names holds. Raises InputError for what the
    user can mend.
    """
    site, weather, question = opened.site, opened.weather, question or Question()
    if offers is None and question.options is not None:
        offers = read_offers(question.options)
    start_md, end_md = YEAR[site.is_south]
    is_drawn = question.method != RECORDS
    years = DRAWN_YEARS if is_drawn and question.years is None else question.years
    wanted = Wanted(question.method, years, start_md, end_md, seed=question.seed)
    told: tuple[str, ...] = ()
    if is_drawn:
        place = site if site.weather.file is not None else spot_of(opened.path, site)
        drawn = drawn_summers(site, weather, wanted, place)
        stretch = drawn_stretch(site, drawn)
        told = (f"{drawn.years_behind} recorded years stand behind the drawn ones, which add no knowledge.", drawn.note)
    else:
        stretch = recorded_stretch(site, weather)
    found = study(
        site,
        stretch,
        sweep or Sweep(),
        tank=question.tank,
        offers=offers,
        stands=not question.none_yet,
        roofs=question.roofs,
    )
    return Findings(opened, question, found, told)


def size_screen(findings: Findings) -> str:
    """Everything a gardener needs to know of the size, at most 100 columns wide."""
    return screen(
        [wrapped(heading(findings))],
        [wrapped(" ".join(verdict(findings)))],
        sizes(findings),
        for_sale(findings.market),
        roofs(findings),
        rules(findings),
        section("Assumed", assumptions(findings)),
        section("Take care", cautions_shown(findings)),
    )


# ---- The verdict ---------------------------------------------------------------------------------------------------


def heading(findings: Findings) -> str:
    """The garden, the tank and the days."""
    return f"{findings.study.site.site.name}, what size for {findings.study.tank.name}: {period(findings)}"


def period(findings: Findings) -> str:
    """The days that count, in a few words."""
    stretch, question = findings.study.stretch, findings.question
    years = len(stretch.names)
    if question.method != RECORDS:
        return f"{count(years, 'year')} drawn {DRAWN[question.method]}"
    if not stretch.whole:
        dates = findings.opened.weather.dates
        return span(dates[0].date(), dates[-1].date())
    return stretch.names[0] if years == 1 else f"{years} years, {stretch.names[0]} to {stretch.names[-1]}"


def verdict(findings: Findings) -> list[str]:
    """The answer in a few sentences: what is enough, where more litres stop helping, and what limits."""
    told = [enough(findings.study), knee(findings), limit(findings), now(findings.study)]
    return [*told, working(findings)] if findings.study.sizes.work_minutes.any() else told


def enough(found: Study) -> str:
    """The smallest size that meets the target, or that none does."""
    sizes, target = found.sizes, found.sweep.target
    wanted = f"{as_given(target)} of what {found.tank.name} is asked for"
    if found.enough is None:
        most = f"{litres(sizes.capacity_l[best(sizes)])} L, meets {percent_below(sizes.met[best(sizes)], target)}"
        return f"No size up to {litres(sizes.capacity_l[-1])} L meets {wanted}: the best, {most}."
    smallest = f"{litres(sizes.capacity_l[found.enough])} L"
    if found.enough == 0:
        return f"Even {smallest}, the smallest size tried, meets {wanted}.{_by_number(found, found.enough)}"
    return (
        f"{smallest} is the smallest size tried that meets {wanted}; "
        f"{litres(sizes.capacity_l[found.enough - 1])} L meets {percent_below(sizes.met[found.enough - 1], target)}."
        f"{_by_number(found, found.enough)}"
    )


def _by_number(found: Study, size: int) -> str:
    """How many of the joined stores hold a size; nothing where there is but one store."""
    one = found.tank
    if one.joined == 1:
        return ""
    stores = math.ceil(float(found.sizes.capacity_l[size]) / one.capacity_l - ROUNDING)
    return f" That is {stores} joined stores of {litres(one.capacity_l)} L each."


def best(sizes: Outcomes) -> int:
    """The smallest of the sizes that meet most, by its number."""
    return int(np.argmax(sizes.met))


def knee(findings: Findings) -> str:
    """Where another 100 L stop being worth it."""
    found, per = findings.study, findings.per
    worth = f"{litres(found.sweep.worth_l)} L of mains water {per}"
    if found.knee is None:
        return f"Up to {litres(found.sizes.capacity_l[-1])} L another 100 L still saves {worth} or more."
    at = litres(found.sizes.capacity_l[found.knee])
    if found.knee == 0:
        return f"From {at} L on, the smallest tried, no further 100 L save {worth}."
    return f"Beyond {at} L (the knee) another 100 L saves less than {worth}."


def limit(findings: Findings) -> str:
    """Whether the tank or the roof stands in the way."""
    found, per = findings.study, findings.per
    comes_l, asked_l = found.sizes.a_year("inflow_l")[-1], found.sizes.a_year("asked_l")[-1]
    brings = f"{litres(comes_l)} L {per} run into it and {litres(asked_l)} L are asked for"
    if found.limit == "roof" and found.enough is not None:
        return f"Only the first day's filling makes that enough, and year after year the roof limits: {brings}."
    if found.limit == "roof":
        return f"The roof limits, not the tank: a bigger tank cannot help that far, as {brings}."
    if found.enough is None:
        return f"The tank limits, not the roof: enough rain comes, but at another time: {brings}."
    return f"Below it the tank limits, not the roof: {brings}."


def now(found: Study) -> str:
    """What the tank as it is meets."""
    return f"As it is, with {litres(found.tank.all_l)} L, it meets {percent(found.now.met[0])}."


def working(findings: Findings) -> str:
    """What the watering takes of somebody's time."""
    mean = "On the mean of the year" if findings.study.stretch.whole else "On the mean of these days"
    of_now, of_all = findings.study.now.week_minutes[0], findings.study.sizes.week_minutes
    alike = round(of_all.min()) == round(of_all.max())
    other = ", whatever the size" if alike else f" now, {of_all.min():,.0f} to {of_all.max():,.0f} with the sizes tried"
    return f"{mean} the watering takes {weekly_work(of_now)}{other}."


# ---- The tables ----------------------------------------------------------------------------------------------------


def sizes(findings: Findings) -> list[str]:
    """A line for each of about ten sizes, the smallest that is enough, the knee and the tank as it is."""
    found, per = findings.study, findings.per
    every = found.sizes
    shown = {*np.linspace(0, len(every.capacity_l) - 1, ROWS).round().astype(int).tolist()}
    shown |= {number for number in (found.enough, found.knee) if number is not None}
    rows = {every.capacity_l[number]: every.take(np.array([number])) for number in sorted(shown)}
    rows[found.now.capacity_l[0]] = found.now
    marks = {found.now.capacity_l[0]: ["now"]}
    for number, mark in ((found.enough, f"meets {as_given(found.sweep.target)}"), (found.knee, "knee")):
        if number is not None:
            marks.setdefault(every.capacity_l[number], []).append(mark)
    years = len(found.stretch.names)
    lasts = ["lasts"] if years == 1 else ["half last", "1 in 10" if years >= DRY_YEAR else "driest"]
    units = ["days"] if years == 1 else ["at most", "at most" if years >= DRY_YEAR else "lasts"]
    head = ("Sizes", "holds", "met", "days met", *lasts, "mains", "to drain", "turned over")
    lines = [
        (
            ", ".join(marks.get(capacity_l, [])),
            litres(capacity_l),
            percent(one.met[0]),
            percent(one.met_on_days[0]),
            *(
                lasted(findings, days[0])
                for days in ((one.median_lasted,) if years == 1 else (one.median_lasted, one.dry_lasted))
            ),
            litres(one.a_year("needed_l")[0]),
            litres(one.a_year("spilled_l")[0]),
            f"{one.turnovers[0]:.1f}",
        )
        for capacity_l, one in sorted(rows.items())
    ]
    return table(head, lines, units=("", "L", "of asked", "of days", *units, f"L {per}", f"L {per}", f"times {per}"))


def lasted(findings: Findings, days: float) -> str:
    """Days lasted, with the last of them as a date."""
    stretch = findings.study.stretch
    if days >= stretch.year_days.min():
        return f"all {days:.0f}"
    if days == 0:
        return "0"
    last = dt.date.fromisoformat(str(stretch.begins + np.timedelta64(int(days) - 1, "D")))
    return f"{days:.0f}, {last.day} {last:%b}"


def rules(findings: Findings) -> list[str]:
    """What the rules of thumb say, and how that would really have done; their sources below."""
    found, per = findings.study, findings.per
    told = [(one.rule.rule, one.rule.source, one.outcome) for one in found.rules if one.outcome is not None]
    if found.no_shortage is not None:
        told.append(("never short: sequent peak", PEAK, found.no_shortage))
    sources = list(dict.fromkeys(source for _, source, _ in told))
    lines = [(f"{rule} [{sources.index(source) + 1}]", *tried(outcome)) for rule, source, outcome in told]
    notes = [" ".join(f"[{number}] {source}." for number, source in enumerate(sources, 1))]
    notes.append("The rules spread the demand evenly over the year; a garden asks for most of its water in summer.")
    if not found.stretch.whole:
        notes.append("Rules that go by a year's catch or rain are left out: the weather holds no whole year.")
    elif any(one.outcome is None for one in found.rules):
        notes.append("Left out: rules that ask for a roof, and fits made for more rain on it than is asked for here.")
    if found.no_shortage is None:
        notes.append("No size at all is never short: more is asked for than comes in.")
    head = ("Rules of thumb, tried here", "says", "met", "mains")
    return [*table(head, lines, units=("", "L", "of asked", f"L {per}")), *(wrapped(note) for note in notes)]


def tried(outcome: Outcomes) -> tuple[str, str, str]:
    """A size, what it meets and the mains water that it leaves."""
    return litres(outcome.capacity_l[0]), percent(outcome.met[0]), litres(outcome.a_year("needed_l")[0])


def roofs(findings: Findings) -> list[str]:
    """Capacities against roof areas, and whether litres or roof help more."""
    found = findings.study
    if found.roofs is None or found.doubled is None:
        return []
    area_m2, capacity_l, met = found.roofs
    down = np.unique(np.linspace(0, len(capacity_l) - 1, ROOF_ROWS).round().astype(int))
    across = np.unique(np.linspace(0, len(area_m2) - 1, ROOF_COLUMNS).round().astype(int))
    lines = [[litres(capacity_l[row]), *(percent(met[column, row]) for column in across)] for row in down]
    head = ["Store \\ roof", *(f"{area_m2[column]:,.3g} m²" for column in across)]
    gain_l, gain_m2 = found.doubled.tank - found.doubled.now, found.doubled.roof - found.doubled.now
    if max(gain_l, gain_m2) < ALIKE:
        advice = "neither helps"
    elif abs(gain_l - gain_m2) < ALIKE:
        advice = "either helps as much"
    else:
        advice = "litres help more" if gain_l > gain_m2 else "more roof, such as a second downpipe, helps more"
    today, twice_l, twice_m2 = (percent(met) for met in found.doubled)
    sentence = (
        f"Litres or roof? {litres(found.tank.all_l)} L under {found.roof_m2:g} m² meet {today}; "
        f"twice the litres would meet {twice_l}, twice the roof {twice_m2}: {advice}."
    )
    return [wrapped(sentence), "", *table(head, lines, units=("L", *[""] * len(across)))]


# ---- What it rests on ----------------------------------------------------------------------------------------------


def assumptions(findings: Findings) -> Iterator[str]:
    """What the figures rest on."""
    found, weather = findings.study, findings.opened.weather
    tank, site = found.tank, found.site
    yield chosen(findings)
    yield from days(findings)
    yield from findings.told
    yield doubt_sentence(find_doubt(site, weather))
    filled = tank.start_l / tank.capacity_l
    yield f"Every size begins the first day {percent(filled)} full, like the {litres(tank.all_l)} L of today."
    if found.first_filling >= FILLING_COUNTS:
        size = "the largest size" if found.enough is None else "the size that is enough"
        yield (
            f"That first filling is {percent(found.first_filling)} of all that is asked of {size}, "
            "and no rain had to bring it: weather of more years tells better."
        )
    smallest_l = found.sizes.capacity_l[0]
    if tank.dead_l > 0.0:
        below = ", and smaller sizes give nothing" if smallest_l < tank.all_dead_l else ""
        yield f"The lowest {tank.all_dead_l:g} L stay out of reach at every size{below}."
    float_to_l = tank.joined * (tank.float_to_l or 0.0)
    if smallest_l < float_to_l:
        yield (
            f"In sizes below {float_to_l:g} L the float valve's levels come down in proportion, "
            "so that they stay below the brim."
        )
    if tank.mains == "float":
        yield "Met is what the store gave without the mains water that its float valve let in."
    if any(zone.plan != "timer" for zone in site.zone):
        yield (
            "Where a plan looks at the soil, a store that runs short leaves it drier and is asked for more: "
            "what is asked for differs a little from size to size."
        )
    if found.deals:
        beside = ", and beside the tank with it" if found.stands else ""
        yield (
            f"Several pieces are joined low down{beside}, so that they fill and empty together; "
            "prices are in the money of the file."
        )
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    release = (
        "only tomorrow (yield after spillage), on the safe side"
        if site.model.release == "after_spill"
        else "today (yield before spillage), on the hopeful side"
    )
    yield f"Order of the day: today's rain can be drawn {release}."


def chosen(findings: Findings) -> str:
    """Which tank, and why."""
    found = findings.study
    others = [tank.name for tank in found.site.tank if tank.name != found.tank.name]
    if not others:
        return f"{found.tank.name} is the only store."
    stay = f"{listed(others)} {'stays' if len(others) == 1 else 'stay'} as now; mains and drain are the whole garden's."
    if findings.question.tank is not None:
        return f"{found.tank.name} was chosen; {stay}"
    return f"{found.tank.name} was chosen as most water is asked of it (another: --tank); {stay}"


def days(findings: Findings) -> Iterator[str]:
    """The days that were run, and those that count."""
    stretch = findings.study.stretch
    first = in_words(str(stretch.begins))
    drawn = findings.question.method != RECORDS
    if stretch.whole and len(stretch.names) == 1:
        yield f"Counted: {period(findings)}, one year from {first}; days lasted count from that day."
    elif stretch.whole:
        yield (
            f"Counted: {period(findings)}, each of them from {first} with what the year before left in the store; "
            f"days lasted count from {first}."
        )
    elif len(stretch.names) == 1:
        yield f"Counted: the {stretch.year_days[0]} days of the weather, as no year is whole; days lasted are of these."
    else:
        yield (
            f"Counted: the days of each calendar year that the weather has, {listed(stretch.names)}, as none is whole; "
            "days lasted are of these."
        )
    left_out = int((stretch.year == NOT_COUNTED).sum())
    if left_out:
        yield f"{count(left_out, 'day')} outside whole years were run but are not counted."
    if drawn:
        in_string = len(stretch.year_days)
        yield f"The drawn years run in strings of {in_string}, each string from the first day's store."


def cautions_shown(findings: Findings) -> list[str]:
    """The cautions that the answer calls for."""
    found = findings.study
    told_l = found.sizes.capacity_l[best(found.sizes) if found.enough is None else found.enough]
    topics = ["weight", "drowning", *(["mains top-up"] if found.now.a_year("needed_l")[0] > SHORT_L else [])]
    weighs = f"{litres(told_l)} L weigh {litres(told_l * KG_PER_L)} kg."
    told = [one.caution for one in cautions(*topics) if one.subject in CAUTIONS]
    return [f"{weighs} {told[0]}", *told[1:]]


# ---- For machines --------------------------------------------------------------------------------------------------


def size_json(findings: Findings) -> str:
    """The findings as JSON; per_year means per counted year, whole or not."""
    found, stretch = findings.study, findings.study.stretch
    capacity_l = found.sizes.capacity_l
    asked = {
        "site": found.site.site.name,
        "tank": found.tank.name,
        "method": findings.question.method,
        "years": list(stretch.names),
        "whole_years": stretch.whole,
        "first_day": str(stretch.begins),
        "target": found.sweep.target,
        "worth_l": found.sweep.worth_l,
        "enough_l": None if found.enough is None else float(capacity_l[found.enough]),
        "knee_l": None if found.knee is None else float(capacity_l[found.knee]),
        "limit": found.limit,
        "asked_l_per_year": float(found.sizes.a_year("asked_l")[-1]),
        "inflow_l_per_year": float(found.sizes.a_year("inflow_l")[-1]),
        "now": _row(found.now),
        "sizes": found.sizes.by_size().to_dict("records"),
        "rules": [
            {"rule": one.rule.rule, "source": one.rule.source, "page": one.rule.page}
            | {"size": None if one.outcome is None else _row(one.outcome)}
            for one in found.rules
        ],
        "never_short": None if found.no_shortage is None else _row(found.no_shortage),
    }
    if found.deals:
        asked |= for_sale_json(findings.market)
    if found.roofs is not None and found.doubled is not None:
        area_m2, sizes_l, met = found.roofs
        asked["roofs"] = {"area_m2": area_m2.tolist(), "capacity_l": sizes_l.tolist(), "met": met.tolist()}
        asked["doubled"] = found.doubled._asdict()
    return json.dumps(asked, indent=2, ensure_ascii=False)


def _row(one: Outcomes) -> dict[str, Any]:
    return {str(name): value for name, value in one.by_size().to_dict("records")[0].items()}
