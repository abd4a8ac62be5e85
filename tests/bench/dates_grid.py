"""A picture of how many days every crop keeps, to look for cliffs: `python -m tests.bench.dates_grid PNG`.

A row for each crop and way; a column for each use, stage and degree from 0 to 8 °C. In each cell the days
from the cut to the sell by, in a cooler that is trusted and unread, for a use that sells every day; the
darker the longer. A red edge stands where one degree warmer costs more than a third and more than two days.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import Stage, StorageCode
from tagmaker.storage.crops import CropTable, Keeping, crop_table
from tagmaker.storage.dating import date_lot
from tests.farms import make_farm, make_lot

CUT = datetime(2027, 3, 22, 8)
DEGREES_C = tuple(range(9))
USES = (
    Use(name="event", vase_days=2, leaves=time(8)),
    Use(name="shop", vase_days=4, leaves=time(8)),
    Use(name="open event", vase_days=2, leaves=time(8), open=True),
)
CELL_W, CELL_H, NAMES_W, HEAD_H, GAP = 21, 16, 170, 46, 8  # [px]
LONGEST_DAYS = 42
CLIFF_SHARE, CLIFF_DAYS = 1 / 3, 2  # lost by one degree: worth a look
FONT = ImageFont.load_default(11)


def days_kept(kept: Keeping, use: Use, stage: Stage, t_c: int) -> int | None:
    """Days from the cut to the sell by; None where there is none."""
    farm = _farm(use, t_c)
    bulb = kept.code is StorageCode.BULB
    lot = make_lot(
        crop=kept.crop,
        form=kept.form,
        cut=CUT,
        in_cooler=CUT + timedelta(hours=2),
        stage=stage,
        use=use.name,
        bulb=bulb,
        storage=None if bulb else kept.code,
    )
    sell_by = date_lot(lot, farm, CropTable(_ways(kept)), CUT).sell_by
    return None if sell_by is None else (sell_by.date() - CUT.date()).days


def _ways(kept: Keeping) -> tuple[Keeping, ...]:
    return crop_table().ways(kept.crop, kept.form)


def _farm(use: Use, t_c: int) -> Farm:
    barn = Cooler(name="barn", set_point_c=float(t_c), trusted=True)
    return make_farm(coolers={"barn": barn}, uses={use.name: use}, workday=Workday())


def rows() -> Iterator[tuple[str, list[int | None]]]:
    """Each crop and way with its cells, from left to right; of the forms of tulip the single alone."""
    for kept in crop_table().keepings:
        if kept.form in ("", "single"):
            right = "".join(stage.word[0] for stage in Stage if stage is kept.right_stage)
            cells = [days_kept(kept, use, stage, t_c) for use in USES for stage in Stage for t_c in DEGREES_C]
            yield f"{kept.title} {kept.code} ({right})", cells


def is_cliff(colder: int | None, warmer: int | None) -> bool:
    """Whether a degree costs more than a date should lose by it."""
    if colder is None or colder == 0:
        return False
    lost = colder - (warmer or 0)
    return lost > CLIFF_DAYS and lost > CLIFF_SHARE * colder


def picture(table: Sequence[tuple[str, Sequence[int | None]]]) -> Image.Image:
    """The table, drawn."""
    columns = len(USES) * len(Stage) * len(DEGREES_C)
    blocks = len(USES) * len(Stage)
    width = NAMES_W + columns * CELL_W + blocks * GAP
    image = Image.new("RGB", (width, HEAD_H + len(table) * CELL_H + 4), "white")
    pen = ImageDraw.Draw(image)
    for at in range(columns):
        x = _x(at)
        use, stage = USES[at // len(DEGREES_C) // len(Stage)], Stage(at // len(DEGREES_C) % len(Stage))
        if at % len(DEGREES_C) == 0:
            pen.text((x, 2), f"{use.name}, {use.vase_days:g} vase days", "black", FONT)
            pen.text((x, 16), stage.word, "black", FONT)
        pen.text((x + 6, 30), str(DEGREES_C[at % len(DEGREES_C)]), "black", FONT)
    for down, (name, cells) in enumerate(table):
        y = HEAD_H + down * CELL_H
        pen.text((2, y), name, "black", FONT)
        for at, days in enumerate(cells):
            _cell(pen, _x(at), y, days)
            if at % len(DEGREES_C) and is_cliff(cells[at - 1], days):
                pen.rectangle((_x(at) - 1, y, _x(at) + 1, y + CELL_H - 1), fill="red")
    return image


def _x(column: int) -> int:
    return NAMES_W + column * CELL_W + column // len(DEGREES_C) * GAP


def _cell(pen: ImageDraw.ImageDraw, x: int, y: int, days: int | None) -> None:
    if days is None:
        pen.text((x + 7, y), "–", "grey", FONT)
        return
    shade = 255 - round(min(days / LONGEST_DAYS, 1) ** 0.5 * 200)
    pen.rectangle((x, y, x + CELL_W - 1, y + CELL_H - 1), fill=(shade, shade, 255))
    pen.text((x + 4, y), str(days), "white" if shade < 128 else "black", FONT)


def main(path: Path) -> None:
    """Draw the picture, and name every cliff."""
    table = list(rows())
    picture(table).save(path)
    _say(f"wrote {path}")
    for name, cells in table:
        for at, days in enumerate(cells):
            if at % len(DEGREES_C) and is_cliff(cells[at - 1], days):
                block = at // len(DEGREES_C)
                use, stage = USES[block // len(Stage)].name, Stage(block % len(Stage)).word
                t_c = DEGREES_C[at % len(DEGREES_C)]
                _say(f"{name}, {use}, {stage}: {cells[at - 1]} days at {t_c - 1} °C, {days or 0} at {t_c} °C")


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "dates-grid.png"))
