"""What the live pages hold of a season, and the same after an entry: only its lot and kin are dated anew."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from tagmaker.desk import entering
from tagmaker.desk.entered import Entered
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.entry_words import Said
from tagmaker.desk.jobs import gets_labels
from tagmaker.desk.season import Clock, Season
from tagmaker.desk.season_journal import SheetJournal
from tagmaker.desk.touching import after_entry, after_entry_source, kin_of
from tagmaker.record import tags
from tagmaker.record.printings import open_record
from tagmaker.scan.source import PageSource


@dataclass(frozen=True, slots=True)
class State:
    """A season as the live pages hold it."""

    season: Season  # as it was read, or after taps
    source: PageSource  # what its pages show
    missing: Mapping[str, int]  # lot code -> wrap labels that were never printed

    @property
    def journal(self) -> SheetJournal:
        """Its journal, which it always has."""
        assert self.season.journal is not None
        return self.season.journal

    def yard(self, clock: Clock, wall: Clock) -> Yard:
        """Where an entry of a form is taken down, to the minute; `wall` tells when it is recorded."""
        season, zone = self.season, self.season.farm.timezone
        now = clock(zone).replace(second=0, microsecond=0)
        return Yard(
            sheet=season.sheet, farm=season.farm, crops=season.crops, now=now, clock=wall(zone), as_of=now
        )


def take_in(
    state: State, entered: Entered, yard: Yard, tap: entering.Tap, understood_as: Said | None = None
) -> tuple[entering.Answer, State]:
    """Take down what happened to a lot, and date it anew; raises as `entering.take`."""
    with entered.entering(state.journal.path):
        answer, part = entering.take(state.journal, yard, tap, understood_as)
    if not answer.new:
        return answer, state
    season = after_entry(state.season, part, answer.entry)
    known = open_record(season.sheet, season.now, create=False)[0].known
    kin = kin_of(part)
    others = {code: count for code, count in state.missing.items() if code not in kin}
    source = after_entry_source(state.source, season, kin, known)
    return answer, State(season, source, {**others, **missing_labels(season, kin)})


def missing_labels(season: Season, codes: Collection[str] | None = None) -> Mapping[str, int]:
    """Wrap labels that were never printed, by lot code, of lots that get some; of some alone where named."""
    record, _ = open_record(season.sheet, season.now, create=False)
    lines = tags.by_lot(record.known.lines("wraps"))
    counted = (
        (dates.lot.lot_code, tags.missing(lines.get(dates.lot.lot_code, ()), dates))
        for dates in season.dated
        if (codes is None or dates.lot.lot_code in codes) and gets_labels(dates)
    )
    return {code: count for code, count in counted if count}
