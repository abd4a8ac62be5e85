"""Who may record and print: a code that is tried slowly, phones that said it once, tokens of forms.

The code is shown in the terminal, and on the computer itself. What a phone gets for it is a signed cookie;
the key and the list of phones are kept on disk for the user alone, so that a phone is paired once.
"""

from __future__ import annotations

import hmac
import json
import os
import re
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from enum import Enum
from hashlib import sha256
from pathlib import Path

from itsdangerous import BadData, URLSafeTimedSerializer

DIGITS = 8  # of the code: quick to type with wet hands, one guess in 100 million (chosen)
FREE_TRIES = 3  # wrong ones that cost no waiting (chosen)
LONGEST_WAIT_S = 60.0  # [s] between two tries from one address (chosen)
MOST_WRONG = 200  # wrong tries from anywhere; then the code is another, and nobody new comes in for a while
SHUT_S = 600.0  # [s] of that while (chosen)
ADDRESSES = 1000  # whose waiting is remembered (chosen)
PAIRED_S = 400 * 24 * 3600  # [s] that a phone stays paired: a season and the next spring (chosen)
MOST_PHONES = 50  # that are paired; the one that was paired first goes (chosen)
NAME_LETTERS = 30  # of a phone (chosen)


class Answer(Enum):
    """What became of a try."""

    RIGHT = "right"
    WRONG = "wrong"
    WAIT = "wait"  # too soon after a wrong one; it was not even looked at
    SHUT = "shut"  # too many wrong ones from anywhere: later, and with another code


def new_code() -> str:
    """A code, in two halves that are easy to read out."""
    digits = "".join(secrets.choice("0123456789") for _ in range(DIGITS))
    return f"{digits[: DIGITS // 2]} {digits[DIGITS // 2 :]}"


class PairingCode:
    """Compares tries in constant time, and makes whoever is wrong wait."""

    def __init__(
        self,
        code: str,
        seconds: Callable[[], float] = time.monotonic,
        tell: Callable[[str], None] = lambda _: None,
    ) -> None:
        """Take the code as it is shown, a clock that only goes forward [s], and who is told another code."""
        self.code = code
        self._seconds, self._tell = seconds, tell
        self._lock = threading.Lock()
        self._wrong = 0
        self._shut_until = 0.0
        self._wrong_from: OrderedDict[str, tuple[int, float]] = OrderedDict()  # address -> tries, until when

    def attempt(self, said: str, address: str) -> Answer:
        """Whether somebody at an address says the code."""
        with self._lock:
            now = self._seconds()
            if now < self._shut_until:
                return Answer.SHUT
            tries, until = self._wrong_from.get(address, (0, 0.0))
            if now < until:
                return Answer.WAIT
            if hmac.compare_digest(_digest(said), _digest(self.code)):
                self._wrong_from.pop(address, None)
                return Answer.RIGHT
            self._wrong += 1
            wait = min(2.0 ** (tries - FREE_TRIES), LONGEST_WAIT_S) if tries >= FREE_TRIES else 0.0
            self._wrong_from[address] = (min(tries + 1, 100), now + wait)
            self._wrong_from.move_to_end(address)
            while len(self._wrong_from) > ADDRESSES:
                self._wrong_from.popitem(last=False)
            if self._wrong >= MOST_WRONG:
                self._shut(now)
            return Answer.WRONG

    def _shut(self, now: float) -> None:
        """Whoever guesses begins anew, with another code and after a while; the paired notice nothing."""
        self._wrong, self._shut_until, self.code = 0, now + SHUT_S, new_code()
        self._wrong_from.clear()
        self._tell(f"too many wrong codes: in {SHUT_S / 60:.0f} min phones are paired with: {self.code}")

    def wait_s(self, address: str) -> int:
        """Whole seconds until the next try from an address is looked at."""
        with self._lock:
            _, until = self._wrong_from.get(address, (0, 0.0))
            return max(0, int(max(until, self._shut_until) - self._seconds()) + 1)


def _digest(said: str) -> bytes:
    """Of the digits alone, so that spaces and hyphens do not matter, nor how long the try is."""
    return sha256(re.sub(r"[\s-]", "", said).encode("utf-8", "replace")).digest()


@dataclass(frozen=True, slots=True)
class Phone:
    """A device that was paired."""

    id: str  # random
    name: str  # as its owner called it
    paired: str  # day


class Phones:
    """The key that signs cookies, and the phones that were paired, in a file for the user alone."""

    def __init__(self, path: Path | None = None) -> None:
        """Read what is kept there; without a path, or where it cannot be kept, it lasts as long as we do."""
        self._path = path
        self._lock = threading.Lock()
        self._key, self._phones = secrets.token_hex(32), list[Phone]()
        with suppress(OSError, ValueError, TypeError, KeyError):
            if path is not None:
                kept = json.loads(path.read_text(encoding="utf-8"))
                phones = [Phone(**phone) for phone in kept["phones"]]
                self._key, self._phones = bytes.fromhex(kept["key"]).hex(), phones
        if path is not None and not path.exists():
            self._keep()  # so that pages which stay open go on after the next start

    @property
    def key(self) -> bytes:
        """What cookies and tokens are signed with."""
        return bytes.fromhex(self._key)

    def all(self) -> tuple[Phone, ...]:
        """The paired phones, the last one first."""
        return tuple(reversed(self._phones))

    def find(self, phone: str) -> Phone | None:
        """A paired phone by its id."""
        return next((known for known in self._phones if known.id == phone), None)

    def pair(self, name: str, day: str) -> Phone:
        """Take a phone in under a name that no other has."""
        with self._lock:
            plain = " ".join("".join(c if c.isprintable() else " " for c in name).split())[:NAME_LETTERS]
            names, n = {phone.name for phone in self._phones}, 1
            wanted = name = plain or "phone"
            while name in names:
                n += 1
                name = f"{wanted} {n}"
            phone = Phone(secrets.token_urlsafe(16), name, day)
            self._phones = [*self._phones, phone][-MOST_PHONES:]
            self._keep()
            return phone

    def remove(self, phone: str) -> None:
        """From now on its cookie is worth nothing."""
        with self._lock:
            self._phones = [known for known in self._phones if known.id != phone]
            self._keep()

    def _keep(self) -> None:
        if self._path is None:
            return
        part = self._path.with_name(f"{self._path.name}.{os.getpid()}.part")
        with suppress(OSError):
            self._path.parent.mkdir(parents=True, exist_ok=True)
            part.unlink(missing_ok=True)
            handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                json.dump({"key": self._key, "phones": [asdict(phone) for phone in self._phones]}, file)
            part.replace(self._path)


@dataclass(frozen=True, slots=True)
class Visit:
    """A browser that has been given a cookie."""

    name: str  # random; of a paired phone its id
    inside: bool  # it may record and print
    phone: str = ""  # what a paired phone is called


class Visits:
    """Cookies of browsers, and the tokens of the forms they were given."""

    def __init__(self, phones: Phones, *, code_needed: bool) -> None:
        """Take the paired phones, and whether others stay outside."""
        self._phones, self._needed = phones, code_needed
        self._signer = URLSafeTimedSerializer(phones.key, salt="visit")

    def begin(self, phone: Phone | None = None) -> Visit:
        """A new visit; also of a phone just paired, so that no cookie from before it is worth anything."""
        if phone is not None:
            return Visit(phone.id, True, phone.name)
        return Visit(secrets.token_urlsafe(16), not self._needed)

    def cookie(self, visit: Visit) -> str:
        """The cookie of a visit, whatever address it comes from later."""
        return str(self._signer.dumps([visit.name, bool(visit.phone)]))

    def read(self, cookie: str | None) -> Visit | None:
        """The visit of a cookie; None where it is forged, too old, or of a phone that was removed."""
        try:
            name, is_phone = self._signer.loads(cookie or "", max_age=PAIRED_S)
        except (BadData, ValueError, TypeError):
            return None
        if not is_phone:
            return Visit(str(name), not self._needed)
        phone = self._phones.find(str(name))
        return None if phone is None else Visit(phone.id, True, phone.name)

    def token(self, visit: Visit) -> str:
        """What every form of a visit must send back."""
        return hmac.new(self._phones.key, f"token {visit.name} {visit.inside}".encode(), sha256).hexdigest()

    def is_token(self, said: str, visit: Visit) -> bool:
        """Whether a form was given to this visit."""
        return hmac.compare_digest(said.encode("utf-8", "replace"), self.token(visit).encode())
