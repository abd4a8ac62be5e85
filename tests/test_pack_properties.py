"""What `pack` says of a season holds by its dates, before it is kept and afterwards."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from tagmaker.lot import State
from tests.packed_season import ORDERS_HEADER, SETTINGS, bunches_of, chosen, pack, season_of

NOW = datetime(2027, 4, 21, 9)  # a Wednesday
HEADER = "lot,crop,form,colour,cut,stage,stems,per bunch,storage,gone,tested,in water,cooler,use,needed"
CROPS = ("tulip,single", "tulip,double", "narcissus,", "ranunculus,")
USUAL = SETTINGS.replace("[uses.stall]", "[uses.stall]\nstems = 150").replace(
    "[uses.florist]", "[uses.florist]\nstems = 40"
)


def a_row(random: Random, code: int) -> str:
    """A lot that was cut in the last weeks; some are half sold, tested, in water or promised."""
    cut = NOW - timedelta(days=random.randrange(1, 10), hours=1)
    storage = random.choice(["", "dry", "water"])
    stems = random.randrange(4, 20) * 10
    tested = random.choice(["", "", "", "", f"{NOW:%Y-%m-%d} ok", f"{NOW:%Y-%m-%d} bad"])
    soaked = (
        f"{NOW - timedelta(hours=3):%Y-%m-%dT%H:%M}" if storage == "dry" and random.random() < 0.2 else ""
    )
    gone = random.choice(["", "", str(stems // 20 * 10)])
    needed = random.choice(["", "", "2027-04-24 stall x 30", "2027-04-23 florist x 20"]) if not gone else ""
    cells = (
        *(str(code), random.choice(CROPS), random.choice(["white", "apricot"]), f"{cut:%Y-%m-%dT%H:%M}"),
        *(random.choice(["tight", "tight", "", "half"]), str(stems), random.choice(["10", "5"]), storage),
        *(gone, tested, soaked),
        *(random.choice(["walk-in", "annexe"]), random.choice(["stall", "florist", "wedding"]), needed),
    )
    return ",".join(cells)


def an_order(random: Random, number: int) -> str:
    """An order for one of the coming days."""
    use, day = random.choice(
        [("stall", 24), ("florist", 23), ("florist", 27), ("wedding", 25), ("wedding", 30)]
    )
    crop, colour = random.choice(["", "tulip", "tulip", "narcissus"]), random.choice(["", "", "white"])
    amount = random.randrange(1, 12)
    stems, bunches = ("", str(amount)) if random.random() < 0.6 else (str(amount * 10 + 5), "")
    return f"A-{number},2027-04-{day},{use},{crop},,,{colour},{stems},{bunches},,"


def write(folder: Path, rows: list[str], orders: list[str]) -> Path:
    """A season's folder; returns its sheet."""
    folder.mkdir()
    (folder / "tagmaker.toml").write_text(USUAL, encoding="utf-8")
    (folder / "orders.csv").write_text("\n".join([ORDERS_HEADER, *orders]) + "\n", encoding="utf-8")
    (folder / "lots.csv").write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return folder / "lots.csv"


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_what_is_packed_is_served_kept_and_the_same_again(tmp_path: Path, seed: int) -> None:
    """Each line would do by the dates once it is kept, moves no sell by, and is listed again as it was."""
    random = Random(seed)
    rows = [a_row(random, 101 + n) for n in range(24)]
    orders = [an_order(random, 1 + n) for n in range(7)]
    sheet = write(tmp_path / "one", rows, orders)
    before = {dates.lot.lot_code: dates for dates in season_of(sheet).dated}
    table, found = _table(sheet), chosen(sheet)
    assert sum(len(one.lines) for one in found.departures) > 4
    random.shuffle(rows)
    random.shuffle(orders)
    other = write(tmp_path / "other", rows, orders)
    assert _table(other) == table
    pack(sheet, "--keep")
    after = {dates.lot.lot_code: dates for dates in season_of(sheet).dated}
    for code, dates in after.items():
        assert dates.sell_by == before[code].sell_by
        kept = sum(order.stems or 0 for order in dates.orders if order.ok)
        assert kept <= (dates.left or 0)
    for one in found.departures:
        for line in one.lines:
            dates = after[line.lot.lot_code]
            assert dates.state not in (State.TOO_OLD, State.NO_DATE)
            own = [o for o in dates.orders if (o.leaves, o.use) == (one.leaves, one.use) and o.ok]
            assert sum(-(-(order.stems or 0) // line.lot.per_bunch) for order in own) == line.bunches
    again = chosen(sheet)
    assert bunches_of(again) == bunches_of(found)
    assert all(line.is_kept for one in again.departures for line in one.lines)


def _table(sheet: Path) -> list[str]:
    """What `pack` says, but for where its paper lies."""
    return [line for line in pack(sheet).stdout.splitlines() if str(sheet.parent) not in line]
