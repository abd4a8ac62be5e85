"""How fast a year of readings, one a minute, is read: ours beside a bare pandas.read_csv.

Run it by hand: `python tests/bench/log_speed.py`. The bare reader only splits the text and turns
the numbers into floats; ours also finds the columns, reads the times and the unit, sorts, looks for
faults and returns plain Python objects.
"""

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from math import sin, tau
from pathlib import Path

from tagmaker.farm import Cooler, Farm, Use
from tagmaker.intake.log.cooler_log import read_logs

ROWS = 525_600  # minutes of a year
START = datetime(2026, 5, 1)
NOW = START + ROWS * timedelta(minutes=1)
STYLES: dict[str, tuple[str, Callable[[datetime], str]]] = {
    "ISO, °C": ("Time,Temperature (°C),Humidity (%)", lambda moment: f"{moment:%Y-%m-%d %H:%M:%S}"),
    "12-hour, month first, °F": (
        "Date Time,Temp_F,RH",
        lambda moment: f"{moment.month}/{moment.day}/{moment.year} {moment:%I:%M:%S %p}",
    ),
}


def write_year(path: Path, title: str, written: Callable[[datetime], str]) -> None:
    """A year at one minute that swings over the day, with two decimals."""
    fahrenheit = "F" in title
    with path.open("w", encoding="utf-8") as file:
        file.write(title + "\n")
        for minute in range(ROWS):
            celsius = 3.5 + 2.5 * sin(minute * tau / 1440) + (minute * 7919 % 100) / 100
            degrees = celsius * 1.8 + 32 if fahrenheit else celsius
            moment = written(START + timedelta(minutes=minute))
            file.write(f"{moment},{degrees:.2f},{85 + minute % 11}\n")


def seconds(job: Callable[[], object]) -> float:
    """The best of three runs [s]."""
    runs = []
    for _ in range(3):
        begin = time.perf_counter()
        job()
        runs.append(time.perf_counter() - begin)
    return min(runs)


def peak_mb() -> float:
    """The most memory that this process has held [MB]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1e6 if sys.platform == "darwin" else 1e3)


def main() -> None:
    """Print one line for each style of export."""
    farm = Farm(uses={"shop": Use(name="shop", vase_days=4, leaves=START.time())}, coolers={})
    sys.stdout.write(f"{ROWS:,} rows, one a minute\n")
    with tempfile.TemporaryDirectory() as folder:
        ours = {}
        for number, (style, (title, written)) in enumerate(STYLES.items()):
            path = Path(folder) / f"{number}.csv"
            write_year(path, title, written)
            cooler = Cooler(name="barn", log=path.name)
            readings = read_logs(cooler, farm, Path(folder), NOW)
            if readings is None or len(readings.moments) != ROWS or readings.set_aside:
                raise SystemExit(f"{style}: not every reading was read")
            del readings
            ours[style] = seconds(lambda c=cooler: read_logs(c, farm, Path(folder), NOW))  # type: ignore[misc]
        memory = peak_mb()
        begin = time.perf_counter()
        import pandas as pd

        loading = time.perf_counter() - begin
        for number, style in enumerate(STYLES):
            bare = seconds(lambda n=number: pd.read_csv(Path(folder) / f"{n}.csv"))  # type: ignore[misc]
            sys.stdout.write(
                f"{style}: ours {ours[style]:.2f} s ({ROWS / ours[style]:,.0f} rows/s), "
                f"bare pandas.read_csv {bare:.2f} s, ratio {ours[style] / bare:.1f}\n"
            )
    sys.stdout.write(
        f"ours, peak memory of the process {memory:.0f} MB; loading pandas alone takes {loading:.2f} s\n"
    )


if __name__ == "__main__":
    main()
