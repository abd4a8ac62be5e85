"""Reader of `tests/data`: rows from outside, with their source in the first lines."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def source(name: str) -> str:
    """The comment lines at the head of a data file."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return " ".join(line.removeprefix("#").strip() for line in lines if line.startswith("#"))


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a data file, as text by column."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
