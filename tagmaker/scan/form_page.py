"""A page with the bench's fields and buttons: what all of them share."""

from __future__ import annotations

from collections.abc import Sequence

from tagmaker.scan.live import View
from tagmaker.scan.pages import SCRIPT, STYLE, Links

BENCH_STYLE, BENCH_SCRIPT = "bench.css", "bench.js"


def form_page(view: View, template: str, *, more: Sequence[str] = (), **values: object) -> str:
    """A template of such a page with its values filled in.

    Args:
        view: what is shown
        template: its name
        more: what its banner says besides
        values: that only this page has
    """
    source = view.shown.source
    page = source.wording.render(
        template,
        farm=source.farm.name,
        now=source.now,
        live=True,
        links=Links(True),
        banner=[*view.banner, *more],
        style=STYLE,
        script=SCRIPT,
        bench_style=BENCH_STYLE,
        bench_script=BENCH_SCRIPT,
        **values,
    )
    return page + "\n"
