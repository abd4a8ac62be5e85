"""Readings added by phone: an export of a cooler's logger is looked at, shown, and kept where one says so."""

from __future__ import annotations

import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from flask import Response, request
from werkzeug.exceptions import RequestEntityTooLarge

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.crate import OWN
from tagmaker.scan.door import UPLOAD, Door, redirected
from tagmaker.scan.form_page import form_page
from tagmaker.scan.incoming import ADDRESS, MOST_SENT
from tagmaker.scan.live import Live
from tagmaker.scan.pages import missing_page
from tagmaker.scan.pairing import Visit
from tagmaker.scan.source import PageSource, plain
from tagmaker.storage.readings import EXPORT_BYTES, Export

MOST_MB = EXPORT_BYTES // 1_000_000
FORM_BYTES = 500_000  # of its fields, and of what is read at a time (werkzeug's own)
QUEUE = 3  # exports that are looked at or wait for it; more are sent away, so that pages go on (chosen)
WAITING = 6  # exports that wait to be kept; the oldest makes way (chosen)
WAITING_S = 1800.0  # [s] that one waits (chosen)
NAME = 60  # letters of a file's name that are shown (chosen)


@dataclass(frozen=True, slots=True)
class Waiting:
    """An export that was looked at, in memory alone: a server that ends leaves nothing of it."""

    visit: str  # whose it is
    cooler: str
    name: str  # the file as the phone calls it
    content: bytes
    export: Export
    since_s: float
    place: str = ""  # where it is kept


class Adding:
    """The page on which readings are added to a cooler."""

    def __init__(self, live: Live, door: Door) -> None:
        """Take what is shown, and who may record."""
        self._live, self._door = live, door
        self._queue = threading.BoundedSemaphore(QUEUE)
        self._one = threading.Lock()  # for what waits
        self._waiting: OrderedDict[str, Waiting] = OrderedDict()

    def page(self, name: str, said: Sequence[str] = (), status: int = 200) -> Response:
        """The form for a file, or what the file holds that was sent last."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        source = view.shown.source
        cooler = _cooler(source, name)
        if not visit.inside:
            return self._door.pair_page(back=f"{ADDRESS}{plain(name)}" if cooler else "/")
        if cooler is None:
            return Response(missing_page(source, name, live=True, banner=view.banner), 404)
        waiting = self._of(request.args.get("file", ""), visit.name)
        if waiting is not None and waiting.cooler != cooler:
            waiting = None
        page_name = source.cooler_names[cooler]
        page = form_page(
            view,
            "add-readings.html.j2",
            token=self._door.token(visit),
            said=said,
            done=(),
            cooler=cooler,
            page=page_name,
            address=f"{ADDRESS}{page_name}",
            file=request.args.get("file", ""),
            waiting=waiting,
            export=None if waiting is None else waiting.export,
            summary=source.summary_of[page_name],
            fault=view.shown.logs.fault(cooler),
            most_mb=MOST_MB,
        )
        response = Response(page, status)
        return self._door.with_cookie(response, visit) if fresh else response

    def look(self, name: str) -> Response:
        """Look at a file, and lead to what it holds."""
        view = self._live.look()
        words, cooler = view.words, _cooler(view.shown.source, name)
        try:
            visit, called, content = self._received()
        except RequestEntityTooLarge:
            return self.page(name, [words.not_kept(), words.too_many_bytes(most=MOST_MB)], 413)
        if visit is None or not visit.inside:
            return self._door.pair_page([words.too_old()], 403, f"{ADDRESS}{plain(name)}" if cooler else "/")
        if cooler is None:
            return self.page(name)
        if not called and not content:
            return self.page(name, [words.no_file()], 400)
        try:
            with self._turn():
                export = view.shown.logs.check(cooler, called, content)
        except InputProblems as error:
            return self.page(name, [words.not_kept(), *map(str, error.problems)], 409)
        except Busy:
            return self._busy(name)
        number, since_s = secrets.token_urlsafe(16), time.monotonic()
        self._put(number, Waiting(visit.name, cooler, called, content, export, since_s))
        return redirected(f"{ADDRESS}{view.shown.source.cooler_names[cooler]}?file={number}")

    def _received(self) -> tuple[Visit | None, str, bytes]:
        """Who sent a form with a file, what the file is called, and what it holds.

        Raises:
            RequestEntityTooLarge: it is larger than an export may be.
        """
        request.max_content_length = MOST_SENT
        request.max_form_memory_size = FORM_BYTES
        with request:  # closes the files that came with it
            visit = self._door.checked_form(UPLOAD)
            file = request.files.get("file")
            if file is None:
                return visit, "", b""
            content = file.stream.read(EXPORT_BYTES + 1)
            if len(content) > EXPORT_BYTES:
                raise RequestEntityTooLarge
            return visit, _called(file.filename or ""), content

    def keep(self) -> Response:
        """Keep a file that was looked at; sent twice, it is kept once."""
        visit, view = self._door.checked_form(), self._live.look()
        words, number = view.words, request.form.get("file", "")
        if visit is None or not visit.inside:
            return self._door.pair_page([words.too_old()], 403, "/")
        waiting = self._of(number, visit.name)
        page = view.shown.source.cooler_names.get(waiting.cooler) if waiting is not None else None
        if waiting is None or page is None:
            name = request.form.get("cooler", "")
            return self.page(name, [words.not_kept(), words.gone()], 409)
        try:
            with self._turn():
                waiting = self._of(number, visit.name) or waiting  # perhaps it was kept meanwhile
                if not waiting.place:
                    device = visit.phone or OWN
                    place = view.shown.logs.keep(waiting.cooler, waiting.name, waiting.content, device)
                    self._put(number, replace(waiting, content=b"", place=place))
        except InputProblems as error:
            return self.page(page, [words.not_kept(), *map(str, error.problems)], 409)
        except Busy:
            return self._busy(page)
        except TagmakerError as error:
            return self.page(page, [words.not_kept(), str(error)], 500)
        return redirected(f"{ADDRESS}{page}?file={number}")

    def _busy(self, name: str) -> Response:
        response = self.page(name, [self._live.look().words.busy_with_files()], 503)
        response.headers["Retry-After"] = "10"
        return response

    def _of(self, number: str, visit: str) -> Waiting | None:
        """The file of a number, for whom it was sent by."""
        with self._one:
            found = self._waiting.get(number)
            if found is None or found.visit != visit or time.monotonic() - found.since_s > WAITING_S:
                return None
            return found

    def _put(self, number: str, waiting: Waiting) -> None:
        with self._one:
            self._waiting[number] = waiting
            for old in [
                key for key, one in self._waiting.items() if time.monotonic() - one.since_s > WAITING_S
            ]:
                del self._waiting[old]
            while len(self._waiting) > WAITING:
                self._waiting.popitem(last=False)

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._queue.acquire(blocking=False):
            raise Busy("too many exports at once")
        try:
            yield
        finally:
            self._queue.release()


class Busy(TagmakerError):
    """Too many exports are looked at just now."""


def _cooler(source: PageSource, name: str) -> str | None:
    """The cooler of a page's name, in any case."""
    summary = source.summary_of.get(plain(name))
    return None if summary is None else summary.cooler.name


def _called(name: str) -> str:
    """A file's name as it is shown: the phone's, without its folders and what nobody can read."""
    last = name.replace("\\", "/").rpartition("/")[2].strip()
    plain_name = "".join(letter if letter.isprintable() else "?" for letter in last)
    return plain_name if len(plain_name) <= NAME else f"{plain_name[:NAME]}…"
