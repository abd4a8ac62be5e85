"""Whether an answer reached the client: a download that was cut off was not handed over."""

from __future__ import annotations

import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from typing import Protocol

FOLLOW = "tagmaker.follow"  # in what the server tells the application: begins to follow its answer
LONGEST_S = 60.0  # [s] that a client may take to fetch a paper (chosen)
LOOK_S = 0.02  # [s] between two looks at what it has taken (chosen)
AFTER_S = 1.0  # [s] after the last byte in which a client that went away without reading is noticed (chosen)
CLOSED = 7  # TCP_CLOSE, the state of a connection that was reset (linux/tcp_states.h)


class Connection(Protocol):
    """What is to be known of a connection."""

    is_cut: bool  # it was closed before everything was sent
    total_outbufs_len: int  # bytes that were not handed to the system yet


class Delivery:
    """An answer on its way; the socket is a copy of the connection's own, so that it outlives it."""

    def __init__(self, connection: Connection, copy: socket.socket) -> None:
        """Take the connection, and the copy of its socket, which is closed in the end."""
        self._connection = connection
        self._socket = copy

    def wait(self) -> bool:
        """Whether everything arrived; where it did not, the client gets nothing more either."""
        with self._socket:
            end = time.monotonic() + LONGEST_S
            while not self._is_sent():
                if self._is_cut() or time.monotonic() > end:
                    self._hang_up()
                    return False
                time.sleep(LOOK_S)
            end = time.monotonic() + AFTER_S
            while time.monotonic() < end:
                if self._is_cut():
                    return False
                time.sleep(LOOK_S)
            return True

    def _is_sent(self) -> bool:
        return not self._connection.total_outbufs_len and not _unsent(self._socket)

    def _is_cut(self) -> bool:
        return self._connection.is_cut or _is_reset(self._socket)

    def _hang_up(self) -> None:
        try:
            self._socket.shutdown(socket.SHUT_RDWR)
        except OSError:
            return


if sys.platform == "linux":
    import fcntl
    import struct
    import termios

    def _unsent(connection: socket.socket) -> int:
        """Bytes that the client's system has not confirmed (tcp(7), SIOCOUTQ)."""
        try:
            return int(struct.unpack("i", fcntl.ioctl(connection, termios.TIOCOUTQ, b"\0" * 4))[0])
        except OSError:
            return 0

    def _is_reset(connection: socket.socket) -> bool:
        """Whether the client went away with something unread (tcp(7), TCP_INFO: the state comes first)."""
        return connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_INFO, 1)[0] == CLOSED

else:

    def _unsent(_: socket.socket) -> int:
        """Not asked here: what the system took counts as sent."""
        return 0

    def _is_reset(connection: socket.socket) -> bool:
        """Whether reading from it says that the client went away."""
        try:
            connection.recv(1, socket.MSG_PEEK)
        except BlockingIOError:
            return False
        except OSError:
            return True
        return False


def delivered(
    content: bytes, follow: Callable[[], Callable[[], bool]] | None, end: Callable[[bool], None]
) -> Iterator[bytes]:
    """An answer's body, which says in the end whether it was handed over.

    Args:
        content: the whole of it
        follow: of the server, begins to follow the answer; None: whoever reads it to the end has it
        end: is told whether it arrived, from a thread of its own where the server is asked
    """
    read = False
    try:
        yield content
        read = True
    finally:
        if not read or follow is None:
            end(read)
        else:
            wait = follow()
            threading.Thread(target=lambda: end(wait()), daemon=False).start()  # outlives the server
