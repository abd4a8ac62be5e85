"""Why a lot is taken and not another, and what stops the lots that would be wanted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import Enum, auto

from tagmaker import notes
from tagmaker.farm import Use
from tagmaker.lot import Verdict
from tagmaker.storage.judging import Limit
from tagmaker.storage.piles import Pile, called, kept_day
from tagmaker.storage.promises import Demand
from tagmaker.storage.serving import DOUBTS, Refusal, Serving, Supply


def why_taken(
    will_do: Sequence[tuple[Pile, Serving]], place: int, taken: Mapping[str, Sequence[int]]
) -> notes.WhyTaken:
    """Why a lot is taken before the next one that would do, or after those that were not enough."""
    pile, serving = will_do[place]
    code = pile.supply.lot.lot_code
    untaken = [found for found in will_do if found[0].supply.lot.lot_code not in taken]
    others = untaken or will_do[place + 1 :]
    if not others:
        before = will_do[place - 1][0].supply.lot.lot_code if place else ""
        return notes.WhyTaken(
            lot=code, other=before, ground="after" if before else "only", until=None, doubt=""
        )
    other_pile, other = others[0]
    other_code, bunches, other_bunches = other_pile.supply.lot.lot_code, taken[code][0], other_pile.bunches
    ground = "code" if code < other_code else "crates" if other_bunches >= bunches else "enough"
    if serving.marked != other.marked:
        ground = "unmarked"
    elif kept_day(pile) != kept_day(other_pile):
        ground = "keeps"
    doubt = next((mark.value for mark in other.marks if mark in DOUBTS), "")
    return notes.WhyTaken(
        lot=code, other=other_code, ground=ground, until=pile.supply.keeps_until, doubt=doubt
    )


class _Lack(Enum):
    """Why a lot whose words fit gives nothing."""

    TOO_OLD = auto()  # by then, or with too few vase days
    NOT_READY = auto()
    UNDATED = auto()
    HELD = auto()


_LACKS = {
    Refusal.HELD: _Lack.HELD,
    Refusal.NO_DATE: _Lack.UNDATED,
    Refusal.NOT_COUNTED: _Lack.UNDATED,
}  # others are too old


def why_short(piles: Iterable[Pile], demand: Demand, missing: int, use: Use) -> notes.WhyShort:
    """What a demand lacks, and why no lot gives it."""
    asked = [p for p in piles if p.supply.lot.left != 0 and demand.fits(p.supply.lot)]
    found: dict[_Lack, list[str]] = {lack: [] for lack in _Lack}
    given: list[tuple[str, str]] = []
    for pile in asked:
        lack = _lack(pile.supply, demand, use)
        if lack is not None:
            found[lack].append(pile.supply.lot.lot_code)
        else:
            given += [
                (pile.supply.lot.lot_code, to) for to in dict.fromkeys(pile.given) if to != called(demand)
            ]
    in_stems = demand.stems is not None
    return notes.WhyShort(
        stems=missing if in_stems else None,
        bunches=None if in_stems else missing,
        nothing_fits=not asked,
        too_old=tuple(found[_Lack.TOO_OLD]),
        not_ready=tuple(found[_Lack.NOT_READY]),
        undated=tuple(found[_Lack.UNDATED]),
        held=tuple(found[_Lack.HELD]),
        given=tuple(given),
    )


def _lack(supply: Supply, demand: Demand, use: Use) -> _Lack | None:
    """Why a lot whose words fit may not serve a demand; None: it may, as far as it has any free."""
    if supply.refusal is not None:
        return _LACKS.get(supply.refusal, _Lack.TOO_OLD)
    serving = supply.serves(demand.leaves, use)
    if serving.limit is Limit.NOT_READY or serving.verdict is Verdict.TOO_LATE or serving.away:
        return _Lack.NOT_READY
    return None if will(serving, demand) else _Lack.TOO_OLD


def will(serving: Serving, demand: Demand) -> bool:
    """Whether stems may be promised for a demand: those that nobody ordered are never stretched."""
    return serving.ok if demand.written else serving.ok_unordered
