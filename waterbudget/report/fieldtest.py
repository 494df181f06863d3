"""The screens of bucket and cups: what a field test tells about a zone, and its way into the site file."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError
from waterbudget.hose.line import level_of
from waterbudget.line.fieldtest import Bucket, Cups, Found, PumpFigure, PumpTest, bucket_test, cup_test, pump_test
from waterbudget.line.layout import L_H_PER_M3_S, Line
from waterbudget.line.solve import solve
from waterbudget.physics.pump import pump_from_nameplate
from waterbudget.report.answer import Answer
from waterbudget.report.words import count, listed, screen, section, table, wrapped
from waterbudget.rows.cells import doubled_heads, missing_heads, number_in, ragged, unfit
from waterbudget.rows.sheet import read_sheet
from waterbudget.schedule.hose import hose_of
from waterbudget.site.model import Site, Tank, Zone
from waterbudget.site.read import load_site
from waterbudget.site.write import Change, write_changes, written
from waterbudget.tables.cautions import cautions
from waterbudget.tables.read import nearest
from waterbudget.units import MIN_PER_HOUR, S_PER_MIN

MOST_LITRES, MOST_SECONDS = 1e4, 1e5
MOST_ML = 1e5
CUP_COLUMNS = ("bed", "caught_ml")
CAUGHT = "the millilitres that the cup caught, 0 for none, with a point for decimals"
DEPTHS_MM = (5.0, 10.0, 15.0)
AMOUNT = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?) ?(jets?|s|l|L)")
UNITS = {"jet": "jets", "l": "L"}


# ---- The bucket ----------------------------------------------------------------------------------------------------


class Timed(NamedTuple):
    """A bucket and a watch: litres and seconds with their errors, how many jets were open, None for all, the level.

    also: a second bucket with another number of jets, such as "12jets,95s". find: what it is to tell of the pump.
    """

    volume_l: float
    seconds: float
    mark_l: float
    stopwatch_s: float
    jets: int | None = None
    level_l: float | None = None
    also: str | None = None
    find: PumpFigure | None = None


def answer_bucket(path: Path, name: str, timed: Timed, *, write: bool) -> Answer:
    """A zone's flow by bucket and watch, and the jets that explain it; write: put it into the site file.

    Raises InputError for what the user can mend.
    """
    site = load_site(path)
    zone = _zone(path, site, name)
    _check_timed(timed)
    if timed.find is not None and timed.also is None:
        raise InputError("--find: goes with --also, a second bucket")
    if not zone.line:
        return _bucket_alone(path, site, zone, timed, write=write)
    line = hose_of(site, zone, level_of(_tank(site, zone), timed.level_l) / _tank(site, zone).capacity_l).line
    opened = line if timed.jets is None else _opened(path, zone, line, timed.jets, "--jets")
    if timed.also is not None:
        return _two_buckets(path, site, zone, timed, line, opened, write=write)
    try:
        bucket = bucket_test(opened, timed.volume_l, timed.seconds, mark_l=timed.mark_l, stopwatch_s=timed.stopwatch_s)
    except RangeError as error:
        raise InputError(f"bucket test: {error}; look at litres, seconds, --jets and the pump in {path}") from error
    in_file_l_h = line.k[0, 0] * L_H_PER_M3_S
    factor = Found(*(float(k[0, 0] / in_file_l_h) for k in (bucket.k_l_h, bucket.k_low_l_h, bucket.k_high_l_h)))
    all_l_min = float(solve(replace(line, k=line.k * factor.value)).total_l_h[0]) / MIN_PER_HOUR
    some = None if timed.jets is None else int(opened.is_open.sum())
    text = _bucket_screen(site, zone, bucket, some, factor, all_l_min, is_written=write)
    return Answer(text, _written(path, site, _line_changes(site, zone, factor.value, all_l_min)) if write else ())


def _opened(path: Path, zone: Zone, line: Line, jets: int, option: str) -> Line:
    """The line with only its first jets open, as far as the site file has them open."""
    places = line.jet_m.shape[1]
    if not 1 <= jets <= places:
        raise InputError(f'{option}: "{zone.name}" has {places} jets; write 1 to that')
    opened = replace(line, opening=np.where(np.arange(places) < jets, line.opening, 0.0))
    if not np.any(opened.is_open):
        raise InputError(f'{option}: the first {jets} jets of "{zone.name}" are shut in {path}; write more')
    return opened


def _check_timed(timed: Timed) -> None:
    _check_bucket("--litres is", timed.volume_l, "--seconds is", timed.seconds)
    for option, error, of in (
        ("mark-l", timed.mark_l, timed.volume_l),
        ("stopwatch-s", timed.stopwatch_s, timed.seconds),
    ):
        if not 0.0 <= error < of:
            raise InputError(f"--{option} is {error:g}; write by how much it may be wrong, from 0 to below {of:g}")


def _check_bucket(litres_are: str, volume_l: float, seconds_are: str, seconds: float) -> None:
    for said, value, most, what in (
        (litres_are, volume_l, MOST_LITRES, "litres in the bucket at its mark, such as 10"),
        (seconds_are, seconds, MOST_SECONDS, "seconds until it was full, such as 52"),
    ):
        if not 0.0 < value <= most:
            raise InputError(f"{said} {value:g}; write the {what}, above 0 and at most {most:g}")


def _bucket_alone(path: Path, site: Site, zone: Zone, timed: Timed, *, write: bool) -> Answer:
    for option, given in (("--jets", timed.jets), ("--also", timed.also)):
        if given is not None:
            raise InputError(
                f'{option}: "{zone.name}" has no [[zone.line]], so its jets are unknown; leave the option out'
            )
    flow_l_min = timed.volume_l / timed.seconds * S_PER_MIN
    error = float(np.hypot(timed.mark_l / timed.volume_l, timed.stopwatch_s / timed.seconds))
    text = screen(
        [f"Bucket test of {zone.name}, {site.site.name}"],
        [wrapped(f"{zone.name} gives {_flow_told(flow_l_min, error)} by the mark and the watch.")],
        section("In the site file", [_now(zone, flow_l_min, is_written=write)]),
        section("Take care", _cautions(site, zone)),
    )
    changes = [Change(("zone", site.zone.index(zone), "flow_l_min"), flow_l_min)]
    return Answer(text, _written(path, site, changes) if write else ())


def _flow_told(flow_l_min: float, error: float) -> str:
    return f"{flow_l_min:.3g} L/min ({flow_l_min * MIN_PER_HOUR:,.0f} L/h), give or take {100.0 * error:.1f} %"


def _now(zone: Zone, flow_l_min: float, *, is_written: bool) -> str:
    told = f"flow_l_min was {zone.flow_l_min:g} and " if zone.flow_l_min is not None else "flow_l_min "
    return f"{told}{'is now' if is_written else 'should be'} {written(flow_l_min)}{'' if is_written else ' (--write)'}."


def _bucket_screen(
    site: Site, zone: Zone, bucket: Bucket, some: int | None, factor: Found, all_l_min: float, *, is_written: bool
) -> str:
    told = _flow_told(float(bucket.flow_l_h[0]) / MIN_PER_HOUR, float(bucket.flow_error[0]))
    lines = [f"{zone.name} gives {told} by the mark and the watch."]
    if some is not None:
        lines.append(
            f"That was with {count(some, 'jet')} open, counted from the tee; with all open as in "
            f"the site file it gives {all_l_min:.3g} L/min. Flows do not grow with the jets: the pump gives less head "
            "at more flow."
        )
    k_lines = ["k is a jet's flow at 1 m of pressure; as the pump droops, 1 % of flow is more than 1 % of k."]
    if zone.line[0].pumped and site.pump is not None and site.pump.points is None:
        k_lines.append("This trusts the pump's figures in the site file. A second bucket tests them: see --also.")
    done = "now those of the bucket" if is_written else "those of the file; --write puts the bucket's there"
    return screen(
        [f"Bucket test of {zone.name}, {site.site.name}"],
        [wrapped(line) for line in lines],
        [*_jets_table(zone, factor, "k by the bucket"), *k_lines],
        section("In the site file", [f"The jets' figures are {done}."]),
        section("Take care", _cautions(site, zone)),
    )


def _jets_table(zone: Zone, factor: Found, by: str) -> list[str]:
    rows = [
        (jets.bed, f"{jets.count}", f"{jets.k:.3g}", *(_limit(jets.k * times) for times in factor))
        for jets in zone.line[0].jets
    ]
    head = ("Jets on", "number", "k in the file", by, "at least", "at most")
    return table(head, rows, units=("", "", "L/h", "L/h", "L/h", "L/h"))


def _limit(value: float) -> str:
    return f"{value:.3g}" if np.isfinite(value) else "no limit"


def _line_changes(site: Site, zone: Zone, factor: float, all_l_min: float) -> list[Change]:
    number, changes = site.zone.index(zone), []
    for place, jets in enumerate(zone.line[0].jets):
        key = "k_l_h" if jets.k_l_h is not None else "l_h_at_1_bar"
        in_file = jets.k_l_h or jets.l_h_at_1_bar or 0.0
        changes.append(Change(("zone", number, "line", 0, "jets", place, key), in_file * factor))
    if zone.flow_l_min is not None:
        changes.append(Change(("zone", number, "flow_l_min"), all_l_min))
    return changes


# ---- Two buckets ---------------------------------------------------------------------------------------------------


class Second(NamedTuple):
    """The second bucket: how many jets were open, how long it took, and its litres where it was another bucket."""

    jets: int
    seconds: float
    volume_l: float | None


def read_second(words: str) -> Second:
    """A second bucket as it is written: 12jets,95s, in any order, with its litres if it is another bucket: ...,5L.

    Raises InputError for anything else.
    """
    amounts: dict[str, str] = {}
    for part in words.split(","):
        match = AMOUNT.fullmatch(part.strip())
        unit = UNITS.get(match[2], match[2]) if match else ""
        if match is None or unit in amounts:
            raise InputError(_not_a_second(words))
        amounts[unit] = match[1]
    jets, seconds, litres = (amounts.get(unit) for unit in ("jets", "s", "L"))
    if jets is None or seconds is None or not jets.isdecimal():
        raise InputError(_not_a_second(words))
    second = Second(int(jets), float(seconds), None if litres is None else float(litres))
    _check_bucket("--also: litres are", 1.0 if litres is None else float(litres), "--also: seconds are", second.seconds)
    return second


def _not_a_second(words: str) -> str:
    return (
        f'--also is "{words}"; write open jets and seconds with their units, such as 12jets,95s, and 12jets,95s,5L '
        "where the bucket was another one"
    )


def _two_buckets(path: Path, site: Site, zone: Zone, timed: Timed, line: Line, opened: Line, *, write: bool) -> Answer:
    second, pump = read_second(timed.also or ""), _nameplate(path, site, zone)
    volume_l = timed.volume_l if second.volume_l is None else second.volume_l
    _check_timed(timed._replace(volume_l=min(volume_l, timed.volume_l), seconds=min(second.seconds, timed.seconds)))
    lines = opened, _opened(path, zone, line, second.jets, "--also")
    jets = tuple(int(one.is_open.sum()) for one in lines)
    if jets[0] == jets[1]:
        raise InputError(
            f"--also: {count(jets[0], 'jet')} open in both tests tell nothing of the pump; shut some in one"
        )
    find: PumpFigure = timed.find or "greatest_l_h"
    given: PumpFigure = "shutoff_m" if find == "greatest_l_h" else "greatest_l_h"
    look = (
        f"check litres, seconds and jets of both, and {given} in {path}; fewer jets in one of them and a larger bucket "
        "tell more"
    )
    try:
        test = pump_test(
            lines,
            (timed.volume_l, volume_l),
            (timed.seconds, second.seconds),
            mark_l=timed.mark_l,
            stopwatch_s=timed.stopwatch_s,
            same_bucket=second.volume_l is None,
            find=find,
        )
    except RangeError as error:
        raise InputError(f"--also: {error}; {look}") from error
    driven = {**pump, find: test.figure.value}
    curve = pump_from_nameplate(np.array([driven["shutoff_m"]]), np.array([driven["greatest_l_h"]]) / L_H_PER_M3_S)
    all_l_min = float(solve(replace(line, k=line.k * test.factor.value, pump=curve)).total_l_h[0]) / MIN_PER_HOUR
    text = _pump_screen(site, zone, jets, test, pump, find, all_l_min, is_written=write)
    changes = [*_line_changes(site, zone, test.factor.value, all_l_min), Change(("pump", find), test.figure.value)]
    return Answer(text, _written(path, site, changes) if write else ())


def _nameplate(path: Path, site: Site, zone: Zone) -> dict[PumpFigure, float]:
    """The figures of the pump that drives a zone. Raises InputError where it has none that a bucket could tell."""
    if not zone.line[0].pumped or site.pump is None:
        why = "" if not zone.line[0].pumped else f" as {path} has no [pump]"
        raise InputError(f'--also: "{zone.name}" runs by gravity{why}, so one bucket tells all; leave the option out')
    if site.pump.shutoff_m is None or site.pump.greatest_l_h is None:
        instead = "write shutoff_m and greatest_l_h of its nameplate in their place, or leave the option out"
        raise InputError(f"--also: {path} gives points of the pump; {instead}")
    return {"shutoff_m": site.pump.shutoff_m, "greatest_l_h": site.pump.greatest_l_h}


def _pump_screen(
    site: Site,
    zone: Zone,
    jets: Sequence[int],
    test: PumpTest,
    pump: Mapping[PumpFigure, float],
    find: PumpFigure,
    all_l_min: float,
    *,
    is_written: bool,
) -> str:
    flows = [f"{flow_l_h / MIN_PER_HOUR:.3g} L/min ({flow_l_h:,.0f} L/h)" for flow_l_h in test.flow_l_h]
    errors = " and ".join(f"{100.0 * error:.1f} %" for error in test.flow_error)
    rows = [
        (key, f"{now:g}", *(map(written, test.figure) if key == find else ("believed", "", "")))
        for key, now in pump.items()
    ]
    others = [one.name for one in site.zone if one.name != zone.name and one.line and one.line[0].pumped]
    done = "now those of the buckets" if is_written else "those of the file; --write puts the buckets' there"
    lines = [f"The figures of the jets and {find} of the pump are {done}."]
    lines += [f"The pump drives {listed(others)}, too: what they give follows from its new figure."] if others else []
    return screen(
        [wrapped(f"Two buckets from {zone.name}, {site.site.name}")],
        [
            wrapped(
                f"{zone.name} gives {flows[0]} with {count(jets[0], 'jet')} open and {flows[1]} with {jets[1]}, "
                f"give or take {errors} by the mark and the watch."
            ),
            wrapped(_pump_told(test.figure, pump[find], find)),
        ],
        table(("The pump", "in the file", "by the buckets", "at least", "at most"), rows),
        [
            *_jets_table(zone, test.factor, "k by the buckets"),
            wrapped(
                f"k is a jet's flow at 1 m of pressure. All jets open as in the site file give {all_l_min:.3g} L/min."
            ),
        ],
        section("In the site file", lines),
        section("Take care", _cautions(site, zone)),
    )


def _pump_told(found: Found, in_file: float, find: PumpFigure) -> str:
    """What to make of a figure; that pumps wear and seldom beat their nameplate is common practice, no source."""
    does = "moves {} L/h without lifting" if find == "greatest_l_h" else "lifts {} m without flow"
    told = f"by the buckets it {does.format(written(found.value))}, {written(found.least)} to {written(found.most)}"
    if found.most < in_file:
        return (
            f"The pump gives less than the site file says: {told}, not {in_file:g}. A clogged filter, a kinked hose or "
            "an empty battery does that, too: look there and time both again before you write it."
        )
    if found.least > in_file:
        return (
            f"The pump gives more than the site file says: {told}, not {in_file:g}. Pumps seldom beat their nameplate: "
            "look at it, and at the litres, seconds and open jets, before you write it."
        )
    return f"The pump is as the site file says: {told}, and {in_file:g} there."


# ---- The cups ------------------------------------------------------------------------------------------------------


class Setting(NamedTuple):
    """How the cups stood: minutes of water, None for a run of the zone; a cup's mouth; the depth that beds need."""

    minutes: float | None
    mouth_cm: float
    need_mm: float


def answer_cups(path: Path, name: str, cups_csv: Path, setting: Setting, *, write: bool) -> Answer:
    """How evenly a zone waters by cups set out on its beds; write: put the beds' shares into the site file.

    Raises InputError for what the user can mend.
    """
    site = load_site(path)
    zone = _zone(path, site, name)
    beds = [bed.name for bed in site.bed if bed.zone == zone.name]
    minutes = zone.minutes if setting.minutes is None else setting.minutes
    for option, value in (("minutes", minutes), ("mouth-cm", setting.mouth_cm), ("need-mm", setting.need_mm)):
        if not 0.0 < value <= MOST_LITRES:
            raise InputError(f"--{option} is {value:g}; write a number above 0")
    caught = read_cups(cups_csv, beds)
    try:
        cups = cup_test(
            [each.caught_ml for each in caught],
            beds=[each.bed for each in caught],
            minutes=minutes,
            mouth_cm2=float(np.pi / 4.0 * setting.mouth_cm**2),
        )
    except RangeError as error:
        raise InputError(f"{cups_csv}: {error}") from error
    lacking = [bed for bed in beds if bed not in cups.bed_factors]
    if write and lacking:
        raise InputError(f'{cups_csv}: "{lacking[0]}" has no cup; set some there before shares are written')
    notes = _written(path, site, _share_changes(site, cups)) if write else ()
    return Answer(_cups_screen(site, zone, cups, caught, setting, minutes, is_written=write), notes)


class Cup(NamedTuple):
    """What one cup caught."""

    bed: str
    caught_ml: float


def read_cups(path: Path, beds: Sequence[str]) -> list[Cup]:
    """The cups of a CSV file with the columns bed and caught_ml, on these beds.

    Raises InputError naming file and row.
    """
    sheet = read_sheet(path, ",".join(CUP_COLUMNS), "a cup")
    heads = sheet.heads
    if faults := [*missing_heads(heads, CUP_COLUMNS), *doubled_heads(heads)]:
        raise InputError(f"{path}: row {sheet.header.number}: {fault}" for fault in faults)
    caught = []
    for number, cells in sheet.plain(numbers=["caught_ml"]).rows:
        if fault := ragged(cells, heads, "fill every column"):
            faults.append(f"{path}: row {number}: {fault}")
            continue
        cell = dict(zip(heads, cells, strict=True))
        cup = Cup(cell["bed"], number_in(cell["caught_ml"]))
        if cup.bed not in beds:
            near = " or ".join(f'"{name}"' for name in nearest(cup.bed, beds)[:1] or beds)
            faults.append(f'{path}: row {number}: bed is "{cup.bed}", no bed of this zone; write {near}')
        elif not 0.0 <= cup.caught_ml <= MOST_ML:
            faults.append(f"{path}: row {number}: {unfit('caught_ml', cell['caught_ml'], CAUGHT)}")
        caught.append(cup)
    if faults:
        raise InputError(faults)
    return caught


def _cups_screen(
    site: Site, zone: Zone, cups: Cups, caught: Sequence[Cup], setting: Setting, minutes: float, *, is_written: bool
) -> str:
    even = f"DU of the low quarter {cups.du_pct:.0f} %, CU {cups.cu_pct:.0f} %"
    driest = min(caught, key=lambda cup: cup.caught_ml)
    average = f"{count(len(caught), 'cup')} caught {cups.mean_ml:.0f} mL on average"
    least = f"the driest, on {driest.bed}, caught {driest.caught_ml:g} mL"
    lines = [
        f"{average} in {minutes:g} minutes, {cups.mm_per_min * minutes:.1f} mm. {even}; {least}.",
        _need(cups, setting.need_mm),
    ]
    rows = []
    for bed, factor in cups.bed_factors.items():
        here = [cup.caught_ml for cup in caught if cup.bed == bed]
        depth_mm = cups.mm_per_min * factor * minutes
        rows.append((bed, f"{len(here)}", f"{np.mean(here):.0f}", f"{factor:.2f}", f"{depth_mm:.1f}"))
    told = "The beds' shares are now theirs" if is_written else "The beds' shares would be theirs with --write"
    return screen(
        [f"Cup test of {zone.name}, {site.site.name}"],
        [wrapped(line) for line in lines],
        table(("Beds", "cups", "mean", "factor", "depth"), rows, units=("", "", "mL", "", "mm")),
        table(
            ("Minutes for", "on average", "driest quarter"),
            [
                (f"{depth_mm:g} mm", f"{depth_mm / cups.mm_per_min:.1f}", _minutes(cups.minutes_for_driest(depth_mm)))
                for depth_mm in sorted({*DEPTHS_MM, setting.need_mm})
            ],
        ),
        section("In the site file", [f"{told}: factor times area."]),
        section(
            "Assumed",
            [
                f"Equal cups with a mouth {setting.mouth_cm:g} cm wide, upright, standing evenly over the beds.",
                "The lowest quarter counts parts of a cup where the cups do not divide by four.",
                "Cups catch what falls on the bed; of it some still drifts, runs off or dries before it is used.",
            ],
        ),
        section("Take care", _cautions(site, zone)),
    )


def _need(cups: Cups, need_mm: float) -> str:
    minutes = cups.minutes_for_driest(need_mm)
    if not np.isfinite(minutes):
        return "The driest quarter caught nothing: no time gives it its water. Look for blocked or dry jets."
    average_mm = cups.mm_per_min * minutes
    then = f"the beds then get {average_mm:.1f} mm on average"
    return f"{minutes:.1f} minutes give the driest quarter its {need_mm:g} mm; {then}."


def _minutes(minutes: float) -> str:
    return f"{minutes:.1f}" if np.isfinite(minutes) else "never"


def _share_changes(site: Site, cups: Cups) -> list[Change]:
    return [
        Change(("bed", number, "share"), cups.bed_factors[bed.name] * bed.ground_m2)
        for number, bed in enumerate(site.bed)
        if bed.name in cups.bed_factors
    ]


# ---- What both need ------------------------------------------------------------------------------------------------


def _zone(path: Path, site: Site, name: str) -> Zone:
    for zone in site.zone:
        if zone.name == name:
            return zone
    names = [zone.name for zone in site.zone]
    known = " or ".join(f'"{one}"' for one in nearest(name, names)[:1] or names)
    raise InputError(f'{path}: "{name}" is no zone; {f"name {known}" if known else "add a [[zone]]"}')


def _tank(site: Site, zone: Zone) -> Tank:
    return next(tank for tank in site.tank if tank.name == zone.tank)


def _cautions(site: Site, zone: Zone) -> list[str]:
    wanted = [("legionella", "temperature")]
    if site.pump is not None and zone.line and zone.line[0].pumped:
        wanted.append(("electricity", "residual current"))
    told = {(one.topic, one.subject): one.caution for one in cautions()}
    return [
        *(told[one] for one in wanted),
        "Stored rain is not drinking water: wash your hands. Local codes come first.",
    ]


def _written(path: Path, site: Site, changes: Sequence[Change]) -> tuple[str, ...]:
    """Write changes into a site file, and say so."""
    return (f"Written: {path}; as it was: {write_changes(path, site, changes)}",)
