"""Every note has its sentence, and every sentence its note."""

from __future__ import annotations

import ast
import types
import typing
from datetime import date, datetime
from pathlib import Path

import jinja2
import jinja2.nodes
import pytest

from tagmaker import notes
from tagmaker.notes import Note
from tagmaker.telling.wording import Wording, packaged_templates

PACKAGE = Path(notes.__file__).parent
NOTES = [
    kind
    for kind in vars(notes).values()
    if isinstance(kind, type) and issubclass(kind, Note) and kind is not Note and kind.__name__[0] != "_"
]
WORDING = Wording("F")
_SOURCE = (packaged_templates() / "sentences.j2").read_text(encoding="utf-8")
MACROS = {
    macro.name: {str(argument.name) for argument in macro.args}
    for macro in jinja2.Environment().parse(_SOURCE).find_all(jinja2.nodes.Macro)
}
HELPERS = {"listed", "stands", "limit_words", "order_words"}  # macros that the others are made of
# What a value of each type may be; a limit or a stage may be any of its words, so the two ends are tried.
VALUES: dict[object, object] = {
    str: "words",
    int: 3,
    float: 4.5,
    bool: True,
    tuple[str, ...]: ("101", "102"),
    tuple[tuple[str, str], ...]: (("101", "A2"), ("102", "stall")),
    tuple[tuple[int, str, str], ...]: ((1, "101", "A2"), (3, "102", "A4")),
    date: date(2027, 4, 21),
    datetime: datetime(2027, 4, 21, 9),
}


def example(kind: type[Note], *, full: bool) -> Note:
    """A note with a value in every field, or with None, False and "" wherever the field may have them."""
    values: dict[str, object] = {}
    for name, hint in typing.get_type_hints(kind).items():
        options = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
        can_be_none = type(None) in options
        wanted = next(option for option in options if option is not type(None))
        values[name] = None if can_be_none and not full else VALUES[wanted]
        if wanted is bool and not full:
            values[name] = False
    return kind(**values)


@pytest.mark.parametrize("kind", NOTES, ids=lambda kind: kind.__name__)
def test_a_note_and_its_macro_have_the_same_values(kind: type[Note]) -> None:
    """The macro of a note's name takes the note's fields, neither fewer nor others."""
    assert MACROS[kind.macro()] == set(typing.get_type_hints(kind))


@pytest.mark.parametrize("full", [True, False], ids=["all said", "nothing said"])
@pytest.mark.parametrize("kind", NOTES, ids=lambda kind: kind.__name__)
def test_a_note_is_a_sentence_without_holes(kind: type[Note], full: bool) -> None:
    """Whatever may be missing, nothing shows a None, a brace, a double space or a space before a mark."""
    sentence = WORDING.say(example(kind, full=full))
    assert sentence
    for hole in ("None", "{", "}", "  ", " ,", " ;", " :", "()"):
        assert hole not in sentence


def test_every_sentence_belongs_to_a_note() -> None:
    """No macro of the sentences is left over."""
    assert set(MACROS) - HELPERS == {kind.macro() for kind in NOTES}


def test_every_note_is_said_somewhere() -> None:
    """Each class of notes is made by the code that works out what is to be said."""
    made = {
        ast.unparse(node.func).rpartition(".")[2]
        for path in PACKAGE.rglob("*.py")
        if path.name != "notes.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    }
    assert {kind.__name__ for kind in NOTES} - made == set()
