"""The gate before every page: who may come in, from where and with how much; and what goes out with an answer.

A house network is no safe place: other programs, other people's pages and guests reach the port as well.
"""

import hmac
import json
import time
from base64 import b64encode
from collections import deque
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from http import HTTPStatus
from typing import Any, NamedTuple, TypeAlias
from urllib.parse import parse_qs

Scope: TypeAlias = MutableMapping[str, Any]
Receive: TypeAlias = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send: TypeAlias = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App: TypeAlias = Callable[[Scope, Receive, Send], Awaitable[None]]
Log: TypeAlias = Callable[[str], None]
Headers: TypeAlias = list[tuple[bytes, bytes]]

HEADER_BYTES = 16 * 1024
BODY_BYTES, TABLE_BYTES = 256 * 1024, 4 * 1024 * 1024
TABLES = frozenset({"/garden/weather"})  # pages that take a weather file
WRONG_KEYS, WITHIN_S = 10, 60.0  # of an address
YEAR_S = 365 * 86400
READS, WRITES = frozenset({"GET", "HEAD"}), frozenset({"POST"})
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
ALWAYS: Headers = [
    (b"x-content-type-options", b"nosniff"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"referrer-policy", b"same-origin"),  # with no-referrer a browser sends forms with the origin "null"
]
UNLESS_SET: Headers = [(b"content-security-policy", POLICY.encode()), (b"cache-control", b"no-store")]
LOOK = (
    "body{font:17px/1.5 'DejaVu Sans',Verdana,sans-serif;max-width:34rem;margin:2rem auto;padding:0 1rem;color:#222;"
    "background:#fff}h1{border-top:3px solid #000;padding-top:.5rem}"
    "@media(prefers-color-scheme:dark){body{color:#f0f0ee;background:#14181a}h1{border-color:#f0f0ee}}"
)
OWN_POLICY = f"default-src 'none'; style-src 'sha256-{b64encode(sha256(LOOK.encode()).digest()).decode()}'"


class Refusal(NamedTuple):
    """Why a request is not let in: the status, a sentence, and what to do."""

    status: HTTPStatus
    fault: str


STRANGE_HOST = Refusal(HTTPStatus.MISDIRECTED_REQUEST, "Open the address that the computer shows; this one is another.")
NO_LENGTH = Refusal(HTTPStatus.LENGTH_REQUIRED, "Send it in one piece, with its length.")
TOO_MUCH = Refusal(
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    "That is too much at once, and nothing was kept: a weather file may have 4 MB, all else 256 kB.",
)
LONG_HEAD = Refusal(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE, "That brings more along than any page of ours needs.")
NO_KEY = Refusal(HTTPStatus.UNAUTHORIZED, "Scan the square on the computer, or open the address that it shows.")
WRONG_KEY = Refusal(HTTPStatus.FORBIDDEN, "This key does not fit any more. Scan the square on the computer again.")
TOO_MANY = Refusal(HTTPStatus.TOO_MANY_REQUESTS, "Too many wrong keys. Wait a minute, then scan the square again.")
ELSEWHERE = Refusal(HTTPStatus.FORBIDDEN, "That came from another page, so nothing was written. Open the garden's own.")
NO_METHOD = Refusal(HTTPStatus.METHOD_NOT_ALLOWED, "Pages can be read and sent to, nothing else.")


@dataclass(frozen=True)
class Door:
    """What opens: names under which the page is reached, "garden.local:8787", its key, and the name of its cookie."""

    hosts: frozenset[str]
    key: str
    cookie: str


class Gate:
    """An application behind the door. Keeps nothing but the times of wrong keys of each address."""

    def __init__(self, app: App, door: Door, log: Log) -> None:
        """Stand before an application. log: takes a line for each request, without what the address carries."""
        self.app, self.door, self.log = app, door, log
        self.wrong: dict[str, deque[float]] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or refuse it in words."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began, status = time.monotonic(), 0

        async def dressed(message: MutableMapping[str, Any]) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                own = {name.lower() for name, _ in message.get("headers", [])}
                more = [*ALWAYS, *(one for one in UNLESS_SET if one[0] not in own)]
                message = {**message, "headers": [*message.get("headers", []), *more]}
            await send(message)

        try:
            await self._answer(scope, receive, dressed)
        finally:
            took_ms = 1000.0 * (time.monotonic() - began)
            self.log(f"{scope['method']} {scope['path']} {status} {took_ms:.0f} ms")

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        if (refusal := self._before_the_key(scope)) is not None:
            await _refuse(scope, send, refusal)
        elif scope["path"] == "/join":
            await self._join(scope, send)
        elif (refusal := self._without_the_key(scope)) is not None:
            await _refuse(scope, send, refusal)
        elif scope["path"] == "/leave" and scope["method"] == "POST":
            await _see(send, "/", f"{self.door.cookie}=; Path=/; HttpOnly; SameSite=Lax; Max-Age=0")
        else:
            await self.app(scope, receive, send)

    def _before_the_key(self, scope: Scope) -> Refusal | None:
        hosts = _values(scope, b"host")
        if len(hosts) != 1 or hosts[0].lower() not in self.door.hosts:
            return STRANGE_HOST
        if sum(len(name) + len(value) for name, value in scope["headers"]) > HEADER_BYTES:
            return LONG_HEAD
        if scope["method"] not in READS | WRITES:
            return NO_METHOD
        if _values(scope, b"transfer-encoding"):
            return NO_LENGTH
        lengths = _values(scope, b"content-length")
        if scope["method"] in WRITES and not lengths:
            return NO_LENGTH
        most = TABLE_BYTES if scope["path"] in TABLES else BODY_BYTES
        return TOO_MUCH if any(not one.isdecimal() or int(one) > most for one in lengths) else None

    def _without_the_key(self, scope: Scope) -> Refusal | None:
        bearer = [one.removeprefix("Bearer ") for one in _values(scope, b"authorization")]
        if bearer:
            return self._tried(scope, bearer[0])
        if not any(self._fits(one) for one in self._cookies(scope)):
            return NO_KEY
        return ELSEWHERE if scope["method"] in WRITES and not _is_own(scope) else None

    def _cookies(self, scope: Scope) -> list[str]:
        """Values of our cookie, read by hand: one that another program set on this computer must not hide it."""
        pairs = (pair.strip().partition("=") for line in _values(scope, b"cookie") for pair in line.split(";"))
        return [value for name, _, value in pairs if name == self.door.cookie]

    def _fits(self, key: str) -> bool:
        return hmac.compare_digest(key.encode(), self.door.key.encode())

    def _tried(self, scope: Scope, key: str) -> Refusal | None:
        """Whether a key that somebody sends fits; so many wrong ones a minute, then none is looked at."""
        address, now = (scope.get("client") or ("",))[0], time.monotonic()
        wrong = self.wrong.setdefault(address, deque(maxlen=WRONG_KEYS))
        while wrong and now - wrong[0] > WITHIN_S:
            wrong.popleft()
        if len(wrong) == WRONG_KEYS:
            return TOO_MANY
        if self._fits(key):
            del self.wrong[address]
            return None
        wrong.append(now)
        return WRONG_KEY

    async def _join(self, scope: Scope, send: Send) -> None:
        key = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if (refusal := self._tried(scope, key)) is not None:
            await _refuse(scope, send, refusal)
        else:  # Lax, as a Strict one is not sent with the page that follows where a link led here
            kept = f"{self.door.cookie}={self.door.key}; Path=/; HttpOnly; SameSite=Lax; Max-Age={YEAR_S}"
            await _see(send, "/", kept)


def _values(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope["headers"] if key == name]


def _is_own(scope: Scope) -> bool:
    """Whether a page of ours sent it. Browsers tell the site only to origins that they trust, which no phone's is."""
    (host,) = _values(scope, b"host")
    site = _values(scope, b"sec-fetch-site")
    origins = [origin.lower() for origin in _values(scope, b"origin")]
    return origins == [f"http://{host.lower()}"] and site in ([], ["same-origin"])


async def _refuse(scope: Scope, send: Send, refusal: Refusal) -> None:
    if scope["path"].startswith("/api/"):
        kind, body = "application/json", json.dumps({"fault": refusal.fault, "field": None})
    else:
        kind = "text/html; charset=utf-8"
        body = (
            '<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>Not let in</title>'
            f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{LOOK}</style></head>'
            f"<body><main><h1>Not let in</h1><p>{escape(refusal.fault)}</p></main></body></html>"
        )
    headers = [
        (b"content-type", kind.encode()),
        (b"content-length", str(len(body.encode())).encode()),
        (b"content-security-policy", OWN_POLICY.encode()),
    ]
    await send({"type": "http.response.start", "status": int(refusal.status), "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body.encode()})


async def _see(send: Send, path: str, cookie: str) -> None:
    headers = [(b"location", path.encode()), (b"set-cookie", cookie.encode()), (b"content-length", b"0")]
    await send({"type": "http.response.start", "status": int(HTTPStatus.SEE_OTHER), "headers": headers})
    await send({"type": "http.response.body", "body": b""})
