"""The header of a lot sheet: which row it is, and which column of the sheet holds what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.columns import column_named


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
        word = squash(title)
        column = own.get(word) or column_named(title)
        if not word or column is None:
            continue
        rank = 0 if word in own else 1 if word == squash(column) else 2
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
