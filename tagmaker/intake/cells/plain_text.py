"""Text as a grower types it: tidied for keeping, squashed for comparing, shortened for messages."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

_REMEMBERED = 4096  # texts: the cells of a sheet repeat themselves (chosen)
SHOWN_LETTERS = 40  # letters of a cell that a message repeats (chosen: fits a terminal line)

# Marks that spreadsheets and phones leave in a cell and nobody sees: they carry no meaning here.
_UNSEEN = dict.fromkeys(map(ord, "\u00ad\u200b\u200e\u200f\u2060\ufeff"))
_QUOTES = str.maketrans("\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u2032\u2033", "''''\"\"\"'\"")
_WIDE = {letter: letter - 0xFEE0 for letter in range(0xFF01, 0xFF5F)}  # full-width forms of ASCII
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"))
_SPACES = re.compile(r"[^\S\n]+")
# Controls and the marks that turn the reading direction around: they make a line say something else.
_CONTROL_CLASSES = ("Cc", "Cs")
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@lru_cache(maxsize=_REMEMBERED)
def tidy(text: str) -> str:
    r"""The text without unseen marks and surplus spaces; line breaks within it stay as \n.

    >>> tidy("  Pale\u00a0 Harbour\u200b ")
    'Pale Harbour'
    """
    text = unicodedata.normalize("NFC", text).translate(_UNSEEN).replace("\r\n", "\n").replace("\r", "\n")
    text = _SPACES.sub(" ", text.replace("\u2028", "\n"))
    return "\n".join(line.strip() for line in text.strip().split("\n")).strip()


def one_line(text: str) -> str:
    r"""The text on one line.

    >>> one_line("Pale\n Harbour")
    'Pale Harbour'
    """
    return " ".join(text.split())


@lru_cache(maxsize=_REMEMBERED)
def typed(text: str) -> str:
    """The text with typographic quotes and dashes as a keyboard has them, and full-width forms narrow.

    >>> typed("2027\u20134\u201310")
    '2027-4-10'
    """
    return text.translate(_QUOTES).translate(_DASHES).translate(_WIDE)


@lru_cache(maxsize=_REMEMBERED)
def squash(text: str) -> str:
    """What is left for comparing: letters and digits, without case, spaces and punctuation.

    >>> squash(" Stems per-bunch. ")
    'stemsperbunch'
    """
    return "".join(letter for letter in unicodedata.normalize("NFKC", text).casefold() if letter.isalnum())


@lru_cache(maxsize=_REMEMBERED)
def control_character(text: str) -> str:
    r"""Name of the first character that cannot stand in a cell, as "U+0007"; empty where all can.

    >>> control_character("tulip\a")
    'U+0007'
    """
    if text.isprintable():
        return ""  # the quick way: what is printable is neither
    for letter in text:
        if letter in _TURNING or (unicodedata.category(letter) in _CONTROL_CLASSES and letter != "\n"):
            return f"U+{ord(letter):04X}"
    return ""


def shown(text: str) -> str:
    """The text in quotes, on one line and shortened, as messages repeat it.

    >>> shown("12.o2.")
    '"12.o2."'
    """
    line = "".join(letter if letter.isprintable() else "\ufffd" for letter in one_line(text))
    return f'"{line}"' if len(line) <= SHOWN_LETTERS else f'"{line[:SHOWN_LETTERS]}…"'


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that looks most like this one, or "" where none comes near.

    >>> nearest("Barm", ["barn", "porch"])
    'barn'
    """
    squashed = {squash(name): name for name in known}
    hits = difflib.get_close_matches(squash(word)[:60], squashed, n=1, cutoff=0.5)
    return squashed[hits[0]] if hits else ""


def listed(words: Iterable[str], last: str = "or") -> str:
    """The words as a list in a sentence.

    >>> listed(["green", "tight", "open"])
    'green, tight or open'
    """
    items = list(words)
    return " ".join([", ".join(items[:-1]), last, items[-1]]) if len(items) > 1 else "".join(items)
