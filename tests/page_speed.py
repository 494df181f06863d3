"""How fast the page answers, one phone alone and fifty at once, and what a computer that dies ten times loses.

Run by hand as `python tests/benchmark.py page`: (what, p95, median, "", aim) for each; nothing is asserted on time.
"""

import re
import tempfile
import time
from collections import Counter
from pathlib import Path
from statistics import median

from crowd import crowd, kills, p95, written
from readme import ROOT
from serving import garden, serving, started

TIMES, FEW = 40, 5


def rows():
    """Every measure of the page."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "garden"
        place.mkdir()
        garden(place)
        yield from (row("start to the first page", starts(place), "2 s"),)
        with serving(place) as served:
            yield from alone(served)
            yield from together(served)
        (place / "journal.csv").unlink()
        yield died(place)
        yield from sunday(place)


def row(what, times_s, aim):
    return what, f"p95 {1000 * p95(times_s):.0f} ms", f"median {1000 * median(times_s):.0f} ms", "", aim


def timed(work):
    began = time.perf_counter()
    status, *_ = work()
    assert status == 200
    return time.perf_counter() - began


def starts(place):
    def start():
        with serving(place) as served:
            assert served.ask("GET", "/")[0] == 200
            took.append(time.perf_counter() - began)

    took = []
    for _ in range(FEW):
        began = time.perf_counter()
        start()
    return took


def alone(served):
    """One phone."""
    for path in ("/", "/dip", "/line", "/week", "/what-if"):
        served.ask("GET", path)
        yield row(f"page {path}", [timed(lambda: served.ask("GET", path)) for _ in range(TIMES)], "150 ms")  # noqa: B023
    saves = []
    for number in range(TIMES):
        body = {"key": f"s{number}", "levels": [f"Shed butt={100 + number}L"]}
        saves.append(timed(lambda: served.post_json("/api/entries", body)))  # noqa: B023
    yield row("a save to its new words", saves, "300 ms")
    place = "/api/what-if?place=zone.South%20line.minutes"
    yield row(
        "first words of a slider, all positions",
        [timed(lambda: served.ask("GET", place)) for _ in range(FEW)],
        "400 ms",
    )
    drawn, text = [], served.site.read_text("utf-8")
    for litres in range(FEW):
        served.site.write_text(text.replace("capacity_l = 350", f"capacity_l = {351 + litres}"), "utf-8")
        address = re.search(r"/summer/\w+\.svg", served.ask("GET", "/summer")[2])[0]
        drawn.append(timed(lambda: served.ask("GET", address)))  # noqa: B023
    served.site.write_text(text, "utf-8")
    yield row("the summer's picture, drawn anew", drawn, "1.5 s")


def together(served):
    """Fifty phones that look every two seconds, and five that write twenty entries each."""
    heard = crowd(served)
    yield row("50 phones: a look", heard.polls_s, "")
    yield row("50 phones: a page", heard.pages_s, "")
    yield row("5 writing: a save", heard.posts_s, "")
    found = Counter(key for key in written(served) if key.startswith("p"))
    lost, doubled = set(heard.keys) - set(found), [key for key, number in found.items() if number > 1]
    yield "100 entries", f"{len(heard.keys)} told", f"{len(lost)} lost, {len(doubled)} doubled", "", "none"


def sunday(place):
    """Stick and reckoning compared: asked as soon as the page is there, and after a dip, when its process is warm."""
    journal = ROOT / "data_demo" / "journal"
    site = (journal / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    (place / "site.toml").write_text(site, "utf-8")
    (place / "journal.csv").write_bytes((journal / "journal.csv").read_bytes())
    with serving(place, on="2031-09-30") as served:

        def ask():
            return served.ask("GET", "/sunday?wait=yes", timeout=60)

        yield row("Sunday, at once after the start", [timed(ask)], "")
        after = []
        for number in range(FEW):
            served.post_json("/api/entries", {"key": f"w{number}", "levels": [f"Class-room tank={900 + number}L"]})
            after.append(timed(ask))
        yield row("Sunday, after a dip", after, "3 s")


def died(place):
    """Ten kills under three that write."""
    first = started(place)
    served, keys = kills(lambda: started(place, port=first.port), first)
    served.process.kill()
    served.process.wait()
    served.process.stdout.close()
    found = Counter(written(served))
    lost, doubled = set(keys) - set(found), [key for key, number in found.items() if number > 1]
    return "killed 10 times", f"{len(keys)} told", f"{len(lost)} lost, {len(doubled)} doubled", "", "none"
