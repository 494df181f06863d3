"""A crowd of phones, each with an address of its own: some look, some write; and a computer that dies."""

import asyncio
import contextlib
import http.client
import itertools
import statistics
import threading
import time
from typing import NamedTuple

import httpx

from waterbudget.journal.book import read_journal


class Heard(NamedTuple):
    """Seconds that answers took, and the keys of entries that were acknowledged."""

    polls_s: list[float]
    pages_s: list[float]
    posts_s: list[float]
    keys: list[str]

    def __str__(self):
        return "; ".join(
            f"{name}: {len(times)}, median {1000 * statistics.median(times):.0f} ms, p95 {1000 * p95(times):.0f} ms"
            for name, times in (("polls", self.polls_s), ("pages", self.pages_s), ("posts", self.posts_s))
        )


def p95(times):
    return sorted(times)[int(0.95 * (len(times) - 1))]


def written(served):
    """The keys of all lines of the journal, without the number behind them."""
    return [line.key.rpartition(".")[0] for line in read_journal(served.folder / "journal.csv").lines]


def crowd(served, *, phones=50, posters=5, each=20, every_s=2.0):
    """Phones that poll until every poster has had all its entries acknowledged."""
    return asyncio.run(_crowd(served, phones, posters, each, every_s))


async def _crowd(served, phones, posters, each, every_s):
    heard, is_over = Heard([], [], [], []), asyncio.Event()
    headers = served.own | {"Accept-Encoding": "identity"}

    def client(number):
        transport = httpx.AsyncHTTPTransport(local_address=f"127.0.1.{number + 1}")
        return httpx.AsyncClient(
            base_url=f"http://127.0.0.1:{served.port}", headers=headers, transport=transport, timeout=30.0
        )

    async def asked(times, what):
        began = time.perf_counter()
        answer = await what
        times.append(time.perf_counter() - began)
        assert answer.status_code in {200, 304}, answer.text
        return answer

    async def polls(number):
        tag = "-"
        async with client(number) as phone:
            await asyncio.sleep(every_s * number / phones)
            await asked(heard.pages_s, phone.get("/"))
            while not is_over.is_set():
                answer = await asked(heard.polls_s, phone.get("/api/today", headers={"If-None-Match": tag}))
                tag = answer.headers["etag"]
                with contextlib.suppress(TimeoutError):
                    await asyncio.wait_for(is_over.wait(), every_s)

    async def posts(number):
        async with client(phones + number) as phone:
            for more in range(each):
                key = f"p{number}-{more}"
                body = {"key": key, "levels": [f"Shed butt={100 + more}L"]}
                await asked(heard.posts_s, phone.post("/api/entries", json=body))
                heard.keys.append(key)

    looking = [asyncio.create_task(polls(number)) for number in range(phones)]
    await asyncio.gather(*(posts(number) for number in range(posters)))
    is_over.set()
    await asyncio.gather(*looking)
    return heard


def kills(start, served, *, times=10, posters=3):
    """Kill the page again and again under posters that send anew what nobody acknowledged; the keys that were.

    start: starts it again on the same port. Each time it is killed while it answers. The page that was started last is
    returned with them.
    """
    is_over, keys = threading.Event(), []

    def post(number):
        for more in itertools.count():
            key = f"k{number}-{more}"
            while not is_over.is_set():
                with contextlib.suppress(OSError, http.client.HTTPException, ValueError):
                    if served.post_json("/api/entries", {"key": key, "gauge_mm": 0.1}, timeout=5)[0] == 200:
                        keys.append(key)
                        break
                time.sleep(0.02)
            if is_over.is_set():
                return

    threads = [threading.Thread(target=post, args=(number,)) for number in range(posters)]
    for thread in threads:
        thread.start()
    try:
        for _ in range(times):
            wait_for_more(keys, posters)
            served.process.kill()
            served.process.wait()
            served.process.stdout.close()
            served = start()
        wait_for_more(keys, posters)
    finally:
        is_over.set()
        for thread in threads:
            thread.join()
    return served, keys


def wait_for_more(keys, more, patience_s=60.0):
    """Until so many more are there."""
    wanted, last = len(keys) + more, time.monotonic() + patience_s
    while len(keys) < wanted and time.monotonic() < last:
        time.sleep(0.01)
