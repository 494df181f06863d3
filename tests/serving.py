"""The page as somebody starts it, in a process of its own, with the school's garden in a folder."""

import datetime as dt
import http.client
import json
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from readme import ROOT

from waterbudget.journal.book import read_journal

ON = "2031-07-05"
NAME = "garden.test"  # no loopback to a browser, so it sees what a phone sees
END_S = 30
SHAPE = '\nshape = "upright-cylinder"\ninner_diameter_m = 1.3\ninner_height_m = 1.13\n'
PHONE, DESK, NARROW = (390, 844), (1280, 900), (195, 422)  # the last is a phone at 200 %
WIDER = """() => [...document.querySelectorAll("body *")].filter(one => {
  const box = one.getBoundingClientRect();
  return box.width && !one.closest(".wide, .skip") && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map(one => one.outerHTML.slice(0, 80))"""
OUT_OF_REACH = ("ERR_INTERNET_DISCONNECTED", "ERR_FAILED")  # what the browser itself complains of then ...
REFUSED = ("422",)  # ... and of whatever is refused


@dataclass(frozen=True)
class Served:
    folder: Path
    port: int
    key: str
    process: subprocess.Popen

    @property
    def home(self):
        return f"http://{NAME}:{self.port}"

    @property
    def join(self):
        return f"{self.home}/join?key={self.key}"

    @property
    def site(self):
        return self.folder / "site.toml"

    @property
    def own(self):
        """Headers of a phone that was let in."""
        return {
            "Host": f"{NAME}:{self.port}",
            "Cookie": f"garden_{self.port}={self.key}",
            "Origin": self.home,
        }

    def lines(self):
        """The lines of the journal that count, as (kind, name, value, unit, date)."""
        return [
            (one.kind, one.name, one.value, one.unit, one.date.isoformat())
            for one in (line.entry for line in read_journal(self.folder / "journal.csv").counting)
        ]

    def ask(self, method, path, body=None, *, headers=None, source="127.0.0.1", timeout=20):
        """Status, headers and text of an answer."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout, source_address=(source, 0))
        try:
            connection.request(method, path, body, self.own if headers is None else headers)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read().decode("utf-8")
        finally:
            connection.close()

    def post_json(self, path, body, **keys):
        headers = {**self.own, "Content-Type": "application/json"}
        status, _, text = self.ask("POST", path, json.dumps(body), headers=headers, **keys)
        return status, json.loads(text)

    def get_json(self, path, **keys):
        status, _, text = self.ask("GET", path, **keys)
        return status, json.loads(text)

    def put_back(self):
        """The garden as it was on the first day: no journal, its files unchanged; what is so already is left alone."""
        for path in self.folder.iterdir():
            if path.is_file() and path.name not in {"site.toml", "weather.csv"}:
                path.unlink()
        garden(self.folder)


def garden(folder):
    """The school's garden; the tank has a shape, so that a dip stick's centimetres are litres."""
    text = (ROOT / "data_demo" / "site.toml").read_text("utf-8")
    text = text.replace('name = "Class-room tank"\n#', f'name = "Class-room tank"{SHAPE}#', 1)
    weather = (ROOT / "data_demo" / "weather.csv").read_bytes()
    for name, content in (("site.toml", text.encode("utf-8")), ("weather.csv", weather)):
        path = folder / name
        if not path.exists() or path.read_bytes() != content:
            path.write_bytes(content)


def started(folder, *options, on=ON, port=0):
    """The page, started by its command; its standard error lies in server.log beside the garden's folder."""
    environment = os.environ | {"XDG_DATA_HOME": str(folder.parent / "data"), "PYTHONUNBUFFERED": "1"}
    command = [
        sys.executable,
        "-m",
        "waterbudget",
        "serve",
        str(folder / "site.toml"),
        "--no-open",
        "--port",
        str(port),
    ]
    command += ["--name", NAME, *(["--on", on] if on else []), *options]
    with (folder.parent / "server.log").open("ab") as log:
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=log, env=environment, text=True)
    address = urlsplit(process.stdout.readline().strip())
    assert address.port, (folder.parent / "server.log").read_text("utf-8")
    return Served(folder, address.port, address.query.removeprefix("key="), process)


@contextmanager
def serving(folder, *options, on=ON, port=0):
    """The page until the end of a block."""
    served = started(folder, *options, on=on, port=port)
    try:
        yield served
    finally:
        served.process.send_signal(signal.SIGINT)
        served.process.wait(END_S)
        served.process.stdout.close()


def table_of(days=34, heads="Datum;Regen;Tmin;Tmax", first=dt.date(2031, 6, 1)):
    """A gardener's own table of weather, as its bytes."""
    dates = [first + dt.timedelta(day) for day in range(days)]
    rows = [f"{date:%d.%m.%Y};{day % 3},5;9,{day % 10};21,{day % 10}" for day, date in enumerate(dates)]
    return "\n".join([heads, *rows]).encode()


def chosen(tab, content, name="odd.csv"):
    """Choose a file on the page for weather, and look at it."""
    tab.locator("#table").set_input_files({"name": name, "mimeType": "text/csv", "buffer": content})
    tab.get_by_role("button", name="Look at it").tap()
