"""The bench, served: who may print, the forms, and printing one paper at a time."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from flask import Response, request

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.bench import Asked, bench_lot_page, bench_page, printers
from tagmaker.scan.delivery import FOLLOW, delivered
from tagmaker.scan.door import Door, redirected
from tagmaker.scan.live import Live, Shown, View
from tagmaker.scan.more_papers import corrections, papers_page, ruler_page, stocks_page
from tagmaker.scan.pages import missing_page
from tagmaker.scan.pairing import Visit
from tagmaker.scan.source import plain
from tagmaker.scan.wish import LabelTaken, Paper, PrintedBefore, Wish, read_wish

QUEUE = 3  # papers being printed or waiting for it; more are sent away, so that pages go on (chosen)
KEPT = 8  # papers that are at hand for forms that are sent again (chosen)
PATIENCE_S = 30.0  # [s] that a paper waits for those before it (chosen)


class Busy(TagmakerError):
    """Too many papers are asked for at once."""


class Counter:
    """The bench's forms and what is remembered between them."""

    def __init__(self, live: Live, door: Door) -> None:
        """Take what is shown, and who may print."""
        self._live, self._door = live, door
        self._queue = threading.BoundedSemaphore(QUEUE)
        self._printer = threading.Lock()
        self._papers: OrderedDict[Wish, Handed] = (
            OrderedDict()
        )  # the last ones, for forms that are sent again
        self._stock: str | None = None  # that was last printed on

    # --- what is answered -----------------------------------------------------------------------------------

    def bench(self, code: str = "") -> Response:
        """The list of lots, or the form of one; before that the pairing."""
        return self._first_page(self._live.look(), code)

    def print(self) -> Response:
        """Print a paper, and show it or say where it comes out."""
        view, visit = self._live.look(), self._door.checked_form()
        if visit is None or not visit.inside:
            return self._too_old(view)
        lot, say = request.form.get("lot", ""), view.words
        known = view.shown.source.dates_of
        lot = lot if lot in known else ""
        try:
            if view.faults:
                return self._page(view, visit, lot, [say.not_printed()], 409)
            stock = view.shown.source.farm.label_stock
            wish = read_wish(
                request.form, known, view.shown.stocks, stock, printers(view), view.shown.source.farm.printers
            )
            with self._turn():
                handed = self._handed(wish, visit, view.shown)
        except InputProblems as error:
            said = [say.not_printed(), *(str(problem) for problem in error.problems)]
            return self._page(view, visit, lot, said, 409)
        except Busy:
            response = self._page(view, visit, lot, [say.busy()], 503)
            response.headers["Retry-After"] = "10"
            return response
        except LabelTaken as error:
            return self._page(view, visit, lot, [say.label_taken(free=error.free)], 409)
        except PrintedBefore:
            return self._page(view, visit, lot, [say.printed_before()], 409)
        except TagmakerError as error:
            return self._page(view, visit, lot, [_sentence(str(error)), say.none_recorded()], 400)
        if handed.paper.is_sent:
            return self._page(
                view, visit, lot, done=[say.sent(printer=wish.printer), *_old_cards(view, handed)]
            )
        return self._pdf(wish, handed)

    def answer(self) -> Response:
        """Take down what came out of the last print, or undo it."""
        view, visit = self._live.look(), self._door.checked_form()
        if visit is None or not visit.inside:
            return self._too_old(view)
        form = request.form
        lot = form.get("lot", "") if form.get("lot", "") in view.shown.source.dates_of else ""
        number, pieces, came = (_number(form.get(name, "")) for name in ("number", "pieces", "came"))
        answer, say = form.get("answer", ""), view.words
        if not number or not pieces or answer not in ("all", "only", "none"):
            return self._too_old(view)
        if answer == "only" and (came is None or not came <= pieces):
            return self._page(view, visit, lot, [say.how_many(pieces=pieces)], 400)
        came = {"all": pieces, "none": 0}.get(answer, came)
        view.shown.ledger.answer(number, None if came == pieces else came)
        return self._page(view, visit, lot, done=[say.came_out(came=came, pieces=pieces)])

    # --- more papers ----------------------------------------------------------------------------------------

    def papers(self) -> Response:
        """What is printed now and then: crate cards of a kind, checklists, buyer's labels, the report."""
        return self._inside("/bench/papers", papers_page)

    def stocks(self) -> Response:
        """Every label stock, drawn to scale, to choose from."""
        lot = request.args.get("lot", "")
        return self._inside("/bench/stocks", lambda view, asked: stocks_page(view, asked, lot))

    def choose(self) -> Response:
        """Take the label stock that is in the printer now."""
        view, visit = self._live.look(), self._door.checked_form()
        stock = request.form.get("stock", "")
        if visit is None or not visit.inside or stock not in view.shown.stocks:
            return self._too_old(view)
        self._stock = stock
        lot = plain(request.form.get("lot", ""))
        return redirected(f"/bench/{lot}" if lot in view.shown.source.dates_of else "/bench")

    def test_page(self) -> Response:
        """The test page, and what to do with it."""
        return self._inside("/bench/test-page", ruler_page)

    def correct(self) -> Response:
        """The lines for the settings, from what was measured on the test page."""
        view, visit = self._live.look(), self._door.checked_form()
        if visit is None or not visit.inside:
            return self._too_old(view)
        try:
            found, said = corrections(view, request.form), list[str]()
        except TagmakerError as error:
            found, said = None, [_sentence(str(error))]
        page = ruler_page(view, self._asked(view, visit, said), request.form, found)
        return Response(page, 400 if said else 200)

    def _inside(self, address: str, page: Callable[[View, Asked], str]) -> Response:
        """A page of the bench; before it the pairing."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        if not visit.inside:
            return self._door.pair_page(back=address)
        response = Response(page(view, self._asked(view, visit)))
        return self._door.with_cookie(response, visit) if fresh else response

    def _first_page(
        self, view: View, code: str = "", said: Sequence[str] = (), status: int = 200
    ) -> Response:
        """The bench, or before it the pairing; whoever has no cookie yet gets one."""
        visit, fresh = self._door.welcome()
        if not visit.inside:
            return self._door.pair_page(said, status)
        response = self._page(view, visit, code, said, status)
        return self._door.with_cookie(response, visit) if fresh else response

    def _too_old(self, view: View) -> Response:
        """The answer to a form that nobody of now was given; nothing was done."""
        return self._first_page(view, said=[view.words.too_old()], status=403)

    # --- pages and printing ---------------------------------------------------------------------------------

    def _page(
        self,
        view: View,
        visit: Visit,
        code: str,
        said: Sequence[str] = (),
        status: int = 200,
        done: Sequence[str] = (),
    ) -> Response:
        asked = self._asked(view, visit, said, done)
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

    def _asked(self, view: View, visit: Visit, said: Sequence[str] = (), done: Sequence[str] = ()) -> Asked:
        stocks, farm, ledger = view.shown.stocks, view.shown.source.farm, view.shown.ledger
        return Asked(
            token=self._door.token(visit),
            stock=(self._stock if self._stock in stocks else farm.label_stock) or "",
            free=ledger.free(),
            last=ledger.last(visit.name),
            said=said,
            done=done,
        )

    def _handed(self, wish: Wish, visit: Visit, shown: Shown) -> Handed:
        """The paper of a form: drawn once, and again only where it was not handed over. One at a time."""
        handed = self._papers.get(wish)
        if handed is None or not handed.begin():
            handed = self._papers[wish] = Handed(shown.draw(wish, visit.name))
            handed.begin()
            while len(self._papers) > KEPT:
                self._papers.popitem(last=False)
        if handed.paper.labels:
            self._stock = wish.stock
        return handed

    def _pdf(self, wish: Wish, handed: Handed) -> Response:
        pdf = handed.paper.pdf
        body = delivered(pdf, request.environ.get(FOLLOW), handed.end)
        response = Response(body, content_type="application/pdf")
        response.headers["Content-Length"] = str(len(pdf))
        response.headers["Content-Disposition"] = f'inline; filename="{_file_name(wish)}"'
        return response

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


class Handed:
    """A paper that is being handed over, perhaps several times: a form that is sent again gets it again."""

    def __init__(self, paper: Paper) -> None:
        """Take the paper."""
        self.paper = paper
        self._lock = threading.Lock()
        self._is_kept = paper.is_sent
        self._is_dropped = False
        self._open = 0  # answers that are on their way with it

    def begin(self) -> bool:
        """One more answer carries it; False where it was dropped and has to be drawn anew."""
        with self._lock:
            self._open += 1
            return not self._is_dropped

    def end(self, arrived: bool) -> None:
        """An answer arrived or was cut off: it counts once one has arrived, and never where none does."""
        with self._lock:
            self._open -= 1
            if arrived and not self._is_kept:
                self._is_kept = True
                self.paper.keep()
            elif not self._open and not self._is_kept:
                self._is_dropped = True
                self.paper.drop()


def _old_cards(view: View, handed: Handed) -> list[str]:
    """That the crate cards of these lots are older, where they are."""
    old = handed.paper.old_cards
    return [view.words.old_cards(lots=old)] if old else []


def _number(text: str) -> int | None:
    return int(text) if re.fullmatch(r"[0-9]{1,6}", text, re.ASCII) else None


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
