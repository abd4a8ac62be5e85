"""The reference in the terminal: the pages of `templates/help` as plain text, one topic a page.

The pages are written so that they read well as they are, too: headings, paragraphs, lists, tables and blocks
of commands, and no other mark.
"""

from __future__ import annotations

import difflib
import re
import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

from tagmaker.errors import UsageProblem
from tagmaker.telling.wording import packaged_templates

GAP = 2  # letters between two columns of a table


def topics() -> dict[str, Path]:
    """The page of each topic, by its name."""
    return {path.stem: path for path in sorted((packaged_templates() / "help").glob("*.md"))}


def topic_list() -> str:
    """Every topic in a line, with the heading of its page."""
    pages = topics()
    width = max(map(len, pages)) + GAP
    lines = [
        f"{name:{width}}{_text(path).partition(chr(10))[0].removeprefix('# ')}"
        for name, path in pages.items()
    ]
    return "\n".join(
        [*lines, "", "Read one: tagmaker help TOPIC. Options of a command: tagmaker COMMAND --help."]
    )


def topic_text(name: str, commands: Sequence[str], width: int) -> str:
    """The page of a topic, or of the only one that begins so, set in lines of so many letters.

    Raises:
        UsageProblem: there is no such topic; the message names the nearest, or the command of that name.
    """
    pages = topics()
    asked = name.strip().lower()
    begun = [topic for topic in pages if topic.startswith(asked) and asked]  # "pack" is packing
    page = pages.get(asked) or (pages[begun[0]] if len(begun) == 1 else None)
    if page is not None:
        return plain(_text(page), width)
    what = f"TOPIC must be one that `tagmaker help` lists (got {name[:40]!r})"
    if name in commands:
        raise UsageProblem(f"{what}. For the command: tagmaker {name} --help.")
    (nearest, *_) = [*difflib.get_close_matches(name.lower(), pages, n=1, cutoff=0.5), ""]
    raise UsageProblem(f"{what}. Nearest: {nearest or 'none'}.")


def _text(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def plain(page: str, width: int) -> str:
    """A page without its marks, in lines of so many letters; commands and code keep theirs."""
    return "\n\n".join("\n".join(_block(block, width)) for block in _blocks(page)) + "\n"


def _blocks(page: str) -> Iterator[str]:
    """What stands between blank lines; a block of commands is one, whatever is in it."""
    for number, part in enumerate(re.split(r"^```\w*\n(.*?)^```$", page, flags=re.MULTILINE | re.DOTALL)):
        if number % 2:
            yield f"```\n{part}"
        else:
            yield from (block for block in re.split(r"\n\s*\n", part.strip()) if block)


def _block(block: str, width: int) -> list[str]:
    lines = block.splitlines()
    if lines[0] == "```":
        return [f"    {line}" for line in lines[1:]]
    if lines[0].startswith("#"):
        heading = _unmarked(lines[0].lstrip("# "))
        return [heading, ("=" if lines[0].startswith("# ") else "-") * len(heading)]
    if lines[0].startswith("|"):
        return _table([_cells(line) for line in lines if not re.fullmatch(r"[|\-: ]+", line)], width)
    if re.match(r"- |\d+\. ", lines[0]):
        items = re.split(r"\n(?=- |\d+\. )", block)
        return [line for item in items for line in _wrapped(item, width, hanging=item.index(" ") + 1)]
    return _wrapped(block, width)


def _unmarked(text: str) -> str:
    """Without stars and the addresses of links; what is code stays as it is."""
    parts = re.split(r"(`[^`]*`)", text)
    words = (re.sub(r"\*+(\S.*?)\*+", r"\1", part) for part in parts[::2])
    linked = [re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", part) for part in words]
    return "".join(part for pair in zip(linked, [*parts[1::2], ""], strict=True) for part in pair)


def _wrapped(text: str, width: int, hanging: int = 0) -> list[str]:
    words = " ".join(_unmarked(text).split())
    return textwrap.wrap(
        words, width, subsequent_indent=" " * hanging, break_long_words=False, break_on_hyphens=False
    )


def _cells(line: str) -> list[str]:
    return [_unmarked(cell.strip()) for cell in re.split(r"(?<!\\)\|", line.strip())[1:-1]]


def _table(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """Columns side by side, the widest ones narrowed to their longest word; a line between head and rows."""
    columns = [" ".join(column) for column in zip(*rows, strict=True)]
    longest = [max(map(len, ["", *column.split()])) for column in columns]
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    while sum(widths) + GAP * (len(widths) - 1) > width and widths != longest:
        spare = [size - least for size, least in zip(widths, longest, strict=True)]
        widest = max(range(len(widths)), key=lambda column: (spare[column] > 0, widths[column]))
        widths[widest] -= 1
    lines = [line for row in rows for line in _row(row, widths)]
    head = len(_row(rows[0], widths))
    return [*lines[:head], "-" * min(width, sum(widths) + GAP * (len(widths) - 1)), *lines[head:]]


def _row(cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    columns = [
        textwrap.wrap(cell, size, break_on_hyphens=False) or [""]
        for cell, size in zip(cells, widths, strict=True)
    ]
    height = max(map(len, columns))
    lines = zip(*([*column, *[""] * (height - len(column))] for column in columns), strict=True)
    return [
        (" " * GAP).join(f"{cell:{size}}" for cell, size in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]
