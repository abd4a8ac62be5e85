"""The bench page to pack: choose outlet and day, keep the bunches, and afterwards enter SOLD and BACK."""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from urllib.parse import urlencode

from flask import Response, request

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.bench import printers
from tagmaker.scan.door import Door, redirected
from tagmaker.scan.live import Live, Shown
from tagmaker.scan.pack_wish import ASK_LETTERS, Came, PackAsked, PackShown, page_day, read_asked, read_came
from tagmaker.scan.pages import Links
from tagmaker.telling.naming import pack_page_name

ADDRESS = "/bench/pack"
TEMPLATE = "bench-pack.html.j2"
OWN = "this computer"  # as a device
DAYS_AHEAD, DAYS_BACK = 14, 4  # that are offered (chosen)
_FORM = re.compile(r"[\w-]{16,64}", re.ASCII)


class Packer:
    """Shows what to pack, and takes down what is kept and what came of it."""

    def __init__(self, live: Live, door: Door) -> None:
        """Take what is shown, and who may record."""
        self._live, self._door = live, door

    def page(self) -> Response:
        """The departure that is asked about, or the question for one; and the answer on the telephone."""
        try:
            asked = read_asked(request.args, self._live.look().shown.source.farm.uses)
        except TagmakerError as error:
            return self._page(None, [_sentence(str(error))], status=400)
        return self._page(asked)

    def by_name(self, name: str) -> Response | None:
        """Where the code of a pack sheet leads; None: it is none of ours."""
        found = page_day(name)
        if found is None:
            return None
        day, part = found
        uses = self._live.look().shown.source.farm.uses
        for use in uses:
            if pack_page_name(day, use, uses).split(".", 3)[3:] == [part]:
                return redirected(f"{ADDRESS}?{urlencode({'use': use, 'day': f'{day:%Y-%m-%d}'})}")
        return None

    def keep(self) -> Response:
        """Take down what was chosen."""

        def kept(asked: PackAsked, form: str, device: str) -> list[str]:
            return [self._changed(lambda shown: shown.packing.keep(asked, form, device))]

        return self._taken(kept)

    def came(self) -> Response:
        """Take down what was sold and what came back, lot by lot."""

        def taken(asked: PackAsked, form: str, device: str) -> list[str]:
            def one(came: Came) -> str:
                return self._changed(lambda shown: shown.packing.came(came, form, device))

            return [one(came) for came in read_came(request.form, asked)]

        return self._taken(taken)

    def _changed(self, change: Callable[[Shown], tuple[object, str]]) -> str:
        return self._live.change(change)

    def _taken(self, take: Callable[[PackAsked, str, str], list[str]]) -> Response:
        """Carry a form out; what was written before a fault stays, and its lots show it."""
        visit = self._door.checked_form()
        if visit is None or not visit.inside:
            return self._door.pair_page(status=403, back=ADDRESS)
        words, form = self._live.look().words, request.form.get("form", "")
        asked = None
        try:
            asked = read_asked(request.form, self._live.look().shown.source.farm.uses)
            if asked is None or not _FORM.fullmatch(form):
                return self._page(asked, [words.too_old()], status=403)
            done = take(asked, form, visit.phone or OWN)
        except InputProblems as error:
            said = [words.not_saved(), *(str(problem) for problem in error.problems)]
            return self._page(asked, said, status=409)
        except TagmakerError as error:
            return self._page(asked, [words.not_saved(), _sentence(str(error))], status=409)
        return self._page(asked, done=done or [words.nothing_entered()])

    def _page(
        self,
        asked: PackAsked | None,
        said: Sequence[str] = (),
        done: Sequence[str] = (),
        status: int = 200,
    ) -> Response:
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        source, packing = view.shown.source, view.shown.packing
        shown: PackShown | None = None
        answer, said = list[str](), list(said)
        try:
            shown = packing.show(asked, visit.inside) if asked is not None else None
            if question := request.args.get("ask", "")[:ASK_LETTERS].strip():
                answer = list(packing.answer(question))
        except TagmakerError as error:
            said, status = [*said, _sentence(str(error))], 400 if status == 200 else status
        page = source.wording.render(
            TEMPLATE,
            farm=source.farm.name,
            now=source.now,
            live=True,
            links=Links(True),
            banner=list(view.banner),
            style="pages.css",
            script="pages.js",
            bench_style="bench.css",
            token=self._door.token(visit) if visit.inside else "",
            form=secrets.token_urlsafe(16),
            address=ADDRESS,
            uses=list(source.farm.uses),
            days=_days(source.now),
            asked=asked,
            shown=shown,
            ask=request.args.get("ask", "")[:ASK_LETTERS],
            answer=answer,
            printers=printers(view),
            said=said,
            done=list(done),
        )
        response = Response(page + "\n", status)
        return self._door.with_cookie(response, visit) if fresh else response


def _days(now: datetime) -> list[datetime]:
    """Days that are offered: those to come, and the last ones, whose bunches came back."""
    first = now.replace(hour=0, minute=0, second=0, microsecond=0)
    return [first + timedelta(days=n) for n in (*range(DAYS_AHEAD + 1), *range(-1, -DAYS_BACK - 1, -1))]


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].removesuffix(".") + "."
