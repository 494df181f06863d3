"""The report: one web page that asks for nothing from anywhere, for the screen, the phone and two sheets of paper."""

import base64
import datetime as dt
import hashlib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, cast

from waterbudget.answers.blocks import Answer as Told
from waterbudget.answers.english import capital
from waterbudget.answers.run import assumptions, help_with, verdict
from waterbudget.answers.run import cautions as cautions_of
from waterbudget.errors import InputError, OutputError, WeatherError, shown
from waterbudget.output import refuse_existing, write_files
from waterbudget.render.figures.balance import balance, balance_of, title_of
from waterbudget.render.figures.bed import bed as draw_beds
from waterbudget.render.figures.bed import driest
from waterbudget.render.figures.level import level
from waterbudget.render.figures.panels import WIDTH_IN, figure_bytes
from waterbudget.render.html import section as section_of
from waterbudget.report.answer import Answer
from waterbudget.report.words import count, in_words, listed, litres, percent, span, when, wrapped
from waterbudget.review.advice import advice
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.pages import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.simulate.run import run
from waterbudget.site.model import Draw, Site, Tank, Zone
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.soils import find_soil
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from markupsafe import Markup
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from waterbudget.answers.blocks import Kind
    from waterbudget.render.figures.panels import Panels

ENDINGS = (".html", ".htm")
TEMPLATE = "page.html.j2"
NARROW_IN, NARROW_LEVEL_IN = 4.3, 5.6  # widths of the pictures for a phone
STORE_COLUMNS = ("capacity_l", "inflow_l", "drawn_l", "short_l", "mains_l", "spilled_l")
DAY_COLUMNS = ("level_l", "inflow_l", "drawn_l", "short_l", "mains_l")
BED_COLUMNS = ("etc_mm", "rain_mm", "irrigation_mm", "drained_mm")
SVG, PNG = ".svg", ".png"
MEDIA = {SVG: "image/svg+xml", PNG: "image/png"}
MOST_LINE_DAYS = 400
MOST_BEDS = 12  # with a picture each: nobody reads more of them, and each makes the page 70 kB heavier
UNIT = re.compile(r"(?<=\d) (?=(?:L|mm|m|m²|kg|%|°C|days?)\b|%|°C)")
APART: "tuple[Kind, ...]" = ("caution",)  # of all sections in one place
HANDBOOK = "Allen et al. 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56"
RELEASE = "Order of overflow and draw: Jenkins et al. 1978 (yield after or before spillage)"


@dataclass(frozen=True)
class Picture:
    """A picture as the page holds it.

    wide: a data address; narrow: another for a phone, or empty. alt: the picture in words. name: what a button calls
    it. span and narrow_span: where the days begin and end in either, as shares of its width.
    """

    wide: str
    alt: str
    narrow: str = ""
    name: str = ""
    span: tuple[float, float] | None = None
    narrow_span: tuple[float, float] | None = None


@dataclass(frozen=True)
class Table:
    """A table of text; the first cell of a row is its head."""

    caption: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True)
class Day:
    """A day of the run: its date, its cells, and all of it in a sentence."""

    date: str
    cells: Sequence[str]
    told: str


@dataclass(frozen=True)
class Task:
    """A line of the watering plan: what is watered, and the rules as pairs of a word and its rule."""

    name: str
    what: str
    rules: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Part:
    """A further question with its answer, laid out; cautions: for those of the whole page."""

    html: "Markup"
    cautions: Sequence[str]


def answer_report(
    path: Path | None,
    first: dt.date | None,
    last: dt.date | None,
    start_l: Mapping[str, float],
    out: Path,
    further: str | None,
    *,
    overwrite: bool,
) -> Answer:
    """Run a site and write its report to the file `out`.

    further: what else to answer, words of FURTHER with commas between them; where the weather holds too little for
    one of them, its section says so. Raises InputError for what else the user can mend, before anything is written.
    """
    asked = further_asked(further)
    if out.suffix.lower() not in ENDINGS:
        raise OutputError(f"{out}: is no web page's name; end it in {ENDINGS[0]}")
    refuse_existing([out], overwrite=overwrite)
    opened = open_site(path, first, last)
    result = run(opened.site, opened.weather, start_l=start_l)
    sections, untold = [], []
    for word in asked:
        try:
            sections.append(FURTHER[word](path, start_l))
        except WeatherError as error:
            sections.append(_untold(word, error))
            untold += [f"{word}: is not answered, as the page says: {fault}" for fault in error.faults]
    write_files({out: page(result, opened.notes, sections).encode()}, overwrite=overwrite)
    return Answer(wrapped(" ".join(verdict(result))), (*opened.notes, *untold, f"Written: {out}"))


def _untold(word: str, error: WeatherError) -> Part:
    """In place of an answer, why the weather does not give one."""
    from markupsafe import Markup

    told = Told(word, f"{capital(word)}: no answer from this weather", error.faults, (), {})
    return Part(Markup(section_of(told, {})), ())  # noqa: S704 - the template has escaped it


def further_asked(words: str | None) -> list[str]:
    """The further questions in a list of words. Raises InputError for a word that is none of FURTHER."""
    asked = list(dict.fromkeys(word.strip().lower() for word in (words or "").split(",") if word.strip()))
    if unknown := [word for word in asked if word not in FURTHER]:
        told = listed([*map(shown, unknown)])
        raise InputError(f"with: {told} cannot be added; choose from {listed(list(FURTHER))}, with commas between them")
    return asked


def page(result: Result, notes: Sequence[str] = (), sections: Sequence[Part] = ()) -> str:
    """The report of a run as HTML: always the same text for the same run.

    notes: what else the reader should know of the site and its weather. sections: further questions, answered.
    Raises InputError where the result has no daily tables.
    """
    from jinja2 import Environment, StrictUndefined

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["hash"] = _hash
    environment.filters["together"] = _together
    template = environment.from_string((files("waterbudget.report") / TEMPLATE).read_text("utf-8"))
    site, summary = result.site, result.summary
    return template.render(
        name=site.site.name,
        span=span(summary["start"], summary["end"]),
        verdict=" ".join(verdict(result)),
        met=met(result),
        help=[help_with(one, result) for one in advice(result)],
        levels=levels(result),
        stores=store_table(result),
        tanks=[tank.name for tank in site.tank],
        day_columns=[REGISTER[name].heading for name in DAY_COLUMNS],
        days=list(days(result)),
        begin=_first_told(result),
        tasks=[*(zone_task(zone, site) for zone in site.zone), *(draw_task(draw) for draw in site.draw)],
        balances=balances(result),
        balance_tables=balance_tables(result),
        beds=bed_picture(result) if site.bed else None,
        few_beds=few_of(result),
        bed_table=bed_table(result),
        sections=sections,
        assumed=[*assumptions(result), *notes],
        sources=sources(result),
        cautions=dict.fromkeys([*cautions_of(result), *(line for one in sections for line in one.cautions)]),
        register=REGISTER,
    )


def _hash(script: str) -> str:
    """A script's mark for the page's own rule that no other may run."""
    return base64.b64encode(hashlib.sha256(str(script).encode()).digest()).decode()


def _together(words: str) -> str:
    """Numbers kept on one line with their units."""
    return UNIT.sub("\N{NO-BREAK SPACE}", words)


# ---- The verdict -----------------------------------------------------------------------------------------------------


def met(result: Result) -> str:
    """How much of the watering the stored rain did; empty where there was none to do."""
    summary = result.summary
    if summary["asked_l"] <= SHORT_L:
        return ""
    return (
        f"Stored rain did {percent(summary['volume_reliability'])} of the watering: "
        f"{litres(summary['rain_l'])} L of the {litres(summary['asked_l'])} L asked for."
    )


# ---- The stores ------------------------------------------------------------------------------------------------------


def levels(result: Result) -> list[Picture]:
    """The level of all stores and, where there are several, that of each by itself."""
    views = [("All stores", result)]
    if len(result.site.tank) > 1:
        views += [(tank.name, of_store(result, tank)) for tank in result.site.tank]
    return [_level_picture(name, view) for name, view in views]


def of_store(result: Result, tank: Tank) -> Result:
    """The run as one of its stores saw it."""
    (row,) = (row for row in result.summary["tanks"] if row["name"] == tank.name)
    book = result.tanks[result.tanks["tank"] == tank.name]
    opens = (book["mains_l"] > SHORT_L) & (tank.mains == "float")
    ended = ((book["short_l"] > SHORT_L) | opens).to_numpy()
    own = {
        "tanks": [row],
        "asked_l": row["asked_l"],
        "first_short": row["first_short"],
        "days_lasted": int(ended.argmax()) if ended.any() else len(book),
        "mains_days": int((book["mains_l"] > SHORT_L).sum()),
    }
    site = result.site.model_copy(update={"tank": [tank]})
    return replace(result, site=site, tanks=book, summary=result.summary | own)


def _level_picture(name: str, result: Result) -> Picture:
    rain = level(result)[0]
    wide, span_ = _address(rain.figure, _kind(result)), _span(rain)
    title, rain = rain.get_title(loc="left"), level(result)[0]
    rain.figure.set_figwidth(NARROW_LEVEL_IN)
    narrow, narrow_span = _address(rain.figure, _kind(result)), _span(rain)
    told = [
        f"{row['name']} holds {litres(row['capacity_l'])} L, starts with {litres(row['start_l'])} L, "
        f"is lowest with {litres(row['lowest_l'])} L and ends with {litres(row['end_l'])} L"
        for row in result.summary["tanks"]
    ]
    alt = f"The level of {name[0].lower() + name[1:] if name == 'All stores' else name} from day to day, with rain. "
    return Picture(wide, f"{alt}{title}. {'; '.join(told)}.", narrow, name, span_, narrow_span)


def _span(panel: "Axes") -> tuple[float, float]:
    box = panel.get_position()
    return box.x0, box.x1


def store_table(result: Result) -> Table:
    """What each store held, took in and gave."""
    rows = [[row["name"], *(litres(row[name]) for name in STORE_COLUMNS)] for row in result.summary["tanks"]]
    return Table("Each store over all days", [REGISTER["tank"].label, *_headings(STORE_COLUMNS)], rows)


def days(result: Result) -> Iterator[Day]:
    """Every day's rain and, store by store, DAY_COLUMNS."""
    names, summary = [tank.name for tank in result.site.tank], result.summary
    more_years = summary["start"][:4] != summary["end"][:4]
    book = {column: result.tanks[column].to_numpy().reshape(-1, len(names)) for column in DAY_COLUMNS}
    daily = zip(result.weather.dates, result.weather.daily["rain_mm"], strict=True)
    for number, (date, fallen_mm) in enumerate(daily):
        day = in_words(date.date(), year=more_years)
        today = [{column: float(book[column][number, store]) for column in book} for store in range(len(names))]
        rain = f"{fallen_mm:.1f} mm of rain" if fallen_mm > 0.0 else "no rain"
        told = " ".join(_store_told(name, row) for name, row in zip(names, today, strict=True))
        cells = [f"{fallen_mm:.1f}", *(litres(row[column]) for row in today for column in DAY_COLUMNS)]
        yield Day(day, cells, f"{day}, {rain}. {told}")


def _store_told(name: str, row: Mapping[str, float]) -> str:
    short = f", short of {litres(row['short_l'])} L" if row["short_l"] > SHORT_L else ""
    mains = f", mains {litres(row['mains_l'])} L" if row["mains_l"] > SHORT_L else ""
    return f"{name}: {litres(row['level_l'])} L{short}{mains}."


def _first_told(result: Result) -> int:
    """The day that is told before anybody asks for another: the first with a shortage."""
    days_lasted: int = result.summary["days_lasted"]
    return days_lasted if days_lasted < result.summary["days"] else 0


# ---- The plan --------------------------------------------------------------------------------------------------------


def zone_task(zone: Zone, site: Site) -> Task:
    """The plan of a zone, for the shed wall."""
    beds = listed([bed.name for bed in site.bed if bed.zone == zone.name]) or "no bed"
    run_l = f" (about {litres(zone.minutes * zone.flow_l_min)} L)" if zone.flow_l_min is not None else ""
    runs = f"{zone.runs_per_day} times " if zone.runs_per_day > 1 else ""
    most = "at most " if zone.plan == "refill" else ""
    rules = [("When", when(zone)), ("How long", f"{most}{runs}{zone.minutes:g} minutes{run_l}")]
    if zone.hot_above_c is not None and zone.hot_minutes is not None:
        rules.append(("Hot days", f"from {zone.hot_above_c:zg} °C: {runs}{zone.hot_minutes:g} minutes"))
    if zone.plan == "dry":
        rules.append(("Only if", "the soil of one of its beds has dried out"))
    if zone.plan == "refill":
        rules.append(("Stop", "when the soil is moist again"))
    if zone.skip_rain_mm is not None and zone.skip_rain_days is not None:
        rules.append(("Not after", f"{zone.skip_rain_mm:g} mm of rain in {count(zone.skip_rain_days, 'day')}"))
    return Task(zone.name, f"{zone.tank} to {beds}", rules)


def draw_task(draw: Draw) -> Task:
    """The plan of another draw."""
    return Task(draw.name, f"from {draw.tank}", [("When", when(draw)), ("How much", f"{draw.l_per_day:g} L a day")])


# ---- The balance and the beds ----------------------------------------------------------------------------------------


def balances(result: Result) -> list[Picture]:
    """Where the water came from and went, of all stores and, where there are several, of each."""
    return [_balance_picture(result, store) for store in _views(result)]


def _views(result: Result) -> list[str | None]:
    names = [tank.name for tank in result.site.tank]
    return [None, *(names if len(names) > 1 else [])]


def _balance_picture(result: Result, store: str | None) -> Picture:
    told = balance_of(result, store)
    came, went = (listed([f"{part.name} {litres(part.amount_l)} L" for part in side]) or "nothing" for side in told)
    alt = f"{title_of(store)}: the water came from {came}; it went to {went}."
    wide, narrow = (balance(result, store=store, width_in=width_in).figure for width_in in (WIDTH_IN, NARROW_IN))
    name = "All stores" if store is None else store
    return Picture(_address(cast("Figure", wide)), alt, _address(cast("Figure", narrow)), name)


def balance_tables(result: Result) -> list[Table]:
    """The balances in litres."""
    tables = []
    for store in _views(result):
        told = balance_of(result, store)
        rows = [
            [f"{heading}: {part.name}", litres(part.amount_l)]
            for heading, side in (("from", told.came), ("to", told.went))
            for part in side
        ]
        tables.append(Table(title_of(store), ["Water", "L"], rows))
    return tables


def bed_picture(result: Result) -> Picture:
    """The soil water of every bed, or of the driest where there are many."""
    rows = {row["name"]: row for row in result.summary["beds"]}
    names = driest(result, MOST_BEDS)
    told = [
        f"{name} is "
        + (f"thirsty on {count(rows[name]['stress_days'], 'day')}" if rows[name]["stress_days"] else "never thirsty")
        for name in names
    ]
    which = "each bed" if len(names) == len(rows) else f"each of {few_of(result)}"
    alt = f"The water left in the soil of {which} from day to day, in per cent. {'; '.join(told)}."
    wide = draw_beds(result, names=names)[0].figure
    narrow = draw_beds(result, names=names, columns=1, width_in=NARROW_IN)[0].figure
    return Picture(_address(wide, _kind(result)), alt, _address(narrow, _kind(result)))


def few_of(result: Result) -> str:
    """Which beds have a picture where not all have; empty where all do."""
    beds = len(result.summary["beds"])
    return f"the {MOST_BEDS} driest of {beds:,} beds" if beds > MOST_BEDS else ""


def bed_table(result: Result) -> Table:
    """What each bed needed and got."""
    rows = [
        [
            row["name"],
            *(f"{row[name]:.0f}" for name in BED_COLUMNS),
            percent(row["eta_over_etc"]),
            f"{row['stress_days']:,}",
        ]
        for row in result.summary["beds"]
    ]
    head = [REGISTER["bed"].label, *_headings(BED_COLUMNS), "Need met", "Thirsty days"]
    return Table("Each bed over all days", head, rows)


# ---- What it rests on ------------------------------------------------------------------------------------------------


def sources(result: Result) -> list[str]:
    """Where the weather, the methods and the figures of the tables come from, with the credits of the weather."""
    site = result.site
    plantings = [planting for bed in site.bed for planting in bed.planting]
    crops = [find_crop(planting.crop).source for planting in plantings if planting.crop]
    stages = [stages.source for one in plantings if (stages := one.printed_stages(south=site.is_south))]
    soils = [find_soil(bed.soil).source for bed in site.bed if bed.soil and bed.available_water_mm_m is None]
    of_roofs = [roof.covering for roof in site.roof if roof.covering and roof.runoff_coefficient is None]
    return [
        f"Weather: {result.weather.source}",
        f"ET0, crops and soil water: {HANDBOOK}",
        *_parts("Crops", crops),
        *_parts("Lengths of growth stages", stages),
        *_parts("Soils", soils),
        *(f"Runoff of {covering}: {find_covering(covering).source}" for covering in dict.fromkeys(of_roofs)),
        RELEASE,
    ]


def _parts(what: str, told: Sequence[str]) -> list[str]:
    """Sources that are lists themselves as one line, each part once."""
    parts = sorted({part for source in told for part in source.split("; ")})
    return [f"{what}: {'; '.join(parts)}"] if parts else []


# ---- Further questions -----------------------------------------------------------------------------------------------


def odds_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """How often the stored rain runs short. Raises WeatherError where the weather holds too few summers."""
    from waterbudget.answers.odds import answer
    from waterbudget.odds.study import find_odds
    from waterbudget.render.figures.odds import odds as draw

    found = find_odds(open_site(path, every_year=True), None, start_l)
    return part(answer(found), "odds", lambda: draw(found))


def size_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """What size is enough of the store that is asked for most. Raises InputError where nothing is asked of any."""
    from waterbudget.answers.size import answer
    from waterbudget.render.figures.sizes import sizes as draw
    from waterbudget.review.size import find_size

    del start_l  # every size begins as full as the site's own store
    found = find_size(open_site(path, every_year=True))
    return part(answer(found), "sizes", lambda: draw(found))


def hotspell_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """What becomes of the plan in three hot weeks of midsummer. Raises InputError where the weather does not reach."""
    from waterbudget.answers.hotspell import answer
    from waterbudget.render.figures.hotspell import hotspell as draw
    from waterbudget.spell.hot import Spell
    from waterbudget.spell.study import study

    del start_l  # the weather up to the spell fills the stores
    opened = open_site(path, every_year=True)
    found = study(opened.site, opened.weather, Spell())
    return part(answer(found), "hotspell", lambda: draw(found))


def fit_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """Measured against modelled levels. Raises InputError where the journal holds too few."""
    from waterbudget.answers.fit import answer
    from waterbudget.journal.fit import find_fit
    from waterbudget.render.figures.fit import fit as draw

    del start_l  # the first reading of each store begins it
    found = find_fit(path)
    return part(answer(found), "fit", lambda: draw(found))


def minutes_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """What to set the clocks to, month by month."""
    from waterbudget.answers.minutes import answer
    from waterbudget.plan.minutes import find_minutes
    from waterbudget.render.figures.minutes import minutes as draw

    del start_l  # all the water that is asked for is given
    found = find_minutes(open_site(path, every_year=True))
    return part(answer(found), "minutes", lambda: draw(found))


def improve_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """What would save most mains water, time and money."""
    from waterbudget.answers.improve import answer
    from waterbudget.change.improve import find_improve

    del start_l  # every measure begins with what the site file says
    return part(answer(find_improve(open_site(path, every_year=True))))


def today_part(path: Path | None, start_l: Mapping[str, float]) -> Part:
    """What to water today, from the newest dips. Raises InputError where neither weather nor a dip is known."""
    from waterbudget.answers.today import answer
    from waterbudget.change.today import Ask, find_today

    del start_l  # the journal tells the levels
    return part(answer(find_today(path, Ask(network=False))))


def part(told: Told, name: str = "", draw: "Callable[[], Panels] | None" = None) -> Part:
    """An answer as a part of the page. name, draw: its picture, where it has one."""
    from markupsafe import Markup

    pictures = {} if draw is None else {name: lambda: figure_bytes(draw()[0].figure, SVG)}
    html = Markup(section_of(told, pictures, without=APART))  # noqa: S704 - the template has escaped it
    return Part(html, told.of_kind("caution"))


Answering = Callable[[Path | None, Mapping[str, float]], Part]
FURTHER: dict[str, Answering] = {
    "odds": odds_part,
    "size": size_part,
    "hotspell": hotspell_part,
    "minutes": minutes_part,
    "improve": improve_part,
    "today": today_part,
    "fit": fit_part,
}


# ---- Small things ----------------------------------------------------------------------------------------------------


def _headings(names: Sequence[str]) -> list[str]:
    return [REGISTER[name].heading for name in names]


def _address(figure: "Figure", kind: str = SVG) -> str:
    suffix, media = kind, MEDIA[kind]
    return f"data:{media};base64,{base64.b64encode(figure_bytes(figure, suffix)).decode()}"


def _kind(result: Result) -> str:
    """How a picture of every day is kept: drawn as lines, or as dots where many days make lines heavier than those."""
    return SVG if result.summary["days"] <= MOST_LINE_DAYS else PNG
