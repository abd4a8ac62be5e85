"""What a season plan says: its rows in cells, and everything around them in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.room import Overfull
from tagmaker.storage.season_hints import Unsaid, WouldDo
from tagmaker.storage.season_problem import Claim
from tagmaker.storage.season_rows import Lacking, Proposal, Proposals, Unplaced
from tagmaker.telling.naming import title, variety
from tagmaker.telling.overflow import overflow_note
from tagmaker.telling.teller import Teller

TEMPLATE = "season-plan.j2"
CARD = "crate-card.j2"


@dataclass(frozen=True, slots=True, kw_only=True)
class RowWords:
    """A row that may be accepted, cell by cell."""

    id: str
    lot: str
    flowers: str
    bunches: str
    code: str  # BULB, DRY or WATER
    use: str
    leaves: str
    leaves_lines: tuple[str, ...]  # the same, the hour on a line of its own
    cooler: str
    water: str  # into water by; when it stands in it already, so
    water_lines: tuple[str, ...]  # the same, the hour on a line of its own
    water_told: str  # the same where nothing stands above it
    marks: str
    orders: str  # the written orders in it


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """A season plan in words; an empty part has nothing to say."""

    span: str
    lots: tuple[str, ...]  # a sentence a lot: what goes which way
    rows: tuple[RowWords, ...]
    unproven: str
    room: tuple[str, ...]  # what does not fit
    lacking: tuple[str, ...]  # what outlets lack
    unplaced: tuple[str, ...]  # what finds no outlet
    makes_it: tuple[str, ...]  # what would make it


@dataclass(frozen=True, kw_only=True)
class PlanResult:
    """A solved plan, as it is told."""

    lots: Sequence[Lot]
    found: Proposals
    overfull: Sequence[Overfull]
    would_do: Sequence[WouldDo]
    unsaid: Sequence[Unsaid]
    unproven: str | None  # the aim from which on nothing is proven
    seconds: float  # [s] that the solver was given
    until: date  # last day of the plan


def plan_words(result: PlanResult, teller: Teller) -> PlanWords:
    """What is said of a plan."""
    say = teller.wording.macros(TEMPLATE)
    lots = {lot.lot_code: lot for lot in result.lots}
    flowers = {code: _flowers(lot, teller) for code, lot in lots.items()}
    return PlanWords(
        span=say.span(first=teller.now, last=result.until, rows=len(result.found.rows)),
        lots=tuple(_lots(result.found, lots, flowers, say)),
        rows=tuple(_row(row, flowers[row.lot], lots[row.lot], teller, say) for row in result.found.rows),
        unproven="" if result.unproven is None else say.unproven(aim=result.unproven, seconds=result.seconds),
        room=tuple(teller.wording.say(overflow_note(run)) for run in result.overfull),
        lacking=tuple(_lacking(result.found.lacking, say)),
        unplaced=tuple(_unplaced(result.found.unplaced, result.until, say)),
        makes_it=tuple(_makes_it(result, say)),
    )


def _flowers(lot: Lot, teller: Teller) -> str:
    """Variety, form and crop, and colour, as on the card."""
    say = teller.wording.macros(CARD)
    return str(say.crop(title=title(lot), variety=variety(lot), colour=lot.colour, lot=lot))


def _row(row: Proposal, flowers: str, lot: Lot, teller: Teller, say: Any) -> RowWords:
    serving, by = row.serving, row.serving.into_water_by
    water = str(say.water(by=by, kept_in_water=row.way is StorageCode.WATER))
    marks = [say.mark(mark=mark.value, on=serving.test_on) for mark in serving.marks]
    return RowWords(
        id=row.id,
        lot=row.lot,
        flowers=flowers,
        bunches=str(row.bunches),
        code=row.way.value,
        use=row.use,
        leaves=say.leaves(leaves=row.leaves),
        leaves_lines=(teller.wording.day(row.leaves), teller.wording.hour(row.leaves)),
        cooler=say.cooler(cooler=row.cooler, row=lot.cooler if row.elsewhere else ""),
        water=water,
        water_lines=(water,) if by is None else (teller.wording.day(by), teller.wording.hour(by)),
        water_told=say.water_told(by=by, kept_in_water=row.way is StorageCode.WATER),
        marks=", ".join(marks),
        orders=say.orders(codes=row.orders) if row.orders else "",
    )


def _lots(found: Proposals, lots: dict[str, Lot], flowers: dict[str, str], say: Any) -> Iterator[str]:
    """For each lot with rows, how many stems go which way, for whom."""
    rest = {unplaced.lot: unplaced.stems for unplaced in found.unplaced}
    for code, group in groupby(found.rows, key=lambda row: row.lot):
        own, lot = list(group), lots[code]
        ways: dict[StorageCode, int] = {}
        for row in own:
            ways[row.way] = ways.get(row.way, 0) + row.stems
        shares = sorted(((stems, way.value) for way, stems in ways.items()), reverse=True)
        yield say.lot(
            code=code,
            flowers=flowers[code],
            cut=lot.cut if lot.planned else None,
            shares=shares,
            uses=list(dict.fromkeys(row.use for row in own)),
            rest=rest.get(code, 0),
        )


def _lacking(lacking: Sequence[Lacking], say: Any) -> Iterator[str]:
    """What orders lack, each by itself; then what outlets lack, all days of one together."""
    for lack in lacking:
        if lack.want.claim in (Claim.MUST, Claim.ORDERED):
            yield say.order_lacks(
                code=lack.want.name,
                use=lack.want.use,
                leaves=lack.want.leaves,
                amount=lack.amount,
                in_bunches=lack.want.in_bunches,
            )
    usual = [lack for lack in lacking if lack.want.claim is Claim.USUAL]
    for use in sorted({lack.want.use for lack in usual}):
        own = [lack for lack in usual if lack.want.use == use]
        days = [lack.want.leaves for lack in own]
        yield say.use_lacks(use=use, stems=sum(lack.amount for lack in own), days=days)


def _unplaced(unplaced: Sequence[Unplaced], until: date, say: Any) -> Iterator[str]:
    """What nobody gets; lots of which nothing more is to be said stand together."""
    free = [(rest, rest.stems - rest.held) for rest in unplaced if rest.stems > rest.held]
    plain = [(rest.lot, stems) for rest, stems in free if not rest.keeps_on]
    if plain:
        yield say.unplaced(lots=plain, stems=sum(stems for _, stems in plain))
    for rest, stems in free:
        if rest.keeps_on:
            yield say.keeps_on(code=rest.lot, stems=stems, until=until)
    for rest in unplaced:
        if rest.held:
            yield say.held(code=rest.lot, stems=rest.held)


def _would_do(found: Sequence[WouldDo], say: Any) -> Iterator[str]:
    """What a measured cooler, or another one, would make of a lot: the departures in one sentence."""
    groups: dict[object, list[WouldDo]] = {}
    for one in found:
        groups.setdefault((one.lot, one.way, one.cooler, one.measured_c), []).append(one)
    for own in groups.values():
        last = max(own, key=lambda one: one.leaves)
        yield say.would_do(
            code=last.lot,
            way=last.way.value,
            cooler=last.cooler,
            measured_c=last.measured_c,
            days=last.days,
            departures=[(one.use, one.leaves) for one in own],
        )


def _makes_it(result: PlanResult, say: Any) -> Iterator[str]:
    """What would make more of it fit: coolers, then numbers that nobody wrote."""
    yield from _would_do(result.would_do, say)
    for one in result.unsaid:
        yield say.unsaid(use=one.use, leaves=one.leaves, lots=one.lots, stems=one.stems)
    uncounted = sorted(lot.lot_code for lot in result.lots if lot.left is None)
    if uncounted:
        yield say.uncounted(lots=uncounted)
