"""What is new comes with its test: these fail where something was added that nothing tries."""

from __future__ import annotations

import ast
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest

from tagmaker.cli import main

# Their insides are used, not only what they promise to keep: a document's objects, a page's text
# objects, a code's masks, a server's channels.
CAPPED = ("pypdfium2", "qrcode", "reportlab", "waitress")


def first_words(path: Path) -> set[str]:
    """The texts that stand first in a list, a tuple or a call of a test file."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        first = node.elts[:1] if isinstance(node, ast.List | ast.Tuple) else []
        first = node.args[:1] if isinstance(node, ast.Call) else first
        found |= {word.value for word in first if isinstance(word, ast.Constant)}
    return {word for word in found if isinstance(word, str)}


@pytest.fixture(scope="module")
def tried(repository: Path) -> set[str]:
    """The first words of all lists and calls in the tests; those of commands that are run are among them."""
    tests = (repository / "tests").rglob("test_*.py")
    return {word for path in tests for word in first_words(path)}


@pytest.mark.parametrize("command", sorted(main.commands))
def test_a_command_is_tried(tried: set[str], command: str) -> None:
    """Some test runs each command, with its name first in the line it is given."""
    assert command in tried


@pytest.mark.parametrize("library", CAPPED)
def test_the_next_major_of_a_library_whose_insides_are_used_is_not_taken(
    repository: Path, library: str
) -> None:
    """Its requirement ends below the major after the one that the tests ran with."""
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    (required,) = [line for line in project["dependencies"] if line.startswith(f"{library}>")]
    assert required.endswith(f",<{int(version(library).split('.')[0]) + 1}")
