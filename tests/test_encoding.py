"""Text files in the encodings that spreadsheets write: read right, or said, or refused."""

from __future__ import annotations

import pytest

from tagmaker.intake.files.encoding import decoded


@pytest.mark.parametrize(
    ("text", "encoding", "page"),
    [
        ("Café Crème, 60°F × 2", "cp1252", "Western European"),
        ("Blüte, Größe: ½ voll", "cp1252", "Western European"),
        ("Café Crème", "mac_roman", "Western European of old Macintoshes"),
        ("Café Crème", "cp850", "Western European of DOS"),
        ("Тюльпан белый", "cp1251", "Cyrillic"),
        ("Τουλίπα λευκή", "cp1253", "Greek"),
        ("Šípek, Žlutý", "cp1250", "Western European"),  # letters there too: it is said
        ("Café", "utf-8", ""),
        ("Café", "utf-8-sig", ""),
        ("lot,crop\nCafé", "utf-16", ""),
        ("lot,crop\nCafé", "utf-16-be", ""),
        ("plain", "ascii", ""),
    ],
)
def test_the_code_page_that_makes_words(text: str, encoding: str, page: str) -> None:
    """Bytes that are no UTF-8 are read in the first code page in which every word is one, which is told."""
    read, told = decoded(text.encode(encoding))
    assert told == page
    if encoding != "cp1250":
        assert read == text


def test_bytes_that_make_no_words() -> None:
    """A picture is no text in any of them."""
    with pytest.raises(UnicodeDecodeError):
        decoded(bytes(range(128, 256)) * 4)
