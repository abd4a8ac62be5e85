"""`tagmaker help`: the reference as plain text, a topic a page."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.manual import plain, topics


def manual(*words: str) -> Result:
    """What the command prints."""
    return CliRunner().invoke(main, ["help", *words])


def test_without_a_topic_all_are_listed() -> None:
    """Each in a line, with the heading of its page."""
    result = manual()
    assert result.exit_code == 0
    for name, path in topics().items():
        heading = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
        assert re.search(rf"^{name} +{re.escape(heading)}$", result.stdout, re.MULTILINE)


@pytest.mark.parametrize("name", topics())
@pytest.mark.parametrize("width", [60, 100])
def test_a_page_is_printed_whole_in_plain_text(name: str, width: int) -> None:
    """Every word of the page, in lines no longer than asked for; commands as they are typed, and no marks."""
    page = topics()[name].read_text(encoding="utf-8")
    text = plain(page, width)
    words = re.sub(r"^```\w*$|\]\([^)]*\)", "", page, flags=re.MULTILINE)
    assert Counter(re.findall(r"\w+", text)) == Counter(re.findall(r"\w+", words))
    commands = [
        line.strip()
        for block in re.findall(r"^```\w*\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)
        for line in block.splitlines()
    ]
    lines = text.splitlines()
    assert [line for line in commands if f"    {line}" not in lines] == []
    assert [line for line in lines if len(line) > width and line.strip() not in commands] == []
    assert re.findall(r"\*\*|^#|^\||```|\]\(", text, re.MULTILINE) == []


@pytest.mark.parametrize(
    ("typed", "topic"), [("pack", "packing"), ("Thermo", "thermometer"), ("dates", "dates")]
)
def test_a_topic_may_be_typed_in_part(typed: str, topic: str) -> None:
    """As long as no other begins so; the command `pack` has the page on packing."""
    heading = topics()[topic].read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
    assert manual(typed).stdout.startswith(f"{heading}\n")


def test_a_page_is_fitted_to_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines of a narrow window are not broken by it; a wide one has no endless lines."""
    for columns, longest in (("50", 50), ("300", 100)):
        monkeypatch.setenv("COLUMNS", columns)
        assert longest - 10 < max(map(len, manual("limits").stdout.splitlines())) <= longest


def test_a_table_keeps_its_cells_in_columns() -> None:
    """Wide cells go on below themselves, and a cell without words stays empty."""
    page = "| a | b | |\n|---|---|---|\n| one | two words and more of them | |\n| **x** | `y|z` |  end |\n"
    assert plain(page.replace("y|z", "y"), 28).splitlines() == [
        "a    b",
        "-" * 28,
        "one  two words and more",
        "     of them",
        "x    `y`                 end",
    ]


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("setings", "Nearest: settings."),
        ("rutabaga", "Nearest: none."),
        ("wraps", "For the command: tagmaker wraps --help."),
    ],
)
def test_an_unknown_topic_ends_with_the_nearest(word: str, told: str) -> None:
    """A wrong use of the command: nothing on stdout, exit code 2."""
    result = manual(word)
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in result.stderr


def test_every_topic_that_a_text_names_is_there(repository: Path) -> None:
    """`tagmaker help TOPIC` in a page, a message or a template leads to a page."""
    texts = [
        repository / "README.md",
        *(repository / "templates").rglob("*.*"),
        *(repository / "tagmaker").rglob("*.py"),
    ]
    named = {
        word
        for path in texts
        for word in re.findall(r"tagmaker help\s+([a-z][\w-]*)", path.read_text(encoding="utf-8"))
    }
    assert named >= {"papers", "phone"}
    assert named <= set(topics())
