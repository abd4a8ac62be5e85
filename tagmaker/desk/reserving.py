"""What a printing takes of the record before it is drawn, and what becomes of that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import TracebackType

from tagmaker.desk.drawing import lines_for
from tagmaker.desk.jobs import ON_LABELS, Job, Tell, Wanted, job_for, labels_due
from tagmaker.desk.season import Season
from tagmaker.errors import UsageProblem
from tagmaker.paper.stock.label_stock import label_stock
from tagmaker.record.labels import Start, Stretch, stretch
from tagmaker.record.printings import PrintRecord, open_record
from tagmaker.record.rows import Batch, Known
from tagmaker.record.tags import by_lot, stale

RECORDED = ("wraps", "buyers", "crates")  # kinds that the record knows: buyers' for their labels alone


class Reservation:
    """The jobs of a printing, and its places in the record: what was not kept in the end was never there."""

    def __init__(
        self,
        jobs: Mapping[str, Job],
        taken: Stretch | None,
        record: PrintRecord,
        places: Mapping[str, int],
        tell: Tell,
    ) -> None:
        """Take what was decided.

        Args:
            jobs: what each kind of paper shows
            taken: the labels that are taken for it
            record: where that stands
            places: the number of the printing of each kind that is recorded
            tell: says a line to whoever runs the command
        """
        self.jobs = jobs
        self.taken = taken
        self.record = record
        self._tell = tell
        self._numbers = dict(places)

    def drawn(self, kind: str, pdf: bytes, path: Path | None = None) -> None:
        """Note what a paper looks like, before it is handed over."""
        if kind in self._numbers:
            self._say(self.record.drawn(self._numbers[kind], pdf, path))

    def keep(self, kind: str) -> None:
        """A paper was handed over."""
        if kind in self._numbers:
            self._say(self.record.keep(self._numbers.pop(kind)))

    def drop(self) -> None:
        """What was not handed over does not count."""
        while self._numbers:
            self._say(self.record.drop(self._numbers.popitem()[1]))

    def _say(self, message: str | None) -> None:
        if message:
            self._tell(message)

    def __enter__(self) -> Reservation:
        return self

    def __exit__(
        self, _: type[BaseException] | None, __: BaseException | None, ___: TracebackType | None
    ) -> None:
        self.drop()


def reserve(season: Season, sound: Job, wanted: Wanted, tell: Tell) -> Reservation:
    """Decide what is printed where, take it in the record in one transaction, and say what is to be said.

    Raises:
        UsageProblem: a lot has fewer bunches than labels are wanted, more are wanted than the limit
            allows, or a sheet has no such label.
        LabelUsed: the label to begin with is used.
        Repeated: the form was printed before.
    """
    record, message = open_record(season.sheet, season.now, create=False)
    if message and wanted.remember:
        tell(message)
    decided: list[tuple[dict[str, Job], Stretch | None]] = []
    said: list[str] = []

    def plan(known: Known) -> Sequence[Batch]:
        said.clear()
        jobs = {kind: job_for(kind, sound, known, wanted, said.append) for kind in wanted.kinds}
        taken = _labels_of(jobs, season, wanted, known, said.append)
        decided.append((jobs, taken))
        return [_batch(kind, jobs[kind], taken, season, wanted) for kind in _recorded(jobs)]

    numbers: list[int] = []
    try:
        # Where there is no file yet, none is begun for what is refused or comes to nothing.
        if wanted.remember and (record.is_begun or plan(record.known)):
            numbers, cut_off = record.reserve(plan)
            for line in cut_off:
                tell(line)
        elif not decided:
            plan(record.known)
    finally:
        for line in said:
            tell(line)
    jobs, taken = decided[-1]
    places = dict(zip(_recorded(jobs), numbers, strict=True)) if numbers else {}
    return Reservation(jobs, taken, record, places, tell)


def _recorded(jobs: Mapping[str, Job]) -> list[str]:
    return [kind for kind, job in jobs.items() if kind in RECORDED and job.lots]


def _labels_of(
    jobs: Mapping[str, Job], season: Season, wanted: Wanted, known: Known, tell: Tell
) -> Stretch | None:
    """The labels that a printing takes; None where it takes none."""
    due = {kind: labels_due(job, None if kind == "buyers" else wanted.count) for kind, job in jobs.items()}
    labels = sum(sum(due[kind].values()) for kind in due if kind in ON_LABELS)
    if wanted.limit is not None and labels > wanted.limit:
        raise UsageProblem(f"there must be at most {wanted.limit} labels at a time (got {labels})")
    if not ON_LABELS & set(jobs):
        return None
    stock = label_stock(season.farm)
    start = Start(
        stock=stock.name,
        per_page=stock.per_page,
        first=wanted.first,
        offered=wanted.offered,
        another=wanted.another_sheet,
    )
    sheet = known.sheet(stock.name)
    taken = stretch(start, sheet, max(labels, 1))
    if not labels:
        return None
    if sheet.next_label > 1 and wanted.first == 1 and wanted.offered is None:
        tell(
            f"{stock.name}: label {sheet.next_label} was next on the sheet printed last; this begins at "
            "label 1 of a new sheet. --first next goes on where that one ended."
        )
    return taken


def _batch(kind: str, job: Job, taken: Stretch | None, season: Season, wanted: Wanted) -> Batch:
    return Batch(
        lines=tuple(lines_for(kind, job, season, wanted.count)),
        stretch=taken if kind in ON_LABELS else None,
        form=wanted.form,
        device=wanted.device,
        queue=wanted.send_to,
    )


def first_of(wanted: Wanted, taken: Stretch | None) -> Wanted:
    """What is wanted, with the label of the sheet that it begins with."""
    return wanted if taken is None else replace(wanted, first=taken.first)


def old_cards(record: PrintRecord, job: Job) -> list[str]:
    """Of the lots whose wrap labels are printed, those whose crate cards say something else."""
    cards = by_lot(record.known.lines("crates"))
    lots = [dates for dates in job.lots if stale(cards.get(dates.lot.lot_code, ()), dates) is not None]
    return [dates.lot.lot_code for dates in lots]
