"""The options of the commands: what may be asked for, and what each of it must be."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import click

from tagmaker.farm import CARD_NAMES
from tagmaker.scan.wish import MOST_WEEKS

YEARS = range(2000, 2100)  # of --today (chosen: those a sheet's dates may have)

Command = Callable[..., None]
Today = tuple[date, datetime | None]  # a day, and the moment where an hour was given


def _today(_: click.Context, __: click.Parameter, value: str | None) -> Today | None:
    if value is None:
        return None
    text = value.strip().replace(" ", "T")
    try:
        if "T" in text:
            moment = datetime.fromisoformat(text)
            if moment.tzinfo is not None or moment.year not in YEARS:
                raise ValueError
            return moment.date(), moment
        day = date.fromisoformat(text)
        if day.year not in YEARS:
            raise ValueError
        return day, None
    except ValueError:
        what = f"must be YYYY-MM-DD or YYYY-MM-DDTHH:MM, from {YEARS[0]} to {YEARS[-1]} (got {value!r})"
        raise click.BadParameter(what) from None


def moment_option(words: str) -> Callable[[Command], Command]:
    """As of when, for a command that is not asked about a day."""
    return click.option("--today", callback=_today, metavar="DATE[THH:MM]", help=words)


def season_folder(command: Command) -> Command:
    """The sheet, and as of when and with which words it is shown."""
    return click.argument("sheet", metavar="LOTS", type=click.Path(path_type=Path))(showing(command))


def showing(command: Command) -> Command:
    """As of when and with which words a season is shown."""
    today = click.option(
        "--today", callback=_today, metavar="DATE[THH:MM]", help="Date everything as of then, not of now."
    )
    words = click.option(
        "--templates",
        type=click.Path(path_type=Path, exists=True, file_okay=False),
        metavar="DIR",
        help="Your own wording: files here replace the shipped templates of the same name.",
    )
    return today(words(command))


def reading(command: Command) -> Command:
    """The options of every command that reads a sheet once."""
    lots = click.option(
        "--lot", "only", multiple=True, metavar="CODE", help="Only this lot; may be repeated."
    )
    return season_folder(lots(command))


def writing(command: Command) -> Command:
    """Where a command writes."""
    return click.option(
        "-o",
        "--out",
        type=click.Path(path_type=Path),
        metavar="DIR",
        help="Where to write [papers/ beside LOTS].",
    )(command)


def _queue(_: click.Context, __: click.Parameter, value: str | None) -> str | None:
    from tagmaker.paper.deliver.spooler import printer_fault

    if value is not None and (fault := printer_fault(value)):
        raise click.BadParameter(fault)
    return value


def seeing(command: Command) -> Command:
    """What may be done with finished papers, for every command that prints."""
    preview = click.option(
        "--preview", is_flag=True, help="Also a PNG picture of every page, beside the PDF."
    )
    report = click.option("--proof-report", is_flag=True, help="Say what was checked in each PDF.")
    show = click.option("--open", "open_it", is_flag=True, help="Open each PDF in the system's viewer.")
    send = click.option(
        "--send", "send_to", callback=_queue, metavar="PRINTER", help="Print each PDF there, not scaled."
    )
    return preview(report(show(send(command))))


skip_bad = click.option("--skip-bad", is_flag=True, help="Print the sound lots and say which were left out.")


def printing_lots(command: Command) -> Command:
    """The options of every command that prints lots."""
    alone = click.option(
        "--without-journal", is_flag=True, help="Print by the sheet alone, without what was entered since."
    )
    return reading(writing(skip_bad(alone(seeing(command)))))


label_stock = click.option(
    "--label-stock",
    metavar="NAME",
    help="label sheet or roll in the printer [default: label_stock in tagmaker.toml]",
)


def on_labels(command: Command) -> Command:
    """The options of commands that print on label stock."""
    first = click.option(
        "--first",
        callback=_first_label,
        default="1",
        show_default=True,
        metavar="N",
        help="First free label of the sheet; next: go on where the last sheet ended.",
    )
    another = click.option(
        "--another-sheet",
        is_flag=True,
        help="With --first: the sheet in the printer is not the one printed last.",
    )
    return label_stock(first(another(command)))


def reprint(command: Command) -> Command:
    """Which printed tags are printed again."""
    must = click.option(
        "--reprint",
        is_flag=True,
        help="Only lots whose printed ones must go: they promise more than the dates do.",
    )
    more = click.option("--reprint-all", is_flag=True, help="Also lots whose printed ones could say more.")
    return must(more(command))


def _first_label(_: click.Context, __: click.Parameter, value: str) -> int | None:
    if value.strip().lower() == "next":
        return None
    if not re.fullmatch(r"[1-9][0-9]{0,5}", value.strip()):
        raise click.BadParameter(f"must be a number from 1 on, or next (got {value[:20]!r})")
    return int(value)


printer = click.option(
    "--printer", metavar="NAME", help="use the corrections under [printers.NAME] in tagmaker.toml"
)

card = click.option(
    "--card",
    type=click.Choice(CARD_NAMES),
    help="Kind of crate card [crate_card of the settings, or quarter].",
)

no_record = click.option(
    "--no-record", "remember", flag_value=False, default=True, help="Do not remember what was printed."
)


beside_settings = click.argument("sheet", metavar="[LOTS]", required=False, type=click.Path(path_type=Path))

weeks = click.option(
    "--weeks",
    type=click.IntRange(1, MOST_WEEKS),
    default=1,
    help="So many weeks from today on, each on pages of its own [1].",
)
