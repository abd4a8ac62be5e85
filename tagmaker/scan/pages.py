"""The pages of lots and coolers as HTML, as files or live.

Each function returns one whole page. `live` pages link to addresses of the server and are as of now; the
others link to files beside them and say when they were made. `banner` is said above everything, a line each.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote

from tagmaker.lot import StorageDates
from tagmaker.scan.lot_story import LotStory, PlanStory, filled, flowers, lot_story, plan_story
from tagmaker.scan.source import LONGEST_NAME, PageSource, plain
from tagmaker.scan.today import Today, ready_now, tasks_of_today
from tagmaker.telling.order import selling_order

STYLE = "pages.css"
SCRIPT = "pages.js"
ASSETS = (STYLE, SCRIPT)
ROOM_SHOWN = 7  # days of a cooler's room on its page (chosen)


class NoSuchPage(LookupError):
    """Nothing is known by that name."""


@dataclass(frozen=True, slots=True)
class Links:
    """Where the links of a page lead."""

    live: bool

    @property
    def index(self) -> str:
        """The list of all lots."""
        return "/" if self.live else "index.html"

    def page(self, name: str) -> str:
        """The page of a lot or a cooler, by the name of its page."""
        return f"/L/{quote(name)}" if self.live else f"{quote(name)}.html"

    def asset(self, name: str) -> str:
        """The stylesheet or the script."""
        return f"/{name}" if self.live else name


@dataclass(frozen=True, slots=True)
class Begin:
    """What a season without a lot needs first: its sheet."""

    name: str
    path: str  # whole; "": whoever asks sits at another computer
    link: str = ""  # with which codes on tags lead here; "": they do, or no phone could come


def index_page(
    source: PageSource,
    *,
    live: bool = False,
    banner: Sequence[str] = (),
    token: str | None = None,
    sheet: Begin | None = None,
) -> str:
    """The list of all lots and coolers; with the token of a visit, what is to be done today.

    As long as there is none, the live one says what to do with the sheet.
    """
    stories = stories_of(source, source.dated)
    plans = [plan_story(source, plan) for plan in sorted(source.plans, key=lambda plan: plan.lot.cut)]
    faulty = sorted(set(source.problems_of) - set(source.dates_of))
    listed = len(stories) + len(plans) + len(faulty) + len(source.gone)
    here: list[LotStory | PlanStory] = [story for story in stories if not story.finished]
    here += [plan for plan in plans if _has_come(plan)]
    return _render(
        source,
        "index.html.j2",
        live,
        banner,
        due=sorted(here, key=_due_order),
        finished=[story for story in stories if story.finished],
        plans=[plan for plan in plans if not _has_come(plan)],
        faulty=faulty,
        listed=listed,
        begin=sheet if not listed and not source.problems else None,
        nameless=[problem for problem in source.problems if not problem.lot],
        gone=source.gone,
        today=None
        if token is None
        else Today(tasks_of_today(source, [*stories, *plans]), ready_now(source, stories), token),
    )


def _has_come(plan: PlanStory) -> bool:
    """Whether the day of a written plan has come, and somebody is to say that it was cut."""
    return any(task.now for task in plan.todo)


def _due_order(story: LotStory | PlanStory) -> tuple[bool, datetime]:
    """Sort key: what holds now or is overdue first, then by the hour; what asks for nothing last."""
    first = next(iter(story.todo), None)
    return first is None or not first.now, datetime.max if first is None or first.now else first.by


def lot_page(
    source: PageSource,
    lot_code: str,
    *,
    live: bool = False,
    banner: Sequence[str] = (),
    bar: object = None,
) -> str:
    """The page of a lot: cut, planned, with a faulty row, or gone from the sheet but once printed.

    Raises:
        NoSuchPage: the code is in none of these; codes are in upper case.
    """
    problems = source.problems_of.get(lot_code, ())
    if lot_code in source.dates_of:
        story = lot_story(source, source.dates_of[lot_code])
        summary = source.summary_of.get(source.cooler_names[story.cooler])
        by_hand = summary is not None and summary.by_hand
        told = {"story": story, "by_hand": by_hand, "problems": problems, "bar": bar}
        return _render(source, "lot-page.html.j2", live, banner, **told)
    if lot_code in source.plan_of:
        plan = source.plan_of[lot_code]
        told = {
            "story": plan_story(source, plan),
            "plan": plan,
            "why": source.wording.say(plan.why),
            "bar": bar,
        }
        return _render(source, "planned-page.html.j2", live, banner, cells=filled(plan.lot), **told)
    tags = source.printed.get(lot_code, ())
    if not problems and not tags:
        raise NoSuchPage(lot_code)
    return _render(source, "gone-page.html.j2", live, banner, code=lot_code, problems=problems, tags=tags)


def cooler_page(
    source: PageSource,
    page_name: str,
    *,
    live: bool = False,
    banner: Sequence[str] = (),
    look: object = None,
) -> str:
    """The page of a cooler, by the name of its page ("COOLER.WALK-IN").

    Raises:
        NoSuchPage: no cooler has that page.
    """
    if page_name not in source.summary_of:
        raise NoSuchPage(page_name)
    summary = source.summary_of[page_name]
    name = summary.cooler.name
    lost = sum(lot.moved and lot.lost for lot in summary.lots)
    gained = sum(lot.moved and not lot.lost for lot in summary.lots)
    report = source.wording.macros("cooler-report.j2")
    lead = (
        report.unread_lead(cooler=name, counted_c=summary.counted_c, lots=len(summary.lots))
        if summary.week is None
        else report.lead(lost=lost, gained=gained, lots=len(summary.lots), cold=False)
    )
    return _render(
        source,
        "cooler-page.html.j2",
        live,
        banner,
        summary=summary,
        page=page_name,
        look=look,
        lead=lead,
        notes=[source.wording.say(note) for note in summary.notes],
        stories=stories_of(source, (lot.read for lot in summary.lots)),
        rooms=[day for day in source.rooms if day.cooler == name][:ROOM_SHOWN],
    )


def missing_page(source: PageSource, asked: str, *, live: bool = True, banner: Sequence[str] = ()) -> str:
    """What is said of a code that nothing is known of, with the nearest ones."""
    lots = [*(dates.lot for dates in source.dated), *(plan.lot for plan in source.plans)]
    rows = {lot.lot_code: lot for lot in lots}
    near = [(code, flowers(source, rows[code]) if code in rows else "") for code in source.nearest(asked)]
    return _render(source, "missing-page.html.j2", live, banner, asked=asked[:LONGEST_NAME], nearest=near)


def page_for(
    source: PageSource,
    asked: str,
    *,
    live: bool = True,
    banner: Sequence[str] = (),
    bar: object = None,
) -> str | None:
    """The page that a scanned or typed name leads to: a lot code, a cooler or its page, in any case.

    None: there is none; `missing_page` says so.
    """
    name, is_cooler = source.pages.get(plain(asked), (None, False))
    if name is None:
        return None
    if is_cooler:
        return cooler_page(source, name, live=live, banner=banner, look=bar)
    return lot_page(source, name, live=live, banner=banner, bar=bar)


def asset(source: PageSource, name: str) -> str:
    """The stylesheet or the script, by its name in `ASSETS`."""
    if name not in ASSETS:
        raise NoSuchPage(name)
    return source.wording.render(name) + "\n"


def stories_of(source: PageSource, dated: Iterable[StorageDates]) -> list[LotStory]:
    """What is to be told of some lots, in selling order."""
    return [lot_story(source, dates) for dates in sorted(dated, key=selling_order)]


def _render(source: PageSource, template: str, live: bool, banner: Sequence[str], **values: object) -> str:
    page = source.wording.render(
        template,
        farm=source.farm.name,
        now=source.now,
        live=live,
        links=Links(live),
        banner=list(banner),
        coolers=source.cooler_names,
        lots=source.lot_names,
        style=STYLE,
        script=SCRIPT,
        **values,
    )
    return page + "\n"
