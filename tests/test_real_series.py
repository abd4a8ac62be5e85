"""Two public series of real temperatures, read as a cooler's log and held against pandas.

°F: hourly air temperatures of Seattle through 2010, `seattle-temps.csv` in the package vega-datasets (MIT
licence), drawn from the United States' National Oceanic and Atmospheric Administration, public domain.
°C: sea surface temperatures every half hour from February 2016 to March 2017,
`sea_surface_temperature.csv.gz` in the package bokeh-sampledata (BSD-3-Clause), drawn from the Northeastern
Regional Association of Coastal Ocean Observing Systems. Its times are in UTC, which is said in the settings.
"""

from __future__ import annotations

import gzip
from datetime import date, datetime, timedelta
from importlib.util import find_spec
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.desk.season import Day, Season, read_season
from tagmaker.storage.air import plain_spells
from tagmaker.storage.climate import days_of
from tests.farms import celsius

pytestmark = pytest.mark.slow


def package_file(package: str, name: str) -> bytes:
    """A data file of an installed package, without importing it."""
    spec = find_spec(package)
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / "_data" / name).read_bytes()


def folder(tmp_path: Path, settings: str, log: bytes, cut: str) -> Path:
    """A season folder whose one cooler has this log, with a lot of tulips in it."""
    (tmp_path / "log.csv").write_bytes(log)
    (tmp_path / "tagmaker.toml").write_text(
        f'{settings}\n[coolers.hall]\nlog = "log.csv"\n', encoding="utf-8"
    )
    sheet = tmp_path / "lots.csv"
    sheet.write_text(f"lot,crop,form,cut,stage,stems\n041,tulip,single,{cut},tight,100\n", encoding="utf-8")
    return sheet


SERIES = {
    "°F": (
        'units = "F"',
        "vega_datasets",
        "seattle-temps.csv",
        "2010-12-27T09:00",
        datetime(2010, 12, 31, 23),
    ),
    "°C": (
        'units = "C"\ntimezone = "UTC"',
        "bokeh_sampledata",
        "sea_surface_temperature.csv.gz",
        "2017-03-18T09:00",
        datetime(2017, 3, 22, 12),
    ),
}


@pytest.fixture(params=SERIES, ids=list(SERIES))
def series(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Season, pd.Series[float]]:
    """A season read with the series as its log, and the series in °C as pandas reads it."""
    settings, package, name, cut, now = SERIES[request.param]
    content = package_file(package, name)
    content = gzip.decompress(content) if name.endswith(".gz") else content
    sheet = folder(tmp_path, settings, content, cut)
    frame = pd.read_csv(tmp_path / "log.csv")
    moments = pd.to_datetime(frame.iloc[:, 0], utc=True).dt.tz_localize(None)
    values = pd.Series(frame.iloc[:, 1].to_numpy(dtype=float), index=pd.DatetimeIndex(moments)).dropna()
    in_c = values.map(celsius) if request.param == "°F" else values
    season = read_season(sheet, Day(now.date(), now))
    return season, in_c.groupby(level=0).max()  # of two readings of one moment the warmer counts


def test_every_reading_of_a_real_series_is_read(series: tuple[Season, pd.Series[float]]) -> None:
    """As many readings as pandas finds up to now, each at its moment and to the last digit."""
    season, expected = series
    expected = expected[: season.now]
    readings = season.readings["hall"]
    assert list(readings.moments) == [pd.Timestamp(moment).to_pydatetime() for moment in expected.index]
    assert readings.t_c == pytest.approx(expected.to_list(), abs=1e-9)


def test_days_of_a_real_series_agree_with_pandas(series: tuple[Season, pd.Series[float]]) -> None:
    """Lowest and highest of each whole day of a month are the readings' own; means differ by the day's edges.

    A reading stands for half the way to its neighbours, so the day's mean takes in half a step of the
    days beside it: at most half a step's share of the swing, 0.3 °C here.
    """
    season, expected = series
    month = expected[season.now - timedelta(days=40) : season.now - timedelta(days=8)]
    whole: dict[date, list[float]] = {}
    for moment, value in month.items():
        whole.setdefault(pd.Timestamp(str(moment)).date(), []).append(value)
    whole = {day: values for day, values in whole.items() if len(values) >= 24}
    spells = plain_spells(season.readings["hall"], since=season.now - timedelta(days=45))
    found = {day.day: day for day in days_of(tuple(spells))}
    assert len(whole) >= 28
    for day, values in whole.items():
        inside = values[1:-1]  # the first and the last reading are shared with the days beside
        assert found[day].low_c <= min(inside) + 1e-9
        assert found[day].high_c >= max(inside) - 1e-9
        assert found[day].mean_c == pytest.approx(sum(values) / len(values), abs=0.3)


def test_a_real_series_goes_through_the_report(series: tuple[Season, pd.Series[float]]) -> None:
    """`cooler` tells the lot's days, and prints its page."""
    season, _ = series
    result = CliRunner().invoke(
        main, ["cooler", str(season.sheet), "--today", f"{season.now:%Y-%m-%dT%H:%M}"]
    )
    assert result.exit_code == 0, result.output
    assert "COOLER hall" in result.stdout
    assert (season.sheet.parent / "papers" / "cooler-report.pdf").is_file()
