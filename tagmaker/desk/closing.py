"""The season before: what a new one takes over from it, what is still open in it, and that it is closed.

Nothing of it is changed. Its sheet, its journal and its record stay where they are, to be read and served; a
note is laid beside them, and the new season's codes go on behind its own, so that a code on an old tag never
leads to a new lot.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tagmaker.desk.season import Clock, Season, read_season
from tagmaker.errors import InputProblems, OutputProblem, Problem
from tagmaker.intake.cells.plain_text import listed
from tagmaker.intake.files.sheet_file import open_sheet
from tagmaker.intake.lots.codes import code_of
from tagmaker.intake.settings.keys import FILE_NAME
from tagmaker.intake.settings.sheets import USUAL, SheetSettings, sheet_settings
from tagmaker.intake.starter.beginning import Beginning

NAMED = 5  # codes that are named where there are more (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """A season that another one follows."""

    sheet: Path
    beginning: Beginning  # the settings of its sheets, and the code after its last one
    files: Mapping[str, bytes]  # its settings file, and fonts that lie in its folder
    still_open: tuple[str, ...]  # a line each


def season_before(sheet: Path, clock: Clock) -> Before:
    """What the season after a sheet's takes over; raises InputProblems where that cannot be read."""
    season = read_season(sheet, clock)
    problems: list[Problem] = []
    with open_sheet(sheet) as file:
        settings = sheet_settings(file.book, problems) if file.book else SheetSettings()
    if problems:
        raise InputProblems(problems)
    usual = {
        f"{USUAL} {column}": value for source in settings.usual for column, value in source.content.items()
    }
    return Before(
        sheet=sheet,
        beginning=Beginning(
            farm={
                **{key: value for source in settings.farm for key, value in source.content.items()},
                **usual,
            },
            uses={row.name: row.source.content for row in settings.uses},
            coolers={row.name: row.source.content for row in settings.coolers},
            first_code=last_number(season) + 1,
        ),
        files=_files(season),
        still_open=tuple(still_open(season)),
    )


def last_number(season: Season) -> int:
    """The highest number with which a code begins that the sheet or the journal has used."""
    assert season.journal is not None
    opened, book = season.journal.opened, season.journal.book
    codes = {code_of(row) for row in opened.rows if row.cells.keys() != {"lot"}} | book.codes
    return max((int(found[0]) for code in codes if (found := re.match(r"\d+", code))), default=0)


def _files(season: Season) -> dict[str, bytes]:
    """The settings file, and fonts that it names by their place beside it."""
    folder = season.sheet.parent
    paths = [folder / FILE_NAME, *(path for font in season.farm.fonts for path in (font.regular, font.bold))]
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in paths
        if path.is_relative_to(folder) and path.is_file()
    }


def still_open(season: Season) -> Iterator[str]:
    """What somebody should know before a season is closed."""
    left = [dates.lot.lot_code for dates in season.dated if dates.left]
    if left:
        yield f"stems are left of {_named(left)}"
    if season.problems:
        yield f"rows must be corrected: {len(season.problems)}"
    if season.journal is not None:
        laid = season.journal.laid
        asked = sorted({question.lot for question in laid.questions if not question.counted})
        settle = sorted({item.lot for item in laid.unsettled})
        uncounted = sorted({*laid.changes, *(row["lot"] for row in laid.added)})
        if asked:
            yield f"the journal waits for an answer about {_named(asked)}"
        if settle:
            yield f"TO SETTLE: {_named(settle)}"
        if uncounted:
            yield f"the sheet does not count all entries of {_named(uncounted)}: tagmaker catch-up types them"


def _named(codes: list[str]) -> str:
    more = len(codes) - NAMED
    names = [*codes[:NAMED], f"{more} more"] if more > 0 else codes
    return f"{'lot' if len(codes) == 1 else 'lots'} {listed(names, 'and')}"


def note_of(sheet: Path) -> Path:
    """The note beside the sheet of a season that was closed."""
    return sheet.with_name(f"{sheet.stem}-closed.txt")


def close(before: Before, after: Path, today: date) -> tuple[Path, ...]:
    """Lay the note beside a season, unless it has one.

    Raises:
        OutputProblem: it cannot be written.
    """
    note = note_of(before.sheet)
    lines = [
        f"This season was closed on {today:%Y-%m-%d}. The next one: {after.resolve()}",
        *before.still_open,
    ]
    try:
        with note.open("x", encoding="utf-8") as file:
            file.write("\n".join(lines) + "\n")
    except FileExistsError:
        return ()
    except OSError as error:
        what = f"{note} must be a file that can be written (got: {error.strerror})"
        raise OutputProblem(f"{what}. The new season is begun all the same.") from None
    return (note,)


def closed_line(sheet: Path) -> str:
    """What is said of a season that was closed; empty of any other."""
    try:
        return note_of(sheet).read_text(encoding="utf-8").partition("\n")[0]
    except (OSError, UnicodeDecodeError):
        return ""
