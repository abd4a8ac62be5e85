"""What the bench shows: valid pages, true words, and a way back from every one."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tagmaker.scan.pages import lot_page
from tests.page_sources import main_text, parsed
from tests.served import CODE, Served, pair, print_wraps, row, write_season

pytestmark = pytest.mark.slow


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A folder served to this machine alone."""
    return Served(
        write_season(tmp_path, row("041"), row("042", cut="2027-03-20T09:00"), row("HOOP2", stems=118))
    )


@pytest.fixture
def lan(tmp_path: Path) -> Served:
    """A folder served to the local network."""
    return Served(write_season(tmp_path, row("041")), code=CODE)


def bench_screens(here: Served, lan: Served) -> dict[str, str]:
    """Every page that the bench can show."""
    screens = {address: here.text(address) for address in ("/bench", "/bench/041", "/bench/nope")}
    screens["pairing"] = lan.text("/bench")
    screens["this computer"] = here.text("/pair")
    screens["wrong"] = pair(lan.client, "1").get_data(as_text=True)
    screens["too old"] = here.client.post("/bench/print", data={"paper": "wraps"}).get_data(as_text=True)
    screens["refused"] = print_wraps(here.client, tags="99").get_data(as_text=True)
    here.sheet.write_text("<b>\x00", encoding="utf-8")
    here.later()
    screens |= {
        f"{name}, unread": here.text(name) for name in ("/", "/L/041", "/L/nope", "/bench", "/bench/041")
    }
    return screens


def test_every_screen_of_the_bench_is_valid(here: Served, tmp_path_factory: pytest.TempPathFactory) -> None:
    """The strict parser of the HTML standard finds no fault; fields have labels, ids are one of a kind."""
    lan = Served(write_season(tmp_path_factory.mktemp("lan"), row("041")), code=CODE)
    screens = bench_screens(here, lan)
    assert len(screens) == 13
    for name, page in screens.items():
        tree = parsed(page)
        ids = Counter(element.get("id") for element in tree.iter() if element.get("id"))
        assert [found for found, count in ids.items() if count > 1] == [], name
        fields = {
            field.get("id")
            for field in (*tree.iter("input"), *tree.iter("select"))
            if field.get("type") != "hidden"
        }
        assert {label.get("for") for label in tree.iter("label")} == fields, name
        assert len([element for element in tree.iter() if element.tag == "h1"]) == 1, name


def test_a_wet_lot_is_called_wet(tmp_path: Path) -> None:
    """Its way of keeping is not said before it is dry: it gets a slip, and one button for it."""
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    sheet = tmp_path / "lots.csv"
    sheet.write_text(
        "lot,crop,cut,stage,stems,surface\n041,tulip,2027-03-22,tight,120,wet\n", encoding="utf-8"
    )
    served = Served(sheet)
    for address in ("/bench", "/bench/041"):
        text = main_text(served.text(address))
        assert ("WET" in text, "DRY" in text, "a slip in place of labels" in text) == (True, False, True)
    assert print_wraps(served.client).mimetype == "application/pdf"
    served.later()
    assert "a slip in place of labels, printed" in served.text("/bench")


@pytest.mark.parametrize("cut", ["2027-04-22T09:00", "12.o2."])
def test_a_lot_that_is_not_to_be_printed_says_why(here: Served, cut: str) -> None:
    """Planned, or with a faulty row: it is not called unknown."""
    write_season(here.sheet.parent, row("041", cut=cut), row("042"))
    here.later()
    answer = here.client.get("/bench/041")
    text = answer.get_data(as_text=True)
    assert (answer.status_code, "Nothing is to be printed for 041" in text, "No lot" in text) == (
        404,
        True,
        False,
    )


def test_a_lot_leads_to_its_tags(here: Served) -> None:
    """From the scanned page to its form is one tap; without a server there is no such link."""
    links = [link.get("href") for link in parsed(here.text("/L/041")).iter("a")]
    assert "/bench/041" in links
    source = here.live.look().shown.source
    assert "bench" not in lot_page(source, "041")


@pytest.mark.parametrize("address", ["/bench/print", "/bench/answer"])
def test_a_page_that_a_phone_lost_is_the_list_again(here: Served, lan: Served, address: str) -> None:
    """A form's address, asked for without its form, prints nothing."""
    assert "Lots, newest first" in here.text(address)
    assert "Pair this phone" in lan.text(address)
    assert list(here.sheet.parent.glob("*.sqlite")) == []
