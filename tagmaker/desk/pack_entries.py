"""What is chosen for a departure and what came of it, as entries of the journal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from tagmaker.desk.entering import Answer, Tap, take
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.entry_words import Said
from tagmaker.desk.keeping import BY, KeptEntry, sale_name
from tagmaker.desk.packing import Packing
from tagmaker.desk.season_journal import SheetJournal, read_with_journal
from tagmaker.errors import OutputProblem
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.rows import said

Taking = Callable[[Tap, Yard, Said], Answer]  # writes one entry down


@dataclass(frozen=True, slots=True)
class Keep:
    """Stems of a lot that are to be kept for a name from now on; 0: none any more."""

    lot: str
    name: str
    leaves: str
    use: str
    stems: int


def keeps(found: Packing) -> Iterator[Keep]:
    """What has to be written down so that the journal keeps what was chosen, lot by lot.

    What is kept as it was chosen is not written again; what was kept before and is not chosen any more is
    taken back.
    """
    kept = {(one.lot, one.name): one for one in found.kept if one not in found.released}
    chosen: dict[tuple[str, str], Keep] = {}
    for packed in found.departures:
        for line in packed.lines:
            for piece in line.takes:
                name = piece.code or sale_name(packed.leaves, packed.use)
                if piece.is_kept:
                    continue
                key = (line.lot.lot_code, name)
                before = chosen[key].stems if key in chosen else kept[key].stems if key in kept else 0
                chosen[key] = Keep(*key, said(packed.leaves), packed.use, before + piece.stems)
    yield from _taken_back(found, chosen)
    old = {(one.lot, one.name): _as_keep(one) for one in found.released}
    yield from (keep for key, keep in sorted(chosen.items()) if old.get(key) != keep)


def _as_keep(one: KeptEntry, stems: int | None = None) -> Keep:
    return Keep(one.lot, one.name, said(one.leaves), one.use, one.stems if stems is None else stems)


def _taken_back(found: Packing, chosen: Mapping[tuple[str, str], Keep]) -> Iterator[Keep]:
    for one in sorted(found.released, key=lambda one: (one.lot, one.name)):
        if (one.lot, one.name) not in chosen:
            yield _as_keep(one, 0)


def keep(found: Packing, taking: Taking, yard: Yard, *, form: str = "", device: str = "") -> list[Keep]:
    """Write down what was chosen; what was written before a fault stays, and is not written twice.

    Args:
        found: what was chosen
        taking: writes an entry down
        yard: when
        form: id of the form on a page; the same form is written down once
        device: where it was tapped

    Raises:
        OutputProblem: something could not be written down.
    """
    done: list[Keep] = []
    for one in keeps(found):
        words = f"kept {one.stems} stems for {one.leaves} {one.use} order {one.name}"
        details: dict[str, object] = {"leaves": one.leaves, "use": one.use, "order": one.name, "by": BY}
        tap = Tap(
            code=one.lot, words=words, id=f"{form}-{one.lot}-{len(done)}" if form else "", device=device
        )
        taking(tap, yard, Said(Kind.KEPT, one.stems, details=details))
        done.append(one)
    return done


def keeping_in(found: Packing) -> Taking:
    """What writes entries down beside the sheet that was read for a command.

    A lot that goes to several departures has several entries: before a further one its journal is read again.
    """
    read = found.season.journal
    if read is None:
        raise OutputProblem("the journal is left alone: nothing can be kept")
    touched: set[str] = set()
    first: SheetJournal = read

    def taking(tap: Tap, yard: Yard, words: Said) -> Answer:
        now = first
        if tap.code in touched:
            now = read_with_journal(first.sheet, first.farm, first.crops, first.now, opened=first.opened)
        touched.add(tap.code)
        return take(now, yard, tap, words)[0]

    return taking


def at(yard: Yard, **changes: object) -> Yard:
    """The same yard at another moment."""
    return replace(yard, **changes)  # type: ignore[arg-type]  # names of its fields
