"""The words of a thermometer report: what comes first, what to do, and the small print."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import zip_longest
from typing import Any, NamedTuple

from tagmaker.farm import QUARTER
from tagmaker.notes import LogEnded, LogOffSetPoint, PowerCut
from tagmaker.storage.climate import DIAL_MARGIN_C, HOUR, MOULD_RH
from tagmaker.storage.cooler_stretch import BAND_EDGES_C, Stretch
from tagmaker.storage.cooler_summary import CoolerSummary, LotChange
from tagmaker.storage.dial import Dial
from tagmaker.storage.moments import DAY, quarter_before
from tagmaker.telling.cooler_week import HIGHEST_C
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-report.j2"
COLUMNS = ("lot", "days", "sell_by", "assumed", "used", "flowers")
WORTH_SAYING_H = 0.5  # [h] a shorter stretch in seven days is small print (chosen)
NAMED = 8  # lots named in a sentence; of more only the number is said
MOST_USED = 9.99  # share of a storage life that is written at most: lost stems have no bound


class Advice(NamedTuple):
    """One thing to do, or to know."""

    head: str
    text: str


class Figure(NamedTuple):
    """A line of the small print: its name and what it was in the week and in the month."""

    name: str
    week: str
    month: str  # empty where no more than the week was read


def lead(summary: CoolerSummary, wording: Wording) -> str:
    """The first sentence: how many lots lose or gain days, or what counts where nothing was read."""
    say = wording.macros(TEMPLATE)
    if summary.week is None:
        return str(
            say.unread_lead(cooler=summary.cooler.name, counted_c=summary.counted_c, lots=len(summary.lots))
        )
    moved = [lot for lot in summary.lots if lot.moved]
    lost = sum(lot.lost for lot in moved)
    cold = max(summary.week.frost_h or 0, summary.week.chill_h or 0) >= WORTH_SAYING_H
    return str(say.lead(lost=lost, gained=len(moved) - lost, lots=len(summary.lots), cold=cold))


def headings(wording: Wording) -> tuple[str, ...]:
    """The heads of the lots' columns."""
    say = wording.macros(TEMPLATE)
    return tuple(say.heading(column=column) for column in COLUMNS)


def lot_rows(summary: CoolerSummary, wording: Wording) -> tuple[tuple[str, ...], ...]:
    """A row for each lot whose date the readings move, as `COLUMNS`."""
    return tuple(_lot_row(lot, wording) for lot in summary.lots if lot.moved and summary.week is not None)


def _lot_row(lot: LotChange, wording: Wording) -> tuple[str, ...]:
    say, row = wording.macros(TEMPLATE), lot.read.lot
    percent, without = (f"{min(dates.life_used, MOST_USED) * 100:.0f}" for dates in (lot.read, lot.assumed))
    return (
        row.lot_code,
        say.days(lot=lot),
        say.sell_by(moment=lot.read.sell_by),
        say.sell_by(moment=lot.assumed.sell_by),
        say.used(percent=percent, without=without),
        say.flowers(lot=row, code=lot.read.code.value),
    )


def unmoved(summary: CoolerSummary, wording: Wording) -> str:
    """The lots whose date stays; empty where there are none."""
    codes = [lot.read.lot.lot_code for lot in summary.lots if not lot.moved]
    if not codes or summary.week is None:
        return ""
    return str(wording.macros(TEMPLATE).unmoved(codes=codes))


def to_do(summary: CoolerSummary, wording: Wording) -> tuple[Advice, ...]:
    """What to do, the most pressing first."""
    say = wording.macros(TEMPLATE)
    if summary.week is None:
        name = summary.cooler.name
        return (
            Advice(say.unread_hand_head(), say.unread_hand_text(cooler=name)),
            Advice(say.unread_logger_head(), say.unread_logger_text(cooler=name)),
            Advice(say.unread_check_head(), say.unread_check_text()),
        )
    lost = [lot.read.lot.lot_code for lot in summary.lots if lot.lost]
    found = [
        *([Advice(say.reprint_head(), _reprint_text(lost, say))] if lost else []),
        *_about_temperature(summary, summary.week, wording),
        *_about_notes(summary, wording),
        *_about_humidity(summary.week, say),
        *([Advice(say.dial_head(), _dial_text(summary.dial, say))] if summary.dial else []),
    ]
    return tuple(found) or (Advice(say.nothing_head(), say.nothing_text()),)


def _reprint_text(codes: Sequence[str], say: Any) -> str:
    return str(say.reprint_text(codes=codes[:NAMED], more=max(len(codes) - NAMED, 0)))


def _about_temperature(summary: CoolerSummary, week: Stretch, wording: Wording) -> Iterator[Advice]:
    say = wording.macros(TEMPLATE)
    if summary.frost is not None and (week.frost_h or 0) >= WORTH_SAYING_H:
        text = say.frost_text(
            hours=_hours(week.frost_h),
            days=_days(week),
            limit_c=summary.frost.limit_c + DIAL_MARGIN_C,
            crop=summary.frost.keeping.crop,
            freezes_c=summary.frost.limit_c,
        )
        yield Advice(say.frost_head(), text)
    if summary.chill is not None and (week.chill_h or 0) >= WORTH_SAYING_H:
        crop, limit_c = summary.chill.keeping.crop, summary.chill.limit_c
        text = say.chill_text(hours=_hours(week.chill_h), days=_days(week), limit_c=limit_c, crop=crop)
        yield Advice(say.chill_head(crop=crop.upper()), text)
    if week.warm_h < WORTH_SAYING_H:
        return
    hours, worst = _hours(week.warm_h), week.longest
    if worst is None:
        text = say.warm_text_by_hand(hours=hours, days=_days(week), limit_c=HIGHEST_C, high_c=week.high_c)
    else:
        text = say.warm_text(
            hours=hours,
            days=_days(week),
            limit_c=HIGHEST_C,
            start=_nearest_quarter(worst.start),
            end=_nearest_quarter(worst.end),
            longest_h=_hours((worst.end - worst.start) / HOUR),
            high_c=worst.high_c,
        )
    yield Advice(say.warm_head(), text)


def _about_notes(summary: CoolerSummary, wording: Wording) -> Iterator[Advice]:
    """The warnings that every paper gives about these readings."""
    say = wording.macros(TEMPLATE)
    for kind, name in ((PowerCut, "cut"), (LogEnded, "ended"), (LogOffSetPoint, "off")):
        sentences = [wording.say(note) for note in summary.notes if isinstance(note, kind)]
        if sentences:
            yield Advice(getattr(say, f"{name}_head")(), getattr(say, f"{name}_text")(sentences=sentences))


def _about_humidity(week: Stretch, say: Any) -> Iterator[Advice]:
    if week.humidity is not None and week.humidity.mould_h >= WORTH_SAYING_H:
        text = say.mould_text(hours=_hours(week.humidity.mould_h), days=_days(week), rh=MOULD_RH)
        yield Advice(say.mould_head(), text)


def _dial_text(dial: Dial, say: Any) -> str:
    gains: dict[tuple[float, bool], dict[str, None]] = {}
    for gain in sorted(dial.gains, key=lambda gain: -gain.days):
        halves = round(gain.days * 2) / 2
        at_most = halves == 0 and gain.days_then > gain.keeping.cap_days
        name = say.kept(crop=gain.keeping.crop, code=gain.keeping.code.value)
        gains.setdefault((halves, at_most), {})[name] = None
    return str(
        say.dial_text(
            dial=dial,
            crop=dial.tender.keeping.crop,
            fahrenheit=f"{abs(dial.change_c) * 1.8:.0f}",
            celsius=f"{abs(dial.change_c):.1f}",
            gains=[
                say.gain(days=halves, at_most=at_most, names=list(names))
                for (halves, at_most), names in gains.items()
            ],
        )
    )


def figures(summary: CoolerSummary, wording: Wording) -> tuple[Figure, ...]:
    """The small print's figures; the first line has the spans as its values."""
    if summary.week is None:
        return ()
    week = _figures_of(summary.week, wording)
    month = {} if summary.month is None else _figures_of(summary.month, wording)
    say = wording.macros(TEMPLATE)
    return (
        Figure("", *_spans(summary.week, summary.month, say)),
        *(
            Figure(say.figure(name=name), week.get(name, ""), month.get(name, ""))
            for name in dict.fromkeys((*month, *week))
        ),
    )


def bands(summary: CoolerSummary, wording: Wording) -> tuple[Figure, ...]:
    """Hours in each band of temperature; the first line has the head and the spans."""
    if summary.week is None:
        return ()
    say = wording.macros(TEMPLATE)
    month = () if summary.month is None else summary.month.band_h
    edges = zip_longest((None, *BAND_EDGES_C), BAND_EDGES_C)
    names = [say.band(low_c=low, high_c=high) for low, high in edges]
    rows = zip_longest(names, summary.week.band_h, month)
    return (
        Figure(say.bands(), *_spans(summary.week, summary.month, say)),
        *(Figure(name, _hours(h), "" if more is None else _hours(more)) for name, h, more in rows),
    )


def _spans(week: Stretch, month: Stretch | None, say: Any) -> tuple[str, str]:
    return say.span(days=_days(week)), "" if month is None else say.span(days=_days(month))


def _days(stretch: Stretch) -> int:
    """How many days a stretch is about."""
    return max(round((stretch.end - stretch.start) / DAY), 1)


def _figures_of(stretch: Stretch, wording: Wording) -> dict[str, str]:
    say = wording.macros(TEMPLATE)
    worst, air = stretch.longest, stretch.humidity
    found = {
        "range": say.range(low_c=stretch.low_c, mean_c=stretch.mean_c, high_c=stretch.high_c),
        "swing": say.degrees(fahrenheit=f"{stretch.swing_c * 1.8:.0f}", celsius=f"{stretch.swing_c:.1f}"),
        "equivalent": wording.temp(stretch.equivalent_c),
        "kinetic": wording.temp(stretch.kinetic_c),
        "warm": _hours(stretch.warm_h),
    }
    if worst is not None:
        hours = _hours((worst.end - worst.start) / HOUR)
        found["longest"] = say.longest(hours=hours, high_c=worst.high_c)
    if stretch.frost_h is not None:
        found["frost"] = _hours(stretch.frost_h)
    if stretch.chill_h is not None:
        found["chill"] = _hours(stretch.chill_h)
    if air is not None:
        found["damp"] = say.damp(
            rh=f"{air.mean_rh:.0f}", dew_c=air.dew_point_c, kilopascal=f"{air.deficit_pa / 1000:.2f}"
        )
        found["mould"] = _hours(air.mould_h)
    return {**found, "read": _hours(stretch.read_h)}


def small_print(summary: CoolerSummary, wording: Wording) -> tuple[str, ...]:
    """What is said below the figures."""
    say = wording.macros(TEMPLATE)
    said = []
    if summary.week is not None:
        said += [say.counted(counted_c=summary.counted_c), say.kinetic_note()]
    if summary.gaps:
        hours = sum((gap.end - gap.start) / HOUR for gap in summary.gaps)
        said.append(say.gaps(number=len(summary.gaps), hours=_hours(hours)))
    if any(summary.set_aside.values()):
        reasons = [
            say.set_aside_reason(reason=str(reason), number=number)
            for reason, number in sorted(summary.set_aside.items())
            if number
        ]
        said.append(say.set_aside(reasons=reasons))
    return tuple(said)


def _nearest_quarter(moment: datetime) -> datetime:
    return quarter_before(moment + QUARTER / 2)


def _hours(hours: float | None) -> str:
    """Hours to read: whole from ten on, else with one decimal."""
    hours = hours or 0.0
    return f"{hours:.0f}" if hours >= 10 or hours == 0 else f"{hours:.1f}"
