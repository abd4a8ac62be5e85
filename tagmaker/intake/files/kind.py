"""What a file is read as: its limits, what is said where it is none, and its bytes."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.grid import MOST_COLUMNS, MOST_ROWS


@dataclass(frozen=True, slots=True, kw_only=True)
class FileKind:
    """What a file is read as."""

    must: str  # what it must be
    again: str  # remedy where it cannot be read
    missing: str  # remedy where it is not there
    folder: str  # remedy where a folder stands there
    rights: str  # remedy where it may not be read
    smaller: str  # remedy where it is too large
    stray: str  # remedy where its cells lie too far apart
    most_bytes: int
    most_rows: int
    most: str  # the limit of its rows and columns in words
    most_columns: int = 16_384  # of any spreadsheet

    def refused(self, name: str, got: str, remedy: str = "") -> InputProblems:
        """The problem of a file that is something else."""
        return InputProblems([Problem(name, f"must be {self.must} (got {got})", remedy or self.again)])

    def too_large(self, where: str, got: str = "more") -> InputProblems:
        """The problem of a sheet beyond the limits."""
        return InputProblems([Problem(where, f"must be at most {self.most} (got {got})", self.smaller)])

    def check(self, path: Path, name: str) -> None:
        """Refuse what is no regular file, so that no pipe or device is waited for, or is too large.

        Raises:
            InputProblems: it is.
        """
        try:
            found = path.stat()
        except FileNotFoundError:
            what = "no such file"
            raise InputProblems([Problem(name, what, self.missing)]) from None
        except (OSError, ValueError) as error:
            raise self._unreadable(name, error) from None
        if stat.S_ISDIR(found.st_mode):
            raise self.refused(name, "a folder", self.folder)
        if not stat.S_ISREG(found.st_mode):
            raise self.refused(name, "a pipe or a device", "Name a file on the disk.")
        if found.st_size > self.most_bytes:
            what = f"must be at most {self.most_bytes / 1e6:.0f} MB (got {found.st_size / 1e6:,.0f} MB)"
            raise InputProblems([Problem(name, what, self.smaller)])

    def content(self, path: Path, name: str) -> bytes:
        """The bytes of a regular file; raises InputProblems where it has none to give."""
        self.check(path, name)
        try:
            with path.open("rb") as file:
                content = file.read(self.most_bytes + 1)
        except OSError as error:
            raise self._unreadable(name, error) from None
        if len(content) > self.most_bytes:
            raise self.too_large(name)
        return content

    def _unreadable(self, name: str, error: Exception) -> InputProblems:
        reason = getattr(error, "strerror", None) or error
        return InputProblems([Problem(name, f"must be a readable file (got: {reason})", self.rights)])


SHEET = FileKind(
    must="a csv, xlsx or ods file",
    again="Save it again, or take yesterday's copy.",
    missing="Check the name, or begin with: tagmaker start FOLDER.",
    folder="Name the file inside it.",
    rights="Close it elsewhere and check its rights.",
    smaller="Delete what is not needed, or start a sheet for each season.",
    stray="Delete the stray cell far from the others.",
    most_bytes=50_000_000,  # (chosen: 100,000 rows take about a tenth)
    most_rows=MOST_ROWS,
    most_columns=MOST_COLUMNS,
    most=f"{MOST_ROWS:,} rows and {MOST_COLUMNS} columns",
)
