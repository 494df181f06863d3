"""waterbudget batch from end to end."""

import os
import shlex
import shutil
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner

from waterbudget.cli.batch import batch
from waterbudget.cli.main import Commands

pq = pytest.importorskip("pyarrow.parquet")
pytest.importorskip("distributed")
import psutil  # noqa: E402

DEMO = Path(__file__).parent.parent.parent / "data_demo"
PROGRAM = Commands(commands={"batch": batch})
SECONDS = 60


@pytest.fixture(autouse=True)
def _at_brackenfold(tmp_path, monkeypatch):
    (tmp_path / "data_demo").mkdir()
    for name in ("site.toml", "sites.csv", "weather.csv"):
        shutil.copy(DEMO / name, tmp_path / "data_demo")
    monkeypatch.chdir(tmp_path)


def run(words):
    return CliRunner().invoke(PROGRAM, ["batch", *shlex.split(words)])


def test_the_first_example_of_the_help_and_sites_at_fault():
    sheet = Path("data_demo/sites.csv")
    lines = sheet.read_text("utf-8").splitlines()
    commas = lines[0].count(",") - 2
    sheet.write_text("\n".join([*lines, *(f"Bad {n},,-{n}{',' * commas}" for n in range(1, 6))]), "utf-8")
    examples = [line.split("waterbudget batch ")[1] for line in batch.help.splitlines() if "Example: " in line]
    assert len(examples) == 2
    result = run(f"{examples[0]} --workers 1 --partition 4")
    assert result.exit_code == 0, result.stderr
    sites = len(lines) - 1
    rows = pq.read_table("results.parquet").to_pylist()
    assert [bool(row["error"]) for row in rows] == [False] * sites + [True] * 5
    lasting = sum(row["days_lasted"] == row["days"] for row in rows[:sites])
    told = " ".join(result.stdout.split())
    assert f"{sites + 5} sites, {sites + 5} rows in results.parquet" in told
    assert f"At {lasting} of {sites} sites the stored rain lasts every day of its weather." in told
    assert "5 sites could not be run; the column error says why" in told
    assert "... and 2 more" in told
    assert rows[sites]["error"].startswith(
        f"sites.csv: row {sites + 2}: roof.Class-room roof.area_m2: is -1; write a number above 0"
    )
    assert "Sites" in result.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("none.csv --out a.parquet", "none.csv: there is no such file or folder"),
        ("data_demo/sites.csv --out a.txt", "a.txt: is no name for a table"),
        ("data_demo/sites.csv --out a.parquet --template none.toml", "none.toml: there is no such file"),
        ("data_demo/sites.csv --out a.parquet --sizes 500", 'sizes is "500"; write FROM:TO:STEPS'),
        ("data_demo --out a.parquet --template data_demo/site.toml", "a template goes with a CSV file"),
        ("data_demo/weather.csv --out a.parquet", '"tmin_c" is no key of data_demo/site.toml'),
        ("data_demo/sites.csv --out a.parquet --scheduler host:1", "write its address as tcp://HOST:PORT"),
        ("data_demo/sites.csv --out a.parquet --scheduler tcp://127.0.0.1:1 --workers 2", "leave workers out"),
        ("data_demo/sites.csv --out a.parquet --workers 0", "0 is not in the range"),
        ("data_demo/sites.csv --out a.parquet --sizes 0,200,100", 'sizes is "0,200,100"; write each size once'),
        ("data_demo/sites.csv --out a.parquet --weather none.nc", "none.nc: there is no such file or folder"),
        ("data_demo/sites.csv --out a.parquet --weather data_demo/site.toml", "is no netCDF file or zarr store"),
        ("data_demo/sites.csv --out a.parquet --by street", 'the column "street" of --by is missing'),
        ("data_demo --out a.parquet --by street", "--by: goes with a CSV file of sites"),
        ("data_demo/sites.csv --out a.parquet --series a.parquet", "is the name of two files; give --series another"),
        ("data_demo/sites.csv --out a.parquet --series a.doc", "a.doc: is no name for a table"),
        ("data_demo/sites.csv", "Missing option '--out'"),
    ],
)
def test_wrong_input_is_told_and_nothing_is_written(words, told):
    before = sorted(Path().rglob("*"))
    result = run(words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in result.stderr
    assert "Traceback" not in result.stderr
    assert sorted(Path().rglob("*")) == before


def test_a_scheduler_that_does_not_answer_is_no_fault_of_the_input(monkeypatch):
    monkeypatch.setattr("waterbudget.batch.cluster.ANSWER_S", 1)
    before = sorted(Path().rglob("*"))
    result = run("data_demo/sites.csv --out a.parquet --scheduler tcp://127.0.0.1:1")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.splitlines()[-1].startswith("tcp://127.0.0.1:1: no scheduler answers there; start one")
    assert sorted(Path().rglob("*")) == before


def test_without_dask_it_says_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    result = run("data_demo/sites.csv --out a.parquet")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines()[-1].endswith("install them with: pip install 'waterbudget[batch]'")


def test_ctrl_c_keeps_what_is_finished(tmp_path):
    pty = pytest.importorskip("pty", reason="pseudo terminals are a Unix matter")
    sheet = Path("data_demo/sites.csv")
    head, row, *_ = sheet.read_text("utf-8").splitlines()
    rest = row.partition(",")[2]
    sheet.write_text("\n".join([head, *(f"Plot {number},{rest}" for number in range(400))]), "utf-8")
    program = tmp_path / "program.py"
    program.write_text(
        "from waterbudget.cli.batch import batch\nfrom waterbudget.cli.main import Commands\n"
        "if __name__ == '__main__':\n    Commands(commands={'batch': batch})()\n"
    )
    words = ["batch", str(sheet), "--out", "results.parquet", "--workers", "1", "--partition", "2"]
    master, slave = pty.openpty()
    tty = os.ttyname(slave)
    child = subprocess.Popen(  # opens the terminal itself, and so a Ctrl-C there reaches its workers too
        ["sh", "-c", f'exec "$0" "$@" <{tty} >{tty} 2>&1', sys.executable, str(program), *words], start_new_session=True
    )
    parts = tmp_path / "results.parquet.parts"
    shown = b""
    try:
        until = time.monotonic() + SECONDS
        while not list(parts.glob("part-*.parquet")):
            assert time.monotonic() < until
            time.sleep(0.05)
        os.close(slave)
        os.write(master, b"\x03")
        with suppress(OSError):  # Linux tells so that the other end is closed
            while part := os.read(master, 65536):
                shown += part
        assert child.wait(SECONDS) == 1, shown
    finally:
        child.kill()
        child.wait()
        os.close(master)
    assert b"Traceback" not in shown
    assert shown.splitlines()[-1] == b"stopped; finished partitions are kept, and the same command goes on from there"
    assert list(parts.glob("part-*.parquet"))
    assert not Path("results.parquet").exists()
    while left := [pid for pid in psutil.pids() if session_of(pid) == child.pid]:  # each ends when it notices
        assert time.monotonic() < until, left
        time.sleep(0.05)


def session_of(pid):
    with suppress(ProcessLookupError):
        return os.getsid(pid)
    return None
