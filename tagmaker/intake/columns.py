"""The columns of the lot sheet, the names that growers give them, and finding them in a header.

Names are compared without case, spaces and punctuation.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tagmaker.intake.cells.plain_text import squash

# Column -> other names for it in the trade (common practice, no source).
SYNONYMS: Mapping[str, str] = {
    "lot": (
        "lots, lot no, lot nr, lot number, lot code, lot id, lot name, number, no, nr, num, code, id, "
        "batch, batch no, batch number, batch code, batch id, crate no, tag no"
    ),
    "crop": "flower, flowers, species, kind, plant, crop name, flower name, genus",
    "variety": "cultivar, cv, var, name, variety name, cultivar name, varieties",
    "form": "type, class, division, group, flower form, shape, bloom form, flower type",
    "colour": "color, colours, colors, shade, hue, flower colour, flower color",
    "cut": (
        "date cut, cut date, cut on, cut at, cut time, date of cut, harvested, harvest, harvest date, "
        "date harvested, harvested on, harvest time, date of harvest, picked, pick date, picking date, "
        "date picked, picked on, pulled, date pulled, pulled on, day cut, when cut"
    ),
    "stage": "cut stage, bud stage, bud, stage at cut, stage cut, stage of opening, openness, ripeness",
    "stems": (
        "stem, stem count, stems cut, no of stems, number of stems, total stems, stems total, count, qty, "
        "quantity, total, how many"
    ),
    "per bunch": "stems per bunch, bunch size, bunch of, bunches of, stems a bunch, stems in bunch",
    "bulb": "bulbs, bulb on, bulb on off, with bulb, bulb attached, on bulb",
    "storage": (
        "keep, kept, kept in, stored, stored in, how kept, how stored, storage way, storage code, way, "
        "holding, held, hold, wet or dry, dry or wet, dry or water"
    ),
    "field": (
        "field temp, field temperature, field heat, temp, temperature, air temp, air temperature, temp at "
        "cut, outside temp, outdoor temp, stood at"
    ),
    "surface": "wetness, drops, moisture, surface wet, rained on, wet stems, feel",
    "cooler": (
        "coolers, fridge, refrigerator, walk-in, cold room, cold store, cool room, cooler name, cooler "
        "no, fridge no, which cooler, which fridge, first cooler"
    ),
    "place": "shelf, spot, position, bay, rack, location, place in cooler, where in cooler, corner",
    "in cooler": (
        "into cooler, cooler in, into the cooler, in the cooler, cooled, cooled at, cooled on, in fridge, "
        "into fridge, to cooler, in cooler at, in cooler on, cooler date, cooler time, time in cooler, in "
        "cooler since, date in cooler"
    ),
    "in water": (
        "into water, put in water, in water since, in water at, in water on, rehydrated, hydrated, "
        "watered, soaked, soaking since, date in water, to water"
    ),
    "moved": "moves, moved to, move, transferred, transfers, transfer, relocated",
    "use": (
        "for, outlet, market, uses, used for, use for, channel, purpose, meant for, sell at, sold at, "
        "sold through, sales channel, outlets"
    ),
    "needed": (
        "need, needed by, needed on, needed for, need by, date needed, needed date, order, orders, "
        "ordered for, due, due date, wanted, wanted for, required, required by, required for"
    ),
    "gone": "sold, stems sold, stems gone, sold stems, used, stems used, taken, sold or used",
    "dumped": (
        "dump, stems dumped, thrown, thrown away, thrown out, discarded, waste, wasted, binned, "
        "composted, culled, lost"
    ),
    "split from": "split, split of, split off, parent, parents, parent lot, from lot, from, taken from",
    "vase days seen": (
        "vase days, vase life, vase life seen, observed vase life, vase days observed, days in vase, seen "
        "vase days"
    ),
    "why dumped": "reason, dump reason, reason dumped, reason for dumping, why thrown, why waste",
    "note": "notes, comment, comments, remark, remarks, memo",
}

COLUMNS: tuple[str, ...] = tuple(SYNONYMS)
BY_WORD: Mapping[str, str] = {
    squash(word): column for column, words in SYNONYMS.items() for word in (column, *words.split(","))
}


def column_named(word: str) -> str | None:
    """The column that a header or a key of the settings means; None for an unknown one.

    >>> column_named("Date Cut")
    'cut'
    """
    return BY_WORD.get(squash(word.replace("#", "no")))


@dataclass(frozen=True, slots=True)
class Header:
    """Which column of the sheet holds what."""

    row: int  # index of the header row
    titles: tuple[str, ...]  # header cells as written
    places: Mapping[str, int]  # column -> index of its header cell
    doubled: Mapping[str, tuple[int, ...]]  # column -> its header cells, where there are several


def match_header(row: int, titles: Sequence[str], own_names: Mapping[str, str]) -> Header:
    """The columns that one row names.

    A header of the grower's own (`own_names`: column -> header) wins over the column's own name,
    and that over its synonyms; two of the same rank are `doubled`.
    """
    own = {squash(header): column for column, header in own_names.items()}
    ranked: dict[str, list[list[int]]] = {}
    for index, title in enumerate(titles):
        word = squash(title.replace("#", "no"))
        column = own.get(squash(title)) or BY_WORD.get(word)
        if not word or column is None:
            continue
        rank = 0 if squash(title) in own else 1 if word == squash(column) else 2
        ranked.setdefault(column, [[], [], []])[rank].append(index)
    best = {column: next(hits for hits in ranks if hits) for column, ranks in ranked.items()}
    places = {column: hits[0] for column, hits in best.items()}
    doubled = {column: tuple(hits) for column, hits in best.items() if len(hits) > 1}
    return Header(row, tuple(titles), places, doubled)


def find_header(rows: Iterable[Sequence[str]], own_names: Mapping[str, str]) -> Header | None:
    """The row among the first ones that names the most columns; None where no row names two.

    Titles above the header name none, or one by chance ("Lots").
    """
    headers = (match_header(index, titles, own_names) for index, titles in enumerate(rows))
    best = max(headers, key=lambda header: (len(header.places), -header.row), default=None)
    return best if best is not None and len(best.places) >= 2 else None
