"""Opening papers: handed to the system's opener; without one, a message and nothing worse."""

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.paper.deliver.viewer import open_in_viewer

pytestmark = pytest.mark.skipif(os.name != "posix", reason="stands a shell script in for the system's opener")


def opener(folder: Path, script: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put an opener of our own first on the path; returns the file to which it may write."""
    tools = folder / "tools"
    tools.mkdir()
    (tools / "xdg-open").write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    (tools / "xdg-open").chmod(0o755)
    monkeypatch.setenv("PATH", f"{tools}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("DISPLAY", ":7")
    monkeypatch.setenv("OPENED", str(folder / "opened"))
    return folder / "opened"


def test_the_opener_gets_the_whole_path_as_one_argument(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Blanks, quotes and a dash in front are nothing special."""
    opened = opener(tmp_path, 'printf "%s\\n" "$#" "$1" > "$OPENED"', monkeypatch)
    monkeypatch.chdir(tmp_path)
    assert open_in_viewer(Path("-a b'; c.pdf")) == ""
    assert opened.read_text(encoding="utf-8").splitlines() == ["1", str(tmp_path / "-a b'; c.pdf")]


@pytest.mark.parametrize("script", ["exit 3", "exec /nowhere/viewer 2>/dev/null"])
def test_an_opener_that_finds_no_viewer_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    """It ends with a code of its own, and the message says where the file is."""
    opener(tmp_path, script, monkeypatch)
    message = open_in_viewer(tmp_path / "a.pdf")
    assert message == (
        f"{tmp_path / 'a.pdf'} was written but not opened: no viewer for it was found on this machine. "
        "Open it by hand."
    )


def test_a_viewer_that_stays_open_holds_nothing_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some openers end only with the viewer."""
    opener(tmp_path, "exec sleep 3", monkeypatch)
    began = time.monotonic()
    assert open_in_viewer(tmp_path / "a.pdf", patience_s=0.2) == ""
    assert time.monotonic() - began < 2


def test_without_a_screen_the_opener_is_not_even_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It might fill the terminal with a text browser."""
    opened = opener(tmp_path, ': > "$OPENED"', monkeypatch)
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    assert "was written but not opened" in open_in_viewer(tmp_path / "a.pdf")
    assert not opened.exists()


@pytest.mark.slow
def test_without_a_viewer_the_command_still_ends_well(
    demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is in place: exit code 0, and a line on stderr."""
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    command = ["checklist", str(demo / "lots.xlsx"), "--today", "2027-04-21", "-o", str(tmp_path), "--open"]
    result = CliRunner().invoke(main, command)
    assert (result.exit_code, result.stdout.splitlines()) == (0, [str(tmp_path / "cooler-checklist.pdf")])
    assert "cooler-checklist.pdf was written but not opened" in result.stderr
