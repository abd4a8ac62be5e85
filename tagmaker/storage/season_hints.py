"""What would make more of a season plan fit: a measured cooler, another one, a number that is not said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.farm import Cooler, Farm, Use
from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.air import KNOWN_DAYS, Air, Airs
from tagmaker.storage.dating import date_lots
from tagmaker.storage.moments import next_selling_moment
from tagmaker.storage.season_ground import Ground
from tagmaker.storage.season_problem import Claim
from tagmaker.storage.season_rows import Proposals
from tagmaker.storage.season_wishes import Wish, may_promise
from tagmaker.storage.serving import Supply, planned_supplies, supplies
from tagmaker.storage.whereabouts import cooler_at


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldDo:
    """Stems that find no outlet would do for one that lacks some, in a cooler better known or colder."""

    lot: str
    way: StorageCode
    cooler: str
    measured_c: float | None  # [°C] that the cooler has to be measured at; None: it would do as it is
    use: str
    leaves: datetime
    days: int  # from the cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsaid:
    """An outlet of which nobody says how many stems it sells, and what would do for it."""

    use: str
    leaves: datetime
    lots: tuple[str, ...]
    stems: int  # of these that find no outlet


def would_do(found: Proposals, wishes: Sequence[Wish], ground: Ground) -> tuple[WouldDo, ...]:
    """For each lot with stems that find no outlet, what would make them do for a departure that lacks some.

    A cooler that nobody has measured counts at 5 °C or more: first it is asked what it would be worth at its
    set point. Then other coolers are tried for plans.
    """
    codes = {rest.lot for rest in found.unplaced if rest.stems > rest.held}
    lacking = {lack.want for lack in found.lacking if lack.want.claim is not Claim.KEPT}
    wanted = [wish for wish in wishes if wish.want in lacking]
    lots = [lot for lot in ground.lots if lot.lot_code in codes]
    plans = [lot for lot in lots if lot.planned]
    as_it_is = [supply for supply in ground.standing if supply.lot.lot_code in codes]
    as_it_is += [supply for lot in plans for supply in ground.ways(lot, lot.cooler)]
    told: list[WouldDo] = []
    for name, cooler in ground.farm.coolers.items():
        if cooler.set_point_c is not None and _could_be_colder(cooler, ground.airs[name]):
            inside = [lot for lot in lots if cooler_at(lot, ground.farm, ground.now).name == name]
            better = _ways(inside, ground, {**ground.airs, name: _as_set(cooler)})
            told += _gained(better, as_it_is, wanted, ground.farm, max(cooler.set_point_c, 0.0))
    elsewhere = [s for lot in plans for name in ground.others(lot) for s in ground.ways(lot, name)]
    told += _gained(elsewhere, as_it_is, wanted, ground.farm, None)
    return tuple(dict.fromkeys(told))


def _could_be_colder(cooler: Cooler, air: Air) -> bool:
    """Whether measuring could make the cooler count as colder: too few read days, and a dial below that."""
    unread = air.read_days < KNOWN_DAYS and not cooler.trusted
    return unread and cooler.set_point_c is not None and max(cooler.set_point_c, 0.0) < air.after_c


def _as_set(cooler: Cooler) -> Air:
    """The air of a cooler that is measured at what it is set to."""
    set_c = max(cooler.set_point_c or 0.0, 0.0)
    return Air(cooler=cooler, before_c=set_c, after_c=set_c)


def _ways(lots: Sequence[Lot], ground: Ground, airs: Airs) -> list[Supply]:
    """Some lots in the cooler that they stand in, each way that is open to them."""
    farm, crops, now = ground.farm, ground.crops, ground.now
    dated = date_lots(lots, farm, crops, now, airs)
    return [
        *supplies(dated, farm, crops, now, airs, ground.held),
        *planned_supplies(lots, farm, crops, now, airs),
    ]


def _gained(
    better: Sequence[Supply],
    as_it_is: Sequence[Supply],
    wanted: Sequence[Wish],
    farm: Farm,
    measured_c: float | None,
) -> Iterator[WouldDo]:
    """What the better ways serve of what is wanted that no way serves as it is; the first way that does."""
    for wish in wanted:
        served = {s.lot.lot_code for s in as_it_is if wish.serves(s, farm) is not None}
        for supply in better:
            code = supply.lot.lot_code
            if code not in served and wish.serves(supply, farm) is not None:
                served.add(code)
                leaves = wish.want.leaves
                yield WouldDo(
                    lot=code,
                    way=supply.kept,
                    cooler=supply.cooler,
                    measured_c=measured_c,
                    use=wish.want.use,
                    leaves=leaves,
                    days=(leaves.date() - supply.lot.cut.date()).days,
                )


def unsaid(found: Proposals, ways: Mapping[str, Sequence[Supply]], ground: Ground) -> tuple[Unsaid, ...]:
    """Uses of which nobody says what they sell: the first departure that free stems would do for.

    Args:
        found: the plan.
        ways: by lot code, the ways open to its stems.
        ground: what it was made from.
    """
    free = {rest.lot: rest.stems - rest.held for rest in found.unplaced if rest.stems > rest.held}
    told = []
    for use in ground.farm.uses.values():
        moment = None if use.stems else next_selling_moment(use, ground.now)
        while moment is not None and moment < ground.until:
            lots = tuple(code for code in free if any(_does(s, moment, use) for s in ways.get(code, ())))
            if lots:
                stems = sum(free[code] for code in lots)
                told.append(Unsaid(use=use.name, leaves=moment, lots=lots, stems=stems))
                break
            moment = next_selling_moment(use, moment)
    return tuple(told)


def _does(supply: Supply, leaves: datetime, use: Use) -> bool:
    return supply.serves(leaves, use).ok_unordered and may_promise(supply.lot, leaves)
