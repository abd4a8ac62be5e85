"""A CUPS scheduler of our own: its folder, its socket, one queue that prints into a file.

The system's own stays as it is. It needs no systemd and runs as root or not. The queue's driver only says
what paper there is and that the printer takes PDF: what arrives in the file went through the filter
`pdftopdf`, which is what scales and turns pages.
"""

from __future__ import annotations

import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

PRINTER = "TAGS"
PATIENCE_S = 30.0
BLIND = 18  # [pt] along each edge that the printer cannot print, as office printers have it: 6.35 mm

FOLDERS = ("etc/ppd", "spool/tmp", "cache", "state", "log", "out")

SCHEDULER = """
Listen {root}/socket
Browsing No
WebInterface No
DefaultAuthType None
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  <Limit All>
    Order deny,allow
  </Limit>
</Policy>
"""

# FileDevice lets a queue print into a file; the rest keeps everything in our folder.
FILES = """
FileDevice Yes
ServerRoot {root}/etc
RequestRoot {root}/spool
TempDir {root}/spool/tmp
CacheDir {root}/cache
StateDir {root}/state
AccessLog {root}/log/access
ErrorLog {root}/log/error
PageLog {root}/log/page
"""

QUEUE = """
<Printer {printer}>
DeviceURI file://{root}/out/printed.pdf
State Idle
Accepting Yes
ErrorPolicy abort-job
</Printer>
"""

# A PPD file (Adobe's specification 4.3, with CUPS's extensions): Letter, A4 and any size from 9 to 350 mm.
DRIVER = f"""*PPD-Adobe: "4.3"
*FormatVersion: "4.3"
*FileVersion: "1.0"
*LanguageVersion: English
*LanguageEncoding: ISOLatin1
*PCFileName: "TAGS.PPD"
*Manufacturer: "Test"
*Product: "(Test)"
*ModelName: "Test"
*ShortNickName: "Test"
*NickName: "Test"
*PSVersion: "(3010.000) 0"
*LanguageLevel: "3"
*ColorDevice: False
*DefaultColorSpace: Gray
*FileSystem: False
*cupsFilter2: "application/vnd.cups-pdf application/octet-stream 0 -"
*OpenUI *PageSize: PickOne
*DefaultPageSize: Letter
*PageSize Letter: ""
*PageSize A4: ""
*CloseUI: *PageSize
*OpenUI *PageRegion: PickOne
*DefaultPageRegion: Letter
*PageRegion Letter: ""
*PageRegion A4: ""
*CloseUI: *PageRegion
*DefaultImageableArea: Letter
*ImageableArea Letter: "{BLIND} {BLIND} {612 - BLIND} {792 - BLIND}"
*ImageableArea A4: "{BLIND} {BLIND} {595 - BLIND} {842 - BLIND}"
*DefaultPaperDimension: Letter
*PaperDimension Letter: "612 792"
*PaperDimension A4: "595 842"
*VariablePaperSize: True
*HWMargins: {BLIND} {BLIND} {BLIND} {BLIND}
*CustomPageSize True: ""
*ParamCustomPageSize Width: 1 points 25 1000
*ParamCustomPageSize Height: 2 points 25 1000
*ParamCustomPageSize WidthOffset: 3 points 0 0
*ParamCustomPageSize HeightOffset: 4 points 0 0
*ParamCustomPageSize Orientation: 5 int 0 3
"""


@dataclass(frozen=True, slots=True)
class Spooler:
    """A scheduler that runs."""

    root: Path

    @property
    def server(self) -> str:
        """What CUPS_SERVER must be for `lp` to find it."""
        return str(self.root / "socket")

    def printed(self) -> bytes:
        """What the printer got of the job that was sent last; waits for it."""
        path = self.root / "out" / "printed.pdf"
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if path.exists() and not self._run("lpstat", "-h", self.server, "-o"):
                content = path.read_bytes()
                path.unlink()
                return content
            time.sleep(0.1)
        log = (self.root / "log" / "error").read_text(encoding="utf-8", errors="replace")
        raise AssertionError(f"nothing was printed within {PATIENCE_S} s; the scheduler says:\n{log[-3000:]}")

    def is_ready(self) -> bool:
        """Whether it answers and has its queue."""
        return self._run("lpstat", "-h", self.server, "-e").split() == [PRINTER]

    @staticmethod
    def _run(*command: str) -> str:
        done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=False)
        return done.stdout


def scheduler() -> str | None:
    """The scheduler's program; it is seldom on the path."""
    return shutil.which("cupsd") or shutil.which("cupsd", path="/usr/sbin:/usr/local/sbin")


@contextmanager
def private_spooler() -> Iterator[Spooler]:
    """Run a scheduler in a folder of its own; skips the test, and says why, where CUPS is not installed."""
    program = scheduler()
    if program is None or shutil.which("lp") is None or shutil.which("lpstat") is None:
        pytest.skip("CUPS is not installed (cupsd, lp, lpstat): nothing can be sent to a real spooler")
    # A path that the filters' user may walk down, and short enough for that of a socket (104 bytes).
    with TemporaryDirectory(prefix="lp", dir="/tmp") as folder:
        yield from _run_scheduler(program, Path(folder))


def _run_scheduler(program: str, root: Path) -> Iterator[Spooler]:
    _set_up(root)
    command = [program, "-f", "-c", str(root / "etc/cupsd.conf"), "-s", str(root / "etc/cups-files.conf")]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    spooler = Spooler(root)
    try:
        until = time.monotonic() + PATIENCE_S
        while not spooler.is_ready():
            assert process.poll() is None, f"the scheduler ended: {(root / 'log/error').read_text()}"
            assert time.monotonic() < until, (
                f"the scheduler does not answer: {(root / 'log/error').read_text()}"
            )
            time.sleep(0.1)
        yield spooler
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


def _set_up(root: Path) -> None:
    for folder in FOLDERS:
        (root / folder).mkdir(parents=True)
    contents = {
        "cupsd.conf": SCHEDULER.format(root=root),
        "cups-files.conf": FILES.format(root=root),
        "printers.conf": QUEUE.format(root=root, printer=PRINTER),
        f"ppd/{PRINTER}.ppd": DRIVER,
    }
    for name, content in contents.items():
        (root / "etc" / name).write_text(content, encoding="utf-8")
    root.chmod(0o755)  # started by root, filters run as the user lp
