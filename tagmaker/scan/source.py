"""What the pages are made from: everything computed for a season, handed in as plain data."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from tagmaker.errors import Problem
from tagmaker.lot import Plan, StorageCode, StorageDates
from tagmaker.notes import Note
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.room import RoomDay
from tagmaker.telling.naming import cooler_page_names, lot_page_name
from tagmaker.telling.teller import Teller

NEAREST = 5  # codes that are offered for one that is unknown (chosen)
LIKENESS = 0.4  # least share of letters that such a code has in common with it (chosen)


LONGEST_NAME = 60  # characters of a name that is asked for; no more are looked at (chosen)


def plain(name: str) -> str:
    """A name as it is looked up: without blanks around it, and in capital letters."""
    return name[:LONGEST_NAME].strip().upper()


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTag:
    """What the last printed tags of a lot say."""

    paper: str  # "wraps" or "crates"
    moment: datetime  # of printing
    order: datetime | None  # departure of the part order they are for; None: the lot's own
    code: StorageCode
    sell_by: datetime | None  # as printed; None: no date
    into_water_by: datetime | None  # as printed; None: it stands in water, or no date
    differs: bool  # a tag printed now would say something else
    untrue: bool  # it promises too much, or another way of keeping: print it again


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of the journal, as its lot's page tells it."""

    number: int
    moment: datetime  # at which it happened
    recorded: datetime
    words: str
    device: str
    is_undone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LotJournal:
    """What the journal holds of a lot, as its page tells it."""

    last: int = 0  # number of the last entry
    told: Sequence[Told] = ()  # the last first
    to_settle: Sequence[str] = ()
    asked: str = ""  # "left": did they leave; "back": how many came back
    asked_stems: int = 0


@dataclass(frozen=True, kw_only=True)
class PageSource(Teller):
    """Everything that the pages show, as of one moment."""

    dated: Sequence[StorageDates]  # every lot that has been cut
    warnings: Mapping[str, Sequence[Note]]  # by lot code
    plans: Sequence[Plan]  # every row whose cut is to come
    rooms: Sequence[RoomDay]
    coolers: Sequence[CoolerSummary]  # in the order of the settings
    printed: Mapping[str, Sequence[PrintedTag]]  # by lot code, of lots that left the sheet too
    problems: Sequence[Problem] = field(default=())  # faults of the sheet's rows
    sheet: str = ""  # its whole path
    journal: Mapping[str, LotJournal] = field(default_factory=dict)  # by lot code, of lots with entries
    remarks: Sequence[Problem] = ()  # worth saying, stopping nothing
    log_files: Mapping[str, Sequence[str]] = field(default_factory=dict)  # by cooler, that were read
    # lot code -> stems that go to rows of the sheet Orders, though the lot does not keep them yet
    promised: Mapping[str, int] = field(default_factory=dict)
    kept: frozenset[tuple[str, datetime, str]] = frozenset()  # lot code, departure, use: by the journal

    @cached_property
    def dates_of(self) -> Mapping[str, StorageDates]:
        """The dates of each lot that has been cut, by lot code."""
        return {dated.lot.lot_code: dated for dated in self.dated}

    @cached_property
    def plan_of(self) -> Mapping[str, Plan]:
        """The plan of each lot that is still to be cut, by lot code."""
        return {plan.lot.lot_code: plan for plan in self.plans}

    @cached_property
    def problems_of(self) -> Mapping[str, Sequence[Problem]]:
        """The faults of each lot's row, by lot code."""
        found: dict[str, list[Problem]] = {}
        for problem in self.problems:
            if problem.lot:
                found.setdefault(problem.lot, []).append(problem)
        return found

    @cached_property
    def lot_codes(self) -> Sequence[str]:
        """Every code that has a page: cut lots, planned ones, faulty rows, lots that left the sheet."""
        known = (*self.dates_of, *self.plan_of, *self.problems_of, *self.printed)
        return tuple(dict.fromkeys(known))

    @cached_property
    def lot_names(self) -> Mapping[str, str]:
        """Name of each lot's page, by lot code."""
        return {code: lot_page_name(code) for code in self.lot_codes}

    @cached_property
    def cooler_names(self) -> Mapping[str, str]:
        """Name of each cooler's page, by the cooler's name."""
        return cooler_page_names(self.farm.coolers)

    @cached_property
    def summary_of(self) -> Mapping[str, CoolerSummary]:
        """Each cooler's story, by the name of its page."""
        return {self.cooler_names[summary.cooler.name]: summary for summary in self.coolers}

    @cached_property
    def gone(self) -> Sequence[str]:
        """Lots that have left the sheet, but of which tags were printed."""
        here = {*self.dates_of, *self.plan_of, *self.problems_of}
        return tuple(sorted(code for code in self.printed if code not in here))

    @cached_property
    def pages(self) -> Mapping[str, tuple[str, bool]]:
        """What each name leads to, in capital letters: a lot code, or a cooler's page (True)."""
        coolers = {
            plain(known): (page, True) for name, page in self.cooler_names.items() for known in (name, page)
        }
        lots = {
            plain(known): (code, False) for code, page in self.lot_names.items() for known in (page, code)
        }
        return {**coolers, **lots}

    def nearest(self, asked: str) -> tuple[str, ...]:
        """The lot codes that look most like one that is unknown; those that begin like it come first."""
        name = plain(asked)
        alike = difflib.SequenceMatcher(b=name)  # what it works out about the second text serves for all
        found = []
        for code in self.lot_codes:
            alike.set_seq1(code)
            if alike.real_quick_ratio() >= LIKENESS and alike.ratio() >= LIKENESS:
                found.append((not code.startswith(name), -alike.ratio(), code))
        return tuple(code for *_, code in sorted(found)[:NEAREST])
