"""A weather server on 127.0.0.1 with invented stations, in the layout that meteostat reads.

One gzip CSV for each station and year (year, month, day, then each quantity beside its source) and one SQLite list of
stations. All weather is invented.
"""

import contextlib
import gzip
import http.server
import sqlite3
import threading
from dataclasses import dataclass, field

import pandas as pd

PLACE = (53.1, -1.9, 140.0)  # latitude [°], longitude [°], height [m] of Brackenfold, the school garden of the tests

COMPLETE = {  # in the units that meteostat reads: °C, %, mm, km/h, minutes
    "temp": 10.0,
    "tmin": 5.0,
    "tmax": 15.0,
    "rhum": 70,
    "prcp": 2.4,
    "wspd": 10.8,
    "pres": 1013.2,
    "tsun": 300,
}


def year_file(year, values=COMPLETE, *, missing=None, sources=None):
    """One year of one station.

    values: quantity to number, or to a list with a number a day. missing: quantity to the days (MM-DD) without a
    reading. sources: (quantity, MM-DD) to the provider of that value, by default `ghcnd`.
    """
    days = pd.date_range(f"{year}-01-01", f"{year}-12-31", freq="D")
    table = pd.DataFrame({"year": days.year, "month": days.month, "day": days.day}, index=days.strftime("%m-%d"))
    for name, value in values.items():
        table[name] = value
        table[f"{name}_source"] = "ghcnd"
    for (name, day), source in (sources or {}).items():
        table.loc[day, f"{name}_source"] = source
    for name, gaps in (missing or {}).items():
        table.loc[gaps, [name, f"{name}_source"]] = None
    return gzip.compress(table.to_csv(index=False).encode(), mtime=0)


@dataclass
class Listed:
    """A row of the list of stations; records: quantity to first and last day."""

    id: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: int | None
    records: dict[str, tuple[str, str]] = field(default_factory=dict)


def stations_file(stations):
    """The list of stations as SQLite bytes."""
    with contextlib.closing(sqlite3.connect(":memory:")) as db:
        db.executescript(
            """
            CREATE TABLE stations (id TEXT PRIMARY KEY, country TEXT, region TEXT, latitude REAL, longitude REAL,
                elevation INTEGER, timezone TEXT);
            CREATE TABLE names (station TEXT, language TEXT, name TEXT);
            CREATE TABLE identifiers (station TEXT, key TEXT, value TEXT);
            CREATE TABLE inventory (station TEXT, provider TEXT, parameter TEXT, start TEXT, end TEXT,
                completeness INTEGER);
            """
        )
        for one in stations:
            where = (one.latitude_deg, one.longitude_deg, one.elevation_m)
            db.execute("INSERT INTO stations VALUES (?, 'ZZ', NULL, ?, ?, ?, 'UTC')", (one.id, *where))
            db.execute("INSERT INTO names VALUES (?, 'en', ?)", (one.id, one.name))
            for name, (start, end) in one.records.items():
                db.execute("INSERT INTO inventory VALUES (?, 'ghcnd', ?, ?, ?, 100)", (one.id, name, start, end))
        db.commit()
        return db.serialize()


class Server:
    """Serves `files` (path to bytes); a path in `broken` answers 500, one in `stalled` nothing. `log`: paths asked."""

    def __init__(self):
        self.files, self.broken, self.stalled, self.log = {}, set(), set(), []
        self._over = threading.Event()
        served = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                served.log.append(self.path)
                if self.path in served.stalled:
                    served._over.wait(30.0)
                    return
                body = served.files.get(self.path)
                self.send_response(500 if self.path in served.broken else 404 if body is None else 200)
                self.send_header("Content-Length", str(len(body or b"")))
                self.end_headers()
                self.wfile.write(body or b"")

            def log_message(self, *_):
                pass

        self._http = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self._thread = threading.Thread(target=self._http.serve_forever, kwargs={"poll_interval": 0.01})
        self._thread.start()
        self.url = f"http://127.0.0.1:{self._http.server_address[1]}"

    def put(self, station_id, year, *args, **kwargs):
        self.files[year_path(station_id, year)] = year_file(year, *args, **kwargs)

    def put_list(self, stations):
        self.files["/stations.db"] = stations_file(stations)

    def stop(self):
        """From here on nobody is at home; stopping twice does no harm."""
        self._over.set()
        self._http.shutdown()
        self._thread.join()
        self._http.server_close()


def year_path(station_id, year):
    return f"/daily/{year}/{station_id}.csv.gz"


@contextlib.contextmanager
def loopback(monkeypatch, folder):
    """A running server that meteostat is pointed at; `folder`/library is where its own cache would be."""
    import meteostat as ms
    from meteostat.providers.meteostat import daily as reader

    server = Server()
    monkeypatch.setenv("no_proxy", "127.0.0.1")
    endpoint = server.url + "/daily/{year}/{station}.csv.gz"
    monkeypatch.setattr(ms.config, "daily_endpoint", endpoint)
    monkeypatch.setattr(reader, "ENDPOINT", endpoint)  # copied from the settings when first imported
    monkeypatch.setattr(ms.config, "stations_db_endpoints", [f"{server.url}/stations.db"])
    monkeypatch.setattr(ms.config, "cache_directory", str(folder / "library"))
    monkeypatch.setattr(ms.config, "stations_db_file", str(folder / "library.db"))
    try:
        yield server
    finally:
        server.stop()
