"""Desktop entries as a desktop reads them: Desktop Entry Specification 1.5, "Value types", "The Exec key"."""

from __future__ import annotations

import re


def entry_of(content: str) -> dict[str, str]:
    """The keys of a desktop entry, their values of type string read as the specification has it."""
    lines = content.rstrip("\n").split("\n")
    assert lines[0] == "[Desktop Entry]"
    escapes = {"\\s": " ", "\\n": "\n", "\\t": "\t", "\\r": "\r", "\\\\": "\\"}
    return {
        key: re.sub(r"\\[sntr\\]", lambda found: escapes[found[0]], value)
        for key, _, value in (line.partition("=") for line in lines[1:])
    }


def arguments_of(line: str) -> list[str]:
    """The arguments of an Exec key: quoting undone first, then %% (Desktop Entry Specification 1.5)."""
    found = []
    for quoted, bare in re.findall(r'"((?:[^"`$\\]|\\["`$\\])*)"(?: |$)|(\S+)(?: |$)', line):
        assert bare == "" or not re.search(r"""["'\\><~|&;$*?#()`]""", bare), (
            "a reserved character is not quoted"
        )
        word = re.sub(r'\\(["`$\\])', r"\1", quoted) if quoted else bare
        assert re.fullmatch(r"(?:[^%]|%%)*", word), "a field code that nobody wanted"
        found.append(word.replace("%%", "%"))
    return found
