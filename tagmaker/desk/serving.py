"""Serving a season folder: what `scan` needs to show its pages and to print, put together."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from tagmaker.desk.apart import SHARED
from tagmaker.desk.computer import settings_folder
from tagmaker.desk.entered import Entered, state_of
from tagmaker.desk.publishing import page_source
from tagmaker.desk.running import answering
from tagmaker.desk.season import Clock, Day, Season, read_season, season_files, settings_path
from tagmaker.desk.showing import shown_of
from tagmaker.desk.shown_state import State, missing_labels
from tagmaker.errors import InputProblems, PortTakenProblem, UsageProblem
from tagmaker.farm import Farm
from tagmaker.paper.deliver.spooler import queues
from tagmaker.record.journal.beside import journal_path
from tagmaker.record.printings import record_path
from tagmaker.scan.address import (
    LOOPBACK,
    lan_address,
    leads_here,
    link_pattern,
    own_hosts,
    terminal_code,
    was_before,
)
from tagmaker.scan.counter import Counter
from tagmaker.scan.door import Door
from tagmaker.scan.listener import AccessLog, Bounds, KnownHosts, Listener
from tagmaker.scan.live import Live, Shown
from tagmaker.scan.pairing import PairingCode, Phones, new_code
from tagmaker.scan.server import make_app

Tell = Callable[[str], None]  # says a line to whoever runs the command
MOST_LABELS = 1200  # at a time: 40 sheets, drawn in some seconds (chosen)
USUAL_PORTS = range(8008, 8018)  # the usual one first (chosen)
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
    token: str = field(default_factory=lambda: secrets.token_hex(8))  # the word of this server

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
        self._season: Season | None = None
        self._season_of: object = None  # the stamp of the files it was read from
        self._entered = Entered()
        self._told: set[str] = set()  # remarks on the sheet that are known already

    def load(self) -> Shown:
        """The season as it is now; raises InputProblems or OSError where it cannot be read.

        Dating takes most of the time: it is not done again where only the record changed.
        """
        folder, files = self._folder, self._files()
        entered = self._entered.changes(journal_path(folder.sheet))
        self._entered.read()
        season = self._season if (files, entered) == self._season_of else None
        if season is None:
            season = read_season(folder.sheet, folder.today, folder.templates, SHARED, before=self._season)
            self._season, self._season_of, self._farm = season, (files, entered), season.farm
            if season.journal is not None:
                self._entered.known(season.journal)
            for remark in dict.fromkeys(map(str, season.remarks)):
                if remark not in self._told:
                    folder.tell(remark)
            self._told = set(map(str, season.remarks))
        state = State(season, page_source(season), missing_labels(season))
        return shown_of(state, folder, self._entered)

    def stamp(self) -> object:
        """What the files look like, the quarter hour, and the record of what was printed."""
        entered = self._entered.changes(journal_path(self._folder.sheet))
        record = record_path(self._folder.sheet)
        newest = record.with_name(f"{record.name}-wal")
        return self._files(), entered, state_of(record), state_of(newest, empty=False)

    def _files(self) -> object:
        """Size and time of every file that dates are made from, and the quarter hour."""
        sheet, farm = self._folder.sheet, self._known_farm()
        now = self._folder.clock(farm.timezone if farm else None)
        files = season_files(sheet, farm) if farm else {sheet, settings_path(sheet)}
        for font in farm.fonts if farm else ():
            files |= {font.regular, font.bold}
        if self._folder.templates is not None:
            files |= set(self._folder.templates.iterdir())
        files.discard(journal_path(sheet))  # what is entered here is shown at once
        quarter = (now.date(), now.hour, now.minute // AGE_MIN)
        return quarter, frozenset((path, state_of(path)) for path in files)

    def _known_farm(self) -> Farm | None:
        """The farm as last read; None where it could not be read yet."""
        if self._farm is None:
            with suppress(InputProblems):
                self._farm = SHARED.open(self._folder.sheet).farm
        return self._farm


def serve(folder: Folder, port: int | None, *, lan: bool, bounds: Bounds | None = None) -> Listener:
    """Open the pages of a folder, and say where they are; `run()` of what is returned serves them.

    Args:
        folder: what is served
        port: 0: any that is free; None: the usual one, or the next that is free
        lan: for the local network, where phones that record or print are paired; else, and where there is
            none, for this machine alone
        bounds: what clients may take

    Raises:
        InputProblems: the folder cannot be read.
        PortTakenProblem: the port cannot be opened.
    """
    live, (host, code) = folder.live(), _host(folder.tell, lan=lan)
    for tried in USUAL_PORTS[:-1] if port is None else ():
        with suppress(PortTakenProblem):
            return open_pages(folder, live, host, tried, code, bounds or Bounds())
        folder.tell(f"port {tried} is taken, so the next one is tried")
    return open_pages(folder, live, host, USUAL_PORTS[-1] if port is None else port, code, bounds or Bounds())


def _host(tell: Tell, *, lan: bool) -> tuple[str, str | None]:
    """The address of the pages, and the code to pair phones there."""
    if lan:
        try:
            return lan_address(), new_code()
        except UsageProblem as error:
            tell(f"{error}. The pages are open to this computer alone.")
    return LOOPBACK, None


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
    notices = Notices(live, lambda farm: _notices(farm, host, int(listener.effective_port), hosts, code))
    pages = answering(make_app(live, door, Counter(live, door), folder.tell, notices.now), folder.token)
    app = log.around(KnownHosts(pages, hosts))
    try:
        listener = Listener(app, host, port, log, bounds, live.watched(), door.may_send)
    except OSError as error:
        raise PortTakenProblem(
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
        _say_what_moved(tell, host, was_before(settings_folder() / "address.txt", host), link, hosts)
    for notice in _notices(farm, host, port, hosts, code):
        tell(notice)
    if code is not None:
        tell("whoever is on this network can read the pages of the lots. To open them:")
        tell(terminal_code(address.upper()))


def _notices(farm: Farm, host: str, port: int, hosts: Collection[str], code: str | None) -> list[str]:
    """What the settings say that does not hold on this computer."""
    found, link = queue_faults(farm), farm.link
    is_elsewhere = link is not None and not leads_here(link, tuple(hosts))
    if is_elsewhere:
        found.append(f'the link in the settings leads elsewhere: "{link}"')
    if code is not None and (link is None or is_elsewhere):
        here = link_pattern(host, port)
        found.append(f'for tags that lead here, write into the sheet Farm or tagmaker.toml: link = "{here}"')
    return found


class Notices:
    """What is to be said of the settings, found once for each reading of them."""

    def __init__(self, live: Live, find: Callable[[Farm], list[str]]) -> None:
        """Take what is shown, and what finds the notices."""
        self._live, self._find = live, find
        self._found: tuple[Farm, list[str]] | None = None

    def now(self) -> list[str]:
        """Those of the settings as they are."""
        farm = self._live.look().shown.source.farm
        if self._found is None or self._found[0] is not farm:
            self._found = farm, self._find(farm)
        return self._found[1]


def _say_what_moved(tell: Tell, host: str, before: str, link: str | None, hosts: tuple[str, ...]) -> None:
    """That phones and codes look for this computer where it was before, if they do."""
    if not before:
        return
    by_name = link is not None and leads_here(link, hosts) and host not in link
    codes = "" if by_name else ", and codes with the old address lead nowhere: print them again"
    tell(
        f"this computer's address has changed from {before} to {host}. Phones that were paired under the old "
        f"one have to be paired again{codes}. Have the router reserve an address for this computer, or write "
        "its name into the link."
    )


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
