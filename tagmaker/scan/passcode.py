"""Who may print: a passcode that is tried slowly, signed cookies, and a token for every form.

The passcode is shown in the terminal and nowhere else. Cookies are signed with a key that lives as long as
the server, hold nothing of the passcode, and are good for one address only.
"""

from __future__ import annotations

import hmac
import re
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from hashlib import sha256

from itsdangerous import BadData, URLSafeTimedSerializer

DIGITS = 8  # of the passcode: quick to type with wet hands, one guess in 100 million (chosen)
FREE_TRIES = 3  # wrong ones that cost no waiting (chosen)
LONGEST_WAIT_S = 60.0  # [s] between two tries from one address (chosen)
MOST_WRONG = 1000  # wrong tries from anywhere; then nobody new comes in until the next start (chosen)
ADDRESSES = 1000  # whose waiting is remembered (chosen)
VISIT_S = 12 * 3600  # [s] that a visit lasts: a working day (chosen)


class Answer(Enum):
    """What became of a try."""

    RIGHT = "right"
    WRONG = "wrong"
    WAIT = "wait"  # too soon after a wrong one; it was not even looked at
    SHUT = "shut"  # too many wrong ones from anywhere


def new_passcode() -> str:
    """A passcode, in two halves that are easy to read out."""
    digits = "".join(secrets.choice("0123456789") for _ in range(DIGITS))
    return f"{digits[: DIGITS // 2]} {digits[DIGITS // 2 :]}"


class Passcode:
    """Compares tries in constant time, and makes whoever is wrong wait."""

    def __init__(self, passcode: str, seconds: Callable[[], float] = time.monotonic) -> None:
        """Take the passcode as it is shown; `seconds` is a clock that only goes forward [s]."""
        self._digest = _digest(passcode)
        self._seconds = seconds
        self._lock = threading.Lock()
        self._wrong = 0
        self._wrong_from: OrderedDict[str, tuple[int, float]] = OrderedDict()  # address -> tries, until when

    def attempt(self, said: str, address: str) -> Answer:
        """Whether somebody at an address says the passcode."""
        with self._lock:
            tries, until = self._wrong_from.get(address, (0, 0.0))
            if self._seconds() < until:
                return Answer.WAIT
            if self._wrong >= MOST_WRONG:
                return Answer.SHUT
            if hmac.compare_digest(_digest(said), self._digest):
                self._wrong_from.pop(address, None)
                return Answer.RIGHT
            self._wrong += 1
            wait = min(2.0 ** (tries - FREE_TRIES), LONGEST_WAIT_S) if tries >= FREE_TRIES else 0.0
            self._wrong_from[address] = (min(tries + 1, 100), self._seconds() + wait)
            self._wrong_from.move_to_end(address)
            while len(self._wrong_from) > ADDRESSES:
                self._wrong_from.popitem(last=False)
            return Answer.WRONG

    def wait_s(self, address: str) -> int:
        """Whole seconds until the next try from an address is looked at."""
        with self._lock:
            _, until = self._wrong_from.get(address, (0, 0.0))
            return max(0, int(until - self._seconds()) + 1)


def _digest(said: str) -> bytes:
    """Of the digits alone, so that spaces and hyphens do not matter, nor how long the try is."""
    return sha256(re.sub(r"[\s-]", "", said).encode("utf-8", "replace")).digest()


@dataclass(frozen=True, slots=True)
class Visit:
    """A browser that has been given a cookie."""

    name: str  # random
    inside: bool  # it said the passcode


class Visits:
    """Cookies of browsers, and the tokens of the forms they were given."""

    def __init__(self, passcode_needed: bool) -> None:
        self._needed = passcode_needed
        self._key = secrets.token_bytes(32)
        self._signer = URLSafeTimedSerializer(self._key, salt="visit")

    def begin(self, inside: bool = False) -> Visit:
        """A new visit; also after the passcode, so that no cookie from before it is worth anything."""
        return Visit(secrets.token_urlsafe(16), inside or not self._needed)

    def cookie(self, visit: Visit, address: str) -> str:
        """The cookie of a visit, good for one address."""
        return str(self._signer.dumps([visit.name, visit.inside, address]))

    def read(self, cookie: str | None, address: str) -> Visit | None:
        """The visit of a cookie; None where it is forged, too old, from elsewhere or from another run."""
        try:
            name, inside, given_to = self._signer.loads(cookie or "", max_age=VISIT_S)
        except (BadData, ValueError, TypeError):
            return None
        return Visit(name, inside is True) if given_to == address else None

    def token(self, visit: Visit) -> str:
        """What every form of a visit must send back."""
        return hmac.new(self._key, f"token {visit.name} {visit.inside}".encode(), sha256).hexdigest()

    def is_token(self, said: str, visit: Visit) -> bool:
        """Whether a form was given to this visit."""
        return hmac.compare_digest(said.encode("utf-8", "replace"), self.token(visit).encode())
