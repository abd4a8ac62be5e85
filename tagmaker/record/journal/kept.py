"""What is kept of a lot for a departure once some of it stands in water as a lot of its own.

Those bunches take their promise along: what the entry wrote into the cell needed says so many stems less. Of
several kept for one departure the last gives way first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from tagmaker.record.journal.entries import Entry, Kind


@dataclass(slots=True)
class Keeping:
    """What entries keep of a lot, followed one after the other."""

    _live: dict[int, tuple[Entry, int]] = field(default_factory=dict)  # number -> entry, stems in its lot
    went: dict[tuple[datetime | None, str], int] = field(
        default_factory=dict
    )  # departure -> stems gone along

    def follow(self, entry: Entry) -> list[tuple[str, str]]:
        """Take the next entry in force; says which writings in the cell change, and to what."""
        if entry.kind is Kind.KEPT:
            order = entry.text("order")
            for number, (old, _) in list(self._live.items()):
                if order and old.text("order") == order:
                    del self._live[number]
            self._live[entry.number] = (entry, entry.stems or 0)
            return []
        return list(self._gone_along(entry)) if goes_along(entry) else []

    def _gone_along(self, entry: Entry) -> Iterable[tuple[str, str]]:
        rest = entry.stems or 0
        for number, (kept, stems) in reversed(list(self._live.items())):
            same = (kept.moment("leaves"), kept.text("use")) == (entry.moment("leaves"), entry.text("use"))
            taken = min(rest, stems) if same else 0
            if taken:
                rest -= taken
                departure = (entry.moment("leaves"), entry.text("use"))
                self.went[departure] = self.went.get(departure, 0) + taken
                self._live[number] = (kept, stems - taken)
                yield writing_of(kept, stems), writing_of(kept, stems - taken)

    @property
    def stems(self) -> dict[int, int]:
        """Number of each KEPT entry that was not replaced -> stems that it keeps in its lot."""
        return {number: stems for number, (_, stems) in self._live.items()}


def followed(entries: Iterable[Entry]) -> Keeping:
    """What entries of a lot keep, those in force, in the order in which they happened."""
    keeping = Keeping()
    for entry in entries:
        keeping.follow(entry)
    return keeping


def kept_stems(entries: Iterable[Entry]) -> dict[int, int]:
    """Number of each KEPT entry that was not replaced -> stems that it keeps in its lot, as in `followed`."""
    return followed(entries).stems


def goes_along(entry: Entry) -> bool:
    """Whether bunches become a lot of their own for a departure."""
    return entry.kind is Kind.INTO_WATER and bool(entry.child and entry.text("leaves"))


def writing_of(kept: Entry, stems: int) -> str:
    """What a KEPT entry adds to the cell needed; "": nothing any more."""
    return f"{kept.text('leaves')} {kept.text('use')} x {stems}" if stems else ""
