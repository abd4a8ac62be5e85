"""One word for one thing: phrases that were given up stand nowhere, and own words go on working."""

from __future__ import annotations

from pathlib import Path

import pytest

# What is not said, and what is said in its place.
GIVEN_UP = {
    "SELL NOW": "SELL FIRST",
    "PAST SINCE": "SELL ELSEWHERE, or TOO OLD: THROW OUT",
    "TEST FIRST": "TEST A BUNCH",
    "STAGE?": "HOW OPEN? WRITE IT",
    "STAND WARM FROM": "INTO THE WARM AT",
    "OUT OF THE COOLER BY": "INTO THE WARM AT",
    "Poison cats and dogs.": "Poisonous to cats and dogs. Do not eat.",
    "Stems look limp now": "Limp stems are normal: keep wrapped and upright, lift gently.",
    "hare the lift": "lift it with two people",
    "Keep drops off the flowers": "Keep the flowers dry.",
    "FEEL: DRY?": "Any drops left? Touch.",
    "type water": "then write water under storage",
    "LOW since last look": "LOWEST since last look",
    "HIGH since last look": "HIGHEST since last look",
    "what the tenderest crop bears": "the limit of the most sensitive crop",
    "OVER-FULL": "5 crates too many. Selling 202 and 109 first makes room.",
    "Still outside:": "Still too warm or too cold:",
    "days that are never passed": "21 days is the most for this crop",
    "else one faulty row stops all": "otherwise one faulty row stops the print",
    "Colder than freezing earns nothing": "Below freezing gains no days",
}


def said(repository: Path) -> dict[str, str]:
    """Every text in which words of the program stand: templates, the program and its README."""
    paths = [
        repository / "README.md",
        *(path for path in (repository / "templates").rglob("*") if path.is_file()),
        *(repository / "tagmaker").rglob("*.py"),
    ]
    return {str(path.relative_to(repository)): path.read_text(encoding="utf-8") for path in paths}


@pytest.mark.parametrize("phrase", GIVEN_UP)
def test_a_phrase_that_was_given_up_stands_nowhere(repository: Path, phrase: str) -> None:
    """Neither in a template, a message, a help text, a page of `tagmaker help` nor the README."""
    texts = said(repository)
    assert len(texts) > 100
    assert [name for name, text in texts.items() if phrase in " ".join(text.split())] == []
