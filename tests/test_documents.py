"""The README, `tagmaker help` and the contributor guide say what is so: the lists come from the code."""

import re
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import click
import pytest

from tagmaker.cli import main
from tagmaker.desk.manual import topics
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Column
from tagmaker.intake.orders.columns import ORDER_COLUMNS
from tagmaker.intake.settings.keys import COOLER_KEYS, KEYS, USE_KEYS
from tagmaker.storage.crops import Keeping
from tagmaker.telling.wording import packaged_templates

COMMANDS = sorted(main.commands)


def options_of(command: click.Command) -> set[str]:
    """What may be typed after a command."""
    return {name for one in command.params if isinstance(one, click.Option) for name in one.opts}


OPTIONS = sorted({name for command in main.commands.values() for name in options_of(command)})
# What `printing` stands for on the page of options.
PRINTING = "wraps, crates, checklist, papers, cooler, pack, plan"
# Set by the name of the table in the settings, not by a key in it.
CROP_FIGURES = [field.name for field in fields(Keeping) if field.name not in ("crop", "form", "code")]


@pytest.fixture(scope="module")
def readme(repository: Path) -> str:
    """The text of the README."""
    return (repository / "README.md").read_text(encoding="utf-8")


def topic(name: str) -> str:
    """The page of a topic of `tagmaker help`."""
    return (packaged_templates() / "help" / f"{name}.md").read_text(encoding="utf-8")


def fenced(text: str) -> list[str]:
    """What stands in each fenced block of a page."""
    return re.findall(r"^```\w*\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def test_the_first_two_blocks_are_one_line_each(readme: str) -> None:
    """A reader copies one line to see papers and one to run the tests."""
    papers, tests = fenced(readme)[:2]
    assert (papers.count("\n"), tests.count("\n")) == (1, 1)
    assert "tagmaker papers demo_lots/lots.xlsx --today 2027-04-21T09:00" in papers
    assert tests.rstrip().endswith(".venv/bin/pytest -q")


def test_ci_runs_the_readme_test_command(repository: Path, readme: str) -> None:
    """The continuous check takes its test command out of the README by the rule that awk follows."""
    script = (repository / ".ci" / "run").read_text(encoding="utf-8")
    (program,) = re.findall(r"\$\(awk '(.*?)' README\.md\)", script)
    taken = subprocess.run(
        ["awk", program, "README.md"], cwd=repository, capture_output=True, text=True, check=True
    )
    assert taken.stdout == fenced(readme)[1]
    assert 'bash -euo pipefail -c "$test_command"' in script


def test_each_system_is_installed_by_two_lines_that_begin_a_season(readme: str) -> None:
    """Windows, macOS and Linux; nothing of it is a fenced block, of which the first two are taken."""
    install = readme.split("## Install\n")[1].split("\n## ")[0]
    pairs = re.findall(r"^(Windows|macOS|Linux)[^\n]*:\n\n    (.*)\n    (.*)\n$", install, re.MULTILINE)
    assert [system for system, *_ in pairs] == ["Windows", "macOS", "Linux"]
    assert [line for _, line, _ in pairs if not line.endswith(" install -q .")] == []
    assert [line for *_, line in pairs if not re.search(r"\btagmaker start \.\.[/\\]my-season$", line)] == []
    assert "```" not in install


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_has_every_command(readme: str, command: str) -> None:
    """A row of the command table names it as it is typed."""
    assert re.search(rf"^\| `tagmaker {command} \[?[A-Z]+\]?` \|", readme, re.MULTILINE)


@pytest.mark.parametrize("option", OPTIONS)
def test_the_help_has_every_option_of_every_command(option: str) -> None:
    """A row names it in code type, and the commands that have it before the colon."""
    named = set()
    for cells, words in re.findall(r"^\| (`-[^|]*`) \| (.*) \|$", topic("options"), re.MULTILINE):
        if re.search(rf"`{option}(?![\w-])", cells):
            named |= set(words.split(":")[0].replace("printing", PRINTING).split(", "))
    having = {name for name, command in main.commands.items() if option in options_of(command)}
    assert named == having
    first, _, last = PRINTING.rpartition(", ")
    assert f"*printing* stands for {first} and {last}" in " ".join(topic("options").split())


@pytest.mark.parametrize("key", KEYS)
def test_the_help_has_every_settings_key(key: str) -> None:
    """A row of the settings table names the key or its table."""
    assert re.search(rf'^\| `{key}` \||^\| `\[{key}[\]."]', topic("settings"), re.MULTILINE)


@pytest.mark.parametrize("key", [*USE_KEYS, *COOLER_KEYS, *CROP_FIGURES])
def test_the_help_has_every_key_of_a_table(key: str) -> None:
    """Keys of outlets, coolers and crops have a row each."""
    assert re.search(rf"^\| [^|]*`{key}`[^|]* \|", topic("settings"), re.MULTILINE)


@pytest.mark.parametrize(("page", "columns"), [("sheet", COLUMNS), ("orders", ORDER_COLUMNS)])
def test_the_help_has_every_column(page: str, columns: tuple[Column, ...]) -> None:
    """The table of columns is the one of the program: name, what to write and what a blank means."""
    table = (
        topic(page).split("| column | what to write | if left blank |\n|---|---|---|\n")[1].split("\n\n")[0]
    )
    rows = [f"| {column.name} | {column.write} | {column.blank} |" for column in columns]
    assert table.splitlines() == rows


@pytest.mark.parametrize(
    "page",
    [
        "README.md",
        "DEVELOPERS.md",
        "demo_lots/README.md",
        *(f"templates/help/{name}.md" for name in topics()),
    ],
)
def test_every_path_that_a_page_names_is_there(repository: Path, page: str) -> None:
    """Links, pictures and paths in code type lead to files and folders of the repository."""
    text = (repository / page).read_text(encoding="utf-8")
    outside_blocks = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    links = re.findall(r"\]\((?!http)([^)#]+)\)", outside_blocks)
    paths = re.findall(r"`((?:[\w.-]+/)+[\w.-]*)`", outside_blocks)
    made = ("demo_lots/papers/", "papers/", ".venv/bin/")  # by running, not by us
    bases = (repository, repository / "tagmaker", (repository / page).parent)
    named = [path for path in (*links, *paths) if path not in made]
    missing = [
        path
        for path in named
        if not any((base / name).exists() for base in bases for name in (path, f"{path}.py"))
    ]
    assert missing == []


def test_the_readme_names_every_topic(readme: str) -> None:
    """A row of its reference leads to the page of each topic of `tagmaker help`, and to no other."""
    rows = re.findall(r"^\| \[([\w-]+)\]\(templates/help/([\w-]+)\.md\) \|", readme, re.MULTILINE)
    assert sorted(rows) == [(name, name) for name in topics()]


def test_the_readme_is_read_to_its_end(readme: str) -> None:
    """What a grower needs to begin: at most 250 lines; the rest stands behind `tagmaker help`."""
    assert len(readme.splitlines()) <= 250


def test_the_developers_page_is_two_screens(repository: Path) -> None:
    """A guide that nobody finishes guides nobody: at most 120 lines."""
    lines = (repository / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 120


def test_version_is_the_package_s(repository: Path) -> None:
    """The version that the command prints is the one that the changes end with."""
    done = subprocess.run(
        [sys.executable, "-m", "tagmaker", "--version"],
        capture_output=True,
        text=True,
        check=True,
        cwd=repository,
    )
    (version,) = re.findall(r"\d+\.\d+\.\d+", done.stdout)
    changes = (repository / "README.md").read_text(encoding="utf-8").split("## Changes")[1]
    assert re.findall(r"\*\*(\d+\.\d+\.\d+)\*\*", changes)[0] == version
