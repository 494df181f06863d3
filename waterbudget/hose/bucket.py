"""What a bucket and a watch tell of a zone: its flow, the jets that explain it and, from a second bucket, its pump."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError, Said, shown
from waterbudget.hose.line import level_of
from waterbudget.line.fieldtest import Found, PumpFigure, bucket_test, pump_test
from waterbudget.line.layout import L_H_PER_M3_S, Line
from waterbudget.line.solve import solve
from waterbudget.physics.pump import pump_from_nameplate
from waterbudget.schedule.hose import hose_of
from waterbudget.site.edit import Change
from waterbudget.site.model import Site, Zone
from waterbudget.site.read import load_site
from waterbudget.site.write import write_changes
from waterbudget.tables.read import named
from waterbudget.units import MIN_PER_HOUR

MOST_LITRES, MOST_SECONDS = 1e4, 1e5
MARK_ERROR, STOPWATCH_S = 0.02, 1.0  # of a mark as a share, of a hand on a watch: ours
S_PER_HOUR = 3600.0
AMOUNT = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?) ?(jets?|s|l|L)")
UNITS = {"jet": "jets", "l": "L"}


class BucketReading(NamedTuple):
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


class PumpFinding(NamedTuple):
    """What two buckets tell of the pump. find: the figure that was looked for; in_file: both of the site file's."""

    find: PumpFigure
    in_file: dict[PumpFigure, float]
    figure: Found


@dataclass(frozen=True)
class BucketFinding:
    """A zone's flow by bucket and watch, [L/h] and its error over it, for each bucket.

    jets: how many were open for each, None where nobody knows them; is_part: whether they were counted. factor: by what
    the k of all jets has to be multiplied, None for a zone without a line. all_l_min: flow with all jets open as in the
    site file. changes: what it says of the site file.
    """

    path: Path
    site: Site
    zone: Zone
    flow_l_h: tuple[float, ...]
    flow_error: tuple[float, ...]
    jets: tuple[int | None, ...]
    factor: Found | None
    all_l_min: float
    changes: tuple[Change, ...]
    pump: PumpFinding | None = None
    is_part: bool = False

    def write(self) -> Path:
        """Write the changes into the site file; the copy of it as it was. Raises InputError where it became another."""
        return write_changes(self.path, self.site, self.changes)


def in_turn(jug_l: float, seconds: Sequence[float], jets: int) -> BucketReading:
    """Jets that filled a jug one after the other, as one bucket under all the jets of a line, which all are open.

    jug_l: litres of the jug [L]. seconds: of each jet that was timed [s]. jets: how many the line has, each of which
    counts as the mean of those. The mark of the jug may be wrong by as much as that of a bucket.
    """
    mean_s = len(seconds) / sum(1.0 / one for one in seconds)  # of the flow, not of the time
    return BucketReading(jets * jug_l, mean_s, MARK_ERROR * jets * jug_l, STOPWATCH_S)


def find_bucket(path: Path, name: str, reading: BucketReading) -> BucketFinding:
    """A zone's flow by bucket and watch, and the jets and pump that explain it.

    Raises InputError for what the user can mend.
    """
    site = load_site(path)
    zone = zone_of(site, name)
    _check_reading(reading)
    if reading.find is not None and reading.also is None:
        raise InputError("--find: goes with --also, a second bucket")
    if not zone.line:
        return _bucket_alone(path, site, zone, reading)
    tank = next(tank for tank in site.tank if tank.name == zone.tank)
    line = hose_of(site, zone, level_of(tank, reading.level_l) / tank.capacity_l).line
    opened = line if reading.jets is None else _opened(path, zone, line, reading.jets, "--jets")
    if reading.also is not None:
        return _two_buckets(path, site, zone, reading, line, opened)
    try:
        bucket = bucket_test(
            opened, reading.volume_l, reading.seconds, mark_l=reading.mark_l, stopwatch_s=reading.stopwatch_s
        )
    except RangeError as error:
        look = f"bucket test: {error}; look at litres, seconds, --jets and the pump in {path}"
        raise InputError(
            Said(look, "No jets of this pipe give that: look at the litres, the seconds and the pump")
        ) from error
    in_file_l_h = line.k[0, 0] * L_H_PER_M3_S
    factor = Found(*(float(k[0, 0] / in_file_l_h) for k in (bucket.k_l_h, bucket.k_low_l_h, bucket.k_high_l_h)))
    all_l_min = float(solve(replace(line, k=line.k * factor.value)).total_l_h[0]) / MIN_PER_HOUR
    return BucketFinding(
        path,
        site,
        zone,
        (float(bucket.flow_l_h[0]),),
        (float(bucket.flow_error[0]),),
        (int(opened.is_open.sum()),),
        factor,
        all_l_min,
        tuple(_line_changes(site, zone, factor.value, all_l_min)),
        is_part=reading.jets is not None,
    )


def _opened(path: Path, zone: Zone, line: Line, jets: int, option: str) -> Line:
    """The line with only its first jets open, as far as the site file has them open."""
    places = line.jet_m.shape[1]
    if not 1 <= jets <= places:
        raise InputError(f'{option}: "{zone.name}" has {places} jets; write 1 to that')
    opened = replace(line, opening=np.where(np.arange(places) < jets, line.opening, 0.0))
    if not np.any(opened.is_open):
        raise InputError(f'{option}: the first {jets} jets of "{zone.name}" are shut in {path}; write more')
    return opened


def _check_reading(reading: BucketReading) -> None:
    _check_bucket("--litres is", reading.volume_l, "--seconds is", reading.seconds)
    for option, error, of in (
        ("mark-l", reading.mark_l, reading.volume_l),
        ("stopwatch-s", reading.stopwatch_s, reading.seconds),
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


def _bucket_alone(path: Path, site: Site, zone: Zone, reading: BucketReading) -> BucketFinding:
    for option, given in (("--jets", reading.jets), ("--also", reading.also)):
        if given is not None:
            raise InputError(
                f'{option}: "{zone.name}" has no [[zone.line]], so its jets are unknown; leave the option out'
            )
    flow_l_h = reading.volume_l / reading.seconds * S_PER_HOUR
    error = float(np.hypot(reading.mark_l / reading.volume_l, reading.stopwatch_s / reading.seconds))
    flow_l_min = flow_l_h / MIN_PER_HOUR
    change = Change(("zone", site.zone.index(zone), "flow_l_min"), flow_l_min)
    return BucketFinding(path, site, zone, (flow_l_h,), (error,), (None,), None, flow_l_min, (change,))


def _line_changes(site: Site, zone: Zone, factor: float, all_l_min: float) -> list[Change]:
    number, changes = site.zone.index(zone), []
    for place, jets in enumerate(zone.line[0].jets):
        key = "k_l_h" if jets.k_l_h is not None else "l_h_at_1_bar"
        in_file = jets.k_l_h or jets.l_h_at_1_bar or 0.0
        changes.append(Change(("zone", number, "line", 0, "jets", place, key), in_file * factor))
    if zone.flow_l_min is not None:
        changes.append(Change(("zone", number, "flow_l_min"), all_l_min))
    return changes


# ---- Two buckets -----------------------------------------------------------------------------------------------------


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
        f"--also is {shown(words)}; write open jets and seconds with their units, such as 12jets,95s, "
        "and 12jets,95s,5L where the bucket was another one"
    )


def _two_buckets(path: Path, site: Site, zone: Zone, reading: BucketReading, line: Line, opened: Line) -> BucketFinding:
    second, pump = read_second(reading.also or ""), _nameplate(path, site, zone)
    volume_l = reading.volume_l if second.volume_l is None else second.volume_l
    _check_reading(
        reading._replace(volume_l=min(volume_l, reading.volume_l), seconds=min(second.seconds, reading.seconds))
    )
    lines = opened, _opened(path, zone, line, second.jets, "--also")
    jets = tuple(int(one.is_open.sum()) for one in lines)
    if jets[0] == jets[1]:
        raise InputError(
            f"--also: {jets[0]} jet{'' if jets[0] == 1 else 's'} open in both tests tell nothing of the pump; shut "
            "some in one"
        )
    find: PumpFigure = reading.find or "greatest_l_h"
    given: PumpFigure = "shutoff_m" if find == "greatest_l_h" else "greatest_l_h"
    look = (
        f"check litres, seconds and jets of both, and {given} in {path}; fewer jets in one of them and a larger bucket "
        "tell more"
    )
    try:
        test = pump_test(
            lines,
            (reading.volume_l, volume_l),
            (reading.seconds, second.seconds),
            mark_l=reading.mark_l,
            stopwatch_s=reading.stopwatch_s,
            same_bucket=second.volume_l is None,
            find=find,
        )
    except RangeError as error:
        raise InputError(f"--also: {error}; {look}") from error
    driven = {**pump, find: test.figure.value}
    curve = pump_from_nameplate(np.array([driven["shutoff_m"]]), np.array([driven["greatest_l_h"]]) / L_H_PER_M3_S)
    all_l_min = float(solve(replace(line, k=line.k * test.factor.value, pump=curve)).total_l_h[0]) / MIN_PER_HOUR
    changes = [*_line_changes(site, zone, test.factor.value, all_l_min), Change(("pump", find), test.figure.value)]
    return BucketFinding(
        path,
        site,
        zone,
        test.flow_l_h,
        test.flow_error,
        jets,
        test.factor,
        all_l_min,
        tuple(changes),
        PumpFinding(find, pump, test.figure),
    )


def _nameplate(path: Path, site: Site, zone: Zone) -> dict[PumpFigure, float]:
    """The figures of the pump that drives a zone. Raises InputError where it has none that a bucket could tell."""
    if not zone.line[0].pumped or site.pump is None:
        why = "" if not zone.line[0].pumped else f" as {path} has no [pump]"
        raise InputError(f'--also: "{zone.name}" runs by gravity{why}, so one bucket tells all; leave the option out')
    if site.pump.shutoff_m is None or site.pump.greatest_l_h is None:
        instead = "write shutoff_m and greatest_l_h of its nameplate in their place, or leave the option out"
        raise InputError(f"--also: {path} gives points of the pump; {instead}")
    return {"shutoff_m": site.pump.shutoff_m, "greatest_l_h": site.pump.greatest_l_h}


def zone_of(site: Site, name: str) -> Zone:
    """The zone of a name, or of a beginning that no other has. Raises InputError, naming the nearest, otherwise."""
    names = [zone.name for zone in site.zone]
    return site.zone[names.index(named(name, names, "zone"))]
