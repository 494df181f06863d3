"""The screens of bucket and cups: what a field test tells about a zone, and its way into the site file."""

import csv
import io
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count as count_up
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError, SiteError, WaterbudgetError
from waterbudget.line.fieldtest import Bucket, Cups, bucket_test, cup_test
from waterbudget.line.layout import L_H_PER_M3_S
from waterbudget.line.solve import solve
from waterbudget.output import write_files
from waterbudget.report.answer import Answer
from waterbudget.report.line import level_of
from waterbudget.report.words import count, screen, section, table, wrapped
from waterbudget.schedule.hose import MIN_PER_HOUR, hose_of
from waterbudget.site.model import Site, Tank, Zone
from waterbudget.site.read import load_site
from waterbudget.tables.cautions import cautions
from waterbudget.tables.read import nearest

S_PER_MIN = 60.0
FIGURES = 3  # what a watch and a mark are good for
MOST_LITRES, MOST_SECONDS = 1e4, 1e5
MOST_ML = 1e5
CUP_COLUMNS = ("bed", "caught_ml")
DEPTHS_MM = (5.0, 10.0, 15.0)
Change = Callable[[Any], None]  # of a parsed site file


# ---- The bucket ----------------------------------------------------------------------------------------------------


class Timed(NamedTuple):
    """A bucket and a watch: litres and seconds with their errors, how many jets were open, None for all, the level."""

    volume_l: float
    seconds: float
    mark_l: float
    stopwatch_s: float
    jets: int | None
    level_l: float | None


def answer_bucket(path: Path, name: str, timed: Timed, *, write: bool) -> Answer:
    """A zone's flow by bucket and watch, and the jets that explain it; write: put it into the site file.

    Raises InputError for what the user can mend.
    """
    site = load_site(path)
    zone = _zone(path, site, name)
    _check_timed(timed)
    if not zone.line:
        return _bucket_alone(path, site, zone, timed, write=write)
    line = hose_of(site, zone, level_of(_tank(site, zone), timed.level_l) / _tank(site, zone).capacity_l).line
    open_jets = int(line.is_open.sum())
    opened = line
    if timed.jets is not None:
        if not 1 <= timed.jets <= line.jet_m.shape[1]:
            raise InputError(f'--jets: "{name}" has {line.jet_m.shape[1]} jets; write 1 to that')
        first_ones = np.arange(line.jet_m.shape[1]) < timed.jets
        opened = replace(line, opening=np.where(first_ones & (line.opening > 0.0), line.opening, 0.0))
        open_jets = int(opened.is_open.sum())
    try:
        bucket = bucket_test(opened, timed.volume_l, timed.seconds, mark_l=timed.mark_l, stopwatch_s=timed.stopwatch_s)
    except RangeError as error:
        raise InputError(f"bucket test: {error}; look at litres, seconds, --jets and the pump in {path}") from error
    factor = float(bucket.k_l_h[0, 0] / (line.k[0, 0] * L_H_PER_M3_S))
    all_l_min = float(solve(replace(line, k=line.k * factor)).total_l_h[0]) / MIN_PER_HOUR
    notes = _written(path, _bucket_change(site, zone, factor, all_l_min)) if write else ()
    return Answer(_bucket_screen(site, zone, timed, bucket, open_jets, all_l_min, written=write), notes)


def _check_timed(timed: Timed) -> None:
    for option, value, most, what in (
        ("litres", timed.volume_l, MOST_LITRES, "litres in the bucket at its mark, such as 10"),
        ("seconds", timed.seconds, MOST_SECONDS, "seconds until it was full, such as 52"),
    ):
        if not 0.0 < value <= most:
            raise InputError(f"--{option} is {value:g}; write the {what}, above 0 and at most {most:g}")
    for option, error, of in (
        ("mark-l", timed.mark_l, timed.volume_l),
        ("stopwatch-s", timed.stopwatch_s, timed.seconds),
    ):
        if not 0.0 <= error < of:
            raise InputError(f"--{option} is {error:g}; write by how much it may be wrong, from 0 to below {of:g}")


def _bucket_alone(path: Path, site: Site, zone: Zone, timed: Timed, *, write: bool) -> Answer:
    if timed.jets is not None:
        raise InputError(f'--jets: "{zone.name}" has no [[zone.line]], so its jets are unknown; leave the option out')
    flow_l_min = timed.volume_l / timed.seconds * S_PER_MIN
    error = float(np.hypot(timed.mark_l / timed.volume_l, timed.stopwatch_s / timed.seconds))
    text = screen(
        [f"Bucket test of {zone.name}, {site.site.name}"],
        [wrapped(_flow_told(zone, flow_l_min, error))],
        section("In the site file", [_now(zone, flow_l_min, written=write)]),
        section("Take care", _cautions(site, zone)),
    )
    return Answer(text, _written(path, _flow_change(site, zone, flow_l_min)) if write else ())


def _flow_told(zone: Zone, flow_l_min: float, error: float) -> str:
    return (
        f"{zone.name} gives {flow_l_min:.3g} L/min ({flow_l_min * MIN_PER_HOUR:,.0f} L/h), "
        f"give or take {100.0 * error:.1f} % by the mark and the watch."
    )


def _now(zone: Zone, flow_l_min: float, *, written: bool) -> str:
    told = f"flow_l_min was {zone.flow_l_min:g} and " if zone.flow_l_min is not None else "flow_l_min "
    return f"{told}{'is now' if written else 'should be'} {_rounded(flow_l_min):g}{'' if written else ' (--write)'}."


def _bucket_screen(
    site: Site, zone: Zone, timed: Timed, bucket: Bucket, open_jets: int, all_l_min: float, *, written: bool
) -> str:
    flow_l_min = float(bucket.flow_l_h[0]) / MIN_PER_HOUR
    lines = [_flow_told(zone, flow_l_min, float(bucket.flow_error[0]))]
    if timed.jets is not None:
        lines.append(
            f"That was with {count(open_jets, 'jet')} open, counted from the tee; with all open as in the site file "
            f"it gives {all_l_min:.3g} L/min. Flows do not grow with the jets: the pump gives less head at more flow."
        )
    first = np.cumsum([0, *(jets.count for jets in zone.line[0].jets)])[:-1]
    found = (bucket.k_l_h, bucket.k_low_l_h, bucket.k_high_l_h)
    rows = [
        (jets.bed, f"{jets.count}", f"{jets.k:.3g}", *(_k(k[0, place]) for k in found))
        for jets, place in zip(zone.line[0].jets, first, strict=True)
    ]
    head = ("Jets on", "number", "k in the file", "k by the bucket", "at least", "at most")
    k_line = "k is a jet's flow at 1 m of pressure; as the pump droops, 1 % of flow is more than 1 % of k."
    done = "now those of the bucket" if written else "those of the file; --write puts the bucket's there"
    return screen(
        [f"Bucket test of {zone.name}, {site.site.name}"],
        [wrapped(line) for line in lines],
        [*table(head, rows, units=("", "", "L/h", "L/h", "L/h", "L/h")), k_line],
        section("In the site file", [f"The jets' figures are {done}."]),
        section("Take care", _cautions(site, zone)),
    )


def _k(k_l_h: float) -> str:
    return f"{k_l_h:.3g}" if np.isfinite(k_l_h) else "no limit"


def _flow_change(site: Site, zone: Zone, flow_l_min: float) -> Change:
    number = site.zone.index(zone)

    def change(document: Any) -> None:  # noqa: ANN401
        document["zone"][number]["flow_l_min"] = _rounded(flow_l_min)

    return change


def _bucket_change(site: Site, zone: Zone, factor: float, all_l_min: float) -> Change:
    number = site.zone.index(zone)

    def change(document: Any) -> None:  # noqa: ANN401
        there = document["zone"][number]
        for told, jets in zip(there["line"][0]["jets"], zone.line[0].jets, strict=True):
            if "k_l_h" in told:
                told["k_l_h"] = _rounded(jets.k * factor)
            else:
                told["l_h_at_1_bar"] = _rounded(float(jets.l_h_at_1_bar or 0.0) * factor)
        if "flow_l_min" in there:
            there["flow_l_min"] = _rounded(all_l_min)

    return change


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
    notes = _written(path, _share_change(site, cups)) if write else ()
    return Answer(_cups_screen(site, zone, cups, caught, setting, minutes, written=write), notes)


class Cup(NamedTuple):
    """What one cup caught."""

    bed: str
    caught_ml: float


def read_cups(path: Path, beds: Sequence[str]) -> list[Cup]:
    """The cups of a CSV file with the columns bed and caught_ml, on these beds.

    Raises InputError naming file and row.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; write one with the columns bed,caught_ml") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: is not UTF-8 text; save it as UTF-8") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}; name a file that can") from None
    rows = csv.DictReader(io.StringIO(text))
    missing = [column for column in CUP_COLUMNS if column not in (rows.fieldnames or ())]
    if missing:
        raise InputError(f"{path}: row 1: has no column {missing[0]}; write the head bed,caught_ml")
    faults: list[str] = []
    caught = [_cup(path, row, beds, faults, rows.line_num) for row in rows]
    if faults:
        raise InputError(faults)
    return [cup for cup in caught if cup is not None]


def _cup(path: Path, row: Mapping[str, Any], beds: Sequence[str], faults: list[str], number: int) -> Cup | None:
    bed, words = ((row[column] or "").strip() for column in CUP_COLUMNS)
    where = f"{path}: row {number}"
    if bed not in beds:
        near = " or ".join(f'"{name}"' for name in nearest(bed, beds)[:1] or beds)
        faults.append(f'{where}: bed is "{bed}", no bed of this zone; write {near}')
        return None
    if not words:
        faults.append(f"{where}: caught_ml is blank; write the millilitres that the cup on {bed} caught, 0 for none")
        return None
    try:
        caught_ml = float(words)
    except ValueError:
        caught_ml = -1.0
    if not 0.0 <= caught_ml <= MOST_ML:
        faults.append(f'{where}: caught_ml is "{words}"; write millilitres, 0 or more, with a point for decimals')
        return None
    return Cup(bed, caught_ml)


def _cups_screen(
    site: Site, zone: Zone, cups: Cups, caught: Sequence[Cup], setting: Setting, minutes: float, *, written: bool
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
    told = "The beds' shares are now theirs" if written else "The beds' shares would be theirs with --write"
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


def _share_change(site: Site, cups: Cups) -> Change:
    def change(document: Any) -> None:  # noqa: ANN401
        for number, bed in enumerate(site.bed):
            if bed.name in cups.bed_factors:
                document["bed"][number]["share"] = _rounded(cups.bed_factors[bed.name] * bed.area_m2)

    return change


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


def _rounded(value: float) -> float:
    return float(f"{value:.{FIGURES}g}")


def _cautions(site: Site, zone: Zone) -> list[str]:
    wanted = [("legionella", "temperature")]
    if site.pump is not None and zone.line and zone.line[0].pumped:
        wanted.append(("electricity", "residual current"))
    told = {(one.topic, one.subject): one.caution for one in cautions()}
    return [
        *(told[one] for one in wanted),
        "Stored rain is not drinking water: wash your hands. Local codes come first.",
    ]


def _written(path: Path, change: Change) -> tuple[str, ...]:
    """Change a site file, its comments kept and the old one beside it, and say so."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    before = path.read_bytes()
    try:
        document = tomlkit.parse(before.decode("utf-8-sig"))
        change(document)
        after = tomlkit.dumps(document)
    except TOMLKitError as error:
        raise SiteError(f"{path}: cannot be changed: {error}; write the figures in by hand") from error
    if tomllib.loads(after) != document.unwrap():
        raise WaterbudgetError(f"{path}: was left as it is, as the changed file would not read back the same")
    copy = next(copy for copy in _copies(path) if not copy.exists())
    write_files({copy: before})
    write_files({path.resolve(): after.encode()}, overwrite=True)
    return (f"Written: {path}; as it was: {copy}",)


def _copies(path: Path) -> Iterator[Path]:
    """Names for the copy: site.toml.bak, site.toml.bak2 ..."""
    yield path.with_name(f"{path.name}.bak")
    yield from (path.with_name(f"{path.name}.bak{number}") for number in count_up(2))
