"""The command line: parse, call one function, print, end with an exit code.

Results go to stdout, everything else to stderr. Whatever is heavy is imported by the command
that needs it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Any

import click

from tagmaker.desk.options import (
    Today,
    beside_settings,
    card,
    moment_option,
    no_record,
    on_labels,
    printer,
    printing_lots,
    reading,
    reprint,
    season_folder,
    seeing,
    showing,
    skip_bad,
    weeks,
    writing,
)
from tagmaker.errors import InputProblems, Problem, TagmakerError, UsageProblem

if TYPE_CHECKING:
    from tagmaker.desk.season import Season
    from tagmaker.paper.deliver.filing import Filed

PAGE_WIDTH = 100  # letters of a line, where the terminal has so many (chosen: longer ones are hard to follow)


class _Commands(click.Group):
    """Ends every failure that is the user's to mend with its message and exit code."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except TagmakerError as error:
            _tell_error(error)
            ctx.exit(error.exit_code)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="tagmaker")
def main() -> None:
    """Storage dates and printed tags for lots of cut flowers.

    LOTS is a sheet of lots (csv, xlsx or ods); its settings stand in the same workbook, and in tagmaker.toml
    beside it. Begin with: tagmaker start FOLDER. All of the reference: tagmaker help.
    """


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Ask nothing, and take what Enter would take.")
@click.option(
    "--after",
    type=click.Path(path_type=Path, exists=True),
    metavar="OLD",
    help="Take over the settings of this season, a sheet or its folder, and close it.",
)
def start(folder: Path, yes: bool, after: Path | None) -> None:
    """Begin a season in FOLDER: a workbook of lots and settings, and a file to double-click.

    On a terminal, six questions are asked; Enter takes what stands in brackets. Of a season that is closed
    nothing is changed: a note is laid beside its sheet.
    """
    from tagmaker.desk.closing import close, season_before
    from tagmaker.desk.running import last_season
    from tagmaker.desk.seasons import season_sheet
    from tagmaker.desk.starting import asked, begin, follows
    from tagmaker.intake.starter.beginning import Beginning

    ask = _ask if sys.stdin.isatty() and sys.stderr.isatty() and not yes else None
    old = season_sheet(after, Path(), None) if after else None
    if ask and old is None and (last := last_season()) is not None:
        old = last if follows(ask, last, folder) else None
    if ask and old is None:
        tell("A few questions. Enter takes what stands in brackets; all of it can be changed in the sheet.")
    before = season_before(old, _clock) if old else None
    beginning = before.beginning if before else asked(ask) if ask else Beginning()
    paths = begin(folder, beginning, before.files if before else None)
    if before:
        paths = (*close(before, paths[0], _clock(None).date()), *paths)
        for line in before.still_open:
            tell(f"open in {before.sheet}: {line}")
    for path in paths:
        tell(f"wrote {path}")
    click.echo(f'Fill in the sheet, then double-click "{paths[-1].name}", or: tagmaker serve "{folder}"')


def _ask(question: str, usual: str, check: Callable[[str], None]) -> str:
    """Ask on the terminal, again after a wrong answer."""
    from tagmaker.desk.starting import fault

    def checked(answer: str) -> str:
        try:
            check(answer)
        except InputProblems as error:
            raise click.UsageError(fault(error)) from None
        return answer

    shown = bool(usual)
    return str(click.prompt(question, usual, value_proc=checked, err=True, show_default=shown))


@main.command()
@reading
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--all", "everything", is_flag=True, help="Also lots of which nothing is left.")
def dates(
    sheet: Path,
    today: Today | None,
    only: Sequence[str],
    templates: Path | None,
    as_json: bool,
    everything: bool,
) -> None:
    """Show what was computed for every lot, and why."""
    from tagmaker.desk.jobs import asked_for
    from tagmaker.desk.overview import overview
    from tagmaker.desk.report import as_json_text, as_table

    season = _season(sheet, today, templates)
    found = overview(season, asked_for(only, season))
    if not everything and not only:
        found = found.of_what_is_left()
    click.echo((as_json_text if as_json else as_table)(found, season))
    if found.problems:
        tell_problems(found.problems)
        sys.exit(InputProblems.exit_code)


@main.command()
@printing_lots
@on_labels
@printer
@no_record
@click.option("--for-buyer", is_flag=True, help="Labels for bunches that leave: no dates, how to keep them.")
@click.option("--new", is_flag=True, help="Only bunches that never had a label.")
@reprint
def wraps(for_buyer: bool, **options: Any) -> None:
    """Print wrap labels, one per bunch."""
    if for_buyer and (options["new"] or options["reprint"] or options["reprint_all"]):
        raise click.UsageError(
            "--for-buyer labels every bunch that may leave; leave out --new, --reprint and --reprint-all."
        )
    _print(("buyers",) if for_buyer else ("wraps",), **options)


@main.command()
@printing_lots
@printer
@no_record
@card
@reprint
def crates(**options: Any) -> None:
    """Print crate cards, one per crate or bucket."""
    _print(("crates",), **options)


@main.command()
@printing_lots
@printer
@click.option("--blank", is_flag=True, help="The standing grid, to laminate and write on week after week.")
@weeks
def checklist(**options: Any) -> None:
    """Print the weekly checklist, one for each cooler's door."""
    if options["blank"] and options["weeks"] > 1:
        raise UsageProblem(
            f"--weeks must be 1 with --blank (got {options['weeks']}): the standing grid is for every week."
        )
    _print(("checklist",), remember=False, **options)


@main.command()
@printing_lots
@on_labels
@printer
@no_record
@card
def papers(**options: Any) -> None:
    """Print wrap labels, crate cards and the checklist."""
    _print(("wraps", "crates", "checklist"), **options)


@main.command()
@season_folder
@click.option("--for", "use", metavar="USE", help="What leaves for this outlet; otherwise for all of them.")
@click.option("--on", metavar="DAY", help="On this day: SAT, tomorrow, 2027-04-24; otherwise within a week.")
@click.option("--bunches", type=int, metavar="N", help="So many in all, written orders included.")
@click.option(
    "--keep", is_flag=True, help="Keep the bunches for it, so that they are promised to nobody else."
)
@click.option("--anew", is_flag=True, help="Choose again what --keep kept before.")
@click.option("--ask", metavar="WORDS", help='What could be promised: "60 florist 2027-04-16".')
@skip_bad
@writing
@seeing
@printer
def pack(
    sheet: Path,
    today: Today | None,
    templates: Path | None,
    ask: str | None,
    open_it: bool,
    proof_report: bool,
    **options: Any,
) -> None:
    """List which bunches to pack for which outlet, from where, and print the pack sheet.

    Without --for and --on, the departures of the coming week.
    """
    from tagmaker.desk.entry_making import Yard
    from tagmaker.desk.pack_job import PackWish, answer, pack_all

    season = _season(sheet, today, templates)

    def show(filed: Sequence[Filed]) -> None:
        for paper in filed:
            for path in (paper.path, *paper.previews):
                click.echo(str(path))
        _see(filed, open_it, proof_report)

    if ask is not None:
        click.echo(answer(season, ask))
    else:
        pack_all(season, PackWish(**options), Yard.of(sheet, today, _clock), click.echo, tell, show)
    if season.problems or season.order_problems:
        tell_problems(season.problems)
        sys.exit(InputProblems.exit_code)


@main.command()
@season_folder
@click.option(
    "--accept",
    multiple=True,
    metavar="ROW",
    help="Write a row of the plan into the journal; may be repeated.",
)
@skip_bad
@writing
@seeing
@printer
def plan(
    sheet: Path,
    today: Today | None,
    templates: Path | None,
    open_it: bool,
    proof_report: bool,
    **options: Any,
) -> None:
    """Propose how to keep what is cut and planned, for which outlet and day, and whether it fits the coolers.

    It looks eight weeks ahead. Nothing is kept before its row is accepted.
    """
    from tagmaker.desk.entry_making import Yard
    from tagmaker.desk.plan_job import PlanWish, plan_all

    season = _season(sheet, today, templates)

    def show(filed: Sequence[Filed]) -> None:
        for paper in filed:
            for path in (paper.path, *paper.previews):
                click.echo(str(path))
        _see(filed, open_it, proof_report)

    plan_all(season, PlanWish(**options), Yard.of(sheet, today, _clock), click.echo, tell, show)
    if season.problems or season.order_problems:
        tell_problems((*season.problems, *season.order_problems))
        sys.exit(InputProblems.exit_code)


@main.command()
@reading
@writing
@seeing
def cooler(
    sheet: Path,
    today: Today | None,
    only: Sequence[str],
    templates: Path | None,
    out: Path | None,
    preview: bool,
    send_to: str | None,
    **then: Any,
) -> None:
    """Report what the coolers' thermometers say, and what it does to the dates."""
    from tagmaker.desk.jobs import asked_for
    from tagmaker.desk.season import summaries
    from tagmaker.intake.columns import ON_PAPER
    from tagmaker.paper.cooler.report import cooler_report, report_text
    from tagmaker.paper.deliver.filing import file_papers
    from tagmaker.paper.deliver.spooler import PaperFile, send

    season = _season(sheet, today, templates)
    found = summaries(season, asked_for(only, season))
    click.echo(report_text(found, season.wording))
    report = cooler_report(found, season.farm, season.wording, season.now, ON_PAPER)
    filed = file_papers(out or sheet.parent / "papers", [report], preview=preview)
    for paper in filed:
        for path in (paper.path, *paper.previews):
            tell(f"wrote {path}")
    _see(filed, **then)
    if send_to is not None:
        send([PaperFile(paper.path, *paper.proof.size) for paper in filed], send_to, tell)
    if season.problems:
        tell_problems(season.problems)
        sys.exit(InputProblems.exit_code)


@main.command("lot-pages")
@reading
@writing
def lot_pages(
    sheet: Path, today: Today | None, only: Sequence[str], templates: Path | None, out: Path | None
) -> None:
    """Write a folder `pages` with a page for every lot and cooler, for a scan to open.

    It is written into papers/ beside LOTS, or into the folder of -o, and works from a USB stick, a shared
    folder or any web host. With --lot, only that lot's page is written again.
    """
    from tagmaker.desk.publishing import publish

    season = _season(sheet, today, templates)
    paths = publish(season, out, only)
    for path in paths if only else paths[-1:]:
        click.echo(str(path))
    tell(f"wrote {len(paths)} pages")
    if season.problems:
        tell_problems(season.problems)
        sys.exit(InputProblems.exit_code)


@main.command()
@beside_settings
@showing
@click.option("--port", type=click.IntRange(0, 65535), help="Port of the pages [8008].")
@click.option(
    "--lan", is_flag=True, help="Open them to the local network; phones that record or print are paired."
)
@click.option("--no-browser", is_flag=True, help="Do not open them in the browser of this computer.")
@click.option("--stay", is_flag=True, help="Keep the window open where it ends with a fault, until Enter.")
def serve(
    sheet: Path | None,
    today: Today | None,
    templates: Path | None,
    port: int | None,
    lan: bool,
    no_browser: bool,
    stay: bool,
) -> None:
    """Start the live lot pages on this computer, to read and print from a phone.

    Without LOTS, it is the season of this folder, else the one that was served last. The sheet, the settings
    and the logs are read again when they change. Where the season is served already, its pages are opened.
    """
    from tagmaker.desk.closing import closed_line
    from tagmaker.desk.running import BROWSER_S, announced, last_season, open_browser, running
    from tagmaker.desk.season import Day
    from tagmaker.desk.seasons import season_sheet
    from tagmaker.desk.serving import Folder
    from tagmaker.desk.serving import serve as open_pages

    with _staying(stay):
        lots = season_sheet(sheet, Path(), last_season())
        as_usual = port is None and today is None and templates is None
        if as_usual and (address := running(lots)):
            tell(f"these pages are open already: {address}")
            if not no_browser:
                open_browser(address, wait_s=BROWSER_S)
            return
        if line := closed_line(lots):
            tell(line)
        as_of = Day(*today) if today else _clock
        folder = Folder(sheet=lots, today=as_of, templates=templates, wall=_clock, tell=tell)
        listener = open_pages(folder, port, lan=lan)
        address = f"http://{listener.effective_host}:{listener.effective_port}/"
        with announced(lots, address, folder.token):
            if not no_browser:
                open_browser(address)
            listener.run()


@contextmanager
def _staying(stay: bool) -> Iterator[None]:
    """Say a fault and wait for Enter before the window closes."""
    try:
        yield
    except TagmakerError as error:
        if not stay:
            raise
        _tell_error(error)
        with suppress(click.Abort):
            click.prompt("Press Enter to close this window", "", show_default=False, err=True)
        sys.exit(error.exit_code)


@main.command()
@click.argument("name", nargs=-1, metavar="[NAME]")
def crops(name: Sequence[str]) -> None:
    """List the crops that can be dated; with NAME, one of them: its stages, its figures, their origin.

    Settings in this folder count, with the crops and figures of your own.
    """
    from tagmaker.desk.crop_list import crop_list, crop_story
    from tagmaker.intake.settings.farm import settings_beside
    from tagmaker.storage.crops import crop_table
    from tagmaker.telling.wording import Wording

    farm = settings_beside(Path("lots.xlsx"))
    table, wording = crop_table(farm.crops), Wording(farm.units)
    click.echo(crop_story(" ".join(name), table, wording) if name else crop_list(table, wording))


@main.command()
@click.argument("sheet", metavar="LOTS", type=click.Path(path_type=Path))
@click.argument("lot", metavar="LOT")
@click.argument("words", metavar="WORDS", nargs=-1, required=True)
@moment_option("When it happened, if not now.")
def enter(sheet: Path, lot: str, words: Sequence[str], today: Today | None) -> None:
    """Take down what happened to LOT: "sold 3 bunches", "into water", "count 7", "undo".

    The sheet is never written; the journal beside it is, and every date and list follows it.
    """
    from tagmaker.desk.entering import answer_text
    from tagmaker.desk.entering import enter as take_down
    from tagmaker.desk.entry_making import Yard

    yard = Yard.of(sheet, today, _clock)
    click.echo(answer_text(take_down(yard, lot, " ".join(words)), str(sheet)))


@main.command()
@click.argument("sheet", metavar="LOTS", type=click.Path(path_type=Path))
@click.option("--lot", "only", multiple=True, metavar="CODE", help="Only this lot; may be repeated.")
@click.option("--csv", "as_csv", is_flag=True, help="As a table for other programs.")
@click.option("--clock-is-right", is_flag=True, help="Record again although the clock ran back.")
@click.option("--keep-here", is_flag=True, help="Keep the journal on this computer from now on.")
def journal(sheet: Path, only: Sequence[str], as_csv: bool, clock_is_right: bool, keep_here: bool) -> None:
    """Show what was entered, and what is to settle."""
    from tagmaker.desk.journal_list import show_journal

    click.echo(show_journal(sheet, only, _clock, tell, as_csv=as_csv, right=clock_is_right, here=keep_here))


@main.command("catch-up")
@click.argument("sheet", metavar="LOTS", type=click.Path(path_type=Path))
@moment_option("As of when; entries that happened later are caught up too.")
@writing
def catch_up(sheet: Path, today: Today | None, out: Path | None) -> None:
    """Say what to type so that the sheet counts all entries, and write a copy in which it is typed."""
    from tagmaker.desk.catching_up import caught_up_text
    from tagmaker.desk.entry_making import Yard

    text, path = caught_up_text(Yard.of(sheet, today, _clock), out, tell)
    click.echo(text)
    if path is not None:
        tell(f"wrote {path}")


@main.command("help")
@click.argument("topic", required=False)
def show_help(topic: str | None) -> None:
    """Show a page of the reference, like `tagmaker help dates`; without TOPIC, which there are."""
    from tagmaker.desk.manual import topic_list, topic_text

    width = min(get_terminal_size((PAGE_WIDTH, 0)).columns, PAGE_WIDTH)
    click.echo(topic_text(topic, sorted(main.commands), width) if topic else topic_list())


@main.command("label-stocks")
@beside_settings
def label_stocks(sheet: Path | None) -> None:
    """List the label stocks, with a drawing of each; with LOTS, also those of the settings beside it."""
    from tagmaker.intake.settings.farm import settings_beside
    from tagmaker.paper.stock.listing import stock_list
    from tagmaker.telling.wording import Wording

    farm = settings_beside(sheet or Path("lots.xlsx"))
    click.echo(stock_list(farm, Wording(farm.units)))


@main.command("test-page")
@beside_settings
@click.option(
    "--label-stock",
    metavar="NAME",
    help="label sheet or roll in the printer [default: label_stock in tagmaker.toml]",
)
@printer
@writing
def test_page(sheet: Path | None, label_stock: str | None, printer: str | None, out: Path | None) -> None:
    """Print frames and lines to measure, and say how to set a printer right.

    With LOTS, the settings beside it are used, and the page goes to papers/ there.
    """
    from tagmaker.desk.printing import print_test_page
    from tagmaker.intake.settings.farm import settings_beside

    beside = sheet or Path("lots.xlsx")
    folder = out or beside.parent / "papers"
    path, steps = print_test_page(settings_beside(beside), label_stock, printer, folder)
    click.echo(str(path))
    for number, step in enumerate(steps, start=1):
        tell(f"{number}. {step}")


def _clock(timezone: str | None) -> datetime:
    """Local time in a time zone; None: in the machine's own."""
    if timezone is None:
        return datetime.now()
    from zoneinfo import ZoneInfo

    return datetime.now(ZoneInfo(timezone)).replace(tzinfo=None)


def _season(
    sheet: Path, today: Today | None, templates: Path | None, *, without_journal: bool = False
) -> Season:
    """Read a season folder, and say what is worth saying of it."""
    from tagmaker.desk.season import Day, read_season

    as_of = Day(*today) if today else _clock
    season = read_season(sheet, as_of, templates, without_journal=without_journal)
    tell_problems(season.remarks)
    return season


def _print(
    kinds: Sequence[str],
    *,
    sheet: Path,
    today: Today | None,
    templates: Path | None,
    open_it: bool,
    send_to: str | None,
    proof_report: bool,
    printer: str | None,
    without_journal: bool,
    **options: Any,
) -> None:
    from tagmaker.desk.jobs import Wanted
    from tagmaker.desk.printing import print_papers

    season = _season(sheet, today, templates, without_journal=without_journal)
    for known in season.farm.printers.values():
        if send_to is not None and send_to in (known.name, known.queue):
            printer, send_to = printer or known.name, known.queue or known.name

    def show(filed: Sequence[Filed]) -> None:
        for paper in filed:
            for path in (paper.path, *paper.previews):
                click.echo(str(path))
        _see(filed, open_it, proof_report)

    wanted = Wanted(kinds=kinds, printer=printer, send_to=send_to, **options)
    if print_papers(season, wanted, tell, show).left_out:
        sys.exit(InputProblems.exit_code)


def _see(filed: Sequence[Filed], open_it: bool, proof_report: bool) -> None:
    """What was asked for once the papers are in place."""
    if proof_report:
        from tagmaker.paper.proof.report import report_lines

        for paper in filed:
            click.echo("\n".join(report_lines(paper.proof)))
    if open_it:
        from tagmaker.paper.deliver.viewer import open_in_viewer

        for message in filter(None, [open_in_viewer(paper.path) for paper in filed]):
            tell(message)


def _tell_error(error: TagmakerError) -> None:
    """Say what is wrong and can be mended."""
    if isinstance(error, InputProblems):
        tell_problems(error.problems)
    else:
        tell(f"tagmaker: {error}")


def tell(line: str) -> None:
    """Say a line to whoever runs the command, on stderr."""
    click.echo(line, err=True)


def tell_problems(problems: Iterable[Problem]) -> None:
    """Every problem on a line of its own, on stderr."""
    for problem in problems:
        tell(str(problem))
