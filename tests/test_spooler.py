"""Sending papers: what `lp` is told, and what is said where it cannot or will not take them."""

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.errors import OutputProblem
from tagmaker.paper.deliver.spooler import PaperFile, media, printer_fault, send

pytestmark = pytest.mark.skipif(
    os.name != "posix", reason="stands shell scripts in for the spooler's commands"
)

TAKES = 'printf "%s\\n" "$@" >> "$TOLD"; echo "request id is TAGS-7 (1 file(s))"'


@pytest.fixture
def told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file to which our own `lp` writes its arguments, a line each; PATH has nothing but our commands."""
    (tmp_path / "tools").mkdir()
    monkeypatch.setenv("PATH", f"{tmp_path / 'tools'}{os.pathsep}/bin{os.pathsep}/usr/bin")
    monkeypatch.setenv("TOLD", str(tmp_path / "told"))
    return tmp_path / "told"


def command(told: Path, name: str, script: str) -> None:
    """Stand a script in for a command of the spooler."""
    path = told.parent / "tools" / name
    path.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    path.chmod(0o755)


def without_commands(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """A machine that has no spooler."""
    monkeypatch.setenv("PATH", str(folder / "nothing"))


def refused(*papers: PaperFile, printer: str = "TAGS", patience_s: float = 10.0) -> str:
    """Why papers were not sent."""
    with pytest.raises(OutputProblem) as error:
        send(papers, printer, lambda _: None, patience_s)
    assert error.value.exit_code == 3
    return str(error.value)


def label(folder: Path, name: str = "wrap-labels.pdf") -> PaperFile:
    """A roll's label."""
    return PaperFile(folder / name, 57, 32)


# --- what lp is told


def test_lp_is_told_the_printer_the_paper_and_not_to_scale(told: Path, tmp_path: Path) -> None:
    """One copy, one side, a job title, and the file by its whole path."""
    command(told, "lp", TAKES)
    said: list[str] = []
    send([label(tmp_path)], "TAGS", said.append)
    assert told.read_text(encoding="utf-8").splitlines() == [
        *("-d", "TAGS", "-n", "1", "-t", "tagmaker wrap-labels.pdf"),
        *("-o", "media=Custom.57x32mm", "-o", "print-scaling=none", "-o", "sides=one-sided"),
        str(tmp_path / "wrap-labels.pdf"),
    ]
    assert said == [
        "sent wrap-labels.pdf to TAGS, Custom.57x32mm, not scaled (request id is TAGS-7 (1 file(s)))"
    ]


def test_no_shell_reads_a_name(told: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder named like a command is a folder, and a file with a dash in front is no option."""
    command(told, "lp", TAKES)
    monkeypatch.chdir(tmp_path)
    send([label(Path("-o $(touch x); 'y"), "-a.pdf")], "TAGS;touch", lambda _: None)
    arguments = told.read_text(encoding="utf-8").splitlines()
    assert (arguments[1], arguments[-1]) == ("TAGS;touch", str(tmp_path / "-o $(touch x); 'y" / "-a.pdf"))


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [
        (215.9, 279.4, "Letter"),
        (279.4, 215.9, "Letter"),
        (210.0, 297.0, "A4"),
        (297.0, 210.0, "A4"),
        (57, 32, "Custom.57x32mm"),
        (50, 25, "Custom.50x25mm"),
        (62, 29, "Custom.62x29mm"),
        (101.6, 152.4, "Custom.101.6x152.4mm"),
        (2 * 25.4, 25.4, "Custom.50.8x25.4mm"),
        (105, 148, "Custom.105x148mm"),
        (1 / 3 + 60, 32, "Custom.60.33x32mm"),
    ],
)
def test_media(width: float, height: float, name: str) -> None:
    """The two office sizes by name, lying too; everything else by width and height."""
    assert media(width, height) == name


@pytest.mark.parametrize("printer", ["", "-o", "--", "two words", "TAGS\n", "a\tb", "\x1b[31m"])
def test_names_that_cannot_be_a_printer_s(told: Path, tmp_path: Path, printer: str) -> None:
    """They are refused before `lp` sees them."""
    command(told, "lp", TAKES)
    assert "the printer must be named as the spooler names it" in refused(label(tmp_path), printer=printer)
    assert not told.exists()


@pytest.mark.parametrize("printer", ["TAGS", "Office_Laser-2", "TAGS/draft", "Drucker.Büro"])
def test_names_that_can(printer: str) -> None:
    """Instances of a queue, too."""
    assert printer_fault(printer) == ""


# --- what is said where it fails


def test_a_machine_without_a_spooler(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All files that were not sent are named, with what to do."""
    without_commands(monkeypatch, tmp_path)
    assert refused(label(tmp_path), label(tmp_path, "crate-cards.pdf")) == (
        "not sent: wrap-labels.pdf, crate-cards.pdf: a print spooler must be there (got no "
        "command lp on this machine). Install CUPS, or open the file and print it at 100 %."
    )


def test_an_unknown_printer_is_told_with_those_that_are_there(told: Path, tmp_path: Path) -> None:
    """As `lpstat -e` names them."""
    command(told, "lp", 'echo "lp: The printer or class does not exist." >&2; exit 1')
    command(told, "lpstat", '[ "$*" = -e ] && printf "LASER\\nTAGS_57\\n"')
    assert refused(label(tmp_path)) == (
        'not sent: wrap-labels.pdf: the printer must be one of LASER, TAGS_57 (got "TAGS"). '
        "Name one of these."
    )


def test_a_spooler_that_knows_no_printer(told: Path, tmp_path: Path) -> None:
    """It may only be that it does not run."""
    command(told, "lp", "exit 1")
    command(told, "lpstat", "exit 0")
    assert refused(label(tmp_path)).endswith(
        'the spooler must know the printer (got "TAGS", and it names none). '
        "See with lpstat -r that it runs, and add the printer there."
    )


@pytest.mark.parametrize("lpstat", ["echo TAGS", "exit 1"])
def test_a_refusal_is_told_in_the_spooler_s_words(told: Path, tmp_path: Path, lpstat: str) -> None:
    """Where the printer is known, or nobody can say which are."""
    command(told, "lp", 'echo x >&2; echo "lp: Destination TAGS is not accepting jobs." >&2; exit 1')
    command(told, "lpstat", lpstat)
    assert refused(label(tmp_path)) == (
        "not sent: wrap-labels.pdf: the spooler must take it (got from lp: Destination TAGS is "
        "not accepting jobs.). Look with lpstat -p TAGS what stops it."
    )


def test_a_silent_refusal_gives_its_exit_code(told: Path, tmp_path: Path) -> None:
    """And bytes that are no text stop nothing."""
    command(told, "lpstat", "echo TAGS")
    command(told, "lp", "exit 9")
    assert "got from lp: exit code 9" in refused(label(tmp_path))
    command(told, "lp", "printf '\\377\\n' >&2; exit 9")
    assert "got from lp: �" in refused(label(tmp_path))


def test_a_spooler_that_hangs_is_given_up(told: Path, tmp_path: Path) -> None:
    """Whether it took the file is not known, so the message says where to look first."""
    command(told, "lp", "exec sleep 20")
    began = time.monotonic()
    assert refused(label(tmp_path), patience_s=0.3) == (
        "not sent: wrap-labels.pdf: the spooler must answer within 0.3 s (got nothing from lp). "
        "Look with lpstat -o TAGS whether the file waits there before you send it again."
    )
    assert time.monotonic() - began < 10


def test_an_lp_that_cannot_be_run(told: Path, tmp_path: Path) -> None:
    """It is there and executable, but its interpreter is not."""
    path = told.parent / "tools" / "lp"
    path.write_text("#!/nowhere/sh\n", encoding="utf-8")
    path.chmod(0o755)
    assert f"{path} must be a command that can be run (got: No such file or directory)" in refused(
        label(tmp_path)
    )


def test_what_was_sent_before_a_failure_is_said(told: Path, tmp_path: Path) -> None:
    """The second of three is refused: the first is told as sent, the others as not."""
    command(told, "lp", 'case "$*" in *two.pdf) echo "lp: full" >&2; exit 1;; esac')
    command(told, "lpstat", "echo TAGS")
    said: list[str] = []
    papers = [label(tmp_path, name) for name in ("one.pdf", "two.pdf", "three.pdf")]
    with pytest.raises(OutputProblem, match=r"^not sent: two\.pdf, three\.pdf: "):
        send(papers, "TAGS", said.append)
    assert said == ["sent one.pdf to TAGS, Custom.57x32mm, not scaled"]


# --- the command


def run(name: str, demo: Path, out: Path, *options: str) -> Result:
    """Print the demo's papers into a folder."""
    arguments = [name, str(demo / "lots.xlsx"), "--today", "2027-04-21T09:00", "-o", str(out), *options]
    return CliRunner().invoke(main, arguments)


@pytest.mark.parametrize(
    ("name", "files"),
    [
        ("wraps", ["wrap-labels.pdf"]),
        ("crates", ["crate-cards.pdf"]),
        ("checklist", ["cooler-checklist.pdf"]),
        ("papers", ["wrap-labels.pdf", "crate-cards.pdf", "cooler-checklist.pdf"]),
        ("cooler", ["cooler-report.pdf"]),
    ],
)
@pytest.mark.slow
def test_every_command_that_prints_can_send(
    demo: Path, told: Path, tmp_path: Path, name: str, files: list[str]
) -> None:
    """Each PDF is a job of its own, in the order of printing, and no picture is sent."""
    command(told, "lp", TAKES)
    record = ["--no-record"] if name in ("wraps", "crates", "papers") else []
    result = run(name, demo, tmp_path / "out", "--lot", "101", "--preview", "--send", "TAGS", *record)
    assert result.exit_code == 0, result.output
    arguments = told.read_text(encoding="utf-8").splitlines()
    assert [line for line in arguments if line.startswith("/")] == [
        str(tmp_path / "out" / file) for file in files
    ]
    assert arguments.count("media=Letter") == len(files)
    assert result.stderr.count("not scaled") == len(files)


def test_a_failure_to_send_is_exit_code_3_and_the_files_stay(demo: Path, told: Path, tmp_path: Path) -> None:
    """They are named on stdout before the message, and they are whole."""
    command(told, "lp", "exit 1")
    command(told, "lpstat", "echo LASER")
    result = run("checklist", demo, tmp_path / "out", "--send", "TAGS")
    path = tmp_path / "out" / "cooler-checklist.pdf"
    assert (result.exit_code, result.stdout.splitlines()) == (3, [str(path)])
    assert "tagmaker: not sent: cooler-checklist.pdf: the printer must be one of LASER" in result.stderr
    assert path.read_bytes().endswith(b"%%EOF\n")


def test_a_name_that_cannot_be_a_printer_s_is_exit_code_2(demo: Path, told: Path, tmp_path: Path) -> None:
    """Said before anything is drawn; `--send -o` does not swallow an option."""
    command(told, "lp", TAKES)
    result = run("checklist", demo, tmp_path / "out", "--send", "-o")
    assert (result.exit_code, 'no "-" in front' in result.stderr) == (2, True)
    assert not told.exists()
    assert not (tmp_path / "out").exists()


def test_nothing_is_sent_that_was_not_written(demo: Path, told: Path, tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    command(told, "lp", TAKES)
    (tmp_path / "out").write_text("in the way", encoding="utf-8")
    assert run("checklist", demo, tmp_path / "out", "--send", "TAGS").exit_code == 3
    assert not told.exists()


def test_nothing_is_sent_that_is_not_proven(
    demo: Path, told: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The proof fails: no file, no job."""

    def fails(_: object) -> None:
        raise OutputProblem("it does not read back")

    command(told, "lp", TAKES)
    monkeypatch.setattr("tagmaker.paper.deliver.filing.prove", fails)
    result = run("checklist", demo, tmp_path / "out", "--send", "TAGS")
    assert (result.exit_code, (tmp_path / "out").exists(), told.exists()) == (3, False, False)


def test_where_there_is_nothing_to_print_nothing_is_sent(told: Path, tmp_path: Path) -> None:
    """All sold: said, exit code 0, and `lp` is not called."""
    command(told, "lp", TAKES)
    (tmp_path / "lots.csv").write_text(
        "lot,crop,form,cut,stage,stems,gone\n041,tulip,single,2027-04-20,tight,120,all\n", encoding="utf-8"
    )
    arguments = ["wraps", str(tmp_path / "lots.csv"), "--today", "2027-04-21", "--send", "TAGS"]
    result = CliRunner().invoke(main, arguments)
    assert (result.exit_code, told.exists()) == (0, False)
