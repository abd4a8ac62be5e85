"""Lots that were split from other lots: what they take over, and that the stems add up."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.lot import Lot, Stage, Surface
from tests.small_sheets import SETTINGS, read_rows


def lots_of(folder: Path, *rows: dict[str, str], settings: str = SETTINGS) -> dict[str, Lot]:
    """The lots of a sheet without problems, by code."""
    sheet = read_rows(folder, *rows, settings=settings)
    assert [str(problem) for problem in sheet.problems] == []
    return {lot.lot_code: lot for lot in sheet.lots}


def problems_of(folder: Path, *rows: dict[str, str]) -> list[tuple[str, str]]:
    """Lot and words of every problem of a sheet."""
    return [(problem.lot, problem.what) for problem in read_rows(folder, *rows).problems]


def test_a_child_takes_over_blank_cells(tmp_path: Path) -> None:
    """A child has its parent's facts, and lot, stems, gone, dumped, needed and note of its own."""
    facts = {"variety": "Pale Harbour", "form": "double", "stage": "tight", "bulb": "on", "per bunch": "12"}
    stood = {"field": "75F", "cooler": "porch", "place": "shelf 2", "moved": "barn, rack 1 2027-03-23"}
    own = {"use": "shop", "needed": "2027-04-10", "gone": "20", "note": "early"}
    split = {"lot": "041A", "split from": "41", "stems": "30", "in water": "2027-03-22"}
    lots = lots_of(tmp_path, {**facts, **stood, **own}, split)
    child, mother = lots["041A"], lots["041"]
    assert (child.crop, child.variety, child.form, child.stage) == (
        "tulip",
        "Pale Harbour",
        "double",
        Stage.TIGHT,
    )
    assert (child.cut, child.bulb, child.per_bunch, child.field_c) == (mother.cut, True, 12, mother.field_c)
    assert (child.cooler, child.place, child.use, child.moves) == ("porch", "rack 1", "shop", mother.moves)
    assert (child.stems, child.gone, child.orders, child.note) == (30, 0, (), "")
    assert (child.parents, mother.split_off, mother.left, mother.in_water) == (("041",), 30, 70, None)
    assert child.in_water == datetime(2027, 3, 22, 18)


def test_a_child_comes_before_usual_words(tmp_path: Path) -> None:
    """What the parent says fills a blank cell before [usual] does."""
    settings = SETTINGS + '[usual]\nstage = "tight"\nform = "single"\n'
    rows = [{"stage": "coloured", "form": "parrot"}, {"split from": "041", "stems": "20"}]
    child = lots_of(tmp_path, *rows, settings=settings)["042"]
    assert (child.stage, child.form) == (Stage.COLOURED, "parrot")


def test_an_assumed_form_stays_assumed(tmp_path: Path) -> None:
    """A child of a lot without a form says too that its form is assumed."""
    assert lots_of(tmp_path, {}, {"split from": "041", "stems": "20"})["042"].form_assumed is True


def test_a_bucket_of_leftovers_takes_the_worst(tmp_path: Path) -> None:
    """Several parents: earliest cut, most open stage, longest outside, warmest, bulb off, shortest form."""
    late = {"surface": "dried", "in cooler": "2027-03-22T16:00", "in water": "2027-03-22"}
    rows = [
        {"cut": "2027-03-20T09:00", "form": "double", "stage": "tight", "bulb": "on", "field": "50F"},
        {"cut": "2027-03-22T07:00", "form": "botanical", "stage": "coloured", "field": "60F", **late},
        {"lot": "043", "split from": "041 x 30; 042 x 20"},
    ]
    lots = lots_of(tmp_path, *rows)
    child = lots["043"]
    assert (child.cut, child.in_cooler) == (datetime(2027, 3, 20, 9), datetime(2027, 3, 20, 18))
    assert (child.form, child.stage, child.bulb) == ("botanical", Stage.COLOURED, False)
    assert (child.field_c, child.surface) == ((60 - 32) / 1.8, Surface.DRIED)
    assert (child.in_water, child.stems) == (datetime(2027, 3, 22, 18), 50)
    assert (lots["041"].left, lots["042"].left) == (90, 100)


def test_an_unknown_stage_is_the_worst(tmp_path: Path) -> None:
    """Where one parent's stage is blank, so is the child's: dated cautiously."""
    rows = [{"stage": "tight"}, {}, {"lot": "043", "split from": "041 x 30; 042 x 20"}]
    assert lots_of(tmp_path, *rows)["043"].stage is None


def test_a_wet_parent_keeps_the_bucket_wet(tmp_path: Path) -> None:
    """A bucket with wet stems in it is wet and has not gone in."""
    rows = [{}, {"surface": "wet"}, {"lot": "043", "split from": "041 x 30; 042 x 20"}]
    child = lots_of(tmp_path, *rows)["043"]
    assert (child.surface, child.in_cooler) == (Surface.WET, None)


def test_leftovers_are_also_the_child_of_each_parent_alone(tmp_path: Path) -> None:
    """Each with that parent's cut, cooler, moves, form and use, and the counts of the bucket."""
    rows = [
        {"cooler": "barn", "use": "shop", "form": "double", "moved": "porch 2027-03-22T12:00"},
        {"cooler": "porch", "use": "stall", "cut": "2027-03-21T09:00"},
        {"lot": "043", "split from": "041 x 30; 042 x 20", "gone": "10", "needed": "2027-04-03"},
        {"lot": "044", "split from": "043", "stems": "10"},
    ]
    lots = lots_of(tmp_path, *rows)
    bucket = lots["043"]
    for code, lot in (("043", bucket), ("044", lots["044"])):
        first, second = lot.alone
        assert [(alone.lot_code, alone.left, alone.alone) for alone in lot.alone] == [
            (code, lot.left, ())
        ] * 2
        assert (first.cut, first.form, first.use) == (lots["041"].cut, "double", "shop")
        assert (first.cooler, first.moves) == ("barn", lots["041"].moves)
        assert (second.cut, second.cooler, second.moves) == (lots["042"].cut, "porch", ())
    assert [alone.orders[0].leaves.hour for alone in bucket.alone] == [8, 6]
    assert (bucket.left, bucket.cooler, bucket.moves) == (30, "barn", lots["041"].moves)


def test_a_bucket_comes_from_so_many_lots_at_most(tmp_path: Path) -> None:
    """Each of them is dated alone."""
    rows = [{"lot": f"{n}", "stems": "10"} for n in range(25)]
    whole = {"lot": "B", "split from": "; ".join(f"{n} x 1" for n in range(25))}
    assert problems_of(tmp_path, *rows, whole) == [
        ("B", f'split from must go back to at most 24 lots (got "{whole["split from"][:40]}…")')
    ]


def test_grandchildren_in_any_order(tmp_path: Path) -> None:
    """A row may stand above the one it was split from."""
    rows = [
        {"lot": "041B", "split from": "041A", "stems": "10"},
        {"lot": "041A", "split from": "041", "stems": "5 bunches"},
        {"lot": "041", "stage": "tight"},
    ]
    lots = lots_of(tmp_path, *rows)
    assert (lots["041B"].stage, lots["041A"].left, lots["041"].left) == (Stage.TIGHT, 40, 70)


def test_a_long_chain_of_splits(tmp_path: Path) -> None:
    """A thousand lots, each split from the last, are read without trouble."""
    rows = [{"lot": "0", "stems": "2000"}]
    rows += [{"lot": f"{n}", "split from": f"{n - 1}", "stems": f"{2000 - n}"} for n in range(1, 1000)]
    lots = lots_of(tmp_path, *rows)
    assert (len(lots), lots["500"].left) == (1000, 1)


def test_all_gone_means_what_is_left(tmp_path: Path) -> None:
    """The word all counts what was not dumped or split off."""
    rows = [{"stems": "120", "gone": "all", "dumped": "15"}, {"split from": "041", "stems": "30"}]
    mother = lots_of(tmp_path, *rows)["041"]
    assert (mother.gone, mother.left) == (75, 0)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"gone": "all", "dumped": "all"}, 'dumped must be a number where gone is "all" (got "all" twice)'),
        ({"gone": "all", "stems": ""}, 'gone must be a number where the stems are not filled in (got "all")'),
        ({"gone": "121"}, "gone must be at most the 120 stems that were cut (got 121)"),
        ({"dumped": "13 bunches"}, "dumped must be at most the 120 stems that were cut (got 130)"),
    ],
)
def test_stems_that_do_not_add_up(tmp_path: Path, row: dict[str, str], said: str) -> None:
    """No more can go than was cut."""
    assert problems_of(tmp_path, row) == [("041", said)]


@pytest.mark.parametrize(
    ("child", "said"),
    [
        ({"crop": "lily"}, 'crop must be tulip, as in lot 041 (got "lily")'),
        ({"bulb": "on"}, 'bulb must be off, as it is off in lot 041 (got "on")'),
        (
            {"split from": "041 x 30", "stems": "40"},
            'stems must be the sum of what it was split from, 30 (got "40")',
        ),
        ({"split from": "041; 041"}, 'split from must be lots that are named once each (got "041; 041")'),
        (
            {"split from": "bed 12"},
            'split from must be a lot code, or several like "041 x 30; 043 x 20" (got "bed 12")',
        ),
    ],
)
def test_children_that_contradict_their_parents(tmp_path: Path, child: dict[str, str], said: str) -> None:
    """A child cannot be another flower, get its bulb back or count differently."""
    assert problems_of(tmp_path, {}, {"split from": "041", "stems": "20", **child}) == [("042", said)]


def test_a_faulty_child_still_takes_its_stems(tmp_path: Path) -> None:
    """A child with a fault elsewhere still leaves its parent with that many fewer."""
    sheet = read_rows(tmp_path, {}, {"split from": "041", "stems": "20", "stage": "ripe"})
    assert [(lot.lot_code, lot.left) for lot in sheet.lots] == [("041", 100)]
    assert [problem.lot for problem in sheet.problems] == ["042"]
