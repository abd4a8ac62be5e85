"""The crate's journal form: what happened is tapped on a lot's page, taken down, and shown there at once."""

from __future__ import annotations

import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import PurePath

from flask import Response, request

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.farm import Farm
from tagmaker.lot import Lot, Stage, StorageDates, Surface
from tagmaker.scan.address import LOOPBACK, link_pattern
from tagmaker.scan.door import Door, redirected
from tagmaker.scan.form_page import form_page
from tagmaker.scan.live import Live
from tagmaker.scan.lot_story import flowers
from tagmaker.scan.pages import Begin, index_page, missing_page, page_for
from tagmaker.scan.pairing import Visit
from tagmaker.scan.source import LotJournal, PageSource, Told, plain
from tagmaker.scan.tap import NEW_CELLS, read_tap
from tagmaker.telling.agenda import spot_at

BAR_STYLE, BAR_SCRIPT = "crate-bar.css", "crate-bar.js"
OWN = "this computer"  # as a device
QUICK = (1, 2, 3, 5)  # bunches that have a button (chosen)
DEPARTURES = 6  # that are offered for stems that go into water (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """What the buttons on a lot's page need."""

    token: str  # "": the phone is not paired
    lot: str
    back: str  # address of the page
    journal: LotJournal
    coolers: Sequence[str]
    uses: Sequence[str]
    departures: Sequence[tuple[str, datetime, str]]  # as it is sent, when, for which use
    stands_in: str
    in_water: bool
    planned: bool = False
    saved: Told | None = None  # what was just taken down
    left: str = ""
    said: Sequence[str] = ()  # why the last tap was refused
    quick: Sequence[int] = field(default=QUICK)

    def new_id(self) -> str:
        """An id for one form: sent twice it is one entry. The script mints another at each tap."""
        return secrets.token_urlsafe(16)


@dataclass(frozen=True, slots=True)
class Look:
    """What the fields on a cooler's page need."""

    token: str  # "": the phone is not paired
    said: Sequence[str]  # why the last look was refused
    saved: bool

    def new_id(self) -> str:
        """An id for one form."""
        return secrets.token_urlsafe(16)


class Crate:
    """Takes taps, and shows lots with the buttons for them."""

    def __init__(self, live: Live, door: Door) -> None:
        """Take what is shown, and who may record."""
        self._live, self._door = live, door

    def page(self, name: str, said: Sequence[str] = (), status: int = 200) -> Response:
        """A lot's or a cooler's page, by its name in any case.

        A lot whose row became faulty is shown as it was when it was sound.
        """
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        source, banner = view.shown.source, list(view.banner)
        code, is_cooler = source.pages.get(plain(name), ("", False))
        faulty = not is_cooler and code in source.problems_of and code not in source.dates_of
        if faulty and code in view.sound.dates_of:
            banner += [view.words.unsound(), *(str(problem) for problem in source.problems_of[code])]
            source = view.sound
        bar = self._look(visit, said) if is_cooler else self._bar(source, code, visit, said)
        page = page_for(source, name, live=True, banner=banner, bar=bar)
        if page is None:
            return Response(missing_page(source, name, live=True, banner=banner), 404)
        response = Response(page, status)
        return self._door.with_cookie(response, visit) if fresh else response

    def index(self) -> Response:
        """The first page: what is to be done today, what is ready, and all lots."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        token = self._door.token(visit) if visit.inside else ""
        source = view.shown.source
        sheet = Begin(PurePath(source.sheet).name, "")
        if self._door.is_own():
            sheet = Begin(sheet.name, source.sheet, _link_here(source.farm))
        response = Response(index_page(source, live=True, banner=view.banner, token=token, sheet=sheet))
        return self._door.with_cookie(response, visit) if fresh else response

    # --- lists and new lots ---------------------------------------------------------------------------------

    def counts(self, said: Sequence[str] = (), done: Sequence[str] = (), status: int = 200) -> Response:
        """One list in which a whole evening's counts are written."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        if not visit.inside:
            return self._door.pair_page(back="/bench/count")
        source = view.shown.source
        rows = [
            (dates.lot.lot_code, flowers(source, dates.lot), _left(dates.lot), spot_at(dates.lot, source.now))
            for dates in sorted(source.dated, key=lambda dates: dates.lot.lot_code)
            if dates.left is None or dates.left > 0
        ]
        token = self._door.token(visit)
        page = form_page(
            view,
            "count.html.j2",
            token=token,
            said=said,
            done=done,
            rows=rows,
            form=secrets.token_urlsafe(16),
        )
        response = Response(page, status)
        return self._door.with_cookie(response, visit) if fresh else response

    def count(self) -> Response:
        """Take the counts down that were written, each by itself."""
        visit = self._door.checked_form()
        if visit is None or not visit.inside:
            return self._door.pair_page(status=403, back="/bench/count")
        form, said, saved = request.form, list[str](), list[str]()
        for name, text in form.items():
            code = name.removeprefix("count-")
            if code == name or not text.strip():
                continue
            fields = {
                "id": f"{form.get('form', '')}-{code}",
                "lot": code,
                "kind": "count",
                "many": text.strip(),
            }
            try:
                taken = self._live.take(
                    read_tap({**fields, "when": form.get("when", "now")}), visit.phone or OWN
                )
                saved.append(f"{taken.lot}: {taken.said}")
            except InputProblems as error:
                said += [f"{code}: {problem}" for problem in error.problems]
            except TagmakerError as error:
                said.append(f"{code}: {_sentence(str(error))}")
        words = self._live.look().words
        done = [words.saved_counts(count=len(saved)), *saved] if saved else []
        return self.counts([words.not_saved(), *said] if said else [], done, 409 if said else 200)

    def new_lot(self, said: Sequence[str] = (), status: int = 200) -> Response:
        """The form of a new lot: the last lot's cells, and a code that is free."""
        view, (visit, fresh) = self._live.look(), self._door.welcome()
        if not visit.inside:
            return self._door.pair_page(back="/bench/new")
        cells = {
            **view.shown.new_lot(),
            **{name: text for name, text in request.form.items() if name in NEW_CELLS},
        }
        token = self._door.token(visit)
        page = form_page(
            view,
            "new-lot.html.j2",
            token=token,
            said=said,
            done=(),
            cells=cells,
            names=NEW_CELLS,
            choices={name: _choices(name, view.shown.source.farm) for name in NEW_CELLS},
            form=secrets.token_urlsafe(16),
        )
        response = Response(page, status)
        return self._door.with_cookie(response, visit) if fresh else response

    def enter(self) -> Response:
        """Take a tap down, and show its lot; what cannot be is refused, and said there."""
        visit = self._door.checked_form()
        lot = plain(request.form.get("lot", ""))
        if visit is None or not visit.inside:
            if _wants_json():
                return _json({"error": "unpaired"}, 403)
            return self._door.pair_page(status=403, back=f"/L/{lot}")
        device = visit.phone or OWN
        try:
            taken = self._live.take(read_tap(request.form), device)
        except InputProblems as error:
            return self._refused(lot, [str(problem) for problem in error.problems])
        except TagmakerError as error:
            return self._refused(lot, [_sentence(str(error))])
        if request.form.get("kind") == "new":
            return redirected(f"/bench/{taken.lot}")
        if _wants_json():
            return _json({"saved": taken.number, "page": taken.lot, "said": taken.said}, 200)
        return redirected(f"/L/{taken.lot}?saved={taken.number}")

    def _refused(self, lot: str, said: list[str]) -> Response:
        if _wants_json():
            return _json({"error": " ".join(said)}, 409)
        words = self._live.look().words
        if request.form.get("at"):
            return self.page(request.form["at"], [words.not_saved(), *said], 409)
        if request.form.get("kind") == "new":
            return self.new_lot([words.not_saved(), *said], 409)
        return self.page(lot, [words.not_saved(), *said], 409)

    def _look(self, visit: Visit, said: Sequence[str]) -> Look:
        """The fields of a cooler's page."""
        token = self._door.token(visit) if visit.inside else ""
        return Look(token, said, re.fullmatch(r"\d{1,9}", request.args.get("saved", "")) is not None)

    def _bar(self, source: PageSource, code: str, visit: Visit, said: Sequence[str]) -> Bar | None:
        """The buttons of a lot; None for one that is not in the sheet."""
        dates, plan = source.dates_of.get(code), source.plan_of.get(code)
        if dates is None and plan is None:
            return None
        lot = dates.lot if dates is not None else plan.lot  # type: ignore[union-attr]  # one of them is there
        journal = source.journal.get(code, LotJournal())
        number = request.args.get("saved", "")
        saved = next((told for told in journal.told if str(told.number) == number), None)
        return Bar(
            token=self._door.token(visit) if visit.inside else "",
            lot=code,
            back=f"/L/{source.lot_names[code]}",
            journal=journal,
            coolers=tuple(source.farm.coolers),
            uses=tuple(source.farm.uses),
            departures=_departures(source, dates) if dates is not None else (),
            stands_in=lot.cooler,
            in_water=lot.in_water is not None,
            planned=dates is None,
            saved=saved,
            left=_left(lot),
            said=said,
        )


def _choices(cell: str, farm: Farm) -> list[str]:
    """What a cell of a new lot can say, where that is little enough to choose from."""
    few = {
        "stage": [stage.word for stage in Stage],
        "bulb": ["on", "off"],
        "storage": ["dry", "water"],
        "surface": [surface.value for surface in Surface],
        "cooler": list(farm.coolers),
        "use": list(farm.uses),
    }
    return few.get(cell, [])


def _left(lot: Lot) -> str:
    """What is left of it, in bunches where they are whole."""
    if lot.left is None:
        return ""
    whole = lot.left % lot.per_bunch == 0
    count, unit = (lot.left // lot.per_bunch, "bunch") if whole else (lot.left, "stem")
    return f"{count} {unit}{'' if count == 1 else 'es' if whole else 's'}"


def _departures(source: PageSource, dates: StorageDates) -> list[tuple[str, datetime, str]]:
    """The next departures that a lot would do for: of its orders, and of the outlets that sell."""
    found = [(order.leaves, order.use) for order in dates.orders if order.ok]
    found += [(moment, use) for use, moment in dates.elsewhere]
    if dates.sell_by is not None:
        found.append((dates.sell_by, dates.sell_by_use or dates.lot.use))
    ahead = sorted({item for item in found if item[0] > source.now})[:DEPARTURES]
    return [(f"{moment:%Y-%m-%dT%H:%M} {use}", moment, use) for moment, use in ahead]


def _wants_json() -> bool:
    return request.accept_mimetypes.best == "application/json"


def _json(content: dict[str, object], status: int) -> Response:
    import json

    return Response(json.dumps(content) + "\n", status, content_type="application/json")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].removesuffix(".") + "."


def _link_here(farm: Farm) -> str:
    """The link with which a scan opens these pages, where the settings have none and a phone can come."""
    host, _, port = request.host.partition(":")
    if farm.link is not None or host in (LOOPBACK, "localhost"):
        return ""
    return link_pattern(host, int(port or 80))
