"""What is printed in the comparison: invented lots of twelve bunches, and the words of their labels."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from tagmaker.lot import StorageDates
from tagmaker.paper.press.qr import dates_text
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.tag.words import DateRow, TagWords
from tests.paper_samples import sample_dates, sample_lot

STOCK = STOCKS["letter-3x10"]
TAGS_PER_LOT = 12
NAMES = ("Pale Harbour", "Ink and Cream", "White Tide", "Späte Königin", "Low Meadow", "Éclat du Nord")
COLOURS = ("apricot", "ivory", "rose", "plum")
DAYS = ("FRI 5 MAR", "SAT 6 MAR", "MON 8 MAR", "TUE 9 MAR", "WED 10 MAR")


def lots(tags: int) -> tuple[StorageDates, ...]:
    """Dated lots with so many bunches in all, every one with its own code and date."""
    return tuple(_lot(n) for n in range(tags // TAGS_PER_LOT))


def _lot(n: int) -> StorageDates:
    sell_by = datetime(2027, 3, 6, 8) + timedelta(days=n % 20)
    lot = sample_lot(
        lot_code=f"{n:04d}", variety=NAMES[n % len(NAMES)], colour=COLOURS[n % len(COLOURS)], stems=120
    )
    return sample_dates(lot, sell_by=sell_by, into_water_by=sell_by - timedelta(hours=14))


def labels(tags: int) -> tuple[tuple[TagWords, str], ...]:
    """The words of one label a lot, and what its code says."""
    return tuple(_label(dates) for dates in lots(tags))


def _label(dates: StorageDates) -> tuple[TagWords, str]:
    lot, n = dates.lot, int(dates.lot.lot_code)
    words = TagWords(
        lot=lot.lot_code,
        code="DRY",
        was="",
        name=lot.variety,
        details=(f"{lot.colour} · 10", "10"),
        rows=(
            DateRow(DAYS[n % 5], "6 PM", "INTO WATER BY"),
            DateRow(DAYS[(n + 1) % 5], "", "SELL BY"),
        ),
        advice="",
        caution="",
        crop="tulip double",
        cut="cut 15 Feb",
        dated_for="dated for 41 °F",
    )
    return words, dates_text(lot.lot_code, dates.sell_by, dates.into_water_by, lot.cut.year)


def lines(words: TagWords) -> Sequence[str]:
    """The same words line by line, for those who place them by hand."""
    first, second = words.rows
    return (
        words.lot,
        words.code,
        f"{words.name} · {words.details[0]}",
        first.caption,
        first.value,
        second.caption,
        second.value,
        f"{words.crop} · {words.dated_for}",
        words.cut,
    )
