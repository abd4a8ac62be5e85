"""The file to double-click: what a desktop makes of it, in folders with names of all kinds, what it opens."""

from __future__ import annotations

import http.client
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.desk.running import announced, answering, has_desktop, last_season, running
from tagmaker.desk.starting import begin
from tagmaker.errors import OutputProblem
from tagmaker.intake.starter.beginning import Beginning
from tagmaker.intake.starter.double_click import batch, command, desktop, opener
from tests.desktop_entries import arguments_of, entry_of

FOLDER = """Blüte & Söhne 100% 'é' $HOME `id` "quoted" \\ ; (1) ^!"""
SERVE = ["-P", "-m", "tagmaker", "serve", "--lan", "--stay"]
NAMES = st.text(st.characters(codec="utf-8", exclude_characters="/\0\n\r"), min_size=1, max_size=40)


def words_of_batch(line: str, folder: str) -> list[str]:
    """The arguments of a line of a batch file: percent signs first, then quotes, in which nothing counts."""
    expanded = re.sub(r"%%|%~dp0", lambda found: "%" if found[0] == "%%" else folder, line)
    words = re.findall(r'"([^"]*)"(?:\s|$)|([^\s"]+)(?:\s|$)', expanded)
    assert not any(re.search(r"[&|<>^()%!]", bare) for _, bare in words), "a character that the shell takes"
    return [quoted or bare for quoted, bare in words]


@pytest.mark.slow
@given(NAMES, NAMES)
def test_a_desktop_reads_the_arguments_that_were_meant(python: str, folder: str) -> None:
    """Whatever the paths are called, Exec is the interpreter, our command and the sheet, an argument each."""
    sheet = Path("/farm", folder, "lots.xlsx")
    entry = entry_of(desktop(f"/opt/{python}", sheet).decode())
    assert arguments_of(entry["Exec"]) == [f"/opt/{python}", *SERVE, str(sheet)]
    assert (entry["Type"], entry["Path"], entry["Terminal"]) == ("Application", str(sheet.parent), "true")


@given(NAMES, NAMES)
def test_a_shell_reads_the_arguments_that_were_meant(python: str, sheet: str) -> None:
    """The last line of the script is the interpreter, our command and the sheet."""
    lines = command(f"/opt/{python}", sheet).decode().split("\n", 2)
    assert lines[:2] == ["#!/bin/sh", 'cd "$(dirname "$0")" || exit 1']
    assert shlex.split(lines[2]) == ["exec", f"/opt/{python}", *SERVE, sheet]


@given(NAMES.filter(lambda name: not set(name) & set('<>:"|?*\\') and not name.endswith((" ", "."))))
def test_a_batch_file_reads_the_arguments_that_were_meant(folder: str) -> None:
    """In every folder that Windows allows: its lines end as it wants, and are UTF-8 once it is told so."""
    python = f"C:\\Farm {folder}\\python.exe"
    lines = batch(python, "lots.xlsx").decode().split("\r\n")
    assert [lines[0], lines[1], lines[4], lines[5]] == [
        "@echo off",
        "chcp 65001 >nul",
        "if errorlevel 1 pause",
        "",
    ]
    assert words_of_batch(lines[2], f"C:\\{folder}\\") == ["pushd", f"C:\\{folder}\\"]
    assert words_of_batch(lines[3], "") == [python, *SERVE, "lots.xlsx"]


@pytest.mark.parametrize(
    ("system", "name"),
    [("linux", "Open tagmaker.desktop"), ("darwin", "Open tagmaker.command"), ("win32", "Open tagmaker.bat")],
)
def test_each_system_has_its_file(system: str, name: str) -> None:
    """It may be run, where a system asks for that."""
    file = opener(system, "/usr/bin/python3", Path("/farm/lots.xlsx"))
    assert (file.name, file.mode & 0o100) == (name, 0o100)


def test_the_script_is_sound(tmp_path: Path) -> None:
    """The shell parses it, and it may be run."""
    script = tmp_path / "Open tagmaker.command"
    script.write_bytes(command("/opt/py 'é & %/python", "lots.xlsx"))
    assert subprocess.run(["sh", "-n", script], check=False).returncode == 0


@contextmanager
def double_clicked(command: Sequence[str], folder: str, home: Path) -> Iterator[tuple[str, str]]:
    """What is started from a desktop: the address of its pages, and the lines before it; it is ended."""
    environment = environment_of(home)
    with subprocess.Popen(
        command, cwd=folder, env=environment, stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stderr is not None
        said = ""
        try:
            while not (
                found := re.match(r"pages: (http://\S+:\d+/)  bench: ", line := process.stderr.readline())
            ):
                assert line, said
                said += line
            yield found[1], said
        finally:
            process.send_signal(signal.SIGINT)
            try:
                rest = process.communicate(timeout=30)[1]
            except subprocess.TimeoutExpired:
                process.kill()
                raise
    assert "Traceback" not in said + rest


def environment_of(home: Path) -> Mapping[str, str]:
    """A user's own settings, and a browser that only writes down what it is to open."""
    home.mkdir(exist_ok=True)
    browser = home / "browser"
    browser.write_text(f'#!/bin/sh\necho "$1" >> {shlex.quote(str(home / "opened.txt"))}\n', encoding="utf-8")
    browser.chmod(0o755)
    more = {"XDG_CONFIG_HOME": str(home), "DISPLAY": ":99", "BROWSER": f"{browser} %s"}
    return {**os.environ, **more}


def get(address: str) -> str:
    """A page."""
    place = re.fullmatch(r"http://([^:/]+):(\d+)(/.*)", address)
    assert place is not None
    connection = http.client.HTTPConnection(place[1], int(place[2]), timeout=20)
    connection.request("GET", place[3])
    try:
        return connection.getresponse().read().decode()
    finally:
        connection.close()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="runs the desktop entry")
def test_a_double_click_opens_the_pages_and_a_second_one_those_that_are_open(tmp_path: Path) -> None:
    """As a desktop runs it, in a folder with every kind of character; the browser is led to the season."""
    sheet, _, file = begin(tmp_path / FOLDER, Beginning())
    entry = entry_of(file.read_text(encoding="utf-8"))
    home = tmp_path / "home"
    with double_clicked(arguments_of(entry["Exec"]), entry["Path"], home) as (address, _):
        assert "Lots" in get(address)
        again = subprocess.run(
            arguments_of(entry["Exec"]),
            cwd="/",
            env=environment_of(home),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert (again.returncode, again.stderr) == (0, f"these pages are open already: {address}\n")
        bare = subprocess.run(
            [sys.executable, "-m", "tagmaker", "serve"],
            cwd="/",
            env=environment_of(home),
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert bare.stderr == f"these pages are open already: {address}\n"
    assert (home / "opened.txt").read_text(encoding="utf-8") == f"{address}\n" * 3
    assert sheet.parent.name == FOLDER


@pytest.mark.slow
def test_the_script_runs_from_anywhere(tmp_path: Path) -> None:
    """Double-clicked on macOS it stands in no folder of its own; it goes to its own."""
    sheet, *_ = begin(tmp_path / FOLDER, Beginning())
    script = sheet.with_name("Open tagmaker.command")
    script.write_bytes(command(sys.executable, sheet.name))
    with double_clicked(["sh", str(script)], "/", tmp_path / "home") as (address, _):
        assert "Lots" in get(address)


@pytest.mark.slow
def test_what_is_wrong_stays_in_the_window(tmp_path: Path) -> None:
    """The fault is said, Enter closes it, and the exit code is that of the fault."""
    sheet, *_ = begin(tmp_path / "season", Beginning())
    sheet.write_bytes(b"")
    done = subprocess.run(
        [sys.executable, "-m", "tagmaker", "serve", "--stay", str(sheet)],
        input="\n",
        env=environment_of(tmp_path / "home"),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 1
    assert "lots.xlsx: must be a csv, xlsx or ods file (got an empty file of 0 bytes)" in done.stderr
    assert "Press Enter to close this window" in done.stderr


def test_in_a_folder_that_was_carried_elsewhere_only_that_file_is_written(tmp_path: Path) -> None:
    """`start` in a season leaves it as it is; a second time, and over a file of the grower's, it refuses."""
    *files, file = begin(tmp_path, Beginning())
    before = [path.read_bytes() for path in files]
    ours = file.read_bytes()
    file.write_bytes(ours.replace(sys.executable.encode(), b"/elsewhere/python"))
    assert begin(tmp_path, Beginning()) == (file,)
    assert (file.read_bytes(), [path.read_bytes() for path in files]) == (ours, before)
    with pytest.raises(OutputProblem, match="Nothing was written"):
        begin(tmp_path, Beginning())
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(OutputProblem, match="Nothing was written"):
        begin(tmp_path, Beginning())
    assert file.read_text(encoding="utf-8") == "mine"


def test_only_a_server_that_says_our_word_is_running(tmp_path: Path) -> None:
    """An address at which nobody or somebody else answers counts for nothing."""
    sheet = tmp_path / "lots.xlsx"
    sheet.write_bytes(b"")
    assert running(sheet) == ""
    with announced(sheet, "http://127.0.0.1:9/", "word"):
        assert running(sheet) == ""
        assert last_season() == sheet


def test_a_server_says_its_word_under_one_address_alone() -> None:
    """Every other request goes to the pages."""
    asked: list[str] = []

    def pages(environ: dict[str, str], _: object) -> list[bytes]:
        asked.append(environ["PATH_INFO"])
        return [b"page"]

    app = answering(pages, "word")
    answers = [
        app({"REQUEST_METHOD": method, "PATH_INFO": path}, lambda *_: None)
        for method, path in (("GET", "/running"), ("GET", "/"), ("POST", "/running"))
    ]
    assert (answers, asked) == ([[b"word"], [b"page"], [b"page"]], ["/", "/running"])


def test_without_a_desktop_no_browser_is_opened() -> None:
    """A text browser would take the terminal."""
    assert not has_desktop("linux", {"DISPLAY": ""})
    assert has_desktop("linux", {"WAYLAND_DISPLAY": "wayland-0"})
    assert has_desktop("darwin", {})
    assert has_desktop("win32", {})


@pytest.mark.skipif(
    shutil.which("desktop-file-validate") is None, reason="desktop-file-validate is not installed"
)
def test_the_entry_is_valid(tmp_path: Path) -> None:
    """The desktops' own check finds nothing to say."""
    *_, file = begin(tmp_path / FOLDER, Beginning())
    checked = subprocess.run(["desktop-file-validate", file], capture_output=True, text=True, check=False)
    assert (checked.returncode, checked.stdout) == (0, "")
