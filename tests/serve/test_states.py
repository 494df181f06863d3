"""What the page says when not all is well: files that change or break, clocks, disks, ports, networks."""

import asyncio
import datetime as dt
import errno
import os
import re
import socket
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
import segno
from click.testing import CliRunner
from playwright.sync_api import expect
from serving import garden, serving

from waterbudget.cli.main import main
from waterbudget.errors import OutputError
from waterbudget.serve import address
from waterbudget.serve.clock import Clock
from waterbudget.serve.entries import NewEntries, write_entries
from waterbudget.serve.facts import today
from waterbudget.serve.house import House, Rooms
from waterbudget.serve.posting import no_room
from waterbudget.serve.shelf import Fetched, Shelf
from waterbudget.serve.weatherman import Weatherman
from waterbudget.weather.shelf import NetworkError

DAY = dt.date(2031, 7, 5)


def test_a_file_that_is_changed_and_then_broken_by_hand(served, phone):  # 19
    tab = phone()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Open South line for 12 minutes.")
    good = served.site.read_text("utf-8")
    served.site.write_text(good.replace("South line", "Long line"), "utf-8")
    tab.reload()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Open Long line for 12 minutes.")
    for broken in (good.replace("minutes = 12", 'minutes = "nine"'), "", good[:900]):
        served.site.write_text(broken, "utf-8")
        tab.reload()
        expect(tab.get_by_role("heading", level=1)).to_have_text("Open Long line for 12 minutes.")
        expect(tab.locator(".notice").first).to_contain_text("The garden file has a fault, so this is the garden as it")
    assert served.post_json("/api/entries", {"key": "k", "levels": ["Shed butt=100L"]})[0] == 200
    tab.reload()
    expect(tab.locator("main")).to_contain_text("100 L")
    assert served.lines() == [("level", "Shed butt", 100.0, "L", "2031-07-05")]
    assert served.site.read_text("utf-8") == good[:900]
    served.site.write_text(good, "utf-8")
    tab.reload()
    expect(tab.get_by_role("heading", level=1)).to_contain_text("Open South line for 12 minutes.")
    expect(tab.locator(".notice")).to_have_count(0)


def test_the_desk_and_the_phone_see_each_other(served, phone):
    """What `waterbudget log` writes shows on the next look, without a reload by hand."""
    tab = phone()
    tab.evaluate("poll()")
    expect(tab.locator("main")).not_to_contain_text("dipped today")
    result = CliRunner().invoke(main, ["log", str(served.site), "--tank", "Shed butt=120L", "--on", "2026-01-01"])
    assert result.exit_code == 0, result.output
    with (served.folder / "journal.csv").open("a", encoding="utf-8") as journal:
        journal.write("2031-07-05T08:00:00+01:00,2031-07-05,level,Shed butt,77,L,,,L000002\n")
    tab.evaluate("poll()")
    expect(tab.locator("main")).to_contain_text("77 L")


def test_no_garden_yet(served, phone):
    for path in served.folder.iterdir():
        if path.is_file():
            path.unlink()
    tab = phone()
    tab.allowed = ("404",)
    expect(tab.get_by_role("heading", level=1)).to_have_text("No garden here yet.")
    assert served.get_json("/api/today") == (404, {"fault": "No garden here yet.", "field": None})
    assert served.post_json("/api/entries", {"key": "k", "gauge_mm": 1})[0] == 422
    assert [path.name for path in served.folder.iterdir()] == []


def shelf_of(folder, on=DAY):
    garden(folder)
    return Shelf(folder / "site.toml", Clock(on))


def test_weather_that_is_missing(tmp_path):
    shelf = shelf_of(tmp_path)
    (tmp_path / "weather.csv").unlink()
    found = shelf.garden()
    assert found.found is None
    assert "weather.csv" in found.faults[0]


def test_a_journal_that_is_none(tmp_path):
    shelf = shelf_of(tmp_path)
    (tmp_path / "journal.csv").write_text("shopping,list\n", "utf-8")
    assert "is no journal" in shelf.garden().faults[0]


def test_a_file_that_was_never_good_shows_its_faults(tmp_path):
    shelf = shelf_of(tmp_path)
    (tmp_path / "site.toml").write_text("[site]\n", "utf-8")
    found = shelf.garden()
    assert found.site is None
    assert found.site_faults
    assert found.is_there


def test_nothing_is_read_again_while_the_files_stay(tmp_path):
    shelf = shelf_of(tmp_path)
    first = shelf.garden()
    assert shelf.garden() is first
    write_entries(first, shelf.clock, NewEntries(key="k", levels=("Shed butt=99L",)))
    second = shelf.garden()
    assert second is not first
    assert second.known is first.known, "the weather stayed the same"
    assert second.found.stores[1].level_l == 99.0
    os.utime(tmp_path / "weather.csv", ns=(1, 1))
    assert shelf.garden().known is not first.known


def test_the_page_lives_past_midnight(tmp_path):
    shelf = shelf_of(tmp_path)
    assert shelf.garden().found.known.today == DAY
    shelf.clock = Clock(DAY + dt.timedelta(days=1))
    assert shelf.garden().found.known.today == DAY + dt.timedelta(days=1)


def test_a_clock_that_was_set_back(tmp_path):
    shelf = shelf_of(tmp_path)
    write_entries(shelf.garden(), shelf.clock, NewEntries(key="k", gauge_mm=3))
    shelf.clock = Clock(DAY - dt.timedelta(days=2))
    found = replace(shelf.garden(), is_set=False)  # as if nobody had named the day
    assert any(
        "The journal has a line of 5 July 2031, but here it is 3 July 2031" in one for one in today(found)["notices"]
    )
    assert today(found)["facts"]["today"] == "2031-07-03"


def test_a_day_is_that_of_the_phone_that_waited():
    clock = Clock(DAY)
    midnight = dt.datetime.combine(dt.date(2026, 1, 2), dt.time(0, 30)).astimezone()

    class Night(Clock):
        @staticmethod
        def now():
            return midnight

    assert Night(DAY).day(DAY, 0.0) == DAY
    assert Night(DAY).day(DAY, 3600.0) == DAY - dt.timedelta(days=1)
    assert clock.day(DAY, 86400.0) == DAY - dt.timedelta(days=1)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no such disk here")  # noqa: PTH110
def test_a_disk_that_is_full(served):
    (served.folder / "journal.csv").symlink_to("/dev/full")
    status, told = served.post_json("/api/entries", {"key": "k", "gauge_mm": 1})
    assert status in {422, 507}
    assert "journal.csv" in told["fault"] or "nothing was kept" in told["fault"]
    (served.folder / "journal.csv").unlink()


def test_a_disk_without_room_keeps_the_entry_on_the_phone():
    error = OutputError("journal.csv: cannot be written")
    error.__cause__ = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    assert no_room(error) == (
        "The computer could not write it down (no space left on device), so nothing was kept there. "
        "Make room on it, and send it again."
    )


# ---- At the start ----------------------------------------------------------------------------------------------------


def started(tmp_path, *words):
    return CliRunner().invoke(main, ["serve", *map(str, words), "--no-open"], env={"XDG_DATA_HOME": str(tmp_path)})


def test_a_port_that_is_taken(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = started(tmp_path, "--port", port)
    assert result.exit_code == 2
    assert result.stderr == (
        f"--port: {port} is taken by other programs, or not for you; choose another, such as --port 8899\n"
    )


def test_the_usual_port_gives_way_to_the_next(monkeypatch):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        monkeypatch.setattr(address, "PORT", taken.getsockname()[1])
        sockets, port = address.bound(["127.0.0.1"], None)
        sockets[0].close()
        assert taken.getsockname()[1] < port <= taken.getsockname()[1] + address.TRIES


@pytest.mark.parametrize(
    ("found", "words", "said"),
    [
        ((), ["--phone"], "--phone: this computer has no network at the moment; join the Wi-Fi first"),
        (("10.0.0.2", "192.168.1.3"), ["--phone"], "several addresses, 10.0.0.2, 192.168.1.3; name the one in your"),
        (
            ("10.0.0.2",),
            ["--phone", "--address", "10.0.0.9"],
            "10.0.0.9 is none of this computer; choose one of 10.0.0.2",
        ),
        (("10.0.0.2",), ["--address", "10.0.0.2"], "--address: goes with --phone"),
        (("192.0.2.7",), ["--phone"], "--address: cannot be used"),
    ],
)
def test_networks(tmp_path, monkeypatch, found, words, said):
    monkeypatch.setattr(address, "addresses", lambda: found)
    result = started(tmp_path, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stderr.count("\n") == 1


def test_a_folder_that_there_is_not(tmp_path):
    result = started(tmp_path, tmp_path / "nowhere" / "site.toml")
    assert result.exit_code == 2
    assert "there is no such folder" in result.stderr


def test_the_key_is_kept_for_its_owner_alone_until_a_new_one_is_made(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    key = address.key_of_the_house()
    assert len(key) >= 22, "128 bits"
    assert address.key_of_the_house() == key
    (path,) = tmp_path.rglob("key")
    assert path.stat().st_mode & 0o077 == 0
    assert address.key_of_the_house(new=True) != key


def test_the_square_is_that_of_its_address():
    lines = address.square("http://192.168.1.3:8787/join?key=abcdefghijklmnopqrstuv").splitlines()
    matrix = segno.make("http://192.168.1.3:8787/join?key=abcdefghijklmnopqrstuv", error="m", micro=False).matrix
    dark = [[letter in above for line in lines for letter in line] for above in ("█▀", "█▄")]
    width = len(lines[0])
    rows = [part[start : start + width] for start in range(0, len(dark[0]), width) for part in dark]
    core = [row[2 : 2 + len(matrix)] for row in rows[2 : 2 + len(matrix)]]
    assert [[not light for light in row] for row in core] == [[bool(cell) for cell in row] for row in matrix]


def test_phones_come_in_by_the_address_that_is_shown_and_no_other(tmp_path):
    folder = tmp_path / "garden"
    folder.mkdir()
    garden(folder)
    found = address.addresses()
    if len(found) != 1:
        pytest.skip(f"this computer has {len(found)} addresses")
    with serving(folder, "--phone") as served:
        told = served.process.stdout.readline().strip()
        assert told == f"http://{found[0]}:{served.port}/join?key={served.key}"
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.9", served.port), timeout=2)
        head = f"GET /more HTTP/1.1\r\nHost: {found[0]}:{served.port}\r\nConnection: close\r\n"
        head += f"Cookie: garden_{served.port}={served.key}\r\n\r\n"
        with socket.create_connection((found[0], served.port), timeout=10) as line:
            line.sendall(head.encode())
            text = b"".join(iter(lambda: line.recv(65536), b"")).decode("utf-8")
        assert text.startswith("HTTP/1.1 200 ")
        assert "<svg" not in text, "the square is for the computer alone"
        assert "<svg" in served.ask("GET", "/more")[2]
    log = (tmp_path / "server.log").read_text("utf-8")
    assert served.key not in log.replace("\n", ""), "no key in the log"
    assert "Anyone with this square can write in the journal." in log
    assert re.search(r"^GET /more 200 \d+ ms$", log, re.MULTILINE)


# ---- Stations --------------------------------------------------------------------------------------------------------


def test_what_a_station_told_goes_before_what_is_kept(tmp_path):
    shelf = shelf_of(tmp_path)
    known = shelf.garden().known
    shelf.bring(Fetched(replace(known, station="S1"), None, "", Clock.now()))
    assert shelf.garden().known.station == "S1"
    assert "No forecast." in today(shelf.garden())["rests_on"]


def test_a_station_that_cannot_be_asked_is_told_and_the_page_goes_on(tmp_path):
    garden(tmp_path)
    text = (tmp_path / "site.toml").read_text("utf-8")
    (tmp_path / "site.toml").write_text(text.replace('file = "weather.csv"', "nearest = true "), "utf-8")
    said = []

    class Refusing(ThreadPoolExecutor):
        def submit(self, *_, **__):
            return super().submit(raising)

    def raising():
        raise NetworkError("no network")

    rooms = Rooms()
    vars(rooms)["away"] = Refusing(1)
    house = House(Shelf(tmp_path / "site.toml", Clock()), said.append, rooms=rooms)
    man = Weatherman(house)
    with ThreadPoolExecutor(1) as room:
        room.submit(lambda: asyncio.run(man.fetch())).result()
    rooms.close()
    assert man.fault == "The weather could not be fetched: no network."
    assert said == [man.fault]
