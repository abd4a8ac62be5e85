"""The open port: waitress with bounds, so that a slow or greedy client cannot take the pages from others."""

from __future__ import annotations

import logging
import re
import socket
import time
from collections.abc import Callable, Collection, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext, suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from waitress import wasyncore  # type: ignore[import-untyped]  # it comes without types
from waitress.channel import HTTPChannel  # type: ignore[import-untyped]  # it comes without types
from waitress.server import TcpWSGIServer  # type: ignore[import-untyped]
from waitress.task import ErrorTask, WSGITask  # type: ignore[import-untyped]

from tagmaker.scan.delivery import FOLLOW, Delivery
from tagmaker.scan.guards import SECURITY, TEXT
from tagmaker.scan.incoming import AT_ONCE, Parser

THREADS = 8  # requests answered at once; the others wait their turn (chosen)
HEAD_BYTES = 8192  # of a request's first line and headers (chosen)
MOST_AHEAD = 4  # requests that a client may send before it has the answer to the first (chosen)
BODY_BYTES = 20_000  # of a request's body; the application takes less (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """How much one server and one client may take; all chosen."""

    connections: int = 200  # open at once
    per_address: int = 80  # of these from one address, so that others find some free
    idle_s: float = 20.0  # [s] that a connection may stay open without a request
    slow_s: float = 15.0  # [s] that a client may take to send a request, or to fetch its answer
    look_s: float = 2.0  # [s] between two looks at who is slow


class _Refusal(ErrorTask):  # type: ignore[misc]  # it comes without types
    """The answer to what is no request at all, with the guards and an access line like any other."""

    def execute(self) -> None:
        refused = self.request.error
        self.status = f"{refused.code} {refused.reason}"
        self.response_headers += [("Content-Type", TEXT), *SECURITY.items()]
        self.set_close_on_finish()
        body = f"{self.status}\n".encode()
        self.content_length = len(body)
        self.write(body)
        self.channel.server.tell_refusal(self.channel.addr[0], self.status)


class _Task(WSGITask):  # type: ignore[misc]  # it comes without types
    """A request, whose answer can be followed to the client."""

    def get_environment(self) -> dict[str, Any]:
        """What the application is told."""
        environ: dict[str, Any] = super().get_environment()
        environ[FOLLOW] = self.channel.follow
        return environ


class _Channel(HTTPChannel):  # type: ignore[misc]  # it comes without types
    """One connection."""

    task_class = _Task
    error_task_class = _Refusal
    server: Listener
    is_cut = False  # it was closed before everything was sent

    def parser_class(self, adj: Any) -> Parser:
        """What takes the next request in."""
        return Parser(adj, self.server.may_send)

    def handle_close(self) -> None:
        """Close it, and remember whether something was still to be sent."""
        self.is_cut = self.is_cut or bool(self.total_outbufs_len)
        if self.request is not None:
            self.request.close()  # half of a body is of no use to anybody
        super().handle_close()

    def follow(self) -> Callable[[], bool]:
        """What waits until the client has everything that was answered so far, and says whether it has."""
        return Delivery(self, self.socket.dup()).wait

    def received(self, data: bytes) -> bool:
        """Take what came in; hang up on who asks for more and more without waiting for an answer."""
        taken = bool(super().received(data))
        if len(self.requests) > MOST_AHEAD:
            self.handle_close()
        return taken


class Listener(TcpWSGIServer):  # type: ignore[misc]  # it comes without types
    """A server that closes connections of clients that drip, and shares them out among addresses."""

    def __init__(
        self,
        app: Callable[..., Iterable[bytes]],
        host: str,
        port: int,
        log: AccessLog,
        bounds: Bounds,
        beside: AbstractContextManager[None] | None = None,
        may_send: Callable[[str], bool] = lambda _: False,
    ) -> None:
        """Open the port.

        Args:
            app: the application, a WSGI callable
            host: address to listen on
            port: 0: any that is free
            log: takes a line for what is no request at all
            bounds: what clients may take
            beside: entered while requests are answered
            may_send: whether whoever has these cookies may send more than a form

        Raises:
            OSError: the port is taken or not ours to open.
        """
        logging.getLogger("waitress").setLevel(logging.ERROR)  # the access lines say what happens
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)
        self._log = log
        self._bounds = bounds
        self._beside = beside or nullcontext()
        self._may_send = may_send
        self._slow: dict[Any, float] = {}  # connection -> since when it keeps us waiting
        try:
            super().__init__(
                app,
                host=host,
                port=port,
                threads=THREADS,
                connection_limit=bounds.connections,
                channel_timeout=bounds.idle_s,
                cleanup_interval=bounds.look_s,
                max_request_header_size=HEAD_BYTES,
                max_request_body_size=BODY_BYTES,
                ident=None,
            )
        except OSError:
            self.task_dispatcher.shutdown()
            self.close()
            raise

    def channel_class(self, server: Any, conn: Any, addr: Any, adj: Any, map: Any) -> None:  # noqa: A002 - waitress's name
        """Take a connection, or hang up where its address has too many."""
        same = sum(channel.addr[0] == addr[0] for channel in self.active_channels.values())
        if same >= self._bounds.per_address:
            conn.close()
        else:
            _Channel(server, conn, addr, adj, map=map)

    def may_send(self, cookies: str) -> bool:
        """Whether whoever has these cookies may send more than a form, and not too many do."""
        sending = [channel.request for channel in self.active_channels.values()]
        return sum(getattr(request, "is_large", False) for request in sending) < AT_ONCE and self._may_send(
            cookies
        )

    def maintenance(self, now: float) -> None:
        """Close what is idle, and what has been sending one request or fetching one answer for too long."""
        super().maintenance(now)
        slow: dict[Any, float] = {}
        for channel in self.active_channels.values():
            if not channel.requests and (channel.request is not None or channel.total_outbufs_len):
                slow[channel] = self._slow.get(channel, now)
                waits = channel.request
                patience = waits.patience_s(self._bounds.slow_s) if waits else self._bounds.slow_s
                if now - slow[channel] > patience:
                    channel.will_close = True
                    with suppress(OSError):  # else it ends only once the client fetches something
                        channel.socket.shutdown(socket.SHUT_RDWR)
        self._slow = slow

    def run(self) -> None:
        """Answer requests until `stop` is called or a key ends it."""
        try:
            with self._beside:
                super().run()
        finally:
            for channel in list(self.active_channels.values()):
                channel.handle_close()  # what was not sent by now is cut off

    def stop(self) -> None:
        """End `run` from another thread: every connection is closed."""

        def close() -> None:
            self.task_dispatcher.shutdown()
            wasyncore.close_all(self._map)

        self.trigger.pull_trigger(close)

    def tell_refusal(self, address: str, status: str) -> None:
        """The access line of what is no request at all."""
        self._log.tell_refusal(address, status)


class AccessLog:
    """A line for every request: when, who, what, the answer, its size and how long it took.

    Only the path is told, never what a form or a cookie holds, and nothing that a terminal obeys.
    """

    def __init__(self, tell: Callable[[str], None], now: Callable[[], datetime]) -> None:
        """Take where the lines go, and the clock for them."""
        self._tell = tell
        self._now = now

    def around(self, app: Callable[..., Iterable[bytes]]) -> Callable[..., Iterable[bytes]]:
        """An application that tells every request."""

        def told(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
            began, answer = time.monotonic(), ["500", "-"]

            def start(status: str, headers: Sequence[tuple[str, str]], exc_info: Any = None) -> Any:
                sizes = [value for name, value in headers if name.lower() == "content-length"]
                answer[:] = [status.partition(" ")[0], *(sizes or ["-"])]
                return start_response(status, headers, exc_info)

            try:
                return app(environ, start)
            finally:
                took = (time.monotonic() - began) * 1000
                asked = f"{_plain(environ['REQUEST_METHOD'], 10)} {_plain(environ['PATH_INFO'], 80)}"
                self._line(environ.get("REMOTE_ADDR", "-"), asked, f"{answer[0]} {answer[1]} {took:.0f} ms")

        return told

    def tell_refusal(self, address: str, status: str) -> None:
        """The line of what is no request at all."""
        self._line(address, "-", status)

    def _line(self, address: str, asked: str, answer: str) -> None:
        self._tell(f"{self._now():%Y-%m-%d %H:%M:%S} {address} {asked} {answer}")


def _plain(text: str, most: int) -> str:
    """What can stand in a line of a terminal."""
    return re.sub(r"[^!-~]", "?", text[:most]) + ("…" if len(text) > most else "")


class KnownHosts:
    """An application that answers only under its own names, not under one that a foreign page made up."""

    def __init__(self, app: Callable[..., Iterable[bytes]], hosts: Collection[str]) -> None:
        """Take the names with their ports in lower case; they are looked at anew for each request."""
        self._app = app
        self._hosts = hosts

    def __call__(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        """Answer, or refuse a name that is not ours."""
        if environ.get("HTTP_HOST", "").lower() in self._hosts:
            return self._app(environ, start_response)
        body = b"421 this server has no such name\n"
        headers = {"Content-Type": TEXT, "Content-Length": str(len(body)), **SECURITY}
        start_response("421 Misdirected Request", list(headers.items()))
        return [body]
