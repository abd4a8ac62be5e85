"""Label stocks as the bench shows them: drawn to scale, and their printers' test pages made right."""

from __future__ import annotations

from collections.abc import Sequence

from tagmaker.farm import Farm, Printer
from tagmaker.paper.stock.corrections import Measured, corrected
from tagmaker.paper.stock.label_stock import LabelStock
from tagmaker.paper.stock.listing import size_line
from tagmaker.scan.wish import Corrections, StockDrawing
from tagmaker.telling.wording import Wording


def drawing_of(stock: LabelStock, wording: Wording) -> StockDrawing:
    """A page of a stock with its labels."""
    return StockDrawing(
        words=size_line(stock, wording),
        width=stock.page_width,
        height=stock.page_height,
        labels=tuple((box.x, box.y, box.width, box.height) for box in stock.boxes()),
    )


def correct(farm: Farm, stock: LabelStock, printer: str, measures: Sequence[float]) -> Corrections:
    """The corrections of a printer by what its test page measures: across, down, left, top [mm].

    Raises:
        UsageProblem: a measure cannot be, or the printer is too far off.
    """
    across, down, left, top = measures
    found = Measured(across=across, down=down, left=left, top=top)
    right = corrected(stock, farm.printers.get(printer, Printer()), found)
    return Corrections(
        offset_x=right.offset_x, offset_y=right.offset_y, scale_x=right.scale_x, scale_y=right.scale_y
    )
