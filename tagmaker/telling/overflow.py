"""Coolers that are over-full, as they are told."""

from __future__ import annotations

from tagmaker import notes
from tagmaker.storage.room import Overfull


def overflow_note(run: Overfull) -> notes.Overflow:
    """A run of days on which a cooler is over-full, to be said."""
    return notes.Overflow(
        cooler=run.cooler,
        first=run.first,
        last=run.last,
        crates=run.crates,
        buckets=run.buckets,
        throw_out=run.throw_out,
        sell=run.sell,
        move=run.move,
        plans=run.plans,
    )
