"""The settings file as TOML: its tables, or where it cannot be read and why."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.cells.plain_text import shown

LARGEST = 2**63  # whole numbers of TOML are of 64 bits with their sign (TOML 1.0, "Integer")


def settings_tables(path: Path) -> Mapping[str, object]:
    """The content of a settings file, as TOML gives it.

    Raises:
        InputProblems: it cannot be read, is no TOML, or holds a number beyond what TOML has.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        what = f"must be a readable file (got: {error.strerror})"
        raise InputProblems([Problem(path.name, what, "Check its name and its rights.")]) from None
    except UnicodeDecodeError:
        what = "must be saved as UTF-8 (got other bytes)"
        raise InputProblems([Problem(path.name, what, "Save it again with the encoding UTF-8.")]) from None
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputProblems([_syntax_problem(path.name, text, str(error))]) from None
    except RecursionError:
        what = "must have no brackets within brackets but of a list of lists (got too many)"
        raise InputProblems([Problem(path.name, what, "Take the line with all the brackets out.")]) from None
    except ValueError:  # Python reads no number of more than 4300 digits
        raise InputProblems([_number_problem(path.name)]) from None
    if any(isinstance(value, int) and not -LARGEST <= value < LARGEST for value in _values(content)):
        raise InputProblems([_number_problem(path.name)])
    return content


def _values(content: Mapping[str, object]) -> Iterator[object]:
    """Everything in some tables that is no table or list itself."""
    waiting: list[object] = [content]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
        else:
            yield value


def _number_problem(name: str) -> Problem:
    what = "whole numbers must have at most 18 digits (got a longer one)"
    return Problem(name, what, "Write the number that was meant, or put quotes around a text of digits.")


def _syntax_problem(name: str, text: str, message: str) -> Problem:
    lines = text.splitlines() or [""]
    place = re.search(r"\(at line (\d+)", message)
    number = min(int(place[1]) if place else len(lines), len(lines))
    reason = re.sub(r"\s*\(at .*\)$", "", message)
    if "overwrite" in reason or "twice" in reason:
        what = f"a key or a table must stand once (got {shown(lines[number - 1])} again)"
        return Problem(f"{name}, line {number}", what, "Take one of the two out.")
    what = f"must be a line of settings (got {shown(lines[number - 1])}: {reason[:1].lower()}{reason[1:]})"
    remedy = 'Write key = value, with quotes around text: units = "F".'
    return Problem(f"{name}, line {number}", what, remedy)
