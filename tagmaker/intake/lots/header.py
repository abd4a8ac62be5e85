"""The header of a sheet: which row it is, and which column of the sheet holds what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.columns import LOTS
from tagmaker.intake.lots.column import ColumnTable

# Words of a header that name a unit or a form of writing, and no column.
_FORM = (
    "f c deg degf degc degree degrees fahrenheit celsius date dates day days time times hour hours h hrs min "
    "when moment datetime stems stem bunches bunch count x and or at with yyyy yy mm dd hh d m y iso text on "
    "off yes no n"
)
_FORM_WORDS = frozenset(_FORM.split())
_BRACKETS = re.compile(r"\(([^()]*)\)|\[([^\[\]]*)\]")
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Header:
    """Which column of the sheet holds what."""

    row: int  # index of the header row
    titles: tuple[str, ...]  # header cells as written
    places: Mapping[str, int]  # column -> index of its header cell
    doubled: Mapping[str, tuple[int, ...]]  # column -> its header cells, where there are several


def match_header(
    row: int, titles: Sequence[str], own_names: Mapping[str, str], table: ColumnTable = LOTS
) -> Header:
    """The columns that one row names.

    A header of the grower's own (`own_names`: column -> header) wins over the column's own name,
    and that over its synonyms; two of the same rank are `doubled`.
    """
    own = {squash(header): column for column, header in own_names.items()}
    ranked: dict[str, list[list[int]]] = {}
    for index, title in enumerate(titles):
        word = squash(title)
        column = own.get(word) or column_meant(title, table)
        if not word or column is None:
            continue
        rank = 0 if word in own else 1 if word == squash(column) else 2
        ranked.setdefault(column, [[], [], []])[rank].append(index)
    best = {column: next(hits for hits in ranks if hits) for column, ranks in ranked.items()}
    places = {column: hits[0] for column, hits in best.items()}
    doubled = {column: tuple(hits) for column, hits in best.items() if len(hits) > 1}
    return Header(row, tuple(titles), places, doubled)


def column_meant(title: str, table: ColumnTable = LOTS) -> str | None:
    """The column that a header names: as a whole, or without the unit or form of writing beside it.

    What stands in brackets, or behind a slash, says something else where it is the name of another
    column, or a plan.

    >>> column_meant("Needed (date x stems)"), column_meant("Cut (planned)"), column_meant("Lot (crop)")
    ('needed', None, None)
    """
    whole = table.named(title)
    if whole is not None:
        return whole
    base, _, behind = title.partition("/") if "(" not in title.partition("/")[0] else (title, "", "")
    beside = [first or second for first, second in _BRACKETS.findall(base)] + [behind] * bool(behind)
    base = _BRACKETS.sub(" ", base)
    column = table.named(base)
    fit = all(_is_form(part) and table.named(part) in (None, column) for part in beside)
    return column if beside and fit else None


def _is_form(text: str) -> bool:
    words = _WORD.findall(text.casefold())
    return bool(words) and all(word in _FORM_WORDS for word in words)


def find_header(
    rows: Iterable[Sequence[str]], own_names: Mapping[str, str], table: ColumnTable = LOTS
) -> Header | None:
    """The row among the first ones that names the most columns; None where no row names two.

    Titles above the header name none, or one by chance ("Lots").
    """
    headers = (match_header(index, titles, own_names, table) for index, titles in enumerate(rows))
    best = max(headers, key=lambda header: (len(header.places), -header.row), default=None)
    return best if best is not None and len(best.places) >= 2 else None
