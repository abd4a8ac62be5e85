"""An export of a logger from a phone: tried, then kept whole under a name of our own, or refused with why."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import threading
import time
import zipfile
from datetime import datetime, timedelta
from pathlib import Path

import openpyxl
import pytest
from PIL import Image

from tagmaker.desk.adding import keep_upload, try_upload
from tagmaker.errors import InputProblems, OutputProblem
from tagmaker.farm import Cooler, Farm, Use
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.storage.readings import EXPORT_BYTES
from tests.crafted_workbooks import CASES

pytestmark = pytest.mark.slow

NOW = datetime(2027, 4, 21, 9)


def farm_of(*coolers: Cooler) -> Farm:
    """A farm of some coolers; of a barn without a log where none is given."""
    known = coolers or (Cooler(name="barn"),)
    use = Use(name="shop", vase_days=4, leaves=NOW.time())
    return Farm(units="F", uses={"shop": use}, coolers={cooler.name: cooler for cooler in known})


def export(
    first: datetime, hours: int, *, every_min: int = 60, warmer: float = 0.0, begin: str = ""
) -> bytes:
    """An export in °F, of a cooler that goes up and down."""
    moments = (first + timedelta(minutes=every_min * n) for n in range(hours * 60 // every_min))
    rows = (f"{moment:%Y-%m-%d %H:%M},{37 + moment.hour % 7 / 2 + warmer}" for moment in moments)
    return (begin + "\n".join(["Time,Temperature (°F)", *rows]) + "\n").encode()


APRIL = export(datetime(2027, 4, 1), 24 * 10)


def refused(content: bytes, folder: Path, farm: Farm | None = None, cooler: str = "barn") -> str:
    """Why an export is refused, by both ways; nothing is left of it."""
    farm, before, said = farm or farm_of(), files(folder), []
    for way in (try_upload, keep_upload):
        with pytest.raises(InputProblems) as caught:
            way(content, "export.csv", farm.coolers[cooler], farm, folder, NOW)
        said.append(str(caught.value))
    assert said[0] == said[1]
    assert files(folder) == before
    return said[0]


def kept(content: bytes, folder: Path, farm: Farm | None = None, cooler: str = "barn") -> str:
    """The name under which an export is kept."""
    farm = farm or farm_of()
    return keep_upload(content, "export.csv", farm.coolers[cooler], farm, folder, NOW)[0]


def files(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, hidden ones too."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_what_an_export_holds(tmp_path: Path) -> None:
    """Unit and what says it, columns, span, how warm it was; and trying leaves nothing behind."""
    farm = farm_of()
    found = try_upload(APRIL, "export.csv", farm.coolers["barn"], farm, tmp_path, NOW)
    assert files(tmp_path) == {}
    assert (found.ending, found.unit, found.unit_said_by) == ("csv", "F", "the log says so")
    assert found.columns == (("time", "Time"), ("temperature", "Temperature (°F)"))
    assert (found.first, found.last) == (datetime(2027, 4, 1), datetime(2027, 4, 10, 23))
    assert (found.count, found.every_min, found.fresh, found.otherwise) == (240, 60, 240, 0)
    # 37 to 40 °F: arithmetic
    assert (round(found.low_c, 2), round(found.high_c, 2)) == (2.78, 4.44)


def test_it_is_kept_under_a_name_of_our_own_and_read(tmp_path: Path) -> None:
    """The bytes are the phone's; the cooler, without a log in the settings, reads them from then on."""
    farm = farm_of(Cooler(name="Old Fridge"))
    name = kept(APRIL, tmp_path, farm, "Old Fridge")
    assert name == "logs/old-fridge-2027-04-01-2027-04-10.csv"
    assert files(tmp_path) == {name: APRIL}
    read = read_logs(farm.coolers["Old Fridge"], farm, tmp_path, NOW)
    assert read is not None
    assert (len(read.moments), read.files) == (240, (name,))


def test_a_workbook_is_kept_as_one(tmp_path: Path) -> None:
    """Its ending is that of its content, whatever it was called."""
    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.append(["Time", "Temp F"])
    for hour in range(24):
        book.active.append([datetime(2027, 4, 20, hour), 38 + hour % 3])
    file = io.BytesIO()
    book.save(file)
    assert kept(file.getvalue(), tmp_path) == "logs/barn-2027-04-20-2027-04-20.xlsx"


def test_an_export_that_overlaps_is_kept_beside_the_other(tmp_path: Path) -> None:
    """Each moment counts once; what is new is counted, and where both differ the warmer counts."""
    kept(APRIL, tmp_path)
    more = export(datetime(2027, 4, 5), 24 * 10)
    farm = farm_of()
    found = try_upload(more, "export.csv", farm.coolers["barn"], farm, tmp_path, NOW)
    assert (found.count, found.fresh, found.otherwise) == (240, 96, 0)
    assert kept(more, tmp_path) == "logs/barn-2027-04-05-2027-04-14.csv"
    read = read_logs(farm.coolers["barn"], farm, tmp_path, NOW)
    assert read is not None
    assert len(read.moments) == 336


def test_an_export_without_news_is_refused(tmp_path: Path) -> None:
    """The same file again, or a part of it: every reading is kept already."""
    kept(APRIL, tmp_path)
    for content in (APRIL, export(datetime(2027, 4, 2), 24)):
        assert "must have readings that are not kept yet" in refused(content, tmp_path)


def test_two_exports_of_the_same_days_have_two_names(tmp_path: Path) -> None:
    """Nothing is overwritten: the second is numbered."""
    first = kept(export(datetime(2027, 4, 20), 6), tmp_path)
    second = kept(export(datetime(2027, 4, 20, 6), 6), tmp_path)
    assert [first, second] == [f"logs/barn-2027-04-20-2027-04-20{n}.csv" for n in ("", "-2")]


def test_an_export_of_another_logger_is_refused(tmp_path: Path) -> None:
    """The same days with other readings, or at other moments: it is not this cooler's thermometer."""
    kept(export(datetime(2027, 4, 1), 24 * 10, every_min=15), tmp_path)
    other = export(datetime(2027, 4, 1), 24 * 12, every_min=15, warmer=4.0)
    assert "must be the log of one thermometer" in refused(other, tmp_path)
    shifted = export(datetime(2027, 4, 1, 0, 7), 24 * 12, every_min=15)
    assert "must be exports of one logger" in refused(shifted, tmp_path)


def test_another_cooler_s_export_is_refused(tmp_path: Path) -> None:
    """Somebody opened the wrong page; two coolers that are alike by chance are not taken for one."""
    farm = farm_of(Cooler(name="barn"), Cooler(name="porch"))
    kept(APRIL, tmp_path, farm, "porch")
    assert 'must be readings of the cooler "barn" (got those of "porch")' in refused(APRIL, tmp_path, farm)
    assert kept(export(datetime(2027, 4, 1), 24 * 10, warmer=1.5), tmp_path, farm)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (export(datetime(2026, 4, 1), 24 * 10), "log must be of this season"),
        (export(datetime(2028, 4, 1), 24 * 10), "must not lie in the future"),
        (export(datetime(2027, 4, 1), 24 * 10, warmer=60.0), "must be temperatures of a cooler"),
        (b"", "an empty file"),
        (APRIL[:12], "must have readings (got none below the header)"),
        (b"lot,crop,cut\n104,tulip,2027-04-20\n", "must have a column"),
        (b"%PDF-1.7\n", "a PDF"),
        (bytes(range(256)) * 4, "bytes that are no text"),
    ],
    ids=["year", "future", "warm", "empty", "header", "lots", "pdf", "bytes"],
)
def test_what_is_no_export_of_this_season_is_refused(tmp_path: Path, content: bytes, why: str) -> None:
    """Each with what it must be and what was found."""
    assert why in refused(content, tmp_path)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "BMP", "TIFF"])
def test_an_image_renamed_is_refused(tmp_path: Path, kind: str) -> None:
    """A photograph of the thermometer is no export."""
    picture = io.BytesIO()
    Image.effect_noise((200, 200), 90).save(picture, kind)
    assert "export.csv: must be " in refused(picture.getvalue(), tmp_path)


@pytest.mark.parametrize("name", ["bomb.xlsx", "far-cell.xlsx", "rows-repeated.ods", "laughs.xlsx"])
def test_a_workbook_made_to_harm_is_refused(tmp_path: Path, name: str) -> None:
    """It unpacks beyond all measure, or says so: a message, and nothing is left of it."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, content in CASES[name].items():
            with archive.open(part, "w", force_zip64=True) as inside:
                for block in [content.encode()] if isinstance(content, str) else content():
                    inside.write(block)
    farm = farm_of()
    with pytest.raises(InputProblems, match="must "):
        try_upload(file.getvalue(), "export.csv", farm.coolers["barn"], farm, tmp_path, NOW)
    assert files(tmp_path) == {}


def test_twenty_megabytes_are_kept_and_a_byte_more_is_not(tmp_path: Path) -> None:
    """The limit is of bytes; below it stands whatever the logger writes."""
    lines = (b" " * 999 + b"\n") * (EXPORT_BYTES // 1000)
    filled = APRIL + lines[len(APRIL) :]
    assert "must be at most 20 MB" in refused(filled + b"\n", tmp_path)
    name = kept(filled, tmp_path)
    assert (tmp_path / name).stat().st_size == EXPORT_BYTES


def test_two_phones_at_once(tmp_path: Path) -> None:
    """Of one and the same export one is kept and one refused; different ones are both kept."""
    contents = [APRIL, APRIL, export(datetime(2027, 4, 11), 24), export(datetime(2027, 4, 12), 24)]
    said: list[str] = []

    def phone(content: bytes) -> None:
        try:
            said.append(kept(content, tmp_path))
        except InputProblems as error:
            said.append(str(error).partition(" (got")[0])

    phones = [threading.Thread(target=phone, args=(content,)) for content in contents]
    for one in phones:
        one.start()
    for one in phones:
        one.join()
    assert sorted(said) == [
        "export.csv: must have readings that are not kept yet",
        "logs/barn-2027-04-01-2027-04-10.csv",
        "logs/barn-2027-04-11-2027-04-11.csv",
        "logs/barn-2027-04-12-2027-04-12.csv",
    ]
    assert sorted(files(tmp_path)) == sorted(said)[1:]


def test_a_cooler_whose_log_lies_elsewhere_keeps_nothing(tmp_path: Path) -> None:
    """What nobody would read is not kept; a pattern that finds it is as good as none."""
    elsewhere = farm_of(Cooler(name="barn", log="readings/barn.csv"))
    assert 'log must be blank, or name logs/barn-*.csv (got "readings/barn.csv")' in refused(
        APRIL, tmp_path, elsewhere
    )
    assert kept(APRIL, tmp_path, farm_of(Cooler(name="barn", log="logs/barn-*.csv")))


def test_a_name_that_would_be_another_cooler_s_keeps_nothing(tmp_path: Path) -> None:
    """Two coolers that files cannot tell apart, and one that is called like the other and a year."""
    for others in (("Barn",), ("barn 2027",)):
        farm = farm_of(Cooler(name="barn"), *(Cooler(name=name) for name in others))
        assert "the name must be its own in logs" in refused(APRIL, tmp_path, farm)


@pytest.fixture
def no_links(monkeypatch: pytest.MonkeyPatch) -> None:
    """A stick that knows no second name for a file."""

    def link(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", link)


@pytest.mark.usefixtures("no_links")
def test_a_stick_without_links_keeps_as_well(tmp_path: Path) -> None:
    """Whole, under the next free name, and over nothing."""
    (tmp_path / "logs").mkdir()
    taken = tmp_path / "logs" / "barn-2027-04-01-2027-04-10.csv"
    taken.mkdir()
    assert kept(APRIL, tmp_path) == "logs/barn-2027-04-01-2027-04-10-2.csv"
    assert list(files(tmp_path).values()) == [APRIL]


@pytest.mark.parametrize("step", ["fsync", "link"])
def test_a_disk_that_is_full_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Neither half a file nor its beginning; the cause is said."""

    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, fails)
    opened = os.open
    if step == "link":  # and the way around it, a name that is taken first
        monkeypatch.setattr(
            os,
            "open",
            lambda path, flags, *a, **k: fails() if flags & os.O_CREAT else opened(path, flags, *a, **k),
        )
    with pytest.raises(OutputProblem, match="logs could not be written"):
        kept(APRIL, tmp_path)
    assert files(tmp_path) == {}


def test_what_a_killed_run_left_goes_with_the_next(tmp_path: Path) -> None:
    """A beginning of a file is no log to anybody, and is swept away."""
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / ".export.csv.999999999.part").write_bytes(APRIL[:100])
    farm = farm_of()
    assert read_logs(farm.coolers["barn"], farm, tmp_path, NOW) is None
    name = kept(APRIL, tmp_path)
    assert files(tmp_path) == {name: APRIL}


PUTS = """
import sys, threading
from itertools import count
from pathlib import Path
from tagmaker.desk.adding import _put
folder = Path(sys.argv[1])
print("began", flush=True)
for turn in count():
    content = f"{turn} ".encode() * 200_000
    _put(folder, (f"barn-{number}.csv" for number in count(1)), content)
"""


def test_a_server_that_is_killed_leaves_whole_files_alone(tmp_path: Path) -> None:
    """Killed again and again in the middle of keeping: every file that has a name is whole."""
    for kill in range(4):
        process = subprocess.Popen(
            [sys.executable, "-c", PUTS, str(tmp_path)], stdout=subprocess.PIPE, text=True
        )
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(0.02 + kill * 0.026)
        process.kill()
        process.wait()
        process.stdout.close()
    found = files(tmp_path)
    named = {name: content for name, content in found.items() if not name.startswith(".")}
    assert named
    assert [name for name, content in named.items() if len(set(content.split())) != 1] == []
    assert [name for name, content in named.items() if content.count(b" ") != 200_000] == []
