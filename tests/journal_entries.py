"""Entries of a journal as the tests write them: short, at hours of one morning."""

from datetime import datetime, timedelta
from pathlib import Path

from tagmaker.record.journal.entries import Entry, Kind, utc_of
from tagmaker.record.journal.file import append

HERE = "shed 1f2e"
MORNING = datetime(2027, 4, 21, 8)
ZONE = "America/New_York"


def an_entry(kind: Kind, lot: str = "104", *, at: datetime | float = 1.0, **fields: object) -> Entry:
    """An entry that happened and was recorded at a moment, or so many hours after eight; `id` is free."""
    moment = at if isinstance(at, datetime) else MORNING + timedelta(hours=at)
    recorded = fields.pop("recorded", moment)
    assert isinstance(recorded, datetime)
    given: dict[str, object] = {
        "id": f"{kind}-{lot}-{moment.isoformat()}-{sorted(fields.items())}",
        "happened": moment,
        "happened_utc": utc_of(moment, ZONE),
        "recorded": recorded,
        "recorded_utc": utc_of(recorded, ZONE),
        "lot": lot,
        "kind": kind,
        **fields,
    }
    return Entry(**given)  # type: ignore[arg-type]


def kept(path: Path, *entries: Entry) -> list[Entry]:
    """The entries, written down one after the other by the computer that keeps the journal."""
    return [append(path, entry, HERE, name="K7")[0] for entry in entries]
