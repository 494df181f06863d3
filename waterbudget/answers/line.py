"""What a watering line gives, how evenly, how long to run it, and what to beware of."""

import math
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import count, listed, litres, percent
from waterbudget.answers.facts import Common
from waterbudget.answers.line_warnings import care, warnings
from waterbudget.blocks import Answer, Bullets, Column, Lane, Picture, Strip, Table
from waterbudget.hose.line import DEPTHS_MM, MOST_JETS, Jet, LineFinding, evenness
from waterbudget.units import MIN_PER_HOUR

EVEN_SHARE = 0.05  # beds whose depths differ by no more than this share of the largest are even
RESERVE = 0.2  # of a charge: common practice, no source
FILLED = {"full": 1.0, "three quarters": 0.75, "half full": 0.5, "a quarter": 0.25, "empty": 0.0}
MOST_ALIKE_PCT = 10  # jets that differ by no more are told as alike
GRADES = ((90.0, "very even"), (80.0, "good"), (70.0, "fair"))  # least DUlq [%] of each: from memory


class JetFacts(TypedDict):
    """A jet, counted from the tee along the pipe."""

    jet: int
    bed: str
    along_m: float
    pressure_m: float
    flow_l_h: float
    is_open: bool


class Uniformity(TypedDict):
    """How evenly the open jets water."""

    eu_pct: float
    du_pct: float
    cu_pct: float


class Layout(TypedDict):
    """The same hose laid the other way."""

    ring: bool
    flow_l_min: float


class BedFacts(TypedDict):
    """What a bed gets in a run; minutes: for 5, 10 and 15 mm; opening: of its jets, that evens the beds out."""

    bed: str
    flow_l_min: float
    run_l: float
    run_mm: float
    minutes: list[float | None]
    opening: float | None


class Charge(TypedDict):
    """How far a charge of the battery goes; efficiency: from battery to water."""

    minutes_per_charge: float
    runs_per_charge: int
    runs_per_week: float
    charges_per_week: float
    efficiency: float


class Facts(Common):
    """The line for machines; period: null, as it is of one moment."""

    zone: str
    tank: str
    level_l: float
    flow_l_min: float
    minutes_left: float | None
    jets: list[JetFacts]
    uniformity: Uniformity | None
    other_layout: Layout
    jets_more: int
    beds: list[BedFacts]
    battery: Charge | None


def answer(found: LineFinding) -> Answer:
    """The line in words."""
    charge = tuple(battery(found))
    return Answer(
        "line",
        heading(found),
        tuple(verdict(found)),
        (
            Bullets("warn", "Beware", tuple(warnings(found))),
            bed_table(found),
            Bullets("tell", "To even the beds out", tuple(evening(found)), full=False),
            Bullets("tell", "How evenly", tuple(evenly(found))),
            layouts(found),
            Bullets("tell", "More jets", (more_jets(found),)),
            Bullets("tell", "Battery", charge),
            level_table(found),
            jet_table(found),
            picture(found),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "Take care", tuple(care(found))),
        ),
        facts(found),
        found.opened.notes,
    )


def facts(found: LineFinding) -> Facts:
    """The line as plain values."""
    reach, openings = found.reach, found.openings or {}
    even = evenness(found.hose, found.line) if found.flow_l_min > 0.0 else None
    return {
        "site": found.site.site.name,
        "period": None,
        "zone": found.zone.name,
        "tank": found.tank.name,
        "level_l": found.level_l,
        "flow_l_min": found.flow_l_min,
        "minutes_left": found.minutes_left,
        "jets": [
            {
                "jet": jet.number,
                "bed": jet.bed,
                "along_m": jet.along_m,
                "pressure_m": jet.pressure_m,
                "flow_l_h": jet.flow_l_h,
                "is_open": jet.is_open,
            }
            for jet in found.jets
        ],
        "uniformity": None if even is None else {"eu_pct": even.eu_pct, "du_pct": even.du_pct, "cu_pct": even.cu_pct},
        "other_layout": {"ring": not found.line.ring, "flow_l_min": float(found.other.total_l_min[0])},
        "jets_more": int(found.fit.more[0]),
        "beds": [
            {
                "bed": depth.bed,
                "flow_l_min": depth.flow_l_min,
                "run_l": depth.run_l,
                "run_mm": depth.run_mm,
                "minutes": list(depth.minutes),
                "opening": openings.get(depth.bed),
            }
            for depth in found.depths
        ],
        "battery": None
        if reach is None
        else {
            "minutes_per_charge": reach.minutes,
            "runs_per_charge": reach.runs,
            "runs_per_week": reach.runs_a_week,
            "charges_per_week": reach.charges_a_week,
            "efficiency": reach.efficiency,
        },
    }


# ---- The verdict -----------------------------------------------------------------------------------------------------


def heading(found: LineFinding) -> str:
    """The zone, its garden, and the level it was solved for."""
    return f"{found.zone.name} of {found.site.site.name}, with {litres(found.level_l)} L in {found.tank.name}"


def verdict(found: LineFinding) -> Iterator[str]:
    """What the line gives, and how evenly."""
    if found.flow_l_min <= 0.0:
        yield "At this level nothing comes out: water and pump do not reach the lowest open jet."
        return
    zone, jets = found.zone, int(found.hose.line.is_open.sum())
    run = f"{litres(found.flow_l_min * zone.minutes)} L in {zone.minutes:g} minutes"
    yield f"The {laid(ring=found.line.ring)} with {count(jets, 'open jet')} gives {flow(found.flow_l_min)}, {run}."
    yield _apart(found)


def laid(*, ring: bool) -> str:
    """How a pipe is laid."""
    return "ring" if ring else "dead end"


def flow(flow_l_min: float) -> str:
    """A flow in litres a minute and an hour."""
    return f"{flow_l_min:.2f} L/min ({flow_l_min * MIN_PER_HOUR:,.0f} L/h)"


def _jet(jet: Jet) -> str:
    return f"jet {jet.number} on {jet.bed} ({jet.flow_l_h:.1f} L/h)"


def _apart(found: LineFinding) -> str:
    """How far the jets differ, and how good that is."""
    within = math.ceil(100.0 * (found.wettest.flow_l_h - found.driest.flow_l_h) / found.wettest.flow_l_h)
    if within <= MOST_ALIKE_PCT:
        return f"All jets give within {max(within, 1)} % of each other."
    grade = _grade(evenness(found.hose, found.line).du_pct)
    return f"Driest is {_ends(found)}, {within} % apart: {grade}."


def _ends(found: LineFinding) -> str:
    return f"{_jet(found.driest)}, wettest {_jet(found.wettest)}"


def evenly(found: LineFinding) -> Iterator[str]:
    """How evenly the jets water, in the letters of the trade."""
    if found.flow_l_min > 0.0:
        even = evenness(found.hose, found.line)
        yield f"Driest is {_ends(found)}."
        yield f"EU {even.eu_pct:.0f} %, DU {even.du_pct:.0f} %, CU {even.cu_pct:.0f} %: {_grade(even.du_pct)}."


def _grade(du_pct: float) -> str:
    return next((word for limit, word in GRADES if du_pct >= limit), "poor: some beds or jets get far too little")


# ---- Beds ------------------------------------------------------------------------------------------------------------


def bed_table(found: LineFinding) -> Table:
    """Litres and depth of a run on each bed, and the minutes for some depths."""
    one_decimal = "{:.1f}".format
    columns = (
        Column("bed", "Beds"),
        Column("flow_l_min", "flow", "L/min", write="{:.2f}".format),
        Column("run_l", f"{found.zone.minutes:g} minutes", "L", write=one_decimal),
        Column("run_mm", "at the roots", "mm", write=one_decimal),
        *(
            Column(f"minutes_for_{depth:g}_mm", f"for {depth:g} mm", "minutes", write=one_decimal, none="never")
            for depth in DEPTHS_MM
        ),
    )
    rows = tuple((row.bed, row.flow_l_min, row.run_l, row.run_mm, *row.minutes) for row in found.depths)
    return Table("What each bed gets", columns, rows)


def evening(found: LineFinding) -> Iterator[str]:
    """How far to open the jets of each bed so that all get the same depth."""
    evened, openings, zone = found.evened, found.openings, found.zone
    if evened is None or openings is None:
        yield "No opening does it: the highest or farthest bed gets too little. Lower it, or give it a line of its own."
        return
    by_depth = [row.run_mm for row in found.depths]
    if max(by_depth) - min(by_depth) <= EVEN_SHARE * max(by_depth):
        yield "Nothing to do: all beds get nearly the same depth."
        return
    flow_l_min = float(evened.flow.total_l_h[0]) / MIN_PER_HOUR
    mm = flow_l_min * zone.minutes * zone.applied / sum(bed.ground_m2 for bed in found.beds)
    shares = listed([f"{name} {percent(opening)}" for name, opening in openings.items()])
    yield f"Open {shares}; then {flow(flow_l_min)} come, and each bed gets {mm:.1f} mm in {zone.minutes:g} minutes."
    yield "An opening is a share of the jet's flow, not of its turns: set it by catching the water of a jet in a cup."


# ---- The hose --------------------------------------------------------------------------------------------------------


def layouts(found: LineFinding) -> Table:
    """Ring against dead end for the same hose and jets."""
    one_decimal = "{:.1f}".format
    columns = (
        Column("layout", "Laid as a"),
        Column("flow_l_min", "flow", "L/min", write="{:.2f}".format),
        Column("driest_l_h", "driest jet", "L/h", write=one_decimal),
        Column("wettest_l_h", "wettest jet", "L/h", write=one_decimal),
        Column("least_pressure_m", "least pressure", "m", write=one_decimal),
        Column("du_pct", "DU", "%", write="{:.0f}".format),
    )
    rows = []
    for hose, ring in ((found.hose, found.line.ring), (found.other, not found.line.ring)):
        jets_l_h = hose.flow.jets_l_h[0][hose.line.is_open[0]]
        rows.append(
            (
                f"{laid(ring=ring)}{' (as it is)' if hose is found.hose else ''}",
                float(hose.total_l_min[0]),
                float(jets_l_h.min()),
                float(jets_l_h.max()),
                float(hose.flow.pressure_m[0][hose.line.is_open[0]].min()),
                evenness(hose, found.line).du_pct if hose.total_l_min[0] > 0.0 else None,
            )
        )
    return Table("Ring or dead end", columns, tuple(rows), full=True)


def more_jets(found: LineFinding) -> str:
    """How many more jets fit before the last falls under its working pressure."""
    most, more = int(found.fit.most[0]), int(found.fit.more[0])
    working = f"{found.line.working_m:g} m"
    least_m = float(found.pressure_m[found.hose.line.is_open[0]].min())
    spaced = f"on the same {found.line.length_m:g} m, all like the first one and evenly spaced"
    if most >= MOST_JETS:
        return f"{MOST_JETS} jets and more keep their {working} of pressure {spaced}."
    if more > 0:
        more_fit = f"{count(more, 'more jet')} {'fits' if more == 1 else 'fit'}, {most} in all"
        return f"{more_fit}, before the last falls under {working} of pressure, {spaced}."
    if more == 0:
        return f"None fit: one more, and the last falls under {working} of pressure, {spaced}."
    if most == 0:
        return f"None fit, and not even one would get its {working} of pressure: the last has {least_m:.1f} m now."
    too_many = f"there {'is' if more == -1 else 'are'} {-more} too many now, the last has {least_m:.1f} m"
    return f"None fit: {too_many}. {count(most, 'jet')} would keep {working} of pressure, {spaced}."


def battery(found: LineFinding) -> Iterator[str]:
    """Runs on a charge, and charges a week under the plan."""
    reach, given = found.reach, found.site.battery
    if reach is None or given is None:
        return
    told = "measured" if given.minutes_to_empty is not None else "reckoned"
    of = f"{percent(reach.efficiency)} of its energy gets into the water"
    yield f"A charge drives the line for about {reach.minutes:.0f} minutes ({told}; {of})."
    minutes = found.zone.minutes
    if reach.runs == 0:
        yield f"That is less than a run of {minutes:g} minutes: recharge before the end, or take a larger battery."
        return
    reserve = math.floor(reach.minutes * (1.0 - RESERVE) / minutes)
    runs = f"{count(reach.runs, 'whole run')} of {minutes:g} minutes"
    yield f"{runs} on a charge, {reserve} with a fifth kept in reserve."
    yield f"The plan makes at most {reach.runs_a_week:.3g} runs a week: {reach.charges_a_week:.1f} charges."


def level_table(found: LineFinding) -> Table:
    """The flow from a store that is full, half full and so on."""
    columns = (
        Column("filled", "With the store"),
        Column("level_l", "holding", "L", write=litres),
        Column("flow_l_min", "flow", "L/min", write="{:.2f}".format),
        Column("run_l", f"{found.zone.minutes:g} minutes", "L", write=litres),
    )
    last = len(found.over.flow_l_min) - 1
    flows = {name: float(found.over.flow_l_min[round(share * last)]) for name, share in FILLED.items()}
    rows = tuple(
        (name, share * found.tank.all_l, flows[name], flows[name] * found.zone.minutes)
        for name, share in FILLED.items()
    )
    return Table("Over the level of the store", columns, rows, full=True)


def jet_table(found: LineFinding) -> Table:
    """A row for each jet."""
    columns = (
        Column("jet", "Jet"),
        Column("bed", "on"),
        Column("along_m", "along", "m", write="{:.2f}".format),
        Column("pressure_m", "pressure", "m", write="{:.2f}".format),
        Column("flow_l_h", "flow", "L/h", write="{:.1f}".format, none="shut"),
    )
    rows = tuple(
        (jet.number, jet.bed, jet.along_m, jet.pressure_m, jet.flow_l_h if jet.is_open else None) for jet in found.jets
    )
    return Table("Jets", columns, rows, full=True)


def picture(found: LineFinding) -> Picture:
    """The flow along the hose."""
    words = f"The flow of each jet and the pressure along the hose. {' '.join(verdict(found))}"
    if found.flow_l_min <= 0.0:
        return Picture("line", words)
    end = "back to the tee" if found.line.ring else "dead end"
    lane = Lane("tee", found.jets_l_h / found.jets_l_h.max())
    return Picture("line", words, Strip("Flow along the hose", "█ the wettest", (lane,), None, "jet", end))


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(found: LineFinding) -> Iterator[str]:
    """What the figures rest on."""
    line, given = found.line, found.site.battery
    drive = f"by a pump of {found.hose.line.pump.shutoff_m[0]:g} m at no flow" if found.is_pumped else "by gravity"
    pipe = f"{line.length_m:g} m of smooth pipe, {line.bore_mm:g} mm inside, as a {laid(ring=line.ring)}"
    feed = f"{line.feed_length_m:g} m of {line.feed_bore_mm or line.bore_mm:g} mm hose"
    height = f"jets {line.rise_m:g} m above the floor of the store, evenly spaced, bed by bed"
    scatter = f"EU counts {percent(line.maker_cv)} scatter of new jets, DU is of the lowest quarter"
    yield f"In {found.tank.name} the water stands {found.deep_m:.2f} m deep."
    yield f"{pipe}, fed {drive} through {feed}; {height}."
    yield f"Water of 20 °C; loss by Darcy-Weisbach, jets by q = k h^x. {scatter}."
    yield f"Depths are at the roots: {percent(found.zone.applied)} of the water gets there, the rest drifts off."
    yield "The daily model takes the flow at the level of each morning. A larger store is taken as wider, not higher."
    if given is not None and found.reach is not None:
        yield (
            f"Battery: {given.volts:g} V x {given.amp_hours:g} Ah, of which {percent(given.usable_share)} can be used; "
            "skipped and hot days change the charges a week."
        )
