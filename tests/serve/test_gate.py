"""Who is let in: a table of what a stranger, another page and a broken client try."""

import socket
import time
from contextlib import suppress

import pytest


def without(served, *names):
    return {name: value for name, value in served.own.items() if name not in names}


@pytest.mark.parametrize("host", ["garden.test:{port}", "GARDEN.test:{port}", "127.0.0.1:{port}", "localhost:{port}"])
def test_a_name_that_was_printed_is_let_in(served, host):
    host = host.format(port=served.port)
    assert served.ask("GET", "/api/pulse", headers={**served.own, "Host": host})[0] == 204


@pytest.mark.parametrize(
    "host",
    [
        "evil.test:{port}",
        "evil.test",
        "garden.test",
        "garden.test:1",
        "localhost.:{port}",
        "[::1]:{port}",
        "127.0.0.2:{port}",
        "garden.test:{port}.evil.test",
        "garden.test:{port}@evil.test",
        "",
    ],
)
def test_any_other_name_is_not(served, host):
    """Names that another page could lead here by its own name server: DNS rebinding."""
    status, _, text = served.ask("GET", "/", headers={**served.own, "Host": host.format(port=served.port)})
    assert status == 421
    assert "Open the address that the computer shows" in text
    assert "Brackenfold" not in text


@pytest.mark.parametrize(
    "path", ["/", "/dip", "/line", "/more", "/api/today", "/api/schema.json", "/api/pulse", "/static/x/garden.js"]
)
def test_without_the_key_nothing_is_seen(served, path):
    status, headers, text = served.ask("GET", path, headers=without(served, "Cookie"))
    assert status == 401
    assert "Scan the square" in text
    assert "Brackenfold" not in text
    assert "set-cookie" not in headers


@pytest.mark.parametrize(
    ("cookie", "status"),
    [
        ("garden_{port}={key}", 204),
        ("{{}}=3; garden_{port}={key}", 204),  # what another program left there
        ("garden_{port}=old; garden_{port}={key}", 204),
        ("other={key}", 401),
        ("garden_{port}={key}x", 401),
        ("garden_{port}=", 401),
        ("garden_1={key}", 401),
        ("garden_{port}=\N{LATIN SMALL LETTER E WITH ACUTE}", 401),
    ],
)
def test_the_cookie(served, cookie, status):
    cookie = cookie.format(port=served.port, key=served.key).encode("latin-1")
    assert served.ask("GET", "/api/pulse", headers={**served.own, "Cookie": cookie})[0] == status


def test_the_key_opens_once_and_leaves_the_address(served):
    status, headers, _ = served.ask("GET", f"/join?key={served.key}", headers=without(served, "Cookie"))
    assert (status, headers["location"]) == (303, "/")
    kept = headers["set-cookie"]
    assert kept.startswith(f"garden_{served.port}={served.key};")
    assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= set(kept.split("; "))


def test_ten_wrong_keys_and_the_door_stays_shut_for_a_while(served):
    tries = [served.ask("GET", "/join?key=guess", source="127.0.0.9")[0] for _ in range(12)]
    assert tries == [403] * 10 + [429] * 2
    assert served.ask("GET", f"/join?key={served.key}", source="127.0.0.9")[0] == 429
    assert served.ask("GET", f"/join?key={served.key}", source="127.0.0.8")[0] == 303, "others are not shut out"


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 422),  # let in, and then found to be empty
        ({"Sec-Fetch-Site": "same-origin"}, 422),
        ({"Origin": "http://GARDEN.TEST:{port}"}, 422),
        ({"Origin": "null"}, 403),  # what a form sends under Referrer-Policy: no-referrer
        ({"Origin": None}, 403),
        ({"Origin": "http://garden.test:1"}, 403),
        ({"Origin": "https://garden.test:{port}"}, 403),
        ({"Origin": "http://evil.test"}, 403),
        ({"Origin": "http://127.0.0.1:{port}"}, 403),  # not the host that was asked
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "none"}, 403),
    ],
)
def test_only_the_page_itself_sends(served, headers, status):
    told = served.own | {name: value and value.format(port=served.port) for name, value in headers.items()}
    told = {name: value for name, value in told.items() if value is not None}
    assert served.ask("POST", "/api/entries", "{}", headers=told)[0] == status
    assert served.lines() == []


def test_a_program_brings_the_key_itself(served):
    told = {"Host": f"127.0.0.1:{served.port}", "Authorization": f"Bearer {served.key}"}
    assert served.ask("POST", "/api/entries", "{}", headers=told)[0] == 422
    told["Authorization"] = "Bearer guess"
    assert served.ask("POST", "/api/entries", "{}", headers=told, source="127.0.0.7")[0] == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"])
def test_other_methods_do_not_exist(served, method):
    assert served.ask(method, "/")[0] == 405


@pytest.mark.parametrize("path", ["/entries", "/undo", "/api/entries", "/api/undo"])
def test_reading_changes_nothing(served, path):
    before = sorted(path.name for path in served.folder.iterdir())
    assert served.ask("GET", path)[0] == 405
    assert sorted(path.name for path in served.folder.iterdir()) == before


@pytest.mark.parametrize(
    "path",
    [
        "/static/{digest}/..%2f..%2fgate.py",
        "/static/{digest}/../gate.py",
        "/static/../house.py",
        "//etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "/static/{digest}/garden.css%00",
        "/static/old/garden.css",
        "/%ff",
    ],
)
def test_no_path_leads_to_a_file(served, path):
    _, _, text = served.ask("GET", "/")
    digest = text.split("/static/", 1)[1].split("/", 1)[0]
    status, _, text = served.ask("GET", path.format(digest=digest))
    assert status == 404
    assert "There is no such page" in text


def test_style_and_script_may_be_kept_for_ever_and_pages_not(served):
    _, headers, text = served.ask("GET", "/")
    assert headers["cache-control"] == "no-store"
    digest = text.split("/static/", 1)[1].split("/", 1)[0]
    for name in ("garden.css", "garden.js"):
        status, headers, _ = served.ask("GET", f"/static/{digest}/{name}")
        assert status == 200
        assert "immutable" in headers["cache-control"]


@pytest.mark.parametrize("path", ["/", "/nothing", "/api/today", "/api/nothing"])
def test_every_answer_is_dressed(served, path):
    _, headers, _ = served.ask("GET", path)
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "cross-origin-opener-policy" not in headers
    assert "server" not in headers


# ---- What no library sends ------------------------------------------------------------------------------------------


def raw(served, text, *, seconds=3.0):
    """What is answered to so many bytes, and after how long the connection is shut; None if it is not."""
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", served.port), timeout=seconds) as line:
        line.sendall(text.replace("\n", "\r\n").format(host=f"{served.home[7:]}", **vars(served)).encode("latin-1"))
        heard = b""
        try:
            while part := line.recv(65536):
                heard += part
        except TimeoutError:
            return heard.decode("latin-1"), None
        except ConnectionResetError:
            pass
    return heard.decode("latin-1"), time.monotonic() - began


OWN = "Host: {host}\nCookie: garden_{port}={key}\nOrigin: http://{host}\n"


@pytest.mark.parametrize(
    ("text", "status"),
    [
        (f"POST /api/entries HTTP/1.1\n{OWN}Transfer-Encoding: chunked\n\n2\n{{{{}}}}\n0\n\n", "411"),
        (f"POST /api/entries HTTP/1.1\n{OWN}\n", "411"),
        (f"POST /api/entries HTTP/1.1\n{OWN}Content-Length: 300000\n\n", "413"),
        (f"POST /api/entries HTTP/1.1\n{OWN}Content-Length: 20000000\n\n", "413"),
        (f"GET / HTTP/1.1\n{OWN}Content-Length: 300000\n\n", "413"),
        (f"POST /api/entries HTTP/1.1\n{OWN}Content-Length: -1\n\n", "400"),
        (f"POST /api/entries HTTP/1.1\n{OWN}Content-Length: 1\nContent-Length: 2\n\n", "400"),
        ("GET / HTTP/1.1\n\n", "400"),  # h11 itself asks for one Host
        ("GET / HTTP/1.0\n\n", "421"),
        ("GET / HTTP/1.1\nHost: {host}\nHost: evil.test\n\n", "400"),
        (f"GET / HTTP/1.1\n{OWN}X: {'x' * 20000}\n\n", "431"),
        ("rubbish\n\n", "400"),
        (f"GET http://evil.test/ HTTP/1.1\n{OWN}\n", "404"),
    ],
)
def test_what_is_answered_to(served, text, status):
    heard, _ = raw(served, text, seconds=1.0)
    assert heard.startswith(f"HTTP/1.1 {status} "), heard[:200]


def test_half_a_request_is_shut_in_eight_seconds_however_it_is_fed(served):
    lines = [socket.create_connection(("127.0.0.1", served.port), timeout=15) for _ in range(3)]
    began = time.monotonic()
    head = f"POST /api/entries HTTP/1.1\r\nHost: {served.home[7:]}\r\nCookie: garden_{served.port}={served.key}\r\n"
    lines[0].sendall(b"GET / HT")
    lines[1].sendall(head.encode())
    lines[2].sendall(f"{head}Origin: {served.home}\r\nContent-Length: 100\r\n\r\n{{".encode())
    for _ in range(5):  # a byte now and then buys no time
        time.sleep(1.0)
        for line in lines:
            line.sendall(b"x")
    for line in lines:
        with suppress(ConnectionResetError):
            assert line.recv(100) == b""
        line.close()
    assert 5.0 < time.monotonic() - began < 10.0
    assert served.ask("GET", "/api/pulse")[0] == 204


def test_one_address_cannot_hold_all_lines(served):
    lines = [
        socket.create_connection(("127.0.0.1", served.port), timeout=5, source_address=("127.0.0.6", 0))
        for _ in range(40)
    ]
    assert served.ask("GET", "/api/pulse")[0] == 204, "another address is heard"
    time.sleep(0.3)
    shut = 0
    for line in lines:
        line.settimeout(0.05)
        try:
            shut += line.recv(1) == b""
        except TimeoutError:
            pass
        except ConnectionResetError:
            shut += 1
        line.close()
    assert shut == 40 - 24
