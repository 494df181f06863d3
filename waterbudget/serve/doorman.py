"""Connections: how long one may take over a request, and how many an address may have open."""

import asyncio
import socket
from collections.abc import Sequence
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from waterbudget.serve.gate import HEADER_BYTES

DEADLINE_S = 8.0  # from the first byte of a request to its last
MOST_AN_ADDRESS = 24  # connections; a browser opens six
MOST_CONNECTIONS = 200


class Doorman(H11Protocol):
    """A connection that is shut where a request is not whole in time; uvicorn itself would wait for ever."""

    _deadline: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as uvicorn has it
        """Turn away the connection of an address that has enough of them."""
        super().connection_made(transport)
        address = self.client and self.client[0]
        known = (one.client for one in self.connections if isinstance(one, H11Protocol))
        if sum(1 for client in known if client and client[0] == address) > MOST_AN_ADDRESS:
            transport.close()
        else:
            self._deadline = self.loop.call_later(DEADLINE_S, self._shut)

    def data_received(self, data: bytes) -> None:
        """Read on; later bytes of a request give it no more time."""
        if self._deadline is None:
            self._deadline = self.loop.call_later(DEADLINE_S, self._shut)
        super().data_received(data)
        self._let_be_if_whole()

    def on_response_complete(self) -> None:
        """What was sent behind a request may be a part of the next one."""
        super().on_response_complete()
        self._let_be_if_whole()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the deadline with the connection."""
        self._let_be()
        super().connection_lost(exc)

    def _let_be_if_whole(self) -> None:
        state, (waiting, _) = self.conn.their_state, self.conn.trailing_data
        if state is h11.SEND_BODY or (state is h11.IDLE and waiting):
            if self._deadline is None:
                self._deadline = self.loop.call_later(DEADLINE_S, self._shut)
        else:
            self._let_be()

    def _let_be(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _shut(self) -> None:
        self._deadline = None
        self.transport.abort()


def listen(app: Any, sockets: Sequence[socket.socket]) -> None:  # noqa: ANN401 - an ASGI application
    """Answer on bound sockets until the process is told to end."""
    config = uvicorn.Config(
        app,
        http=Doorman,
        loop="asyncio",
        ws="none",
        lifespan="on",
        access_log=False,  # it would write the key
        log_config=None,
        log_level="critical",
        proxy_headers=False,
        server_header=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=3,
        h11_max_incomplete_event_size=HEADER_BYTES,
    )
    uvicorn.Server(config).run(sockets=list(sockets))
