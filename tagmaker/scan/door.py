"""The door of the live pages: who comes with a form, and how a phone is paired."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence

from flask import Response, abort, redirect, request
from werkzeug.http import parse_cookie

from tagmaker.scan.form_page import form_page
from tagmaker.scan.live import Live
from tagmaker.scan.pairing import PAIRED_S, Answer, PairingCode, Phones, Visit, Visits

FORM = "application/x-www-form-urlencoded"
UPLOAD = "multipart/form-data"
PAIR = "pair.html.j2"
_BACK = re.compile(r"/[A-Za-z0-9._~/-]{0,80}")  # where one may land after pairing: a page of ours


class Door:
    """Cookies, tokens and pairing, for everything that a form can do."""

    def __init__(
        self,
        live: Live,
        code: PairingCode | None,
        cookie: Callable[[], str],
        phones: Phones | None = None,
        own: Collection[str] = ("127.0.0.1", "::1"),
    ) -> None:
        """Take what is shown and who comes in.

        Args:
            live: what the pages show
            code: that a phone says once; None: whoever reaches the server is inside
            cookie: its name: servers on one machine see each other's, so each has one of its own
            phones: those that are paired
            own: addresses of this computer itself; the code is shown to it
        """
        self._live, self._code, self._cookie_name = live, code, cookie
        self._phones = phones or Phones()
        self._own = own
        self._visits = Visits(self._phones, code_needed=code is not None)

    def visit(self) -> Visit | None:
        """Whose cookie the request has."""
        return self._visits.read(request.cookies.get(self._cookie_name()))

    def welcome(self) -> tuple[Visit, bool]:
        """The visit of a request, and whether it has just begun and has to be given its cookie."""
        visit = self.visit()
        return (self._visits.begin(), True) if visit is None else (visit, False)

    def token(self, visit: Visit) -> str:
        """What the forms of a visit send back."""
        return self._visits.token(visit)

    def may_send(self, cookies: str) -> bool:
        """Whether whoever has these cookies, as their header says them, may record."""
        visit = self._visits.read(parse_cookie(cookies).get(self._cookie_name()))
        return visit is not None and visit.inside

    def checked_form(self, kind: str = FORM) -> Visit | None:
        """The visit that a form was given to; None: it was given to nobody who is known now."""
        if request.mimetype != kind:
            abort(415)
        if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
            abort(403)
        origin = request.headers.get("Origin")
        if origin not in (None, "null", f"http://{request.host}"):  # null: what a page without referrer sends
            abort(403)
        visit = self.visit()
        known = visit is not None and self._visits.is_token(request.form.get("token", ""), visit)
        return visit if known else None

    def with_cookie(self, response: Response, visit: Visit) -> Response:
        """The answer with the cookie of a visit."""
        response.set_cookie(
            self._cookie_name(),
            self._visits.cookie(visit),
            max_age=PAIRED_S,
            path="/",
            httponly=True,
            samesite="Lax",
        )
        return response

    def is_own(self) -> bool:
        """Whether the request comes from this computer itself."""
        return request.remote_addr in self._own

    # --- pairing --------------------------------------------------------------------------------------------

    def pair_page(self, said: Sequence[str] = (), status: int = 200, back: str = "") -> Response:
        """The form that asks for the code; to the computer itself it shows the code and the phones."""
        view, (visit, fresh) = self._live.look(), self.welcome()
        is_own = self.is_own()
        page = form_page(
            view,
            PAIR,
            said=said,
            token=self.token(visit),
            back=back or request.args.get("back", "") or request.path,
            code=self._code.code if self._code is not None and is_own else None,
            paired=visit.phone,
            phones=self._phones.all() if is_own or visit.phone else (),
            needed=self._code is not None,
        )
        response = Response(page, status)
        return self.with_cookie(response, visit) if fresh else response

    def pair(self) -> Response:
        """Take a phone in, and lead it back to where it was."""
        view, visit = self._live.look(), self.checked_form()
        back = request.form.get("back", "")
        back = back if _BACK.fullmatch(back) and not back.startswith("//") else "/"
        if visit is None:
            return self.pair_page([view.words.too_old()], 403, back)
        if visit.inside or self._code is None:
            return redirected(back)
        address = request.remote_addr or ""
        answer = self._code.attempt(request.form.get("code", ""), address)
        if answer is Answer.RIGHT:
            now = view.shown.source.now
            phone = self._phones.pair(request.form.get("name", ""), f"{now:%Y-%m-%d}")
            return self.with_cookie(
                redirected("/bench" if back == "/pair" else back), self._visits.begin(phone)
            )
        say, wait_s = view.words, self._code.wait_s(address)
        said = {
            Answer.WRONG: say.wrong(seconds=wait_s),
            Answer.WAIT: say.too_soon(seconds=wait_s),
            Answer.SHUT: say.shut(seconds=wait_s),
        }[answer]
        response = self.pair_page([said], 403 if answer is Answer.WRONG else 429, back)
        if answer is not Answer.WRONG:
            response.headers["Retry-After"] = str(wait_s)
        return response

    def remove(self) -> Response:
        """Take a phone out; the computer itself and paired phones may."""
        view, visit = self._live.look(), self.checked_form()
        is_own = self.is_own()
        if visit is None or not (is_own or visit.phone):
            return self.pair_page([view.words.too_old()], 403)
        self._phones.remove(request.form.get("phone", ""))
        return redirected("/pair")


def redirected(address: str) -> Response:
    """Go there and look; a reload does not send the form again."""
    response = redirect(address, 303)
    assert isinstance(response, Response)
    return response
