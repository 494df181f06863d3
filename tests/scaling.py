"""How well more workers help: the invented town on a Dask scheduler of its own with one worker process after another.

python tests/scaling.py [ROOFS [DAYS [MOST_WORKERS]]]

The scheduler and the workers are processes of their own that are reached by address alone, as on several machines; each
worker has one thread. Efficiency is the time of one worker over the time of n of them and n. Wants the extra batch.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

from town import grid_of, write_town

from waterbudget.batch.cluster import workers_of
from waterbudget.batch.run import open_batch, run_batch

HERE = "127.0.0.1"
PATIENCE_S = 60


def started(stack, *words):
    """A process that is ended with the stack."""
    process = stack.enter_context(
        subprocess.Popen([sys.executable, "-m", *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    )
    stack.callback(process.terminate)
    return process


def cluster(stack, workers, folder):
    """The address of a scheduler with so many workers."""
    found = folder / f"scheduler-{workers}.json"
    shared = ("--scheduler-file", str(found))
    started(stack, "distributed.cli.dask_scheduler", "--host", HERE, "--port", "0", "--no-dashboard", *shared)
    until = time.monotonic() + PATIENCE_S
    while not found.exists():
        if time.monotonic() > until:
            raise TimeoutError("the scheduler did not start")
        time.sleep(0.1)
    for _ in range(workers):
        started(stack, "distributed.cli.dask_worker", *shared, "--nthreads", "1", "--no-dashboard", "--host", HERE)
    address = json.loads(found.read_text("utf-8"))["address"]
    with workers_of(address) as client:
        client.wait_for_workers(workers, timeout=PATIENCE_S)
    return address


def main():
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("roofs", type=int, nargs="?", default=20_000)
    asked.add_argument("days", type=int, nargs="?", default=365)
    asked.add_argument("most", type=int, nargs="?", default=2)
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sheet = write_town(folder, told.roofs)
        grid_of(told.days).to_netcdf(folder / "grid.nc")
        alone_s = None
        for workers in range(1, told.most + 1):
            with ExitStack() as stack:
                address = cluster(stack, workers, folder)
                batch = open_batch(sheet, weather=str(folder / "grid.nc"), by="ward")
                begun = time.perf_counter()
                run_batch(batch, folder / "town.parquet", scheduler=address, overwrite=True)
                took_s = time.perf_counter() - begun
            alone_s = alone_s or took_s
            efficiency = alone_s / (workers * took_s)
            print(f"{workers} workers: {took_s:.1f} s, {told.roofs / took_s:,.0f} sites a second, {efficiency:.0%}")  # noqa: T201


if __name__ == "__main__":
    main()
