"""Which season `serve` means where no sheet is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from tagmaker.desk import serving
from tagmaker.desk.seasons import season_sheet, sheet_in
from tagmaker.errors import UsageProblem
from tests.served import folder_of, row, write_season


def touched(*paths: Path) -> None:
    """Empty files, in folders that are made."""
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")


def test_the_folder_one_stands_in_comes_before_the_last_season(tmp_path: Path) -> None:
    """Without a season there, the last one is meant; a sheet or folder that is named always is."""
    here, last, other = tmp_path / "here", tmp_path / "last" / "lots.xlsx", tmp_path / "other" / "lots.csv"
    here.mkdir()
    touched(last, other)
    assert season_sheet(None, here, last) == last
    assert season_sheet(other.parent, here, last) == other
    assert season_sheet(other, here, last) == other
    touched(here / "lots.ods")
    assert season_sheet(None, here, last) == here / "lots.ods"


def test_a_sheet_of_another_name_beside_settings_is_a_season(tmp_path: Path) -> None:
    """Readings, orders and caught-up copies are none."""
    touched(tmp_path / "spring.xlsx", tmp_path / "readings.csv", tmp_path / "orders.csv")
    touched(tmp_path / "spring-caught-up.xlsx")
    assert sheet_in(tmp_path) is None
    touched(tmp_path / "tagmaker.toml")
    assert sheet_in(tmp_path) == tmp_path / "spring.xlsx"


def test_several_sheets_are_to_be_told_apart(tmp_path: Path) -> None:
    """They are named."""
    touched(tmp_path / "lots.xlsx", tmp_path / "lots.csv")
    with pytest.raises(UsageProblem, match=r"LOTS must be one sheet \(got lots.csv and lots.xlsx in"):
        season_sheet(None, tmp_path, None)


def test_where_there_is_none_at_all(tmp_path: Path) -> None:
    """What to do is said."""
    with pytest.raises(UsageProblem, match="tagmaker start FOLDER"):
        season_sheet(None, tmp_path, None)
    with pytest.raises(UsageProblem, match="must hold a season"):
        season_sheet(tmp_path, tmp_path, None)


def test_without_a_network_the_pages_are_open_here_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That is said, and no phone is paired."""

    def none() -> str:
        raise UsageProblem("--lan needs a network (Network is unreachable): join one, and start again")

    monkeypatch.setattr(serving, "lan_address", none)
    told: list[str] = []
    listener = serving.serve(folder_of(write_season(tmp_path, row("041")), told), 0, lan=True)
    try:
        assert listener.socket.getsockname()[0] == "127.0.0.1"
        assert told[0].endswith("start again. The pages are open to this computer alone.")
        assert [line for line in told if "code to pair" in line] == []
    finally:
        listener.task_dispatcher.shutdown()
        listener.close()


def test_where_the_usual_port_is_taken_the_next_one_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is said; a port that was asked for is never replaced, which another test shows."""
    sheet = write_season(tmp_path, row("041"))
    first = serving.serve(folder_of(sheet, []), 0, lan=False)
    taken = int(first.effective_port)
    monkeypatch.setattr(serving, "USUAL_PORTS", (taken, 0))
    told: list[str] = []
    second = serving.serve(folder_of(sheet, told), None, lan=False)
    try:
        assert told[0] == f"port {taken} is taken, so the next one is tried"
        assert second.effective_port != first.effective_port
    finally:
        for listener in (first, second):
            listener.task_dispatcher.shutdown()
            listener.close()
