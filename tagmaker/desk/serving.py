"""Serving a season folder: what `scan` needs to show its pages and to print, put together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from tagmaker.desk.apart import SHARED
from tagmaker.desk.computer import settings_folder
from tagmaker.desk.jobs import Wanted, gets_labels
from tagmaker.desk.printing import hand_out
from tagmaker.desk.publishing import page_source
from tagmaker.desk.season import Clock, Day, Season, read_farm, read_season, season_files, settings_path
from tagmaker.errors import InputProblems, OutputProblem
from tagmaker.farm import Farm
from tagmaker.paper.deliver.spooler import queues
from tagmaker.paper.stock.label_stock import stocks
from tagmaker.record import tags
from tagmaker.record.labels import LabelUsed
from tagmaker.record.printings import Repeated, open_record, record_path
from tagmaker.scan.address import LOOPBACK, lan_address, leads_here, link_line, own_hosts, terminal_code
from tagmaker.scan.counter import Counter
from tagmaker.scan.door import Door
from tagmaker.scan.listener import AccessLog, Bounds, KnownHosts, Listener
from tagmaker.scan.live import Live, Shown
from tagmaker.scan.pairing import PairingCode, Phones, new_code
from tagmaker.scan.server import make_app
from tagmaker.scan.wish import LabelTaken, LastPaper, Ledger, Paper, PrintedBefore, Wish

Tell = Callable[[str], None]  # says a line to whoever runs the command
MOST_LABELS = 1200  # at a time: 40 sheets, drawn in some seconds (chosen)
AGE_MIN = (
    15  # [min] after which pages are made anew although no file changed: bench moments are quarter hours
)


@dataclass(frozen=True, kw_only=True)
class Folder:
    """A season folder that is served."""

    sheet: Path
    today: Day | Clock
    templates: Path | None
    wall: Clock  # the hour on the wall, for the access lines
    tell: Tell

    def live(self) -> Live:
        """What its pages show, read now and whenever it changes.

        Raises:
            InputProblems: it cannot be read.
        """
        reader = self.reader()
        return Live(reader.load, reader.stamp)

    def reader(self) -> Reader:
        """What reads it."""
        return Reader(self)

    def clock(self, timezone: str | None) -> datetime:
        """Local time, or the moment for which everything is dated."""
        if isinstance(self.today, Day):
            return self.today.moment or datetime.combine(self.today.day, datetime.min.time())
        return self.today(timezone)


class Reader:
    """Reads a folder, and tells whether anything changed that it would read."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._farm: Farm | None = None  # as last read: says where the logs lie and what time it is
        self._farm_of: object = ""  # the settings' state it was read from
        self._season: Season | None = None
        self._season_of: object = None  # the stamp of the files it was read from
        self._told: set[str] = set()  # remarks on the sheet that are known already

    def load(self) -> Shown:
        """The season as it is now; raises InputProblems or OSError where it cannot be read.

        Dating takes most of the time: it is not done again where only the record changed.
        """
        folder, files = self._folder, self._files()
        season = self._season if files == self._season_of else None
        if season is None:
            season = read_season(folder.sheet, folder.today, folder.templates, SHARED.read)
            self._season, self._season_of = season, files
            for remark in dict.fromkeys(map(str, season.remarks)):
                if remark not in self._told:
                    folder.tell(remark)
            self._told = set(map(str, season.remarks))
        known = stocks(season.farm)
        return Shown(
            source=page_source(season),
            missing=_missing(season),
            stocks={name: stock.per_page for name, stock in known.items()},
            columns={name: stock.columns for name, stock in known.items()},
            ledger=_ledger(season),
            draw=lambda wish, device: _draw(season, wish, device, folder.tell),
        )

    def stamp(self) -> object:
        """What the files look like, the quarter hour, and the record of what was printed."""
        record = record_path(self._folder.sheet)
        newest = record.with_name(f"{record.name}-wal")
        return self._files(), _state(record), _state(newest, empty=False)

    def _files(self) -> object:
        """Size and time of every file that dates are made from, and the quarter hour."""
        sheet, farm = self._folder.sheet, self._current_farm()
        now = self._folder.clock(farm.timezone if farm else None)
        files = season_files(sheet, farm) if farm else {sheet, settings_path(sheet)}
        for font in farm.fonts if farm else ():
            files |= {font.regular, font.bold}
        if self._folder.templates is not None:
            files |= set(self._folder.templates.iterdir())
        quarter = (now.date(), now.hour, now.minute // AGE_MIN)
        return quarter, frozenset((path, _state(path)) for path in files)

    def _current_farm(self) -> Farm | None:
        """The farm of the settings; the last good one where they cannot be read."""
        state = _state(settings_path(self._folder.sheet))
        if state != self._farm_of:
            self._farm_of = state
            with suppress(InputProblems, OSError):
                self._farm = read_farm(self._folder.sheet)
        return self._farm


def _state(path: Path, *, empty: bool = True) -> object:
    """What tells one state of a file from another; None: not there, or empty where that is the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    if not empty and not found.st_size:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _missing(season: Season) -> Mapping[str, int]:
    """Wrap labels that were never printed, by lot code, of lots that get some."""
    record, _ = open_record(season.sheet, season.now, create=False)
    lines = tags.by_lot(record.known.lines("wraps"))
    counted = (
        (dates.lot.lot_code, tags.missing(lines.get(dates.lot.lot_code, ()), dates))
        for dates in season.dated
        if gets_labels(dates)
    )
    return {code: count for code, count in counted if count}


def _ledger(season: Season) -> Ledger:
    """The record of what was printed."""

    def free() -> Mapping[str, int]:
        known = open_record(season.sheet, season.now, create=False)[0].known
        return {name: known.sheet(name).next_label for name in stocks(season.farm)}

    def last(device: str) -> LastPaper | None:
        found = open_record(season.sheet, season.now, create=False)[0].last(device)
        if found is None:
            return None
        return LastPaper(
            number=found.number,
            moment=found.moment,
            paper=found.lines[0].paper,
            pieces=found.pieces,
            lots=tuple(dict.fromkeys(line.lot_code for line in found.lines)),
            is_undone=found.is_undone,
            is_asked=found.is_asked,
        )

    def answer(number: int, came: int | None) -> None:
        open_record(season.sheet, season.now, create=False)[0].answer(number, came)

    return Ledger(free=free, last=last, answer=answer)


def _draw(season: Season, wish: Wish, device: str, tell: Tell) -> Paper:
    """The paper that was wished for; only the record of what was printed is written."""
    printer = season.farm.printers.get(wish.printer)
    wanted = Wanted(
        kinds=(wish.paper,),
        only=(wish.lot,) if wish.lot else (),
        skip_bad=not wish.lot,
        new=wish.which == "new",
        reprint=wish.which == "reprint",
        reprint_all=wish.which == "reprint-all",
        remember=wish.paper != "checklist",
        count=wish.tags,
        first=wish.first,
        offered=wish.offered,
        another_sheet=wish.another,
        label_stock=wish.stock,
        limit=MOST_LABELS,
        printer=None if printer is None else printer.name,
        send_to=None if printer is None else printer.queue,
        form=sha256(repr(wish).encode()).hexdigest(),  # the same form with other fields is another printing
        device=device,
    )
    try:
        handed = hand_out(season, wanted, tell)
    except LabelUsed as error:
        raise LabelTaken(error.free) from error
    except Repeated as error:
        raise PrintedBefore(wish.paper) from error
    return Paper(
        pdf=handed.pdf,
        labels=handed.labels,
        is_sent=wanted.send_to is not None,
        keep=lambda: handed.reserved.keep(wish.paper),
        drop=handed.reserved.drop,
        old_cards=handed.old_cards,
    )


def serve(folder: Folder, port: int, *, lan: bool, bounds: Bounds | None = None) -> Listener:
    """Open the pages of a folder, and say where they are; `run()` of what is returned serves them.

    Args:
        folder: what is served
        port: 0: any that is free
        lan: for the local network, where phones that record or print are paired; else for this machine alone
        bounds: what clients may take

    Raises:
        InputProblems: the folder cannot be read.
        UsageProblem: there is no local network.
        OutputProblem: the port cannot be opened.
    """
    live = folder.live()
    host = lan_address() if lan else LOOPBACK
    return open_pages(folder, live, host, port, new_code() if lan else None, bounds or Bounds())


def open_pages(
    folder: Folder, live: Live, host: str, port: int, code: str | None, bounds: Bounds
) -> Listener:
    """Open the port for what `live` shows; everything else as in `serve`."""
    farm = live.look().shown.source.farm
    log = AccessLog(folder.tell, lambda: folder.wall(farm.timezone))
    pairing = None if code is None else PairingCode(code, tell=folder.tell)
    hosts: list[str] = []
    phones = Phones(settings_folder() / "phones.json")
    own = (LOOPBACK, "::1", host)
    door = Door(live, pairing, lambda: f"tagmaker-{listener.effective_port}", phones, own)
    app = log.around(KnownHosts(make_app(live, door, Counter(live, door), folder.tell), hosts))
    try:
        listener = Listener(app, host, port, log, bounds, live.watched())
    except OSError as error:
        raise OutputProblem(
            f"port {port} could not be opened ({error.strerror or error}). Close what uses it, or "
            "choose another with --port."
        ) from error
    hosts += own_hosts(host, int(listener.effective_port))
    _say_where(folder.tell, farm, host, int(listener.effective_port), tuple(hosts), code)
    return listener


def _say_where(
    tell: Tell, farm: Farm, host: str, port: int, hosts: tuple[str, ...], code: str | None
) -> None:
    """What whoever started the server must know."""
    link = farm.link
    address = f"http://{host}:{port}/"
    tell(f"pages: {address}  bench: {address}bench  end: Ctrl+C")
    if code is not None:
        tell(f"code to pair a phone, once: {code}")
    for fault in queue_faults(farm):
        tell(fault)
    if link is not None and not leads_here(link, hosts):
        tell(f'the link in the settings leads elsewhere: "{link}"')
    if code is not None:
        if link is None or not leads_here(link, hosts):
            tell(f"for tags that lead here, write into the settings: {link_line(host, port)}")
        tell("whoever is on this network can read the pages of the lots. To open them:")
        tell(terminal_code(address.upper()))


def queue_faults(farm: Farm) -> list[str]:
    """Printers of the settings whose queue the spooler does not list."""
    wanted = {name: printer.queue for name, printer in farm.printers.items() if printer.queue is not None}
    listed = queues() if wanted else None
    return [
        f"[printers.{name}] queue must be one that lpstat -e lists: "
        f'{", ".join(listed) or "none"} (got "{queue}")'
        for name, queue in wanted.items()
        if listed is not None and queue not in listed
    ]
