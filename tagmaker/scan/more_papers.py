"""Pages of the bench for what is printed now and then: more papers, the label sheets, the test page."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from tagmaker.errors import UsageProblem
from tagmaker.scan.bench import Asked, render_bench
from tagmaker.scan.live import View
from tagmaker.scan.wish import MOST_WEEKS, Corrections

PX_PER_MM = 0.4  # of the drawings of label stocks, all to one scale (chosen: three fit a small phone)
MEASURES = {
    "across": "Line across (mm)",
    "down": "Line down (mm)",
    "left": "Corner from the left (mm)",
    "top": "Corner from the top (mm)",
}
MOST_MEASURED = 450.0  # [mm] a page is never larger
FILE = "tagmaker.toml"  # printers stand in the file alone


def papers_page(view: View, asked: Asked) -> str:
    """Crate cards of a kind, the checklist for weeks or blank, buyer's labels, the cooler report."""
    return render_bench(view, "bench-papers.html.j2", asked, most_weeks=MOST_WEEKS)


def stocks_page(view: View, asked: Asked, lot: str = "") -> str:
    """Every label stock with its drawing; `lot` is the one to go back to."""
    where = view.shown.source.farm.places.get(("", "", "label_stock"), f"{FILE}, label_stock")
    drawings = view.shown.drawings()
    return render_bench(
        view, "bench-stocks.html.j2", asked, drawings=drawings, px=PX_PER_MM, where=where, lot=lot[:20]
    )


def ruler_page(
    view: View, asked: Asked, typed: Mapping[str, str] | None = None, right: Corrections | None = None
) -> str:
    """The test page's own page.

    Args:
        view: what is shown.
        asked: what the bench's forms need.
        typed: the fields as they were sent.
        right: what makes the printer right.
    """
    typed = typed or {}
    stock = typed.get("stock", "")
    length, corner = view.shown.lines(stock if stock in view.shown.stocks else asked.stock)
    name = _name(view, typed) if right is not None else ""
    return render_bench(
        view,
        "bench-test-page.html.j2",
        asked,
        typed=_plain(typed),
        known=list(view.shown.source.farm.printers),
        measures=MEASURES,
        length=f"{length:g}",
        corner=f"{corner:g}",
        right=right,
        key=name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else json.dumps(name, ensure_ascii=False),
        quoted=json.dumps(name, ensure_ascii=False),
        place=FILE,
    )


def corrections(view: View, form: Mapping[str, str]) -> Corrections:
    """What makes a printer right, by the measures that a form sends.

    Raises:
        UsageProblem: a measure is none, or cannot be.
    """
    stock = form.get("stock", "")
    if stock not in view.shown.stocks:
        raise UsageProblem("the label sheet must be one of the list")
    _name(view, form)
    return view.shown.correct(stock, form.get("fed", ""), [_measure(form, name) for name in MEASURES])


def _measure(form: Mapping[str, str], name: str) -> float:
    """A length [mm]."""
    text = form.get(name, "").strip().lower().removesuffix("mm").strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,2})?", text) or not 0 < float(text) <= MOST_MEASURED:
        shown = re.sub(r"[^ -~]", "?", form.get(name, "")[:12])
        raise UsageProblem(f'{MEASURES[name].lower()} must be a length like 98.5 (got "{shown}")')
    return float(text)


def _name(view: View, form: Mapping[str, str]) -> str:
    """The printer of the settings that was chosen, or the name for another one."""
    if form.get("fed", "") in view.shown.source.farm.printers:
        return form["fed"]
    name = " ".join(form.get("called", "").split())
    if not re.fullmatch(r"[\w -]{1,30}", name) or not any(map(str.isalpha, name)):
        raise UsageProblem("the name of a printer must be letters, digits, blanks and hyphens")
    return name


def _plain(typed: Mapping[str, str]) -> dict[str, str]:
    """What was typed, for the fields; every name that the template asks for is there."""
    names = ("stock", "fed", "called", *MEASURES)
    return {name: str(typed.get(name, ""))[:40] for name in names} if typed else dict.fromkeys(names, "")
