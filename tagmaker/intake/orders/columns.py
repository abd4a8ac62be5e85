"""The columns of the sheet Orders, one table, as `intake/columns.py` is that of the lots.

Synonyms are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable

from tagmaker.intake.cells import readers as cells
from tagmaker.intake.files.grid import text_of
from tagmaker.intake.lots.column import Column, ColumnTable, Reader
from tagmaker.intake.orders import cells as own

DATE, TEXT = "yyyy-mm-dd hh:mm", "@"  # cell formats of the starter sheet


def _text(reader: Callable[[str], object]) -> Reader:
    return lambda value, _: reader(text_of(value))


# fmt: off
ORDER_COLUMNS: tuple[Column, ...] = (
    Column(
        name="order", read=_text(cells.lot_code), width=10, form=TEXT,
        write="your own code: up to 12 of A–Z, 0–9 and `-`, each once",
        blank="a problem; the message proposes one",
        synonyms="orders, order no, order nr, order number, order code, order id, no, nr, number, num, code, "
        "id, ref, reference, order ref",
    ),
    Column(
        name="leaves", read=lambda value, reading: reading.dates("leaves").read(value), width=17, form=DATE,
        write="the day it leaves the farm, better with its hour: `2027-05-08T07:00`. Without one it leaves "
        "when its use does",
        blank="a problem",
        synonyms="leave, leaves at, leaves on, leaving, departs, departure, date, day, when, date and time, "
        "goes, goes out, due, due date, due on, needed, needed by, needed on, needed for, date needed, "
        "wanted for, wanted on, deliver, delivery, delivery date, deliver on, delivered on, pick up, "
        "pick up date, picked up, collect, collected, collection, collection date, for date",
    ),
    Column(
        name="use", read=lambda value, reading: cells.name_among(text_of(value), reading.farm.uses, "use"),
        width=14, choices=("shop", "stall", "event"),
        write="what it is for: one of your uses", blank="a problem",
        synonyms="for, outlet, market, uses, channel, purpose, sales channel, outlets, used for, use for",
    ),
    Column(
        name="crop",
        read=lambda value, reading: tuple(
            cells.crop_name(name, reading.crops) for name in own.names(text_of(value))
        ),
        width=13, write="tulip; several with `/` where any of them will do", blank="any",
        synonyms="flower, flowers, species, kind, plant, crop name, flower name, genus, crops",
    ),
    Column(
        name="form", read=_text(own.names), words=True, width=14,
        write="double; several with `/`", blank="any",
        synonyms="type, class, division, group, flower form, shape, bloom form, flower type, forms",
    ),
    Column(
        name="variety", read=_text(own.names), words=True, width=22,
        write="its name as the lots have it; several with `/`", blank="any",
        synonyms="cultivar, cv, var, variety name, cultivar name, varieties, cultivars",
    ),
    Column(
        name="colour", read=_text(own.names), words=True, width=14,
        write="as the lots have it; several with `/`", blank="any",
        synonyms="color, colours, colors, shade, hue, flower colour, flower color",
    ),
    Column(
        name="stems", read=_text(lambda text: own.wanted(text, own.STEMS)), width=9,
        write="how many stems, up to 20,000; or fill in bunches", blank="bunches says it",
        synonyms="stem, stem count, no of stems, number of stems, total stems, stems ordered, stems wanted",
    ),
    Column(
        name="bunches", read=_text(lambda text: own.wanted(text, own.BUNCHES)), width=9,
        write="how many bunches, of whatever size the lot has them", blank="stems says it",
        synonyms="bunch, no of bunches, number of bunches, bunch count, bunches ordered, bunches wanted",
    ),
    Column(
        name="done", read=_text(own.done), width=9, choices=("yes",),
        write="`yes` once all of it has left, or how many have, in the unit of its row", blank="nothing has",
        synonyms="served, filled, fulfilled, complete, completed, finished, sent, shipped, gone",
    ),
    Column(
        name="note", read=_text(cells.note_text), otherwise="", words=True, width=30,
        write="anything; phones that are not paired do not see it",
        synonyms="notes, comment, comments, remark, remarks, memo",
    ),
)
# fmt: on

ORDERS = ColumnTable.of(ORDER_COLUMNS)
SHEET_NAME = "Orders"  # in a workbook
FILE_NAME = "orders.csv"  # beside a csv of lots
# The starter's row: it shows how a row is written, and as long as it stands so it is no order.
EXAMPLE_CODE = "EXAMPLE"
EXAMPLE: dict[str, str] = {
    "order": EXAMPLE_CODE,
    "leaves": "2027-05-08 07:00",
    "use": "event",
    "crop": "tulip",
    "form": "double",
    "variety": "Butter Lantern / Pale Harbour",
    "colour": "yellow / white",
    "bunches": "6",
    "note": "A row that shows how to write one. It is no order: clear it when you no longer need it.",
}
