"""Writers that are killed at random moments, and writers side by side; tests start this file as a program of its own.

It forks, which wants a process without threads. What every writer was told was written goes to stdout, as JSON.
"""

import datetime as dt
import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from waterbudget.journal.book import Entry, append

DAY = dt.date(2031, 6, 1)
LINES_AT_ONCE = 3
MOST_TOLD, LONGEST_S = 3, 0.005  # a life: so many lines, and so long after them
KILLS_A_FILE = 25


def write(path, value, key=""):
    """Add a few lines of one value, and return their numbers."""
    entries = [Entry(DAY, "gauge", "", value, "mm", f"part {part}") for part in range(LINES_AT_ONCE)]
    return [line.number for line in append(path, lambda _: entries, key=key)]


def started(path, values, *, keyed=False):
    """Fork a writer; its process and what it tells, line by line, of what was acknowledged."""
    ours, its = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(ours)
        for value in values:
            told = json.dumps([value, write(path, value, str(value) if keyed else "")])
            os.write(its, f"{told}\n".encode())
        os._exit(0)
    os.close(its)
    return process, os.fdopen(ours)


def kill(folder, kills):
    """Kill writers, one after the other; by file what each was told."""
    write(Path(folder) / "first.csv", 0)  # loads what is loaded late, before any fork
    rng, files = random.Random(kills), {}  # noqa: S311 - moments, not secrets
    for number in range(kills):
        path = Path(folder) / f"{number // KILLS_A_FILE}.csv"
        process, told = started(path, range(1000 * number, 1000 * number + 999))
        with told:
            first = [told.readline() for _ in range(rng.randint(0, MOST_TOLD))]
            time.sleep(rng.uniform(0.0, LONGEST_S))
            os.kill(process, signal.SIGKILL)
            os.waitpid(process, 0)
            files.setdefault(str(path), []).extend(map(json.loads, [*first, *told]))
    return files


def race(folder, writers, times):
    """Writers side by side on one file; what each was told."""
    path = Path(folder) / "journal.csv"
    running = [started(path, range(1000 * number, 1000 * number + times)) for number in range(writers)]
    acknowledged = []
    for process, told in running:
        with told:
            acknowledged += map(json.loads, told)
        os.waitpid(process, 0)
    return {str(path): acknowledged}


def again(folder, writers, times):
    """The same lines under the same keys from all writers at once, as when answers are lost; what each was told."""
    path = Path(folder) / "journal.csv"
    running = [started(path, range(times), keyed=True) for _ in range(writers)]
    acknowledged = []
    for process, told in running:
        with told:
            acknowledged += map(json.loads, told)
        os.waitpid(process, 0)
    return {str(path): acknowledged}


if __name__ == "__main__":
    what, folder, *numbers = sys.argv[1:]
    json.dump({"kill": kill, "race": race, "again": again}[what](folder, *map(int, numbers)), sys.stdout)
