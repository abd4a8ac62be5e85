"""Requests as they come in: what is no request, and who may send more than a form.

Exports of loggers are larger: they come from phones that are paired. Anybody else's request is refused by its
announced length, before any of it is taken in.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from typing import Any

from waitress.parser import (  # type: ignore[import-untyped]  # it comes without types
    HTTPRequestParser,
    ParsingError,
)

from tagmaker.storage.readings import EXPORT_BYTES

ADDRESS = "/readings/"  # below which exports are sent
MOST_SENT = EXPORT_BYTES + 1_000_000  # of a request: a page says that an export is too large (chosen)
AT_ONCE = 6  # that are being sent (chosen)
SLOWEST_BYTES_S = 50_000  # [bytes/s] at which one must come in: the edge of a yard's Wi-Fi (chosen)


class Parser(HTTPRequestParser):  # type: ignore[misc]  # it comes without types
    """A request as it comes in, which may be larger where somebody may send an export.

    Of two lengths nobody knows which one holds (RFC 9112, 6.3), so that there is none.
    """

    adj: Any  # the server's limits
    is_large = False

    def __init__(self, adj: object, may_send: Callable[[str], bool]) -> None:
        """Take the server's limits, and who may send: asked with the header of the cookies."""
        super().__init__(adj)
        self._may_send = may_send

    def parse_header(self, header_plus: bytes) -> None:
        """Take the first line and the headers; the body comes after that."""
        super().parse_header(header_plus)
        if self.chunked and "CONTENT_LENGTH" in self.headers:
            raise ParsingError("two lengths")
        if self.command != "POST" or not str(self.path).startswith(ADDRESS):
            return
        if self._may_send(self.headers.get("COOKIE", "")):
            self.is_large = True
            self.adj = copy(self.adj)
            self.adj.max_request_body_size = MOST_SENT

    def patience_s(self, slow_s: float) -> float:
        """How long it may take to come in [s], where a form may take `slow_s`."""
        return slow_s + (MOST_SENT / SLOWEST_BYTES_S if self.is_large else 0.0)
