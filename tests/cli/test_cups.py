"""The cup test end to end, and its way into the site file."""

import math
import re

import pytest
from click.testing import CliRunner
from hose import garden

from waterbudget import load_site
from waterbudget.cli.cups import cups
from waterbudget.cli.main import Commands

GROUP = Commands("waterbudget", commands={"cups": cups})
REFUSED = 2
CAUGHT_ML = (92, 105, 98, 110, 88, 101, 95, 103, 107, 84, 99, 118)  # mean 100, DUlq 88.0, CU 92.67: by hand
BEDS = ("Tomato bed", "Bean bed", "Salad bed", "Carrot bed")
EVERY_BED = [(BEDS[n % 4], caught) for n, caught in enumerate(CAUGHT_ML)]

CAUGHT = "the millilitres that the cup caught, 0 for none, with a point for decimals"


def ask(path, rows, *words, zone="North line", head="bed,caught_ml"):
    csv = path.with_name("caught.csv")
    csv.write_text("\n".join([head, *(",".join(map(str, row)) for row in rows)]) + "\n", "utf-8")
    return CliRunner().invoke(GROUP, ["cups", str(path), zone, str(csv), *map(str, words)], catch_exceptions=False)


def test_uniformity_and_minutes(tmp_path):
    told = ask(garden(tmp_path), EVERY_BED, "--minutes", 10, "--mouth-cm", 8, "--need-mm", 12)
    assert told.exit_code == 0
    screen = " ".join(told.stdout.split())
    assert "12 cups caught 100 mL on average in 10 minutes" in screen
    assert "The driest quarter gets 88 % of that" in screen
    assert "the driest, on Bean bed, caught 84 mL" in screen
    mean_mm = 1000.0 / (math.pi / 4.0 * 8.0**2)  # mL over cm2, in mm
    assert f"{mean_mm:.1f} mm. The driest quarter" in screen
    minutes = 12.0 / (0.88 * mean_mm / 10.0)
    assert f"{minutes:.1f} minutes give the driest quarter its 12 mm" in screen
    assert f"the beds then get {12 / 0.88:.1f} mm on average" in screen
    factor = re.search(r"Carrot bed +3 +(\d+) +([\d.]+)", told.stdout)
    assert (float(factor[1]), float(factor[2])) == (110.0, 1.10)  # 110, 103 and 118
    assert max(map(len, told.stdout.splitlines())) <= 100
    assert "Legionella" in told.stdout


def test_cups_that_a_spreadsheet_saved_read_alike(tmp_path):
    path = garden(tmp_path)
    rows = [(bed, f"{caught:.2f}") for bed, caught in EVERY_BED]
    told = ask(path, rows)
    text = path.with_name("caught.csv").read_text("utf-8")
    path.with_name("caught.csv").write_bytes(text.replace(",", ";").replace(".", ",").encode("utf-16"))
    csv, name = str(path.with_name("caught.csv")), "North line"
    assert CliRunner().invoke(GROUP, ["cups", str(path), name, csv]).stdout == told.stdout
    assert told.exit_code == 0


def test_shares_are_written_beside_the_area(tmp_path):
    path = garden(tmp_path)
    before = path.read_bytes()
    told = ask(path, EVERY_BED, "--write")
    assert told.stderr == f"Written: {path}; as it was: {path.with_name('site.toml.bak')}\n"
    assert path.with_name("site.toml.bak").read_bytes() == before
    beds = load_site(path).bed
    mean_ml = {bed: sum(caught for name, caught in EVERY_BED if name == bed) / 3 for bed in BEDS}
    for bed in beds[:4]:
        assert bed.share == pytest.approx(mean_ml[bed.name] / 100.0 * bed.area_m2, rel=0.005)
    assert [bed.share for bed in beds[4:]] == [None, None]
    kept = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("share = ")]
    assert kept == before.decode().splitlines()


def test_the_demo_cups_read(tmp_path):
    path = garden(tmp_path)
    told = CliRunner().invoke(GROUP, ["cups", str(path), "North line", str(path.with_name("cups.csv"))])
    assert told.exit_code == 0
    assert "16 cups" in told.stdout
    assert "in 5 minutes" in told.stdout  # a run of the zone


def test_a_dry_quarter_never_gets_its_water(tmp_path):
    told = ask(garden(tmp_path), [(bed, 0 if bed == "Bean bed" else 50) for bed in BEDS])
    assert "The driest quarter caught nothing" in told.stdout
    assert "never" in told.stdout


@pytest.mark.parametrize(
    ("rows", "faults"),
    [
        ([("Tomato bed", ""), ("Bean bed", "x"), ("Ben bed", 3), ("Salad bed", -1), ("Carrot bed", "nan")],
         [f"row 2: caught_ml is blank; write {CAUGHT}",
          f'row 3: caught_ml is "x"; write {CAUGHT}',
          'row 4: bed is "Ben bed", no bed of this zone; write "Bean bed"',
          f'row 5: caught_ml is "-1"; write {CAUGHT}',
          f'row 6: caught_ml is "nan"; write {CAUGHT}']),
        ([("Tomato bed",)], ["row 2: has 1 value under 2 column names; fill every column"]),
        ([("Tomato bed", 3)], ["a cup test needs four cups at least and a bed for each, not 1 and 1"]),
        ([(bed, 0) for bed in BEDS],
         ["a cup test needs catches not below 0, not all 0, and minutes and a mouth above 0"]),
        ([("Bean bed", 3)] * 4, ['"Tomato bed" has no cup; set some there before shares are written']),
    ],
)  # fmt: skip
def test_faults_are_one_clear_line_each(tmp_path, rows, faults):
    path = garden(tmp_path)
    before = path.read_bytes()
    told = ask(path, rows, "--write")
    csv = path.with_name("caught.csv")
    assert (told.exit_code, told.stdout) == (REFUSED, "")
    assert told.stderr.splitlines() == [f"{csv}: {fault}" for fault in faults]
    assert path.read_bytes() == before


def test_a_file_that_is_none(tmp_path):
    path = garden(tmp_path)
    told = ask(path, EVERY_BED, head="bed,caught")
    csv = path.with_name("caught.csv")
    assert told.stderr == f"{csv}: row 1: the column caught_ml is missing; write the header bed,caught_ml\n"
    for option in ("--minutes", "--mouth-cm", "--need-mm"):
        for value in ("0", "-1", "1e-308", "10001", "nan", "inf"):
            told = ask(path, EVERY_BED, option, value)
            assert (told.exit_code, told.stdout) == (REFUSED, "")
            assert told.stderr == f"{option} is {value}; write 0.01 to 10,000\n"
    gone = str(tmp_path / "none.csv")
    told = CliRunner().invoke(GROUP, ["cups", str(path), "North line", gone])
    assert told.stderr == f"{gone}: there is no such file; write one with the columns bed,caught_ml\n"
