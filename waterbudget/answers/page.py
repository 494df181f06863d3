"""What the page of a run says besides its verdict: the plan for the shed wall, every day, the beds, the sources."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from waterbudget.answers.english import count, in_words, listed, litres, percent, when
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Draw, Site, Zone
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.soils import find_soil
from waterbudget.variables import REGISTER

STORE_COLUMNS = ("capacity_l", "inflow_l", "drawn_l", "short_l", "mains_l", "spilled_l")
DAY_COLUMNS = ("level_l", "inflow_l", "drawn_l", "short_l", "mains_l")
BED_COLUMNS = ("etc_mm", "rain_mm", "irrigation_mm", "drained_mm")
MOST_BEDS = 12  # with a picture each: nobody reads more of them, and each makes the page 70 kB heavier
HANDBOOK = "Allen et al. 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56"
RELEASE = "Order of overflow and draw: Jenkins et al. 1978 (yield after or before spillage)"


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


def met(result: Result) -> str:
    """How much of the watering the stored rain did; empty where there was none to do."""
    summary = result.summary
    if summary["asked_l"] <= SHORT_L:
        return ""
    return (
        f"Stored rain did {percent(summary['volume_reliability'])} of the watering: "
        f"{litres(summary['rain_l'])} L of the {litres(summary['asked_l'])} L asked for."
    )


def store_table(result: Result) -> Table:
    """What each store held, took in and gave."""
    rows = [[row["name"], *(litres(row[name]) for name in STORE_COLUMNS)] for row in result.summary["tanks"]]
    return Table("Each store over all days", [REGISTER["tank"].label, *headings(STORE_COLUMNS)], rows)


def days(result: Result) -> Iterator[Day]:
    """Every day's rain and, store by store, DAY_COLUMNS."""
    names, summary = [tank.name for tank in result.site.tank], result.summary
    more_years = summary["start"][:4] != summary["end"][:4]
    book = {column: result.each[f"tanks.{column}"] for column in DAY_COLUMNS}
    daily = zip(result.weather.days.tolist(), result.weather.readings["rain_mm"], strict=True)
    for number, (date, fallen_mm) in enumerate(daily):
        day = in_words(date, year=more_years)
        today = [{column: float(book[column][number, store]) for column in book} for store in range(len(names))]
        rain = f"{fallen_mm:.1f} mm of rain" if fallen_mm > 0.0 else "no rain"
        told = " ".join(_store_told(name, row) for name, row in zip(names, today, strict=True))
        cells = [f"{fallen_mm:.1f}", *(litres(row[column]) for row in today for column in DAY_COLUMNS)]
        yield Day(day, cells, f"{day}, {rain}. {told}")


def _store_told(name: str, row: Mapping[str, float]) -> str:
    short = f", short of {litres(row['short_l'])} L" if row["short_l"] > SHORT_L else ""
    mains = f", mains {litres(row['mains_l'])} L" if row["mains_l"] > SHORT_L else ""
    return f"{name}: {litres(row['level_l'])} L{short}{mains}."


def first_told(result: Result) -> int:
    """The day that is told before anybody asks for another: the first with a shortage."""
    days_lasted: int = result.summary["days_lasted"]
    return days_lasted if days_lasted < result.summary["days"] else 0


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
    head = [REGISTER["bed"].label, *headings(BED_COLUMNS), "Need met", "Thirsty days"]
    return Table("Each bed over all days", head, rows)


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
        *_sources("Crops", crops),
        *_sources("Lengths of growth stages", stages),
        *_sources("Soils", soils),
        *(f"Runoff of {covering}: {find_covering(covering).source}" for covering in dict.fromkeys(of_roofs)),
        RELEASE,
    ]


def _sources(what: str, told: Sequence[str]) -> list[str]:
    """Sources that are lists themselves as one line, each part once."""
    parts = sorted({part for source in told for part in source.split("; ")})
    return [f"{what}: {'; '.join(parts)}"] if parts else []


def headings(names: Sequence[str]) -> list[str]:
    return [REGISTER[name].heading for name in names]
