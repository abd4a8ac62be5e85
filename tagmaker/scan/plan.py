"""The season plan on the bench: its rows with a box each, and what becomes of those that are accepted."""

from __future__ import annotations

import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Sequence

from flask import Response, request

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.crate import OWN
from tagmaker.scan.door import Door, redirected
from tagmaker.scan.live import Live, View
from tagmaker.scan.pages import Links
from tagmaker.telling.season_told import TEMPLATE, PlanWords

ADDRESS = "/bench/plan"
PARTS = ("lots", "room", "lacking", "unplaced", "makes_it")
MOST_ROWS = 400  # that one form may accept (chosen)
KEPT = 32  # forms that are remembered, to answer them again (chosen)


class PlanPages:
    """Shows the plan to paired phones, and takes the rows that they accept."""

    def __init__(self, live: Live, door: Door) -> None:
        """Take what is shown, and who may record."""
        self._live, self._door = live, door
        self._forms: OrderedDict[str, int] = OrderedDict()  # form -> rows that it accepted
        self._accepting = threading.Lock()  # one form at a time: the same form sent twice is one

    def page(self, said: Sequence[str] = (), status: int = 200) -> Response:
        """The plan as it is now."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        if not visit.inside:
            return self._door.pair_page(back=ADDRESS)
        saved = request.args.get("saved", "")
        done = [view.words.rows_accepted(count=int(saved))] if re.fullmatch(r"[1-9]\d{0,3}", saved) else []
        response = Response(_page(view, self._door.token(visit), said, done), status)
        return self._door.with_cookie(response, visit) if fresh else response

    def accept(self) -> Response:
        """Accept the rows that were ticked; what changed meanwhile is refused, and said there."""
        visit = self._door.checked_form()
        if visit is None or not visit.inside:
            return self._door.pair_page(status=403, back=ADDRESS)
        names, form = (
            list(dict.fromkeys(request.form.getlist("row")))[:MOST_ROWS],
            request.form.get("form", ""),
        )
        words = self._live.look().words
        if not names:
            return self.page([words.no_row_ticked()], status=400)
        try:
            with self._accepting:
                if form not in self._forms:
                    device = visit.phone or OWN
                    self._live.look().shown.planning.words()  # made before taps have to wait for it
                    self._live.change(lambda shown: shown.planning.accept(names, form, device))
                    self._forms[form] = len(names)
                    while len(self._forms) > KEPT:
                        self._forms.popitem(last=False)
        except InputProblems as error:
            return self.page([words.not_saved(), *(str(problem) for problem in error.problems)], status=409)
        except TagmakerError as error:
            return self.page([words.not_saved(), str(error)], status=409)
        return redirected(f"{ADDRESS}?saved={self._forms[form]}")


def _page(view: View, token: str, said: Sequence[str], done: Sequence[str]) -> str:
    source = view.shown.source
    words: PlanWords = view.shown.planning.words()
    say = source.wording.macros(TEMPLATE)
    parts = [(say.part(name=part), getattr(words, part)) for part in PARTS if getattr(words, part)]
    page = source.wording.render(
        "plan.html.j2",
        farm=source.farm.name,
        now=source.now,
        live=True,
        links=Links(True),
        banner=list(view.banner),
        style="pages.css",
        script="pages.js",
        bench_style="bench.css",
        token=token,
        form=secrets.token_urlsafe(16),
        said=said,
        done=done,
        title=say.title(),
        accept=say.accept(),
        words=words,
        parts=parts,
    )
    return page + "\n"
