"""Names of crops as growers write them: synonyms of the trade, slips, and crops without figures."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping

SYNONYMS: Mapping[str, str] = {
    "daffodil": "narcissus",
    "jonquil": "narcissus",
    "dutch iris": "iris",
    "consolida": "larkspur",
    "lathyrus": "sweet pea",
    "mum": "chrysanthemum",
    "baby's breath": "gypsophila",
    "peruvian lily": "alstroemeria",
    "limonium": "statice",
    "gladioli": "gladiolus",
    "icelandic poppy": "iceland poppy",
    "antirrhinum": "snapdragon",
    "matthiola": "stock",
    "eustoma": "lisianthus",
    "paeonia": "peony",
    "lilium": "lily",
    "helianthus": "sunflower",
    "gladiola": "gladiolus",
    "windflower": "anemone",
    "buttercup": "ranunculus",
    "roses": "rose",
    "lilies": "lily",
    "peonies": "peony",
    "tulips": "tulip",
}

# Crops of the trade for which no storage figures were seen (value from memory that there are none):
# never the nearest of another name.
WITHOUT_FIGURES = frozenset(
    ("sweet william", "allium", "calendula", "cosmos", "scabiosa", "yarrow", "nigella", "celosia")
)
_NEAR = 0.6  # likeness of two words, from 0 to 1, from which one is taken for the other's slip (chosen)


def meant(word: str) -> str:
    """The name that a word of the sheet stands for, known or not.

    >>> meant(" Daffodil ")
    'narcissus'
    """
    name = " ".join(word.lower().split())
    return SYNONYMS.get(name, name)


def nearest(word: str, crops: Collection[str]) -> tuple[str, ...]:
    """Up to three names of some crops that look most like an unknown word."""
    names = {**dict.fromkeys(crops), **SYNONYMS}
    hits = difflib.get_close_matches(word.lower().strip(), list(names), n=3, cutoff=_NEAR)
    return tuple(dict.fromkeys(SYNONYMS.get(hit, hit) for hit in hits))


def remedy(word: str, crops: Collection[str]) -> str:
    """What to do about a word that is none of some crops: the nearest, and how to add one."""
    name = " ".join(word.lower().split())[:30]
    adding = f'like = "…", a crop that keeps as it does, under [crops."{name}"] in tagmaker.toml'
    if name in WITHOUT_FIGURES:
        return f"No figures of {name} are known. Write {adding}."
    near = nearest(word, crops)
    if not near:
        return f"Nearest known crop: none. To add one, write {adding}, or figures of its own."
    *others, last = near
    listed = f"{', '.join(others)} or {last}" if others else last
    return f"The nearest is {listed}. To add a crop, write {adding}, or figures of its own."
