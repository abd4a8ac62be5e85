"""The bytes of a text file as text: UTF-8, UTF-16, or else the code page in which every word is one."""

from __future__ import annotations

import codecs
import re
import unicodedata
from itertools import pairwise

# Code pages, the commonest first (chosen), and what a grower calls them.
PAGES = {
    "cp1252": "Western European",
    "cp1250": "Central European",
    "cp1251": "Cyrillic",
    "cp1253": "Greek",
    "cp850": "Western European of DOS",
    "mac_roman": "Western European of old Macintoshes",
}
# Marks that stand beside words in any of them.
_MARKS = re.compile("[\u00a0°º×·½¼¾«»€£§®™‘’“”–—…²³µ]")
_WORD = re.compile("[A-Za-z\u0080-\uffff]*[\u0080-\uffff][A-Za-z\u0080-\uffff]*")


def decoded(content: bytes) -> tuple[str, str]:
    """The text of a file, and what its code page is called: "" for UTF-8 and UTF-16.

    Raises:
        UnicodeDecodeError: it is no text in any of them.
    """
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16"), ""
    start = content[:400]
    for encoding, high_bytes in (("utf-16-le", start[1::2]), ("utf-16-be", start[::2])):
        if high_bytes.count(0) * 2 > len(high_bytes):  # Western text: most high bytes are 0
            return content.decode(encoding), ""
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError as error:
        for page, name in PAGES.items():
            text = _in_page(content, page)
            if text is not None:
                return text, name
        raise error from None


def _in_page(content: bytes, page: str) -> str | None:
    """The text of some bytes in a code page; None where one of its words is none."""
    try:
        text = content.decode(page)
    except UnicodeDecodeError:
        return None
    words = {word for found in set(_WORD.findall(text)) for word in _MARKS.split(found) if not word.isascii()}
    return text if all(map(_is_word, words)) else None


def _is_word(word: str) -> bool:
    """Whether letters make a word: of one script, no capital within it, not most of Latin ones accented."""
    if not word.isalpha():
        return False
    scripts = {unicodedata.name(letter, "").partition(" ")[0] for letter in word}
    capital_within = any(
        letter.isupper() and not letter.isascii() and before.islower() for before, letter in pairwise(word)
    )
    accented = sum(not letter.isascii() for letter in word)
    foreign = scripts == {"LATIN"} and len(word) > 2 and 2 * accented > len(word)
    return len(scripts) == 1 and not capital_within and not foreign
