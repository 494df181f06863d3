"""The bucket test end to end, and its way into the site file."""

import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from hose import BY_GRAVITY, garden

from waterbudget import load_site
from waterbudget.cli.bucket import bucket
from waterbudget.cli.main import Commands
from waterbudget.line.solve import solve
from waterbudget.schedule.hose import hose_of

GROUP = Commands("waterbudget", commands={"bucket": bucket})
REFUSED = 2
EPANETS_RING = (  # 20 m and 2000 L/h, 40 m of 13.6 mm, 40 jets a metre up; k 8 is to be found
    ("^bore_mm = 13 ", "bore_mm = 13.6 "),
    ("^length_m = 32", "length_m = 40"),
    ("^rise_m = 0.6", "rise_m = 1"),
    ("^feed_length_m = 4", "feed_bore_mm = 13\nfeed_length_m = 5"),
    (r"^count = 9\nk_l_h = 3\b", "count = 10\nk_l_h = 5"),
    (r"^shutoff_m = .*\ngreatest_l_h = .*", "shutoff_m = 20\ngreatest_l_h = 2000"),
)


def ask(*words):
    return CliRunner().invoke(GROUP, ["bucket", *map(str, words)], catch_exceptions=False)


@pytest.mark.parametrize(("seconds", "k_l_h"), [(34.9, 7.999), (35.9, 7.612)])
def test_the_jets_that_explain_a_bucket(tmp_path, seconds, k_l_h):
    """10 L in 34.9 s are what EPANET 2.2 gives from 40 jets of k 8, but for its own gravity and viscosity."""
    path = garden(tmp_path, *EPANETS_RING)
    told = ask(path, "North line", "--litres", 10, "--seconds", seconds, "--level-l", 0, "--write")
    assert told.exit_code == 0
    assert f"({10 / seconds * 3600:,.0f} L/h)" in told.stdout
    found = [jets.k_l_h for jets in load_site(path).zone[0].hose.jets]
    assert found == pytest.approx([k_l_h] * 4, abs=0.005 + 0.002 * k_l_h)  # three figures are written


def test_the_error_comes_from_mark_and_watch(tmp_path):
    errors = ("--mark-l", 0.3, "--stopwatch-s", 4.8)
    told = ask(garden(tmp_path), "North line", "--litres", 10, "--seconds", 120, *errors)
    assert "give or take 5.0 %" in told.stdout  # hypot(3 %, 4 %)
    exact = ask(
        garden(tmp_path / "b"), "North line", "--litres", 10, "--seconds", 120, "--mark-l", 0, "--stopwatch-s", 0
    )
    k, least, most = re.search(r"Bean bed +9 +3 +([\d.]+) +([\d.]+) +([\d.]+)", exact.stdout).groups()
    assert k == least == most


def test_only_some_jets_open(tmp_path):
    """What half of the jets give is found again, and the whole line gives less than twice as much."""
    path = garden(tmp_path)
    shut = garden(tmp_path / "shut", (r"^(bed = \"(?:Salad|Carrot) bed\"\ncount = 9)", r"\1\nopening = 0"))
    site = load_site(shut)
    half_l_min = hose_of(site, site.zone[0], 0.6).total_l_min[0]
    told = ask(path, "North line", "--litres", 10, "--seconds", 600.0 / half_l_min, "--jets", 18)
    assert "That was with 18 jets open, counted from the tee" in told.stdout
    assert re.search(r"Bean bed +9 +3 +3 ", told.stdout)
    whole = hose_of(load_site(path), load_site(path).zone[0], 0.6).total_l_min[0]
    assert f"it gives {whole:.3g} L/min" in " ".join(told.stdout.split())
    assert whole < 2.0 * half_l_min


# ---- Two buckets ---------------------------------------------------------------------------------------------------

WEAK = ("^greatest_l_h = 500", "greatest_l_h = 400")
LOW = ("^shutoff_m = 10 ", "shutoff_m = 7 ")
NO_SECOND = '--also is "{}"; write open jets and seconds with their units, such as 12jets,95s, and 12jets,95s,5L'
SMALL = (r"^k_l_h = 3\b", "k_l_h = 2.5")


def seconds_for_10_l(path, jets):
    """How long ten litres take from the first jets of the North line, with the store as on the first day."""
    site = load_site(path)
    line = hose_of(site, site.zone[0], 0.6).line
    some = replace(line, opening=np.where(np.arange(line.jet_m.shape[1]) < jets, line.opening, 0.0))
    return 36000.0 / solve(some).total_l_h[0]


def two_buckets(real, jets=(36, 12)):
    """The options for two buckets from a garden as it really is, timed to a tenth of a second."""
    first, second = (f"{seconds_for_10_l(real, number):.1f}" for number in jets)
    return ("--litres", 10, "--seconds", first, "--jets", jets[0], "--also", f"{jets[1]}jets,{second}s")


@pytest.mark.parametrize(
    ("real", "words", "key", "figure"),
    [((WEAK, SMALL), (), "greatest_l_h", 400.0), ((LOW, SMALL), ("--find", "shutoff_m"), "shutoff_m", 7.0)],
)
def test_two_buckets_tell_the_pump_and_both_are_written(tmp_path, real, words, key, figure):
    path, watch = garden(tmp_path / "file"), ("--stopwatch-s", 0.1, "--mark-l", 0.02)
    before = path.read_text("utf-8").splitlines()
    told = ask(path, "North line", *two_buckets(garden(tmp_path / "real", *real)), *watch, *words, "--write")
    assert told.exit_code == 0, told.stderr
    site = load_site(path)
    assert [jets.k_l_h for jets in site.zone[0].hose.jets] == pytest.approx([2.5] * 4, rel=0.01)
    assert getattr(site.pump, key) == pytest.approx(figure, rel=0.02)
    assert {"greatest_l_h": 500.0, "shutoff_m": 10.0} | {key: getattr(site.pump, key)} == site.pump.model_dump(
        include={"greatest_l_h", "shutoff_m"}
    )
    changed = [new for old, new in zip(before, path.read_text("utf-8").splitlines(), strict=True) if old != new]
    assert [line.partition(" =")[0] for line in changed if line.partition(" =")[0] != "k_l_h"] == [key]
    assert len(changed) == 5
    value, least, most = map(float, re.search(rf"{key} +[\d.]+ +([\d.]+) +([\d.]+) +([\d.]+)", told.stdout).groups())
    assert least < figure < most
    assert value == getattr(site.pump, key)
    screen = " ".join(told.stdout.split())
    assert "The pump gives less than the site file says: by the buckets it" in screen
    assert "A clogged filter, a kinked hose or an empty battery does that, too" in screen
    assert f"The figures of the jets and {key} of the pump are now those of the buckets." in screen
    assert max(map(len, told.stdout.splitlines())) <= 100


def test_two_buckets_that_bear_the_nameplate_out(tmp_path):
    path = garden(tmp_path)
    before = path.read_bytes()
    told = ask(path, "North line", *two_buckets(path, (12, 36)))
    assert told.exit_code == 0
    screen = " ".join(told.stdout.split())
    assert "with 12 jets open and 4.65 L/min (279 L/h) with 36" in screen
    assert "The pump is as the site file says: by the buckets it moves 500 L/h without lifting" in screen
    assert "All jets open as in the site file give 4.65 L/min" in screen
    assert "of the pump: the same line with --write puts them into the site file." in " ".join(screen.split())
    assert re.search(r"shutoff_m +10 +believed", told.stdout)
    assert path.read_bytes() == before


def test_a_pump_better_than_its_nameplate_is_doubted(tmp_path):
    real = garden(tmp_path / "real", ("^greatest_l_h = 500", "greatest_l_h = 700"))
    told = ask(garden(tmp_path), "North line", *two_buckets(real))
    assert "Pumps seldom beat their nameplate" in " ".join(told.stdout.split())


def test_another_bucket_has_another_mark(tmp_path):
    path = garden(tmp_path)
    first, second = seconds_for_10_l(path, 36), seconds_for_10_l(path, 12)
    words = ("North line", "--litres", 10, "--seconds", first)
    limits = [
        re.search(r"greatest_l_h +500 +\d+ +(\d+) +(\d+)", ask(path, *words, "--also", also).stdout).groups()
        for also in (f"12 jets, {second:.2f} s", f"{second / 2:.2f}s,5L,12jets")
    ]
    (same_least, same_most), (least, most) = ([int(limit) for limit in pair] for pair in limits)
    assert least < same_least < same_most < most


def test_a_flow_that_goes_before_the_line_is_that_of_the_new_pump(tmp_path):
    real = garden(tmp_path / "real", WEAK)
    path = garden(tmp_path, (r"^minutes = 5", "flow_l_min = 4.2\nminutes = 5"))
    ask(path, "North line", *two_buckets(real, (18, 6)), "--stopwatch-s", 0.1, "--write")
    assert load_site(path).zone[0].flow_l_min == pytest.approx(600.0 / seconds_for_10_l(real, 36), rel=0.01)


def test_other_lines_on_the_pump_are_named(tmp_path):
    path = garden(tmp_path)
    text = path.read_text("utf-8")
    zone = text[text.index('[[zone]]\nname = "North line"') : text.index('[[zone]]\nname = "South line"')]
    third = re.sub('bed = ".*"', 'bed = "Pea bed"', zone.replace("North line", "Third line"))
    bed = '[[bed]]\nname = "Pea bed"\narea_m2 = 2\nzone = "Third line"\nsoil = "loam"\n'
    path.write_text(f"{text}\n{third}\n{bed}", "utf-8")
    told = ask(path, "North line", *two_buckets(garden(tmp_path / "real")))
    assert "The pump drives Third line, too" in told.stdout, told.stderr


@pytest.mark.parametrize(
    ("changes", "words", "fault"),
    [
        ((), ("--also", "12,95"), f"{NO_SECOND.format('12,95')} where the bucket was another one"),
        ((), ("--also", "12jets"), NO_SECOND.format("12jets")),
        ((), ("--also", "12.5jets,95s"), NO_SECOND.format("12.5jets,95s")),
        ((), ("--also", "12jets,95s,96s"), NO_SECOND.format("12jets,95s,96s")),
        ((), ("--also", "12jets,9,5s"), NO_SECOND.format("12jets,9,5s")),
        ((), ("--also", "12jets,-95s"), NO_SECOND.format("12jets,-95s")),
        ((), ("--also", ""), NO_SECOND.format("")),
        ((), ("--also", "12jets,0s"), "--also: seconds are 0; write the seconds until it was full, such as 52, above"),
        ((), ("--also", "12jets,95s,0L"), "--also: litres are 0; write the litres in the bucket at its mark, such as"),
        ((), ("--also", "12jets,0.5s"), "--stopwatch-s is 1; write by how much it may be wrong, from 0 to below 0.5"),
        ((), ("--also", "0jets,95s"), '--also: "North line" has 36 jets; write 1 to that'),
        ((), ("--also", "37jets,95s"), '--also: "North line" has 36 jets; write 1 to that'),
        ((), ("--also", "36jets,95s"), "--also: 36 jets open in both tests tell nothing of the pump; shut some in one"),
        ((), ("--jets", 12, "--also", "12jets,95s"), "--also: 12 jets open in both tests tell nothing of the pump"),
        ((), ("--find", "shutoff_m"), "--find: goes with --also, a second bucket"),
        ((), ("--also", "12jets,100s"), "--also: no pump explains both: with more jets open the zone gave too little"),
        ((), ("--also", "34jets,130s"), "--also: mark and watch are too coarse to tell the pump from these two; "),
        ((), ("--also", "12jets,100s"), "; fewer jets in one of them and a larger bucket tell more"),
        (BY_GRAVITY, ("--also", "12jets,95s"), "site.toml has no [pump], so one bucket tells all; leave the"),
        ((("^ring = true", "pumped = false\nring = true"),), ("--also", "12jets,95s"),
         '--also: "North line" runs by gravity, so one bucket tells all; leave the option out'),
        (((r"^shutoff_m = .*\ngreatest_l_h = .*", "points = [[0, 10], [300, 6]]"),), ("--also", "12jets,95s"),
         "gives points of the pump; write shutoff_m and greatest_l_h of its nameplate in their place, or leave"),
        (((r'^(bed = "Tomato bed"\ncount = 9)', r"\1\nopening = 0"),), ("--also", "9jets,95s"),
         '--also: the first 9 jets of "North line" are shut in '),
    ],
)  # fmt: skip
def test_two_buckets_that_tell_nothing_are_one_clear_line(tmp_path, changes, words, fault):
    path = garden(tmp_path, *changes)
    told = ask(path, "North line", "--litres", 10, "--seconds", 129, *words, "--write")
    assert (told.exit_code, told.stdout) == (REFUSED, "")
    (line,) = told.stderr.splitlines()
    assert fault in line
    assert sorted(file.name for file in tmp_path.iterdir()) == ["cups.csv", "site.toml", "weather.csv"]


# ---- Into the site file --------------------------------------------------------------------------------------------


def test_writing_keeps_remarks_and_the_file_as_it_was(tmp_path):
    path = garden(tmp_path, ("^k_l_h = 3  ", "l_h_at_1_bar = 9.58  "))
    before = path.read_bytes()
    told = ask(path, "North line", "--litres", 10, "--seconds", 120, "--write")
    copy = path.with_name("site.toml.bak")
    assert told.stderr == f"Written: {path}; as it was: {copy}\n"
    assert copy.read_bytes() == before
    changed = [
        (old, new)
        for old, new in zip(before.decode().splitlines(), path.read_text("utf-8").splitlines(), strict=True)
        if old != new
    ]
    assert [re.sub(r"= [\d.]+", "=", old) for old, _ in changed] == [
        re.sub(r"= [\d.]+", "=", new) for _, new in changed
    ]
    assert len(changed) == 4
    assert load_site(path).zone[0].hose.jets[0].k_l_h is None
    ask(path, "North line", "--litres", 10, "--seconds", 110, "--write")
    assert copy.read_bytes() == before
    assert path.with_name("site.toml.bak2").exists()


def test_windows_line_ends_stay(tmp_path):
    path = garden(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert ask(path, "North line", "--litres", 10, "--seconds", 120, "--write").exit_code == 0
    written = path.read_bytes()
    assert written.count(b"\n") == written.count(b"\r\n")


def test_tables_of_several_kinds_stay_in_their_order(tmp_path):
    """A pump between the zones, and each bed below the zone that waters it."""
    path = garden(tmp_path)
    text = path.read_text("utf-8")
    pump = text[text.index("[pump]") : text.index("[battery]")]
    bed = text[text.index('[[bed]]\nname = "Salad bed"') : text.index('[[bed]]\nname = "Carrot bed"')]
    text = text.replace(pump, "").replace(bed, "")
    text = text.replace('[[zone]]\nname = "South line"', f'{pump}{bed}[[zone]]\nname = "South line"')
    path.write_text(text, "utf-8")
    assert ask(path, "North line", "--litres", 10, "--seconds", 110, "--write").exit_code == 0
    after = re.sub(r"(?m)^k_l_h = [\d.]+ +(?=#)", "k_l_h = 3 ", path.read_text("utf-8"))
    assert re.sub(r"(?m)^k_l_h = [\d.]+", "k_l_h = 3", after) == re.sub(r"(?m)^k_l_h = 3 +", "k_l_h = 3 ", text)


def test_a_file_that_became_another_meanwhile_is_left_alone(tmp_path, monkeypatch):
    path = garden(tmp_path)

    def changed_meanwhile(*words):
        path.write_text(path.read_text("utf-8").replace("minutes = 5", "minutes = 6"), "utf-8")
        return solve(*words)

    monkeypatch.setattr("waterbudget.hose.bucket.solve", changed_meanwhile)
    told = ask(path, "North line", "--litres", 10, "--seconds", 110, "--write")
    assert (told.exit_code, told.stderr) == (REFUSED, f"{path}: was changed in the meantime; try again\n")
    assert not path.with_name("site.toml.bak").exists()


def test_a_zone_without_a_line_gets_its_flow(tmp_path):
    path = garden(tmp_path)
    told = ask(path, "South line", "--litres", 10, "--seconds", 52, "--write")
    assert "gives 11.5 L/min (692 L/h), give or take 2.8 %" in told.stdout  # 600 / 52; hypot(0.2/10, 1/52)
    assert "flow_l_min was 5 and is now 11.5" in told.stdout
    assert load_site(path).zone[1].flow_l_min == 11.5


def test_a_flow_that_goes_before_the_line_is_written_too(tmp_path):
    path = garden(tmp_path, (r"^minutes = 5", "flow_l_min = 4.2\nminutes = 5"))
    ask(path, "North line", "--litres", 10, "--seconds", 120, "--write")
    assert load_site(path).zone[0].flow_l_min == 5.0


def test_without_write_the_file_stays(tmp_path):
    path = garden(tmp_path)
    before = path.read_bytes()
    told = ask(path, "North line", "--litres", 10, "--seconds", 120)
    assert not told.stderr
    assert "the same line with --write puts them into the site file." in " ".join(told.stdout.split())
    assert path.read_bytes() == before
    assert "Legionella" in told.stdout
    assert "residual-current" in told.stdout
    assert max(map(len, told.stdout.splitlines())) <= 100


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("--litres", 10, "--seconds", 0),
         "--seconds is 0; write the seconds until it was full, such as 52, above 0 and at most 100000"),
        (("--litres", -1, "--seconds", 52),
         "--litres is -1; write the litres in the bucket at its mark, such as 10, above 0 and at most 10000"),
        (("--litres", "nan", "--seconds", 52),
         "--litres is nan; write the litres in the bucket at its mark, such as 10, above 0 and at most 10000"),
        (("--litres", 10, "--seconds", 0.5),
         "--stopwatch-s is 1; write by how much it may be wrong, from 0 to below 0.5"),
        (("--litres", 10, "--seconds", 52, "--jets", 0), '--jets: "North line" has 36 jets; write 1 to that'),
        (("--litres", 10, "--seconds", 52, "--jets", 37), '--jets: "North line" has 36 jets; write 1 to that'),
        (("--litres", 10, "--seconds", 52, "--level-l", -1),
         '"Class-room tank" cannot hold -1 L; write 0 to 1500, its capacity'),
    ],
)  # fmt: skip
def test_a_fault_is_one_clear_line(tmp_path, words, fault):
    path = garden(tmp_path)
    told = ask(path, "North line", *words, "--write")
    assert (told.exit_code, told.stdout, told.stderr) == (REFUSED, "", f"{fault}\n")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["cups.csv", "site.toml", "weather.csv"]


def test_more_than_the_pump_gives_is_no_jets_doing(tmp_path):
    told = ask(garden(tmp_path), "North line", "--litres", 10, "--seconds", 5)
    assert told.exit_code == REFUSED
    (line,) = told.stderr.splitlines()
    assert line.startswith("bucket test: no jets explain 7200 L/h from this zone: pump and pipe give less")


@pytest.mark.parametrize("words", [(1e-6, 100), (0.001, 1e5), (0.1, 1e5)])
def test_next_to_nothing_is_no_jets_doing_and_writes_none(tmp_path, words):
    path = garden(tmp_path)
    before = path.read_bytes()
    told = ask(path, "North line", "--litres", words[0], "--seconds", words[1], "--mark-l", 0, "--write")
    assert (told.exit_code, told.stdout) == (REFUSED, "")
    (line,) = told.stderr.splitlines()
    assert line.startswith("bucket test: no jets explain ")
    assert path.read_bytes() == before


def test_jets_need_a_line_and_a_zone_a_name(tmp_path):
    path = garden(tmp_path)
    told = ask(path, "South line", "--litres", 10, "--seconds", 52, "--jets", 3)
    assert told.stderr == '--jets: "South line" has no [[zone.line]], so its jets are unknown; leave the option out\n'
    told = ask(path, "South line", "--litres", 10, "--seconds", 52, "--also", "3jets,95s")
    assert told.stderr == '--also: "South line" has no [[zone.line]], so its jets are unknown; leave the option out\n'
    told = ask(path, "Nrth line", "--litres", 10, "--seconds", 52)
    assert told.stderr == '"Nrth line" is no zone; did you mean "North line"?\n'
