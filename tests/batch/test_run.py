"""Whole batches on real workers: killed, stopped, gone on with."""

import json
import math
import multiprocessing
import os
import signal
import subprocess
import sys

import pytest

import waterbudget
from waterbudget import output
from waterbudget.batch import run as orders
from waterbudget.batch.run import open_batch, run_batch, sizes_of
from waterbudget.errors import InputError, OutputError, WeatherError

pq = pytest.importorskip("pyarrow.parquet")
pytest.importorskip("distributed")
import psutil  # noqa: E402

SITES, PARTITION = 60, 6


@pytest.fixture
def batch(garden):
    return open_batch(garden.plots(SITES), partition=PARTITION)


@pytest.fixture
def handed_out(monkeypatch):
    """The numbers of the partitions that workers were given, as they are."""
    numbers = []

    def each_done(client, work, tasks):
        def watched():
            for number, task in tasks:
                numbers.append(number)
                yield number, task

        return each_done_before(client, work, watched())

    each_done_before = orders.each_done
    monkeypatch.setattr(orders, "each_done", each_done)
    return numbers


def rows_of(path):
    return pq.read_table(path).to_pylist()


def stopped(after):
    """Progress that is stopped with Ctrl-C after so many partitions."""
    left = [after]

    def progress(sites):
        left[0] -= sites > 0
        if left[0] == 0:
            raise KeyboardInterrupt

    return progress


def is_whole(rows, sheet):
    """Every site in its place, each with its own run's numbers."""
    source, entries = orders.sheet_sites(sheet, None)
    assert [row["name"] for row in rows] == [entry.name for entry in entries]
    assert [row["name"] for row in rows if row["error"]] == ["Plot 20", "Plot 40", "Plot 60"]
    for row, entry in list(zip(rows, entries, strict=True))[::7]:
        if not row["error"]:
            site = source.site_of(entry)
            weather = waterbudget.read_weather(source.folder / site.weather.file, site)
            summary = waterbudget.run(site, weather, daily=False).summary
            assert math.isclose(row["store_l"], summary["store_l"], rel_tol=1e-12)
            assert row["days_lasted"] == summary["days_lasted"]
            assert str(row["first_short"]) == str(summary["first_short"])


def test_a_worker_is_killed_and_nothing_is_lost(garden, batch, scheduler):
    undisturbed = garden.folder / "undisturbed.parquet"
    done = run_batch(batch, undisturbed, scheduler=scheduler)
    assert (done.sites, done.rows, done.faulty, done.kept) == (SITES, SITES, 3, 0)

    before = set(multiprocessing.active_children())
    killed, seen = [], []

    def kill_one(sites):
        seen.append(sites)
        if sites and not killed:
            workers = sorted(process.pid for process in set(multiprocessing.active_children()) - before)
            killed.extend(workers[:1])
            assert len(workers) == 2
            os.kill(killed[0], signal.SIGKILL)
            seen_ends.update(ends(psutil.Process(workers[1])), ends(psutil.Process()))

    def ends(process):
        for connection in process.net_connections("inet"):
            yield from (end.ip for end in (connection.laddr, connection.raddr) if end)

    seen_ends = set()
    run_batch(batch, garden.out, workers=2, progress=kill_one)
    assert killed
    assert sum(seen) == SITES
    assert rows_of(garden.out) == rows_of(undisturbed)
    is_whole(rows_of(garden.out), garden.folder / "sites.csv")
    assert seen_ends == {"127.0.0.1"}  # and so nobody else can reach them
    assert set(multiprocessing.active_children()) <= before
    assert not list(garden.folder.glob("*.parts"))


def test_stopped_and_gone_on_with(garden, batch, scheduler, handed_out):
    with pytest.raises(KeyboardInterrupt):
        run_batch(batch, garden.out, scheduler=scheduler, progress=stopped(after=4))
    folder = garden.folder / "results.parquet.parts"
    kept = {path: path.stat().st_mtime_ns for path in folder.glob("part-*.parquet")}
    assert len(kept) == 4
    assert not garden.out.exists()

    handed_out.clear()
    again = open_batch(garden.folder / "sites.csv", partition=PARTITION)
    counted = []
    done = run_batch(again, garden.out, scheduler=scheduler, progress=stopped_by(kept, counted))
    finished = {int(path.stem.removeprefix("part-")) for path in kept}
    assert sorted(handed_out) == sorted(set(range(SITES // PARTITION)) - finished)
    assert done.kept == counted[0] == 4 * PARTITION
    assert sum(counted) == SITES
    is_whole(rows_of(garden.out), garden.folder / "sites.csv")
    assert not folder.exists()


def stopped_by(kept, counted):
    """Progress that counts, and sees to it that what was kept stays untouched."""

    def progress(sites):
        counted.append(sites)
        assert {path: path.stat().st_mtime_ns for path in kept} == kept

    return progress


def test_nothing_is_run_where_only_the_joining_is_left(garden, batch, scheduler, handed_out, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(orders.Parts, "join", stopped(after=1))
        with pytest.raises(TypeError):
            run_batch(batch, garden.out, scheduler=scheduler)
    handed_out.clear()
    done = run_batch(batch, garden.out, scheduler="tcp://127.0.0.1:1")
    assert (handed_out, done.kept, done.rows) == ([], SITES, SITES)


def test_another_sheet_is_no_going_on(garden, batch, scheduler, handed_out):
    with pytest.raises(KeyboardInterrupt):
        run_batch(batch, garden.out, scheduler=scheduler, progress=stopped(after=1))
    folder = garden.folder / "results.parquet.parts"
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    sheet = garden.plots(SITES - 1)
    for changed, what in (
        ({}, "SITES"),
        ({"partition": 5}, "--partition, SITES"),
        ({"sizes": "500:1000:2"}, "--sizes, SITES"),
    ):
        with pytest.raises(OutputError, match=f"was begun with another {what}; go on with that as it was"):
            run_batch(open_batch(sheet, **{"partition": PARTITION} | changed), garden.out, scheduler=scheduler)
    garden.template.write_text(garden.template.read_text("utf-8").replace("minutes = 12", "minutes = 13"), "utf-8")
    with pytest.raises(OutputError, match="was begun with another --template; go on with that as it was"):
        run_batch(open_batch(garden.plots(SITES), partition=PARTITION), garden.out, scheduler=scheduler)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before

    handed_out.clear()
    other = open_batch(garden.plots(SITES - 1), partition=PARTITION)
    assert run_batch(other, garden.out, scheduler=scheduler, overwrite=True).rows == SITES - 1
    assert sorted(handed_out) == list(range(SITES // PARTITION))


def test_remarks_in_the_template_and_its_line_ends_do_not_count(garden, batch):
    garden.template.write_text(garden.template.read_text("utf-8") + "# the butt leaks\r\n", "utf-8", newline="")
    assert open_batch(garden.folder / "sites.csv", partition=PARTITION).made_of == batch.made_of


def test_weather_that_changes_in_between(garden, batch, scheduler):
    with pytest.raises(KeyboardInterrupt):
        run_batch(batch, garden.out, scheduler=scheduler, progress=stopped(after=1))
    book = json.loads((garden.folder / "results.parquet.parts" / "batch.json").read_text("utf-8"))
    assert list(book["weather"]) == [str(garden.folder / "weather.csv")]
    garden.write_weather("weather.csv", garden.weather[:50])
    with pytest.raises(OutputError, match=r"was begun with another .*weather\.csv; go on with that as it was"):
        run_batch(batch, garden.out, scheduler=scheduler)


def test_sizes_of_one_tank(garden, scheduler):
    batch = open_batch(garden.plots(21), partition=5, sizes="500:2000:4")
    done = run_batch(batch, garden.out, scheduler=scheduler)
    assert (done.sites, done.rows, done.faulty, done.sizes) == (21, 20 * 4 + 1, 1, 4)
    rows = rows_of(garden.out)
    assert [row["capacity_l"] for row in rows[:4]] == [500.0, 1000.0, 1500.0, 2000.0]
    assert {row["tank"] for row in rows} == {"Class-room tank", None}
    assert list(rows[0])[4:6] == ["tank", "capacity_l"]


def test_an_existing_file_is_kept(garden, batch, scheduler):
    garden.out.write_text("mine")
    with pytest.raises(OutputError, match="is there already; choose another name or add --overwrite"):
        run_batch(batch, garden.out, scheduler=scheduler)
    assert garden.out.read_text() == "mine"
    assert run_batch(batch, garden.out, scheduler=scheduler, overwrite=True).rows == SITES


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"workers": 2, "scheduler": "tcp://127.0.0.1:1"}, "workers and scheduler are both given"),
        ({"scheduler": "127.0.0.1:1"}, "write its address as tcp://HOST:PORT"),
        ({"name": "results.txt"}, "is no name for a table; write one that ends in .parquet or .csv"),
    ],
)
def test_orders_that_cannot_be(garden, batch, options, said):
    with pytest.raises(InputError, match=said):
        run_batch(batch, garden.folder / options.pop("name", "results.parquet"), **options)
    assert not list(garden.folder.glob("results*"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("500", "write FROM:TO:STEPS"),
        ("500:a:3", "write FROM:TO:STEPS"),
        ("500:1e3:3", "write FROM:TO:STEPS"),
        ("5.0.0:1000:3", "write FROM:TO:STEPS"),
        ("1000:500:3", "write the smaller size first"),
        ("0:500:3", "write the smaller size first"),
        ("500:99000000:3", "up to 10,000,000 L"),
        ("500:1000:1", "and 2 to 1,000 steps"),
        ("500:1000:1001", "and 2 to 1,000 steps"),
    ],
)
def test_sizes_that_cannot_be(words, said):
    with pytest.raises(InputError, match=said):
        sizes_of(words)


def test_sizes_are_evenly_spaced():
    assert sizes_of("500:1500.5:3").tolist() == [500.0, 1000.25, 1500.5]


def test_what_no_row_could_run_with_is_told_at_once(garden):
    sheet = garden.plots(3)
    weather = garden.folder / "weather.csv"
    weather.rename(garden.folder / "other.csv")
    with pytest.raises(WeatherError, match="there is no such file"):
        open_batch(sheet)
    assert open_batch(garden.sheet(["name", "weather.file"], ["Plot", "other.csv"])).entries
    table = garden.template.read_text("utf-8")
    garden.template.write_text(table.replace('file = "weather.csv"', "nearest = true"), "utf-8")
    with pytest.raises(InputError, match=r"weather\.file: is in neither the template nor a column"):
        open_batch(garden.plots(3))
    with pytest.raises(InputError, match="a template goes with a CSV file"):
        open_batch(garden.folder, template=garden.template)
    with pytest.raises(InputError, match="partition is 0"):
        open_batch(garden.folder, partition=0)


def test_all_else_works_without_dask(garden):
    program = """
import sys
sys.modules.update(dict.fromkeys(["dask", "distributed", "pyarrow"]))
from pathlib import Path
import waterbudget
from waterbudget.batch.run import open_batch, run_batch
from waterbudget.cli.main import main
from waterbudget.errors import InputError
site = waterbudget.load_site("site.toml")
print(waterbudget.run(site, waterbudget.read_weather("weather.csv", site)).summary["days"])
try:
    run_batch(open_batch(Path("sites.csv")), Path("results.parquet"))
except InputError as error:
    print(error)
main(["run", "site.toml"])
"""
    garden.plots(3)
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], cwd=garden.folder, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    days, refusal, *screen = run.stdout.splitlines()
    assert days == "60"
    assert refusal == "waterbudget batch needs Dask and pyarrow; install them with: pip install 'waterbudget[batch]'"
    assert any("Brackenfold" in line for line in screen)
    assert not list(garden.folder.glob("results*"))


def test_two_batches_do_not_run_into_one_file(garden, batch, scheduler, monkeypatch):
    monkeypatch.setattr(output, "WAIT_S", 0.1)
    refused = []

    def meanwhile(_):
        if not refused:
            with pytest.raises(
                OutputError, match=r"results\.parquet: somebody else is writing to it; try again"
            ) as told:
                run_batch(batch, garden.out, scheduler=scheduler)
            refused.append(told)

    run_batch(batch, garden.out, scheduler=scheduler, progress=meanwhile)
    assert refused
    is_whole(rows_of(garden.out), garden.folder / "sites.csv")
