"""Beginning a season: the questions, the files of its folder, and the season before it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from tagmaker.desk.running import remember
from tagmaker.errors import InputProblems, OutputProblem, Problem
from tagmaker.intake.cells.plain_text import shown, squash
from tagmaker.intake.settings.keys import FILE_NAME
from tagmaker.intake.starter.answers import questions
from tagmaker.intake.starter.beginning import Beginning
from tagmaker.intake.starter.book import starter_book
from tagmaker.intake.starter.double_click import Opener, opener
from tagmaker.intake.starter.folder import SHEET_NAME, start
from tagmaker.intake.starter.text import settings_text
from tagmaker.paper.deliver.spooler import queues
from tagmaker.paper.stock.label_stock import STOCKS

Ask = Callable[[str, str, Callable[[str], None]], str]  # question, what Enter takes, check -> answer
OWN = b"-m tagmaker serve"  # tells our own file to double-click from any other


def stock_names(paper: str) -> list[str]:
    """Names of label stocks: of rolls and of sheets of a size; "" for all."""
    sheets = [name for name, stock in STOCKS.items() if not stock.is_roll and name.startswith(paper)]
    return [*sheets, *(name for name, stock in STOCKS.items() if stock.is_roll)]


def asked(ask: Ask) -> Beginning:
    """A beginning out of the answers to all questions; a wrong answer is asked again."""
    beginning = Beginning()
    for question in questions(stock_names, queues() or ()):
        taken = beginning

        def check(answer: str) -> None:
            nonlocal taken
            taken = question.take(beginning, answer)  # noqa: B023 - asked before the next question

        ask(question.text, question.default(beginning), check)
        beginning = taken
    return beginning


def follows(ask: Ask, last: Path, folder: Path) -> bool:
    """Whether a new season is to take over the settings of the last one, and close it: no, unless said.

    A season in the same folder is not asked about: it is there already.
    """
    if last.parent.resolve() == folder.resolve():
        return False
    answers = {"yes": True, "y": True, "no": False, "n": False}

    def check(answer: str) -> None:
        if squash(answer) not in answers:
            what = f"must be yes or no (got {shown(answer)})"
            raise InputProblems([Problem("answer", what, "Write one of them")])

    answer = ask(
        f"Take over the settings of the season in {last.parent}, and close it: yes or no", "no", check
    )
    return answers[squash(answer)]


def begin(folder: Path, beginning: Beginning, files: Mapping[str, bytes] | None = None) -> tuple[Path, ...]:
    """Write the files of a season; raises OutputProblem as `folder.start`.

    Args:
        folder: of the season
        beginning: its settings
        files: taken over from the season before, by their path in the folder

    In a folder that holds a season, only the file to double-click is written, where it is missing or
    names another Python: a folder may be carried to another computer.
    """
    sheet = folder / SHEET_NAME
    file = opener(sys.platform, sys.executable, sheet.resolve())
    is_season = sheet.exists() and sheet.with_name(FILE_NAME).exists()
    if is_season and (added := _opener_alone(folder / file.name, file)):
        return added
    taken = {FILE_NAME: settings_text(beginning.queue).encode(), **(files or {})}
    written = start(folder, starter_book(beginning, stock_names("")), file, taken)
    with suppress(OSError):  # then `serve` alone does not find it from elsewhere
        remember(sheet)
    return written


def _opener_alone(path: Path, file: Opener) -> tuple[Path, ...]:
    """The file to double-click, written where there is none of this computer's; else nothing."""
    try:
        known = path.read_bytes()
    except FileNotFoundError:
        known = OWN
    except OSError:
        return ()
    if known == file.content or OWN not in known:
        return ()
    draft = path.with_name(f".{path.name}.tmp")
    try:
        draft.write_bytes(file.content)
        draft.chmod(file.mode)
        draft.replace(path)
    except OSError as error:
        what = f"{path} must be a file that can be written (got: {error.strerror})"
        raise OutputProblem(f"{what}. Check the rights of the folder.") from None
    return (path,)


def fault(error: InputProblems) -> str:
    """What is said to a wrong answer: what must be, and what to do."""
    first = error.problems[0]
    return f"{first.what}. {first.remedy.rstrip('.')}."
