"""The columns of the lot sheet, one table: their names, readers, and what a blank cell means.

Header, rows, lots that were split off, the starter sheet, the check of the fonts and the table of
`tagmaker help sheet` all come from here. Names are compared without case, spaces and punctuation;
synonyms are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tagmaker.intake.cells import lists
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.files.grid import CellValue, text_of
from tagmaker.intake.lots import parents
from tagmaker.intake.lots.column import Column, ColumnTable, Reader

LABELS, CARDS = ("wraps", "buyers"), ("crates", "checklist", "pack")
PAPERS = (*LABELS, *CARDS, "cooler report")
DATE, TEXT = "yyyy-mm-dd hh:mm", "@"  # cell formats of the starter sheet


def _text(reader: Callable[[str], object]) -> Reader:
    """A reader for what a cell says as text."""
    return lambda value, _: reader(text_of(value))


def _date(column: str) -> Reader:
    return lambda value, reading: reading.dates(column).read(value)


def _stems(value: CellValue, _: Reading) -> object:
    return cells.amount(text_of(value), 1, cells.MOST_STEMS)


def _stems_away(value: CellValue, _: Reading) -> object:
    return cells.amount(text_of(value), 0, cells.MOST_STEMS, all_allowed=True)


# fmt: off
COLUMNS: tuple[Column, ...] = (
    Column(
        name="lot", read=_text(cells.lot_code), inherit=None, width=8, form=TEXT,
        write="your own code: up to 12 of A–Z, 0–9 and `-`, each once. A row with nothing else is left alone",
        blank="a problem; the message proposes one",
        synonyms="lots, lot no, lot nr, lot number, lot code, lot id, lot name, number, no, nr, num, code, "
        "id, batch, batch no, batch number, batch code, batch id, crate no, tag no",
    ),
    Column(
        name="crop", read=lambda value, reading: cells.crop_name(text_of(value), reading.crops),
        inherit=parents.the_same("crop"), usual=True, papers=PAPERS, width=13,
        write="tulip, narcissus, lily …", blank="a problem",
        synonyms="flower, flowers, species, kind, plant, crop name, flower name, genus",
    ),
    Column(
        name="variety", read=_text(cells.name_text), inherit=parents.the_same("variety"), usual=True,
        otherwise="", words=True, papers=PAPERS, width=22,
        write="its name, as it shall be printed",
        synonyms="cultivar, cv, var, name, variety name, cultivar name, varieties",
    ),
    Column(
        name="form", read=_text(cells.name_text), inherit=lambda found: parents.of_worst_form(found).form,
        usual=True, words=True, width=14,
        write="for tulips: single, double, parrot, fringed, Darwin hybrid, lily-flowered, botanical",
        blank="counted as the form that lasts the fewest days, and said so",
        synonyms="type, class, division, group, flower form, shape, bloom form, flower type",
    ),
    Column(
        name="colour", read=_text(cells.name_text), inherit=parents.the_same("colour"), usual=True,
        otherwise="", words=True, papers=(*LABELS, *CARDS),
        write="as it shall be printed",
        synonyms="color, colours, colors, shade, hue, flower colour, flower color",
    ),
    Column(
        name="cut", read=lambda value, reading: reading.dates("cut").read_cut(value),
        inherit=parents.earliest_cut, width=17, form=DATE,
        write="the day, better with its hour: `2027-04-12T08:00`. A plan is written `plan 2027-05-03`",
        blank="a problem",
        synonyms="date cut, cut date, cut on, cut at, cut time, date of cut, harvested, harvest, harvest "
        "date, date harvested, harvested on, harvest time, date of harvest, picked, pick date, picking date, "
        "date picked, picked on, pulled, date pulled, pulled on, day cut, when cut",
    ),
    Column(
        name="stage", read=_text(cells.stage), inherit=parents.most_open, usual=True, otherwise=None,
        choices=("green", "tight", "half", "coloured", "open"),
        write="green, tight, half, coloured or open",
        blank="dated from the cautious figures, and marked HOW OPEN?",
        synonyms="cut stage, bud stage, bud, stage at cut, stage cut, stage of opening, openness, ripeness",
    ),
    Column(
        name="stems", read=_stems, inherit=None, usual=True, width=8,
        write="how many were cut, up to 20,000", blank="labels need it",
        synonyms="stem, stem count, stems cut, no of stems, number of stems, total stems, stems total, "
        "count, qty, quantity, total, how many",
    ),
    Column(
        name="per bunch", read=_text(cells.per_bunch), inherit=parents.least("per_bunch"), usual=True,
        otherwise=10, width=8,
        write="stems in a bunch", blank="10",
        synonyms="stems per bunch, bunch size, bunch of, bunches of, stems a bunch, stems in bunch",
    ),
    Column(
        name="bulb", read=_text(cells.bulb), inherit=parents.bulb, usual=True, width=7,
        choices=("on", "off"),
        write="on or off", blank="off",
        synonyms="bulbs, bulb on, bulb on off, with bulb, bulb attached, on bulb",
    ),
    Column(
        name="storage", read=_text(cells.storage), inherit=parents.worst_storage, usual=True, otherwise=None,
        choices=("dry", "water"),
        write="dry or water, if you have decided", blank="tagmaker decides",
        synonyms="keep, kept, kept in, stored, stored in, how kept, how stored, storage way, storage code, "
        "way, holding, held, hold, wet or dry, dry or wet, dry or water",
    ),
    Column(
        name="field",
        read=lambda value, reading: cells.field_temperature(text_of(value), reading.farm.units),
        inherit=parents.most("field_c"), usual=True, width=8,
        write="temperature where it stood before the cooler: `64F`, `18 C`",
        blank="the month's, from the settings",
        synonyms="field temp, field temperature, field heat, temp, temperature, air temp, air temperature, "
        "temp at cut, outside temp, outdoor temp, stood at",
    ),
    Column(
        name="surface", read=_text(cells.surface), inherit=parents.worst_surface, usual=True, width=9,
        choices=("wet", "dried", "dry"),
        write="wet, dried (wet before, fanned since) or dry", blank="dry",
        synonyms="wetness, drops, moisture, surface wet, rained on, wet stems, feel",
    ),
    Column(
        name="cooler",
        read=lambda value, reading: cells.name_among(text_of(value), reading.farm.coolers, "cooler"),
        inherit=lambda found: found.lots[0].cooler, usual=True, choices=("walk-in", "fridge"),
        write="the first cooler it went into", blank="the first of the settings",
        synonyms="coolers, fridge, refrigerator, walk-in, cold room, cold store, cool room, cooler name, "
        "cooler no, fridge no, which cooler, which fridge, first cooler",
    ),
    Column(
        name="place", read=_text(cells.name_text), inherit=parents.the_same("place"), usual=True, words=True,
        papers=CARDS, width=14,
        write="where in it; a move drops it unless it names one",
        synonyms="shelf, spot, position, bay, rack, location, place in cooler, where in cooler, corner",
    ),
    Column(
        name="in cooler", read=_date("in cooler"), inherit=parents.longest_outside, width=17, form=DATE,
        write="when it went in. A wet lot goes in when this is filled", blank="two hours after the cut",
        synonyms="into cooler, cooler in, into the cooler, in the cooler, cooled, cooled at, cooled on, in "
        "fridge, into fridge, to cooler, in cooler at, in cooler on, cooler date, cooler time, time in "
        "cooler, in cooler since, date in cooler",
    ),
    Column(
        name="in water", read=_date("in water"), inherit=parents.earliest_in_water, width=17, form=DATE,
        write="when a dry lot was put in water; a part of it is a row of its own", blank="it is still dry",
        synonyms="into water, put in water, in water since, in water at, in water on, rehydrated, hydrated, "
        "watered, soaked, soaking since, date in water, to water",
    ),
    Column(
        name="moved", read=lambda value, reading: lists.moves(value, reading.dates("moved"), reading.farm),
        inherit=parents.moved, adds=True, width=30, form=TEXT,
        write="what came after: `walk-in, rack 2 2027-04-12; out 2027-04-14T06:00 75F; shed 2027-04-15`",
        blank="it stayed",
        synonyms="moves, moved to, move, transferred, transfers, transfer, relocated",
    ),
    Column(
        name="tested", read=lambda value, reading: lists.tests(value, reading.dates("tested")),
        inherit=parents.tested, adds=True, otherwise=(), width=20, form=TEXT,
        write="a bunch opened after a day in water, or the buds looked at: `2027-04-18 ok; 2027-04-22 bad; "
        "2027-05-04 tight`",
        synonyms="test, tests, tested on, test bunch, bunch tested, looked at, checked",
    ),
    Column(
        name="use", read=lambda value, reading: cells.name_among(text_of(value), reading.farm.uses, "use"),
        inherit=parents.the_same("use"), usual=True, choices=("shop", "stall", "event"),
        write="what it is for: one of your uses", blank="the use that promises most vase days",
        synonyms="for, outlet, market, uses, used for, use for, channel, purpose, meant for, sell at, sold "
        "at, sold through, sales channel, outlets",
    ),
    Column(
        name="needed",
        read=lambda value, reading: lists.orders(value, reading.dates("needed"), reading.farm.uses),
        inherit=None, width=34, form=TEXT,
        write="orders: `2027-04-10` for all of it, `2027-04-10 x 100; 2027-04-17T07:00 event x 60` for parts",
        blank="none",
        synonyms="need, needed by, needed on, needed for, need by, date needed, needed date, order, orders, "
        "ordered for, due, due date, wanted, wanted for, required, required by, required for",
    ),
    Column(
        name="gone", read=_stems_away, inherit=None, width=9,
        write="sold or used: stems, `12 bunches` or `all`", blank="0",
        synonyms="sold, stems sold, stems gone, sold stems, used, stems used, taken, sold or used",
    ),
    Column(
        name="dumped", read=_stems_away, inherit=None, width=9,
        write="thrown away, in the same ways", blank="0",
        synonyms="dump, stems dumped, thrown, thrown away, thrown out, discarded, waste, wasted, binned, "
        "composted, culled, lost",
    ),
    Column(
        name="split from", read=lambda value, _: lists.shares(value), inherit=None, width=16, form=TEXT,
        write="the lot this one was part of; for a bucket of leftovers, several: `121 x 24; 124 x 16`",
        synonyms="split, split of, split off, parent, parents, parent lot, from lot, from, taken from",
    ),
    Column(
        name="journal", read=_text(cells.journal_mark), inherit=None, otherwise=None, width=9, form=TEXT,
        write="the last entry of the journal that this row counts: `K7-50`", blank="the journal remembers",
        synonyms="journal no, journal number, journal entry, last journal entry",
    ),
    Column(
        name="vase days seen",
        read=lambda value, reading: lists.seen_vase_days(value, reading.dates("vase days seen")),
        inherit=parents.the_same("vase_days_seen"), otherwise=(), width=16, form=TEXT,
        write="the day a bunch left and the days it stood: `2027-04-24: 5; 2027-04-30: 3`",
        synonyms="vase days, vase life, vase life seen, observed vase life, vase days observed, days in "
        "vase, seen vase days",
    ),
    Column(
        name="why dumped", read=_text(cells.note_text), inherit=parents.the_same("why_dumped"), otherwise="",
        words=True, width=18,
        write="the reason",
        synonyms="reason, dump reason, reason dumped, reason for dumping, why thrown, why waste",
    ),
    Column(
        name="note", read=_text(cells.note_text), inherit=None, otherwise="", words=True, width=30,
        write="anything",
        synonyms="notes, comment, comments, remark, remarks, memo",
    ),
)
# fmt: on

LOTS = ColumnTable.of(COLUMNS)
NAMES: tuple[str, ...] = tuple(column.name for column in COLUMNS)
# Kind of paper -> fields of a lot whose words are on it.
ON_PAPER: Mapping[str, tuple[str, ...]] = {
    paper: tuple(column.field for column in COLUMNS if paper in column.papers) for paper in PAPERS
}


def column_named(word: str) -> str | None:
    """The column that a header or a key of the settings means; None for an unknown one.

    >>> column_named("Date Cut")
    'cut'
    """
    return LOTS.named(word)
