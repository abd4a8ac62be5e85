"""The bench, served: who may print, the forms, and printing one paper at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from flask import Response, abort, request

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.bench import Asked, bench_lot_page, bench_page, passcode_page
from tagmaker.scan.live import Live, Shown, View
from tagmaker.scan.pages import missing_page
from tagmaker.scan.passcode import VISIT_S, Answer, Passcode, Visit, Visits
from tagmaker.scan.source import plain
from tagmaker.scan.wish import Paper, Wish, read_wish

QUEUE = 3  # papers being printed or waiting for it; more are sent away, so that pages go on (chosen)
PATIENCE_S = 30.0  # [s] that a paper waits for those before it (chosen)
FORM = "application/x-www-form-urlencoded"


class Busy(TagmakerError):
    """Too many papers are asked for at once."""


class Counter:
    """The bench's forms and what is remembered between them."""

    def __init__(self, live: Live, passcode: Passcode | None, cookie: Callable[[], str]) -> None:
        """Take what is shown, who may print, and how the cookie is called.

        Args:
            live: what the pages show
            passcode: None: whoever reaches the server may print
            cookie: its name: servers on one machine see each other's, so each has one of its own
        """
        self._live = live
        self._passcode = passcode
        self._cookie_name = cookie
        self._visits = Visits(passcode_needed=passcode is not None)
        self._queue = threading.BoundedSemaphore(QUEUE)
        self._printer = threading.Lock()
        # label stock -> what was printed from, and what is free since
        self._free: dict[str, tuple[Shown, int]] = {}
        self._stock: str | None = None  # that was last printed on

    # --- what is answered -----------------------------------------------------------------------------------

    def bench(self, code: str = "") -> Response:
        """The list of lots, or the form of one; before that the passcode."""
        return self._first_page(self._live.look(), code)

    def enter(self) -> Response:
        """Say the passcode."""
        view, visit = self._live.look(), self._checked_form()
        if visit is None:
            return self._too_old(view)
        if self._passcode is None or visit.inside:
            return self._page(view, visit, "")
        address = request.remote_addr or ""
        answer = self._passcode.attempt(request.form.get("passcode", ""), address)
        if answer is Answer.RIGHT:
            inside = self._visits.begin(inside=True)
            return self._with_cookie(self._page(view, inside, ""), inside)
        say, wait_s = view.words, self._passcode.wait_s(address)
        said = {
            Answer.WRONG: say.wrong(seconds=wait_s),
            Answer.WAIT: say.too_soon(seconds=wait_s),
            Answer.SHUT: say.shut(),
        }[answer]
        response = Response(passcode_page(view, self._visits.token(visit), [said]))
        response.status_code = 403 if answer is Answer.WRONG else 429
        if answer is Answer.WAIT:
            response.headers["Retry-After"] = str(wait_s)
        return response

    def print(self) -> Response:
        """Print a paper and show it."""
        view, visit = self._live.look(), self._checked_form()
        if visit is None or not visit.inside:
            return self._too_old(view)
        lot = request.form.get("lot", "")
        known = view.shown.source.dates_of
        try:
            if view.faults:
                return self._page(view, visit, lot if lot in known else "", [view.words.not_printed()], 409)
            wish = read_wish(request.form, known, view.shown.stocks, view.shown.source.farm.label_stock)
            with self._turn():
                paper = view.shown.draw(wish)
                self._used(wish, paper, view.shown)
        except InputProblems as error:
            said = [view.words.not_printed(), *(str(problem) for problem in error.problems)]
            return self._page(view, visit, lot if lot in known else "", said, 409)
        except Busy:
            response = self._page(view, visit, lot if lot in known else "", [view.words.busy()], 503)
            response.headers["Retry-After"] = "10"
            return response
        except TagmakerError as error:
            return self._page(view, visit, lot if lot in known else "", [_sentence(str(error))], 400)
        response = Response(paper.pdf, content_type="application/pdf")
        response.headers["Content-Disposition"] = f'inline; filename="{_file_name(wish)}"'
        return response

    # --- who asks -------------------------------------------------------------------------------------------

    def _visit(self) -> Visit | None:
        return self._visits.read(request.cookies.get(self._cookie_name()), request.remote_addr or "")

    def _checked_form(self) -> Visit | None:
        """The visit that a form was given to; None: it was given to nobody who is known now."""
        if request.mimetype != FORM:
            abort(415)
        if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
            abort(403)
        visit = self._visit()
        known = visit is not None and self._visits.is_token(request.form.get("token", ""), visit)
        return visit if known else None

    def _with_cookie(self, response: Response, visit: Visit) -> Response:
        value = self._visits.cookie(visit, request.remote_addr or "")
        response.set_cookie(
            self._cookie_name(), value, max_age=VISIT_S, path="/bench", httponly=True, samesite="Strict"
        )
        return response

    def _first_page(
        self, view: View, code: str = "", said: Sequence[str] = (), status: int = 200
    ) -> Response:
        """The bench, or before it the passcode; whoever has no cookie yet gets one."""
        visit = self._visit()
        fresh = visit is None
        visit = visit or self._visits.begin()
        if visit.inside:
            response = self._page(view, visit, code, said, status)
        else:
            response = Response(passcode_page(view, self._visits.token(visit), said), status)
        return self._with_cookie(response, visit) if fresh else response

    def _too_old(self, view: View) -> Response:
        """The answer to a form that nobody of now was given; nothing was done."""
        return self._first_page(view, said=[view.words.too_old()], status=403)

    # --- pages and printing ---------------------------------------------------------------------------------

    def _page(
        self, view: View, visit: Visit, code: str, said: Sequence[str] = (), status: int = 200
    ) -> Response:
        stocks, farm = view.shown.stocks, view.shown.source.farm
        stock = self._stock if self._stock in stocks else farm.label_stock
        free = self._free_labels(view.shown)
        asked = Asked(token=self._visits.token(visit), stock=stock or "", free=free, said=said)
        if not code:
            return Response(bench_page(view, asked), status)
        page = bench_lot_page(view, plain(code), asked)
        known = view.shown.source.lot_names
        if page is None and plain(code) in known:
            reason = view.words.not_to_print(code=plain(code))
            return Response(bench_page(view, replace(asked, said=[*said, reason])), 404)
        if page is None:
            return Response(missing_page(view.shown.source, code, live=True, banner=view.banner), 404)
        return Response(page, status)

    @contextmanager
    def _turn(self) -> Iterator[None]:
        """One paper at a time: neither the drawing nor the reading back may run twice at once."""
        if not self._queue.acquire(blocking=False):
            raise Busy("too many papers at once")
        try:
            if not self._printer.acquire(timeout=PATIENCE_S):
                raise Busy("the paper before this one takes too long")
            try:
                yield
            finally:
                self._printer.release()
        finally:
            self._queue.release()

    def _used(self, wish: Wish, paper: Paper, shown: Shown) -> None:
        if paper.labels:
            self._stock = wish.stock
            self._free[wish.stock] = shown, paper.next_label

    def _free_labels(self, shown: Shown) -> dict[str, int]:
        """The first free label of each stock: as remembered, or as printed since that was read."""
        ours = {stock: label for stock, (then, label) in self._free.items() if then is shown}
        return {**shown.free, **ours}


def _sentence(text: str) -> str:
    """It, as it stands alone on a page."""
    return text[:1].upper() + text[1:].removesuffix(".") + "."


def _file_name(wish: Wish) -> str:
    """Made of our own words and a lot code, which holds nothing but A-Z, 0-9 and hyphens."""
    parts = (
        wish.paper,
        wish.which,
        "".join(letter for letter in wish.lot if letter.isalnum() or letter == "-"),
    )
    return "-".join(part for part in parts if part).encode("ascii", "ignore").decode() + ".pdf"
