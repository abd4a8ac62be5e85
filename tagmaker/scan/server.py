"""The pages as a web application: lots and coolers for everybody, the bench for whoever may print.

Everything is answered from what `Live` holds: no address ever becomes a path of the file system. Only the
bench takes posts, each with the token of its form.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException

from tagmaker.scan.adding import Adding
from tagmaker.scan.check import check_page
from tagmaker.scan.counter import Counter
from tagmaker.scan.crate import BAR_SCRIPT, BAR_STYLE, Crate
from tagmaker.scan.door import Door
from tagmaker.scan.form_page import BENCH_SCRIPT, BENCH_STYLE
from tagmaker.scan.guards import SECURITY, TEXT
from tagmaker.scan.live import Live, View
from tagmaker.scan.packer import ADDRESS, Packer
from tagmaker.scan.pages import ASSETS, asset, missing_page
from tagmaker.scan.plan import ADDRESS as PLAN_ADDRESS
from tagmaker.scan.plan import PlanPages

BODY_BYTES = 16384  # of a form: the counts of 400 lots (chosen)
KINDS = {"css": "text/css", "js": "text/javascript"}


def make_app(
    live: Live,
    door: Door,
    counter: Counter,
    tell: Callable[[str], None],
    notices: Callable[[], Sequence[str]] = tuple,
) -> Flask:
    """The application.

    Args:
        live: what the pages show
        door: who may record and print
        counter: printing
        tell: says a line to whoever started the server
        notices: what the settings say that does not hold on this computer
    """
    app = Flask("tagmaker", static_folder=None, template_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=BODY_BYTES, MAX_FORM_MEMORY_SIZE=BODY_BYTES, MAX_FORM_PARTS=20)
    app.url_map.merge_slashes = False  # nothing is answered with a redirect
    app.url_map.strict_slashes = False
    crate, adding = Crate(live, door), Adding(live, door)
    packer, plans = Packer(live, door), PlanPages(live, door)

    def answer(address: str, name: str, view: Callable[..., Response], method: str = "GET") -> None:
        app.add_url_rule(address, name, view, methods=[method], provide_automatic_options=False)

    answer("/", "index", crate.index)
    for name in (*ASSETS, BENCH_STYLE, BENCH_SCRIPT, BAR_STYLE, BAR_SCRIPT):
        answer(f"/{name}", name, lambda name=name: _asset(live.look(), name))
    for letter in "Ll":
        answer(f"/{letter}/<name>", f"page {letter}", lambda name: packer.by_name(name) or crate.page(name))
    answer("/enter", "enter", crate.enter, "POST")
    answer("/enter", "after enter", crate.index)
    answer("/bench/count", "counts", crate.counts)
    answer("/bench/count", "count", crate.count, "POST")
    answer("/bench/new", "new lot", crate.new_lot)
    answer(PLAN_ADDRESS, "plan", plans.page)
    answer(PLAN_ADDRESS, "accept", plans.accept, "POST")
    answer(ADDRESS, "pack", packer.page)
    for word, view in (("keep", packer.keep), ("came", packer.came)):
        answer(f"{ADDRESS}/{word}", f"pack {word}", view, "POST")
        answer(f"{ADDRESS}/{word}", f"after pack {word}", packer.page)
    answer("/bench", "bench", counter.bench)
    answer("/bench/papers", "more papers", counter.papers)
    answer("/bench/stocks", "label sheets", counter.stocks)
    answer("/bench/stock", "choose a label sheet", counter.choose, "POST")
    answer("/bench/stock", "after choose", counter.stocks)
    answer("/bench/test-page", "test page", counter.test_page)
    answer("/bench/test-page", "correct", counter.correct, "POST")
    answer("/bench/<code>", "bench of a lot", counter.bench)
    answer("/bench/print", "print", counter.print, "POST")
    answer("/bench/answer", "answer", counter.answer, "POST")
    for name in ("print", "answer"):  # a phone that lost a page asks for its address again, and gets the list
        answer(f"/bench/{name}", f"after {name}", lambda: counter.bench())
    answer("/check", "check", lambda: Response(check_page(live.look(), notices())))
    answer("/readings/<name>", "add readings", adding.page)
    answer("/readings/<name>", "look at readings", adding.look, "POST")
    answer("/readings/keep", "keep readings", adding.keep, "POST")
    answer("/readings/keep", "after keep", crate.index)
    answer("/pair", "pairing", door.pair_page)
    answer("/pair", "pair", door.pair, "POST")
    answer("/pair/remove", "remove", door.remove, "POST")
    answer("/pair/remove", "after remove", door.pair_page)
    answer("/favicon.ico", "no icon", lambda: Response(status=204))
    app.after_request(_guarded)
    app.register_error_handler(HTTPException, lambda error: _refused(live.look(), error))
    app.register_error_handler(Exception, lambda error: _broken(error, tell))
    return app


def _asset(view: View, name: str) -> Response:
    text = asset(view.shown.source, name) if name in ASSETS else view.shown.source.wording.render(name)
    return Response(text, content_type=f"{KINDS[name.rpartition('.')[2]]}; charset=utf-8")


def _refused(view: View, error: HTTPException) -> Response:
    """A page that is not there, a method that is not taken, a body that is too large."""
    code = error.code or 500
    if code == 404 and request.method == "GET":
        asked = request.path.rpartition("/")[2]
        return Response(missing_page(view.shown.source, asked, live=True, banner=view.banner), 404)
    headers = {"Allow": ", ".join(sorted(_methods(error)))} if code == 405 else {}
    return Response(f"{code} {error.name}\n", code, headers, content_type=TEXT)


def _methods(error: Any) -> set[str]:  # Any: only one kind of refusal has methods
    return set(error.valid_methods or ())


def _broken(error: Exception, tell: Callable[[str], None]) -> Response:
    """A fault of our own: said in the terminal, never on a page."""
    tell(f"serve: {request.path[:80]!a}: {type(error).__name__}: {str(error)[:200]!a}")
    return Response("500 something went wrong here; the terminal says what\n", 500, content_type=TEXT)


def _guarded(response: Response) -> Response:
    for name, value in SECURITY.items():
        response.headers[name] = value
    return response
