"""Print the comparison: `python -m tests.bench` (some minutes), or `python -m tests.bench --quick`."""

import json
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import Sheet
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.ink import print_sheets
from tagmaker.paper.press.qr import symbol
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.label_sheets import label_sheets, tag_space
from tagmaker.paper.tag.layout import draw_tag
from tagmaker.paper.tag.words import TagWords
from tagmaker.paper.tag.wraps import wrap_labels
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.bench import commands, content, floor, log_speed, naive
from tests.paper_samples import NOW, sample_farm

REPOSITORY = Path(__file__).resolve().parents[2]
WAYS = {
    "floor": "hand-written PDF stream, QR matrices ready",
    "engine": "tagmaker's engine on drawings ready made, QR matrices ready",
    "layout": "the same with every label fitted and laid out",
    "encoding": "the same with the QR codes encoded",
    "wraps": "tagmaker's wrap_labels, wording and encoding included",
    "naive": "one canvas, QR built and drawn on every tag",
}


def _lay_out(labels: Sequence[tuple[TagWords, str]]) -> tuple[Sheet, ...]:
    stock = content.STOCK
    space = tag_space(stock, Printer())
    drawn = [draw_tag(words, code, *space, where="") for words, code in labels]
    tags = [drawing for drawing in drawn for _ in range(content.TAGS_PER_LOT)]
    return tuple(label_sheets(tags, stock, Printer()))


def _print(sheets: Iterable[Sheet]) -> bytes:
    return print_sheets("tags.pdf", "Tags", sheets).pdf


def _wraps(tags: int) -> bytes:
    return wrap_labels(content.lots(tags), Teller(sample_farm(), crop_table(), Wording("F"), NOW)).pdf


def measure(way: str, tags: int) -> dict[str, float]:
    """Processor seconds (a busy machine changes them little), peak megabytes and bytes, in this process."""
    face("regular"), face("bold")  # read beforehand, for all ways alike
    labels = content.labels(tags)
    matrices = [symbol(code, "Q") for _, code in labels] if way in ("floor", "engine", "layout") else []
    ready = [(words, matrix) for (words, _), matrix in zip(labels, matrices, strict=False)]
    sheets = _lay_out(labels) if way == "engine" else ()
    ways: dict[str, Callable[[], bytes]] = {
        "floor": lambda: floor.write(ready),
        "engine": lambda: _print(sheets),
        "layout": lambda: _print(_lay_out(labels)),
        "encoding": lambda: _print(_lay_out(labels)),
        "wraps": lambda: _wraps(tags),
        "naive": lambda: naive.write(labels),
    }
    start = time.process_time()
    pdf = ways[way]()
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": seconds, "peak": peak, "bytes": len(pdf)}


def _measure_apart(way: str, tags: int, runs: int) -> dict[str, float]:
    """The median of some runs, each in a process of its own."""
    command = [sys.executable, "-m", "tests.bench", way, str(tags)]
    results = [
        json.loads(subprocess.run(command, cwd=REPOSITORY, check=True, capture_output=True).stdout)
        for _ in range(runs)
    ]
    return {key: statistics.median(result[key] for result in results) for key in results[0]}


def _say(text: str = "") -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def compare(tags: int) -> None:
    """Print a table of all ways for a number of tags, and what it means."""
    _say(f"\n{tags:,} tags, {content.TAGS_PER_LOT} a lot, {content.STOCK.name}")
    _say(f"{'':10}{'tags/s':>9}{'peak MB':>9}{'bytes/tag':>11}  what")
    found = {}
    for way, what in WAYS.items():
        found[way] = _measure_apart(way, tags, 1 if way == "naive" and tags > 1000 else 3)
        speed, size = tags / found[way]["seconds"], found[way]["bytes"] / tags
        _say(f"{way:10}{speed:>9,.0f}{found[way]['peak']:>9.0f}{size:>11.0f}  {what}")
    share = found["floor"]["seconds"] / found["engine"]["seconds"]
    times = found["naive"]["seconds"] / found["encoding"]["seconds"]
    whole = found["naive"]["seconds"] / found["wraps"]["seconds"]
    laid_out = found["floor"]["seconds"] / found["layout"]["seconds"]
    _say(f"engine / floor {share:.2f} (to reach: 0.5), with the layout {laid_out:.2f}")
    _say(f"encoding / naive {times:.1f} ×, wraps / naive {whole:.1f} × (to reach: 15)")


def _proof(tags: int) -> None:
    """Print what reading a page back takes, the median of some runs."""
    inked = wrap_labels(content.lots(tags), Teller(sample_farm(), crop_table(), Wording("F"), NOW))
    taken = []
    for _ in range(5):
        start, busy = time.perf_counter(), time.process_time()
        prove(inked)
        taken.append((time.perf_counter() - start, time.process_time() - busy))
    wall, busy = (statistics.median(times) / len(inked.sheets) * 1000 for times in zip(*taken, strict=True))
    _say(
        f"\nproof {wall:.1f} ms a page of {content.STOCK.per_page} codes, {busy:.1f} of it processor time "
        "(to reach: 25)"
    )


def main(arguments: list[str]) -> None:
    """Measure one way where it is named, else all of them."""
    if len(arguments) == 2:
        _say(json.dumps(measure(arguments[0], int(arguments[1]))))
        return
    compare(600)
    if arguments != ["--quick"]:
        compare(30_000)
    _proof(3000)
    _say(f"\n{commands.about_help()}\n{commands.about_papers()}")
    if arguments != ["--quick"]:
        _say(f"{commands.about_dates()}\n")
        log_speed.main()


if __name__ == "__main__":
    main(sys.argv[1:])
