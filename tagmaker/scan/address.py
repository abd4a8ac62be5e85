"""Where the pages can be reached: this machine's address, the link for the codes, a code for the terminal."""

from __future__ import annotations

import io
import ipaddress
import socket
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from tagmaker.errors import UsageProblem

LOOPBACK = "127.0.0.1"
NOBODY = ("192.0.2.1", 9)  # an address that belongs to nobody (RFC 5737); nothing is ever sent to it


def lan_address() -> str:
    """This machine's address on the local network.

    Raises:
        UsageProblem: it has none, or one that all the world can reach.
    """
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(NOBODY)  # only asks which way it would go
            address = str(probe.getsockname()[0])
    except OSError as error:
        raise UsageProblem(
            f"--lan needs a network ({error.strerror or error}): join one, and start again"
        ) from error
    return checked_lan(address)


def checked_lan(address: str) -> str:
    """An address, if it is one of a local network.

    >>> checked_lan("192.168.1.5")
    '192.168.1.5'

    Raises:
        UsageProblem: it is not.
    """
    kind = ipaddress.ip_address(address)
    if kind.is_loopback or kind.is_unspecified or not kind.is_private:
        raise UsageProblem(f"--lan must open the pages to a local network only (got the address {address})")
    return address


def own_hosts(host: str, port: int) -> tuple[str, ...]:
    """Host names with the port, under which browsers may ask for our pages."""
    names = [host]
    if host == LOOPBACK:
        names.append("localhost")
    else:
        name = socket.gethostname().partition(".")[0].lower()
        names += [name, f"{name}.local"]
    ports = [f"{name}:{port}" for name in names]
    return (*ports, *names) if port == 80 else tuple(ports)


def link_pattern(host: str, port: int) -> str:
    """The link with which codes lead to our pages, in capitals so that they stay small.

    >>> link_pattern("192.168.1.5", 8008)
    'HTTP://192.168.1.5:8008/L/{lot}'
    """
    return f"HTTP://{host.upper()}:{port}/L/{{lot}}"


def leads_here(link: str, hosts: tuple[str, ...]) -> bool:
    """Whether the address behind the codes is one of our pages.

    >>> leads_here("HTTP://192.168.1.5:8008/L/{lot}", ("192.168.1.5:8008",))
    True
    """
    parts = urlsplit(link.replace("{lot}", "LOT"))
    return parts.scheme == "http" and parts.netloc.lower() in hosts and parts.path in ("/L/LOT", "/l/LOT")


def was_before(kept: Path, host: str) -> str:
    """The address under which the pages were last open to phones, where it was another; "": it was not.

    Args:
        kept: the file in which it is remembered, from now on this one
        host: the address now
    """
    before = ""
    with suppress(OSError, ValueError):
        before = str(ipaddress.ip_address(kept.read_text(encoding="ascii").strip()))
    if before != host:
        with suppress(OSError):  # then it is not known next time
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_text(host, encoding="ascii")
    return before if before != host else ""


def terminal_code(text: str) -> str:
    """A QR code of block characters, for a terminal with light letters on a dark ground."""
    from qrcode.main import QRCode

    code: QRCode[Any] = QRCode(border=4)  # the quiet zone that ISO/IEC 18004 asks for
    code.add_data(text)
    drawn = io.StringIO()
    code.print_ascii(out=drawn, invert=True)
    return drawn.getvalue().rstrip("\n")
