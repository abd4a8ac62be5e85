"""The command line: exit codes, what is written and what is not."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from tagmaker.cli import main

TODAY = ("--today", "2027-03-23T08:00")
PAPERS = ("wrap-labels.pdf", "crate-cards.pdf", "cooler-checklist.pdf")
HEADER = "lot,crop,form,cut,stage,stems,needed"


def run(*arguments: str | Path) -> Result:
    """What a command prints, and its exit code."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def sheet(folder: Path, *rows: str) -> Path:
    """A season folder with a sheet of some rows."""
    (folder / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    path = folder / "lots.csv"
    path.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return path


def good(lot: str) -> str:
    """A row without fault."""
    return f"{lot},tulip,single,2027-03-22T09:00,tight,120,"


@pytest.fixture
def two_good_one_bad(tmp_path: Path) -> Path:
    """A sheet with two sound lots and one with a crop nobody knows."""
    return sheet(tmp_path, good("041"), "042,tulpi,single,2027-03-22,tight,120,", good("043"))


def test_done_is_exit_code_0_and_prints_the_files(tmp_path: Path) -> None:
    """`papers` writes three files and names them on stdout."""
    result = run("papers", sheet(tmp_path, good("041")), *TODAY)
    assert result.exit_code == 0, result.output
    assert [Path(line).name for line in result.stdout.splitlines()] == list(PAPERS)
    assert sorted(path.name for path in (tmp_path / "papers").iterdir()) == sorted(PAPERS)


def test_a_low_written_by_hand_below_freezing_is_the_next_thing_and_the_date_stays(tmp_path: Path) -> None:
    """`dates` tells the look that readings.csv asks for beside the dates that stay; the checklist too."""
    lots = sheet(tmp_path, good("041"))
    next_, low = "LOOK FOR FROST (28 °F MON 22 MAR): open a bunch, 24 h in water", "2027-03-22 18:00,28,44"
    before = run("dates", lots, *TODAY).stdout
    (tmp_path / "readings.csv").write_text(f"moment,low,high\n{low}\n", encoding="utf-8")
    (found,) = [line for line in run("dates", lots, *TODAY).stdout.splitlines() if next_ in line]
    assert found.split("  ")[:5] == next(ln for ln in before.splitlines() if "041" in ln).split("  ")[:5]
    assert run("checklist", lots, *TODAY).exit_code == 0
    text = PdfReader(tmp_path / "papers" / "cooler-checklist.pdf").pages[0].extract_text()
    assert "LOOK FOR FROST" in text


def test_problems_are_exit_code_1_and_nothing_is_written(two_good_one_bad: Path) -> None:
    """One bad row stops the paper, with its place and a remedy."""
    result = run("papers", two_good_one_bad, *TODAY)
    assert result.exit_code == 1
    assert "lots.csv, line 3, column crop: crop must be" in result.stderr
    assert "--skip-bad" in result.stderr
    assert not (two_good_one_bad.parent / "papers").exists()


def test_skip_bad_prints_the_rest_and_says_what_was_left_out(two_good_one_bad: Path) -> None:
    """The sound lots are printed, the other is named."""
    result = run("wraps", two_good_one_bad, *TODAY, "--skip-bad")
    assert result.exit_code == 1
    assert "left out: 042" in result.stderr
    text = PdfReader(two_good_one_bad.parent / "papers" / "wrap-labels.pdf").pages[0].extract_text()
    assert "041" in text
    assert "042" not in text


def test_a_problem_row_never_stops_the_good_rows_in_dates(two_good_one_bad: Path) -> None:
    """`dates --json` gives two lots and one problem, and exit code 1."""
    result = run("dates", two_good_one_bad, *TODAY, "--json")
    found = json.loads(result.stdout)
    assert result.exit_code == 1
    assert [lot["lot"] for lot in found["lots"]] == ["041", "043"]
    assert [set(problem) for problem in found["problems"]] == [{"where", "what", "remedy"}]


def test_a_bad_row_that_was_not_asked_for_does_not_stop_the_paper(two_good_one_bad: Path) -> None:
    """--lot 041 prints 041."""
    result = run("wraps", two_good_one_bad, *TODAY, "--lot", "041", "-o", two_good_one_bad.parent / "tags")
    assert result.exit_code == 0, result.output
    assert (two_good_one_bad.parent / "tags" / "wrap-labels.pdf").is_file()


def test_usage_is_exit_code_2(tmp_path: Path) -> None:
    """A lot that is not there, an unreadable --today and an unknown option are the caller's to mend."""
    path = sheet(tmp_path, good("041"))
    unknown = run("wraps", path, *TODAY, "--lot", "014")
    assert (unknown.exit_code, "Nearest: 041" in unknown.stderr) == (2, True)
    assert run("dates", path, "--today", "tomorrow").exit_code == 2
    assert run("dates", path, "--tomorrow").exit_code == 2


def test_output_that_cannot_be_written_is_exit_code_3(tmp_path: Path) -> None:
    """A file where the folder should be is told, without a traceback."""
    (tmp_path / "papers").write_text("in the way", encoding="utf-8")
    result = run("papers", sheet(tmp_path, good("041")), *TODAY)
    assert result.exit_code == 3
    assert "could not be written" in result.stderr
    assert (tmp_path / "papers").read_text(encoding="utf-8") == "in the way"


def test_a_past_lot_is_a_warning_and_exit_code_0(tmp_path: Path) -> None:
    """A lot past its date is printed as such."""
    result = run("papers", sheet(tmp_path, "041,tulip,single,2027-02-01,tight,120,"), *TODAY)
    assert result.exit_code == 0, result.output


def test_a_lot_without_stems_cannot_be_labelled(tmp_path: Path) -> None:
    """Stems are required for labels, not for dates."""
    path = sheet(tmp_path, "041,tulip,single,2027-03-22,tight,,")
    assert run("dates", path, *TODAY).exit_code == 0
    result = run("wraps", path, *TODAY)
    assert (result.exit_code, "stems must be filled" in result.stderr) == (1, True)
    assert run("checklist", path, *TODAY).exit_code == 0


def test_a_lot_with_none_left_prints_nothing(tmp_path: Path) -> None:
    """Sold out: no label, and it is said."""
    path = tmp_path / "lots.csv"
    path.write_text(
        "lot,crop,form,cut,stage,stems,gone\n041,tulip,single,2027-03-22,tight,120,all\n", encoding="utf-8"
    )
    result = run("wraps", path, *TODAY)
    assert (result.exit_code, result.stdout) == (0, "")
    assert "no cut lot has stems left" in result.stderr


@pytest.mark.parametrize("command", ["crates", "papers"])
def test_a_kind_of_crate_card_is_asked_for_by_name(tmp_path: Path, command: str) -> None:
    """The option goes before the settings, and the settings before the quarter card."""
    path = sheet(tmp_path, good("041"))

    def page(*options: str) -> tuple[int, int]:
        assert run(command, path, *TODAY, "--no-record", *options).exit_code == 0
        box = PdfReader(tmp_path / "papers" / "crate-cards.pdf").pages[0].mediabox
        return round(box.width), round(box.height)

    letter, roll = (612, 792), (288, 432)  # [pt]
    assert page() == letter
    assert page("--card", "roll-102x152mm") == roll
    (tmp_path / "tagmaker.toml").write_text('units = "F"\ncrate_card = "roll-102x152mm"\n', encoding="utf-8")
    assert page() == roll
    assert page("--card", "quarter") == letter


def test_an_unknown_kind_of_crate_card_is_a_usage_problem(tmp_path: Path) -> None:
    """It names those that there are; in the settings it is a problem of its key."""
    path = sheet(tmp_path, good("041"))
    result = run("crates", path, *TODAY, "--card", "postcard")
    assert result.exit_code == 2
    assert "'quarter', 'roll-102x152mm', 'half', 'twin', 'tent'" in result.stderr
    (tmp_path / "tagmaker.toml").write_text('crate_card = "postcard"\n', encoding="utf-8")
    result = run("crates", path, *TODAY)
    expected = 'crate_card must be "quarter", "roll-102x152mm", "half", "twin" or "tent" (got "postcard")'
    assert (result.exit_code, expected in result.stderr) == (1, True)


def test_a_checklist_for_several_weeks_has_pages_for_each(tmp_path: Path) -> None:
    """Three weeks of one cooler: three pages, each with its own week."""
    result = run("checklist", sheet(tmp_path, good("041")), *TODAY, "--weeks", "3")
    assert result.exit_code == 0, result.output
    pages = PdfReader(tmp_path / "papers" / "cooler-checklist.pdf").pages
    weeks = ["TUE 23 MAR to MON 29 MAR", "TUE 30 MAR to MON 5 APR", "TUE 6 APR to MON 12 APR"]
    assert [week in page.extract_text() for week, page in zip(weeks, pages, strict=True)] == [True] * 3


@pytest.mark.parametrize("options", [("--weeks", "0"), ("--weeks", "9"), ("--weeks", "2", "--blank")])
def test_weeks_that_cannot_be_printed_are_a_usage_problem(tmp_path: Path, options: tuple[str, ...]) -> None:
    """One to eight; a standing grid is for every week."""
    result = run("checklist", sheet(tmp_path, good("041")), *TODAY, *options)
    assert (result.exit_code, "--weeks" in result.stderr) == (2, True)
    assert not (tmp_path / "papers").exists()


def test_an_empty_sheet_still_gives_a_checklist(tmp_path: Path) -> None:
    """Headers only: nothing to label, and a checklist with rows to write in."""
    result = run("papers", sheet(tmp_path), *TODAY)
    assert result.exit_code == 0, result.output
    assert [Path(line).name for line in result.stdout.splitlines()] == ["cooler-checklist.pdf"]


def test_the_grower_sheet_is_never_written_to(two_good_one_bad: Path) -> None:
    """Sheet and settings are byte for byte what they were."""
    before = {path: path.read_bytes() for path in two_good_one_bad.parent.iterdir()}
    run("papers", two_good_one_bad, *TODAY, "--skip-bad")
    assert {path: path.read_bytes() for path in before} == before


def test_the_same_sheet_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    """Nothing but the input decides what is printed."""
    path = sheet(tmp_path, good("041"), good("042"))
    for folder in ("one", "two"):
        assert run("papers", path, *TODAY, "-o", tmp_path / folder).exit_code == 0
    for name in PAPERS:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


@pytest.mark.slow
def test_a_kill_in_the_middle_leaves_every_file_old_or_new_and_whole(tmp_path: Path) -> None:
    """Killed at several moments of a large job, each paper opens and is one of the two."""
    old = sheet(tmp_path, good("041"))
    assert run("papers", old, *TODAY).exit_code == 0
    papers = [tmp_path / "papers" / name for name in PAPERS]
    before = [path.read_bytes() for path in papers]
    rows = [good(f"A{number:03}") for number in range(120)]
    large = sheet(tmp_path, *rows)
    command = [sys.executable, "-m", "tagmaker", "papers", str(large), *TODAY]
    began = time.monotonic()
    subprocess.run(command, check=True, capture_output=True)
    whole = time.monotonic() - began
    after = [path.read_bytes() for path in papers]
    assert all(new != former for new, former in zip(after, before, strict=True))
    for share in (0.3, 0.6, 0.9, 0.95, 0.98, 1.0):
        for path, content in zip(papers, before, strict=True):
            path.write_bytes(content)
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(whole * share)
        process.send_signal(signal.SIGKILL)
        process.wait()
        for path, former, new in zip(papers, before, after, strict=True):
            assert path.read_bytes() in (former, new)
            assert len(PdfReader(path).pages) > 0


def test_start_writes_a_folder_that_reads_back(tmp_path: Path) -> None:
    """The starter sheet has no lots yet, and `start` says what to do next."""
    result = run("start", tmp_path / "season")
    assert result.exit_code == 0, result.output
    assert "tagmaker serve" in result.stdout
    assert run("dates", tmp_path / "season" / "lots.xlsx", *TODAY).exit_code == 0
    again = run("start", tmp_path / "season")
    assert again.exit_code in (2, 3)


# --- what is in the printer


def wraps(path: Path, *options: str) -> Result:
    """What printing wrap labels says."""
    return run("wraps", path, *TODAY, *options)


def test_the_next_free_label_is_shown_and_used_only_when_asked_for(tmp_path: Path) -> None:
    """Twelve labels on a sheet of thirty: 13 is next; without --first next, a new sheet is begun."""
    path = sheet(tmp_path, good("041"))
    assert "letter-3x10: label 13 is next on the last sheet (--first next)" in wraps(path).stderr
    again = wraps(path)
    assert "letter-3x10: label 13 was next" in again.stderr
    assert "this begins at label 1" in again.stderr
    going_on = wraps(path, "--first", "next")
    assert "label 25 is next" in going_on.stderr
    with PdfReader(tmp_path / "papers" / "wrap-labels.pdf") as pdf:
        assert len(pdf.pages) == 1
    assert "label 7 is next" in wraps(path, "--first", "next").stderr


def test_each_stock_has_a_sheet_of_its_own(tmp_path: Path) -> None:
    """A sheet of another stock begins at its first label; a roll has no next label."""
    path = sheet(tmp_path, good("041"))
    wraps(path)
    assert "a4-2x7: label 13 is next" in wraps(path, "--label-stock", "a4-2x7", "--first", "next").stderr
    assert "next" not in wraps(path, "--label-stock", "roll-57x32mm").stderr


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--first", "31"), "--first must be a label of letter-3x10, from 1 to 30 (got 31)"),
        (("--first", "0"), "must be a number from 1 on, or next (got '0')"),
        (("--printer", "laser"), "--printer must be one of the settings' printers: none (got laser)"),
        (("--first", "9" * 5000), "must be a number from 1 on, or next (got '99999999999999999999')"),
        (("--label-stock", "letter-3x11"), "roll-57x32mm, "),
        (("--label-stock", ""), "--label-stock must be one of letter-3x10, "),
        (("--for-buyer", "--new"), "--for-buyer labels every bunch that may leave"),
    ],
)
def test_what_no_sheet_or_printer_has_is_a_mistyped_command(
    tmp_path: Path, options: tuple[str, ...], said: str
) -> None:
    """Exit code 2, and nothing is written."""
    result = wraps(sheet(tmp_path, good("041")), *options)
    assert (result.exit_code, said in result.stderr) == (2, True)
    assert not (tmp_path / "papers").exists()


def test_where_nothing_may_leave_that_is_said_and_no_label_is_next(tmp_path: Path) -> None:
    """Neither that stems are gone, nor where a sheet would be begun that is not."""
    path = sheet(tmp_path, good("041"), "042,tulip,single,2027-01-02T09:00,tight,120,")
    (tmp_path / "tagmaker.toml").write_text(
        'units = "F"\nlink = "https://lmyard.example/{lot}.html"\n', encoding="utf-8"
    )
    wraps(path, "--lot", "041")
    result = wraps(path, "--for-buyer", "--lot", "042")
    assert result.stderr.splitlines() == [
        "no buyer's labels for lots that are too old, wet or without a date: 042",
        "no buyer's labels to print: no lot that may leave has stems left",
    ]


def test_a_buyer_s_labels_are_a_file_of_their_own(tmp_path: Path) -> None:
    """Past lots get none, and it is said; labels for the bunches are not taken for printed."""
    path = sheet(tmp_path, good("041"), "042,tulip,single,2027-01-02T09:00,tight,120,")
    (tmp_path / "tagmaker.toml").write_text(
        'units = "F"\nlink = "https://lmyard.example/{lot}.html"\n', encoding="utf-8"
    )
    result = wraps(path, "--for-buyer")
    assert [Path(line).name for line in result.stdout.splitlines()] == ["buyer-labels.pdf"]
    assert "no buyer's labels for lots that are too old, wet or without a date: 042" in result.stderr
    with PdfReader(tmp_path / "papers" / "buyer-labels.pdf") as pdf:
        words = pdf.pages[0].extract_text()
    assert (words.count("lot 041"), words.count("lot 042")) == (12, 0)
    assert "no wraps to print" not in wraps(path, "--new", "--lot", "041").stderr


def test_label_stocks_lists_those_of_the_settings_too(tmp_path: Path) -> None:
    """With the sheet, or from its folder."""
    path = sheet(tmp_path, good("041"))
    with (tmp_path / "tagmaker.toml").open("a", encoding="utf-8") as settings:
        settings.write('[label_stocks.jars]\nroll = true\nwidth = "2.25 in"\nheight = 40\n')
    result = run("label-stocks", path)
    assert result.exit_code == 0, result.output
    assert "jars: a roll of labels of 57.15 x 40 mm" in result.stdout
    assert "letter-3x10 (the settings' label_stock): 30 labels" in result.stdout


def test_the_test_page_goes_beside_the_sheet(tmp_path: Path) -> None:
    """Its name on stdout; the steps are said."""
    result = run("test-page", sheet(tmp_path, good("041")), "--label-stock", "a4-3x7")
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines() == [str(tmp_path / "papers" / "test-page.pdf")]
    assert [line[:2] for line in result.stderr.splitlines()] == ["1.", "2.", "3.", "4."]
