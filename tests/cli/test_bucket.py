"""The bucket test end to end, and its way into the site file."""

import re

import pytest
from click.testing import CliRunner
from hose import garden

from waterbudget import load_site
from waterbudget.cli.bucket import bucket
from waterbudget.cli.main import Commands
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
    assert "--write puts the bucket's there" in told.stdout
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


def test_jets_need_a_line_and_a_zone_a_name(tmp_path):
    path = garden(tmp_path)
    told = ask(path, "South line", "--litres", 10, "--seconds", 52, "--jets", 3)
    assert told.stderr == '--jets: "South line" has no [[zone.line]], so its jets are unknown; leave the option out\n'
    told = ask(path, "North", "--litres", 10, "--seconds", 52)
    assert told.stderr == f'{path}: "North" is no zone; name "North line"\n'
