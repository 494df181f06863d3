"""Real workers, on this machine alone."""

import logging
import multiprocessing
import os
import socket
import sys
import tempfile
import threading
from importlib.metadata import PackageNotFoundError

import pytest

from waterbudget.batch import cluster
from waterbudget.batch.cluster import each_done, local_workers, workers_of
from waterbudget.errors import InputError, WaterbudgetError

dask = pytest.importorskip("dask")
pytest.importorskip("distributed")
import cloudpickle  # noqa: E402
from distributed import LocalCluster  # noqa: E402


@pytest.fixture(autouse=True)
def _soon(monkeypatch):
    monkeypatch.setattr(cluster, "ANSWER_S", 1)


def a_cluster(workers):
    return LocalCluster(
        n_workers=workers,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address=None,
        scheduler_kwargs={"dashboard_address": "127.0.0.1:0"},
        silence_logs=logging.CRITICAL,
    )


def told(scheduler):
    with pytest.raises(WaterbudgetError) as error, workers_of(scheduler):
        pytest.fail("connected")
    assert not isinstance(error.value, InputError)
    return str(error.value)


def test_each_task_is_done_once_and_more_of_them_than_wait_at_a_time(scheduler):
    tasks = iter([(number, -number) for number in range(50)])
    with workers_of(scheduler) as client:
        assert sorted(each_done(client, abs, tasks)) == [(number, number) for number in range(50)]


def test_a_fault_of_ours_comes_back_as_it_was(scheduler):
    with workers_of(scheduler) as client, pytest.raises(ValueError, match="invalid literal"):
        list(each_done(client, int, iter([(0, "x")])))


def test_nobody_answers():
    with socket.create_server(("127.0.0.1", 0)) as server:
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"
        assert told(address) == (  # one that takes the call and says nothing
            f"{address}: no scheduler answers there; start one with dask scheduler, "
            "or leave the scheduler out to use this machine"
        )
    assert told(address).startswith(f"{address}: no scheduler answers there")  # one that has gone


def test_a_server_of_another_kind_answers():
    with socket.create_server(("127.0.0.1", 0)) as server:

        def greet():
            caller, _ = server.accept()
            with caller:
                caller.sendall(b"220 Brackenfold weather station ready\r\n")

        answering = threading.Thread(target=greet)
        answering.start()
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"
        assert told(address).startswith(f"{address}: no scheduler answers there")
        answering.join()


def test_a_scheduler_without_workers():
    with a_cluster(0) as alone:
        address = alone.scheduler_address
        assert told(address) == f"{address}: this scheduler has no workers; start some with dask worker {address}"


def there(version_there):
    """A look-up of the version that finds 1.0 in this process and another in each other one."""
    here = os.getpid()

    def look_up(package):
        if os.getpid() != here and version_there is None:
            raise PackageNotFoundError(package)
        return "1.0" if os.getpid() == here else version_there

    return look_up


@pytest.mark.parametrize("version_there", ["0.9", None])
def test_another_version_is_refused(scheduler, monkeypatch, version_there):
    monkeypatch.setattr(cluster, "version", there(version_there))
    cloudpickle.register_pickle_by_value(sys.modules[__name__])  # the workers cannot import a test
    try:
        said = told(scheduler)
    finally:
        cloudpickle.unregister_pickle_by_value(sys.modules[__name__])
    assert said == (
        f"{scheduler}: waterbudget here is 1.0, there {version_there or 'none'}; "
        "install 1.0 with the scheduler and all workers: pip install 'waterbudget[batch]==1.0'"
    )


@pytest.mark.parametrize(
    "address", ["127.0.0.1:8786", "http://127.0.0.1:8786", "tcp://127.0.0.1", "tcp://:8786", "tcp://a b:1", ""]
)
def test_an_address_has_one_form(address):
    with pytest.raises(InputError, match="write its address as tcp://HOST:PORT"):
        cluster.check_address(address)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:8786", "tcp://[::1]:8786", "tcp://big.brackenfold.example:1"])
def test_such_addresses_are_taken(address):
    cluster.check_address(address)


def test_a_task_that_ends_every_worker():
    before = multiprocessing.active_children()
    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 0}),
        local_workers(1) as client,
        pytest.raises(WaterbudgetError, match=r"^partition 5 ended every worker that it was given to"),
    ):
        list(each_done(client, os._exit, iter([(4, 1)])))
    assert set(multiprocessing.active_children()) <= set(before)


def test_a_scheduler_that_is_lost():
    with a_cluster(1) as lost, workers_of(lost.scheduler_address) as client:
        done = each_done(client, abs, iter([(number, -1) for number in range(20)]))
        next(done)
        lost.close()
        with pytest.raises(WaterbudgetError, match="the scheduler was lost"):
            list(done)


def test_a_worker_that_is_killed_while_it_starts_is_told_in_one_line():
    before, over = set(multiprocessing.active_children()), threading.Event()

    def kill():
        while not over.wait(0.01):
            for process in set(multiprocessing.active_children()) - before:
                process.kill()

    killer = threading.Thread(target=kill)
    killer.start()
    try:
        with pytest.raises(WaterbudgetError) as told, local_workers(2):
            pass
    finally:
        over.set()
        killer.join()
    assert str(told.value) == (
        "a worker ended while it was started; give the same command again, with fewer --workers where memory is short"
    )


def test_what_workers_kept_when_everything_was_killed_is_cleared_by_the_next(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    left = tmp_path / ".0123456789abcdef.part"
    (left / "dask-scratch-space").mkdir(parents=True)
    with local_workers(1):
        (folder,) = tmp_path.iterdir()
        assert folder != left
    assert list(tmp_path.iterdir()) == []
