"""Where the partitions run: processes of this machine, or a scheduler and its workers that somebody has started."""

import asyncio
import logging
import re
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, version
from itertools import islice
from multiprocessing import resource_tracker
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING, TypeVar

from waterbudget.errors import InputError, WaterbudgetError, shown
from waterbudget.output import scratch

if TYPE_CHECKING:
    from distributed import Client

PACKAGE = "waterbudget"
ANSWER_S = 10  # a scheduler on the network answers within moments, or is not there
WAITING = 4  # partitions handed out for each worker, so that none has to wait for its next
HERE = "127.0.0.1"
LOST = "the scheduler was lost; start it again and give the same command, which goes on from there"
ADDRESS = re.compile(r"tcp://(\[[0-9A-Fa-f:]+\]|[^\s/:\[\]]+):[0-9]{1,5}")

Task = TypeVar("Task")
Outcome = TypeVar("Outcome")


def refuse_without_dask() -> None:
    """Raises InputError saying how to get Dask and Parquet, where they are not installed."""
    try:
        import distributed  # noqa: F401
        import pyarrow  # noqa: F401 ICN001
    except ImportError:
        raise InputError(
            "waterbudget batch needs Dask and pyarrow; install them with: pip install 'waterbudget[batch]'"
        ) from None


def check_address(scheduler: str) -> None:
    """Raises InputError where it is no address of a scheduler."""
    if not ADDRESS.fullmatch(scheduler):
        raise InputError(
            f"scheduler is {shown(scheduler)}; write its address as tcp://HOST:PORT, such as tcp://{HERE}:8786"
        )


@contextmanager
def local_workers(workers: int) -> "Iterator[Client]":
    """So many processes on this machine, of one thread each, that nobody outside it can reach.

    Raises WaterbudgetError where one of them ends before it has begun.
    """
    import dask
    from distributed import Client, LocalCluster

    with scratch(Path(gettempdir())) as folder, dask.config.set({"temporary-directory": str(folder)}):
        with _ctrl_c_held_back() as heard:
            try:
                cluster = LocalCluster(
                    n_workers=workers,
                    threads_per_worker=1,
                    processes=True,
                    host=HERE,
                    dashboard_address=None,
                    scheduler_kwargs={"dashboard_address": f"{HERE}:0"},  # its bare status page takes any free port
                    silence_logs=logging.CRITICAL,  # a worker that dies is started again, and its work done once more
                )
            except (RuntimeError, OSError) as error:
                raise WaterbudgetError(
                    "a worker ended while it was started; give the same command again, with fewer --workers where "
                    "memory is short"
                ) from error
        with cluster, Client(cluster, set_as_default=False) as client:
            if heard:
                raise KeyboardInterrupt
            yield client


@contextmanager
def _ctrl_c_held_back() -> Iterator[list[int]]:
    """Whether Ctrl-C was pressed, told only afterwards; threads and processes that start meanwhile never hear it.

    A terminal sends it to the workers too, and each would show a traceback.
    """
    heard: list[int] = []
    if threading.current_thread() is not threading.main_thread():  # which alone may say who hears it
        yield heard
        return
    before = signal.signal(signal.SIGINT, lambda number, _: heard.append(number))
    resource_tracker.ensure_running()  # else it starts in there, and lets the signal through again
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield heard
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
        signal.signal(signal.SIGINT, before)


@contextmanager
def workers_of(scheduler: str) -> "Iterator[Client]":
    """The workers of a scheduler. Raises WaterbudgetError where it does not answer or has none."""
    from distributed import Client
    from distributed.utils import silence_logging_cmgr

    with silence_logging_cmgr(logging.CRITICAL):
        try:
            with ThreadPoolExecutor(1) as apart:  # a notebook's thread has a loop of its own running
                apart.submit(asyncio.run, _greet(scheduler)).result()
            client = Client(scheduler, timeout=ANSWER_S, set_as_default=False)
        except Exception as error:  # a server of another kind may answer anything
            raise WaterbudgetError(
                f"{scheduler}: no scheduler answers there; start one with dask scheduler, "
                "or leave the scheduler out to use this machine"
            ) from error
        with client:
            try:
                client.wait_for_workers(1, timeout=ANSWER_S)
            except TimeoutError:
                raise WaterbudgetError(
                    f"{scheduler}: this scheduler has no workers; start some with dask worker {scheduler}"
                ) from None
            _refuse_other_versions(client, scheduler)
            yield client


def _refuse_other_versions(client: "Client", scheduler: str) -> None:
    """Raises WaterbudgetError where the results would be those of another program; without any a worker dies."""
    here = version(PACKAGE)
    try:
        there = {client.run_on_scheduler(version, PACKAGE), *client.run(version, PACKAGE).values()}
    except PackageNotFoundError:
        there = {"none"}
    if others := sorted(there - {here}):
        raise WaterbudgetError(
            f"{scheduler}: waterbudget here is {here}, there {', '.join(others)}; "
            f"install {here} with the scheduler and all workers: pip install 'waterbudget[batch]=={here}'"
        )


async def _greet(scheduler: str) -> None:
    """Shake hands and leave again: where nobody answers, the client itself would wait for ever."""
    from distributed.comm import connect

    comm = await asyncio.wait_for(connect(scheduler, timeout=ANSWER_S), ANSWER_S)
    await comm.close()


def each_done(
    client: "Client", work: Callable[[Task], Outcome], tasks: Iterator[tuple[int, Task]]
) -> Iterator[tuple[int, Outcome]]:
    """Numbered tasks with what became of them, in the order in which they end; few of them wait at a time.

    What a worker was at when it died is done again by another. Raises WaterbudgetError where a task ends every worker
    that it is given to, or the scheduler is lost.
    """
    from distributed import CancelledError, KilledWorker, as_completed

    running = as_completed(loop=client.loop)
    numbers: dict[str, int] = {}

    def hand_out() -> None:
        try:
            threads = sum(client.nthreads().values())
        except OSError:
            raise WaterbudgetError(LOST) from None
        for number, task in islice(tasks, max(0, WAITING * max(1, threads) - len(numbers))):
            future = client.submit(work, task, pure=False)
            numbers[future.key] = number
            running.add(future)

    hand_out()
    for future in running:
        number = numbers.pop(future.key)
        try:
            outcome = future.result()
        except KilledWorker:
            raise WaterbudgetError(
                f"partition {number + 1} ended every worker that it was given to; give the workers more memory, "
                "or make partitions smaller with --partition"
            ) from None
        except CancelledError:
            raise WaterbudgetError(LOST) from None
        yield number, outcome
        hand_out()
