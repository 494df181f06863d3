"""What a bucket and a watch tell of a zone, and its way into the site file."""

from collections.abc import Iterator
from pathlib import Path
from typing import cast

import numpy as np
from typing_extensions import TypedDict

from waterbudget.answers.english import count, listed
from waterbudget.answers.facts import Common
from waterbudget.blocks import Answer, Block, Bullets, Cell, Column, Table
from waterbudget.hose.bucket import BucketFinding, PumpFinding
from waterbudget.line.fieldtest import Found
from waterbudget.site.edit import written
from waterbudget.site.model import Site, Zone
from waterbudget.tables.cautions import cautions
from waterbudget.units import MIN_PER_HOUR

NEXT = "What to do next"
WRITE = "the same line with --write puts them into the site file."


class FlowFacts(TypedDict):
    """A bucket: what flowed with so many jets open, and one standard error as a share of it."""

    open_jets: int | None
    flow_l_min: float
    flow_error: float


class JetsFacts(TypedDict):
    """Jets of a kind: flow of one at 1 m of pressure, in the site file and by the bucket, give or take its error."""

    bed: str
    jets: int
    site_file_k_l_h: float
    k_l_h: float
    least_k_l_h: float | None
    most_k_l_h: float | None


class PumpFacts(TypedDict):
    """The figure of the pump that was looked for, by the buckets, give or take their error, and in the site file."""

    figure: str
    site_file: float
    value: float
    least: float | None
    most: float | None


class Facts(Common):
    """The test for machines; all_flow_l_min: with all jets open as in the site file."""

    zone: str
    buckets: list[FlowFacts]
    jets: list[JetsFacts]
    all_flow_l_min: float
    pump: PumpFacts | None


def answer(found: BucketFinding, *, copy: Path | None = None) -> Answer:
    """The test in words; copy: of the site file as it was, where the result was written into it."""
    site, zone, is_written = found.site, found.zone, copy is not None
    of = "Bucket test of" if found.pump is None else "Two buckets from"
    blocks: list[Block] = []
    if found.pump is not None:
        blocks.append(pump_table(found.pump))
    if found.factor is not None:
        blocks.append(jets_table(found, found.factor))
    told = tuple(in_the_file(found, is_written=is_written))
    return Answer(
        "bucket",
        f"{of} {zone.name}, {site.site.name}",
        tuple(verdict(found)),
        (
            *blocks,
            Bullets("tell", "In the site file" if is_written else NEXT, told, full=False),
            Bullets("caution", "Take care", tuple(care(site, zone)), full=False),
        ),
        facts(found),
        () if copy is None else (f"Written: {found.path}; as it was: {copy}",),
    )


def facts(found: BucketFinding) -> Facts:
    """The test as plain values."""
    pump, factor = found.pump, found.factor
    return {
        "site": found.site.site.name,
        "period": None,
        "zone": found.zone.name,
        "buckets": [
            {"open_jets": jets, "flow_l_min": flow_l_h / MIN_PER_HOUR, "flow_error": error}
            for jets, flow_l_h, error in zip(found.jets, found.flow_l_h, found.flow_error, strict=True)
        ],
        "jets": []
        if factor is None
        else [
            {
                "bed": jets.bed,
                "jets": jets.count,
                "site_file_k_l_h": jets.k,
                "k_l_h": jets.k * factor.value,
                "least_k_l_h": jets.k * factor.least,
                "most_k_l_h": jets.k * factor.most,
            }
            for jets in found.zone.line[0].jets
        ],
        "all_flow_l_min": found.all_l_min,
        "pump": None
        if pump is None
        else {
            "figure": pump.find,
            "site_file": pump.in_file[pump.find],
            "value": pump.figure.value,
            "least": pump.figure.least,
            "most": pump.figure.most,
        },
    }


def verdict(found: BucketFinding) -> Iterator[str]:
    """What flows, and what to make of the pump."""
    name, errors = found.zone.name, [f"{100.0 * error:.1f} %" for error in found.flow_error]
    flows = [f"{flow_l_h / MIN_PER_HOUR:.3g} L/min ({flow_l_h:,.0f} L/h)" for flow_l_h in found.flow_l_h]
    if found.pump is None:
        yield f"{name} gives {flows[0]}, give or take {errors[0]} by the mark and the watch."
    else:
        open_jets = cast("tuple[int, int]", found.jets)
        yield (
            f"{name} gives {flows[0]} with {count(open_jets[0], 'jet')} open and {flows[1]} with {open_jets[1]}, "
            f"give or take {' and '.join(errors)} by the mark and the watch."
        )
        yield of_the_pump(found.pump)
    if found.is_part and found.pump is None and found.jets[0] is not None:
        yield (
            f"That was with {count(found.jets[0], 'jet')} open, counted from the tee; with all open as in "
            f"the site file it gives {found.all_l_min:.3g} L/min. Flows do not grow with the jets: the pump gives less "
            "head at more flow."
        )


def of_the_pump(pump: PumpFinding) -> str:
    """What to make of a figure; that pumps wear and seldom beat their nameplate is common practice, no source."""
    figure, in_file = pump.figure, pump.in_file[pump.find]
    value = written(figure.value)
    does = f"moves {value} L/h without lifting" if pump.find == "greatest_l_h" else f"lifts {value} m without flow"
    told = f"by the buckets it {does}, {written(figure.least)} to {written(figure.most)}"
    if figure.most < in_file:
        return (
            f"The pump gives less than the site file says: {told}, not {in_file:g}. A clogged filter, a kinked hose or "
            "an empty battery does that, too: look there and time both again before you write it."
        )
    if figure.least > in_file:
        return (
            f"The pump gives more than the site file says: {told}, not {in_file:g}. Pumps seldom beat their nameplate: "
            "look at it, and at the litres, seconds and open jets, before you write it."
        )
    return f"The pump is as the site file says: {told}, and {in_file:g} there."


def pump_table(pump: PumpFinding) -> Table:
    """Both figures of the pump."""
    columns = (
        Column("figure", "The pump"),
        Column("site_file", "in the file", write="{:g}".format),
        Column("value", "by the buckets", write=written, none="believed"),
        Column("least", "at least", write=written, none=""),
        Column("most", "at most", write=written, none=""),
    )
    rows: list[tuple[Cell, ...]] = []
    for key, in_file in pump.in_file.items():
        figure = tuple(pump.figure) if key == pump.find else (None, None, None)
        rows.append((key, in_file, *figure))
    return Table("The pump", columns, tuple(rows))


def jets_table(found: BucketFinding, factor: Found) -> Table:
    """A row for jets of a kind, with their k."""
    by = "k by the bucket" if found.pump is None else "k by the buckets"
    columns = (
        Column("bed", "Jets on"),
        Column("jets", "number"),
        Column("site_file_k_l_h", "k in the file", "L/h", write="{:.3g}".format),
        Column("k_l_h", by, "L/h", write=_limit),
        Column("least_k_l_h", "at least", "L/h", write=_limit),
        Column("most_k_l_h", "at most", "L/h", write=_limit),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (jets.bed, jets.count, jets.k, *(jets.k * times for times in factor)) for jets in found.zone.line[0].jets
    )
    return Table("The jets", columns, rows, tuple(of_the_jets(found)))


def _limit(value: float) -> str:
    return f"{value:.3g}" if np.isfinite(value) else "no limit"


def of_the_jets(found: BucketFinding) -> Iterator[str]:
    """What k is, and what it rests on."""
    if found.pump is not None:
        yield (
            f"k is a jet's flow at 1 m of pressure. All jets open as in the site file give {found.all_l_min:.3g} L/min."
        )
        return
    yield "k is a jet's flow at 1 m of pressure; as the pump droops, 1 % of flow is more than 1 % of k."
    pump = found.site.pump
    if found.zone.line[0].pumped and pump is not None and pump.points is None:
        yield "This trusts the pump's figures in the site file. A second bucket tests them: see --also."


def in_the_file(found: BucketFinding, *, is_written: bool) -> Iterator[str]:
    """What stands in the site file now, and what could."""
    zone, pump = found.zone, found.pump
    if found.factor is None:
        was = f"flow_l_min was {zone.flow_l_min:g} and " if zone.flow_l_min is not None else "flow_l_min "
        then = "is now" if is_written else "should be"
        yield f"{was}{then} {written(found.all_l_min)}{'' if is_written else ' (--write)'}."
    elif pump is None:
        taken = "The jets' figures are now those of the bucket."
        yield taken if is_written else f"Take the bucket's figures of the jets: {WRITE}"
    else:
        taken = f"The figures of the jets and {pump.find} of the pump are now those of the buckets."
        yield taken if is_written else f"Take the buckets' figures of the jets and {pump.find} of the pump: {WRITE}"
        others = [one.name for one in found.site.zone if one.name != zone.name and one.line and one.line[0].pumped]
        if others:
            yield f"The pump drives {listed(others)}, too: what they give follows from its new figure."


def care(site: Site, zone: Zone) -> Iterator[str]:
    """The cautions of a field test."""
    told = {(one.topic, one.subject): one.caution for one in cautions()}
    yield told["legionella", "temperature"]
    if site.pump is not None and zone.line and zone.line[0].pumped:
        yield told["electricity", "residual current"]
    yield "Stored rain is not drinking water: wash your hands. Local codes come first."
