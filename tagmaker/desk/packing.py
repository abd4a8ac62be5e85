"""What to pack: which departures are asked about, and which bunches go to them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property

from tagmaker.desk.better_packing import better
from tagmaker.desk.keeping import KeptEntry, kept_entries, named, with_sold, without
from tagmaker.desk.season import Season
from tagmaker.errors import UsageProblem
from tagmaker.farm import Use
from tagmaker.intake.cells.dates import DateColumn
from tagmaker.intake.cells.plain_text import listed, nearest, squash
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.lot import StorageDates
from tagmaker.storage.allocation import Allocation, allocate
from tagmaker.storage.better import Offer
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.promises import UsualSale, usual_sales
from tagmaker.storage.serving import Supply, supplies
from tagmaker.telling.packing import Packed, packed

DAYS = 7  # [d] from today that are told, where no day is asked for (chosen: a week's markets)
MOST_BUNCHES = 20_000
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of `pack`."""

    use: str = ""  # "": every outlet
    day: date | None = None  # None: the coming days
    bunches: int | None = None  # that go to the use on that day in all; None: what it usually sells
    anew: bool = False  # what `pack` kept before is chosen again


@dataclass(frozen=True)
class Packing:
    """Who gets what, as of now."""

    season: Season
    asked: Asked
    kept: tuple[KeptEntry, ...]  # what the journal keeps
    released: frozenset[KeptEntry]  # of that, what `pack` kept before and chooses again
    dates: tuple[StorageDates, ...]  # of the lots, without what is chosen again
    orders: tuple[WrittenOrder, ...]
    supplies: tuple[Supply, ...]
    allocation: Allocation

    @cached_property
    def dates_of(self) -> dict[str, StorageDates]:
        """The lots' dates, by code."""
        return {dates.lot.lot_code: dates for dates in self.dates}

    @cached_property
    def departures(self) -> tuple[Packed, ...]:
        """The departures that were asked about; one that was named is there though nothing goes to it."""
        to_sell = {
            (one.lot, one.leaves, one.use): one.stems
            for one in self.kept
            if one.is_to_sell and one not in self.released
        }
        return packed(self.allocation, self._asked_for(), self.dates_of, self.season, to_sell)

    @cached_property
    def offer(self) -> Offer | None:
        """Another answer that would serve more of what was ordered; None: there is none."""
        return better(self.allocation, self.supplies, self.season.farm)

    def _asked_for(self) -> Iterator[tuple[datetime, str]]:
        asked, now = self.asked, self.season.now
        until = now.date() + timedelta(days=DAYS)
        demands = [line.demand for line in self.allocation.lines]
        demands += [short.demand for short in self.allocation.shortfalls]
        for demand in demands:
            day = demand.leaves.date()
            wanted = day == asked.day if asked.day is not None else day <= until
            if wanted and asked.use in ("", demand.use):
                yield demand.leaves, demand.use
        if asked.use and asked.day is not None:
            leaves = departure_of(self.season.farm.uses[asked.use], asked.day)
            if leaves >= now:
                yield leaves, asked.use


def departure_of(use: Use, day: date) -> datetime:
    """When the flowers of a use leave on a day."""
    return datetime.combine(day, use.leaves)


def packing(season: Season, asked: Asked) -> Packing:
    """Which bunches of which lots go to whom.

    What is kept stays, but for what `pack` itself kept and chooses again: where that is asked, where fewer
    bunches are asked for than it kept, and for orders that are closed.

    Raises:
        UsageProblem: the departure is over.
    """
    orders, kept = with_sold(season.orders, season), tuple(kept_entries(season))
    sale = _sale(season, asked)
    released = frozenset(_released(kept, orders, sale, asked))
    still = [one for one in kept if one not in released]
    dates = without(season.dated, released)
    found = supplies(dates, season.farm, season.crops, season.now, season.airs, season.held)
    usual = _usual(season, asked, sale)
    names = named(still, orders)
    allocation = allocate(found, orders, season.farm, season.now, usual, names)
    return Packing(season, asked, kept, released, dates, orders, found, allocation)


def promised_to_orders(season: Season) -> dict[str, int]:
    """Stems of each lot that would go to open rows of the sheet Orders, and that it does not keep yet."""
    if not any(order.leaves >= season.now and not order.is_done for order in season.orders):
        return {}
    orders, kept = with_sold(season.orders, season), tuple(kept_entries(season))
    found = supplies(season.dated, season.farm, season.crops, season.now, season.airs, season.held)
    lines = allocate(found, orders, season.farm, season.now, (), named(kept, orders)).lines
    promised: dict[str, int] = {}
    for line in lines:
        if not line.fixed:
            code = line.supply.lot.lot_code
            promised[code] = promised.get(code, 0) + line.stems
    return promised


def _sale(season: Season, asked: Asked) -> UsualSale | None:
    """What is to be sold on the day that was named, in all."""
    if not asked.use or asked.day is None:
        return None
    use = season.farm.uses[asked.use]
    leaves = departure_of(use, asked.day)
    if leaves < season.now and asked.bunches is None and asked.day == season.now.date():
        return None  # orders may leave later that day
    if leaves < season.now:
        raise UsageProblem(f"--on must be a day whose departure is to come (got {asked.day}, {leaves:%H:%M})")
    if asked.bunches is not None:
        return UsualSale(leaves=leaves, use=use.name, bunches=asked.bunches)
    if use.stems is not None and use.sells_on(asked.day):
        return UsualSale(leaves=leaves, use=use.name, stems=use.stems)
    return None


def _usual(season: Season, asked: Asked, sale: UsualSale | None) -> list[UsualSale]:
    """What outlets usually sell up to the last day that is told, what was asked for in its place."""
    until = max(asked.day or date.min, season.now.date() + timedelta(days=DAYS))
    others = [
        one
        for one in usual_sales(season.farm, season.now, until)
        if sale is None or (one.use, one.leaves.date()) != (sale.use, sale.leaves.date())
    ]
    return others if sale is None else [*others, sale]


def _released(
    kept: Sequence[KeptEntry], orders: Sequence[WrittenOrder], sale: UsualSale | None, asked: Asked
) -> Iterator[KeptEntry]:
    """What `pack` kept before and chooses again."""
    own = [one for one in kept if one.by_pack]
    rows = {order.order_code: order for order in orders if not order.is_done}
    here = [one for one in own if _is_asked(one, asked)]
    anew = asked.anew or (
        sale is not None and sale.bunches is not None and sum(one.bunches for one in here) > sale.bunches
    )
    for one in own:
        row = rows.get(one.name)
        is_open = row is not None and (row.leaves, row.use) == (one.leaves, one.use)
        if not (is_open or one.is_to_sell) or (anew and one in here):
            yield one


def _is_asked(kept: KeptEntry, asked: Asked) -> bool:
    return asked.use in ("", kept.use) and asked.day in (None, kept.leaves.date())


# --- what was asked, out of words ---------------------------------------------------------------------------


def asked_of(
    season: Season, use: str | None, on: str | None, bunches: int | None, *, anew: bool = False
) -> Asked:
    """What the options of `pack` ask for.

    Raises:
        UsageProblem: there is no such use or day, or bunches without both.
    """
    if bunches is not None and (use is None or on is None):
        raise UsageProblem("--bunches must stand with --for and --on, which say where the bunches go")
    if bunches is not None and not 1 <= bunches <= MOST_BUNCHES:
        raise UsageProblem(f"--bunches must be a whole number from 1 to {MOST_BUNCHES:,} (got {bunches})")
    name = "" if use is None else use_named(season, use)
    day = None if on is None else day_named(season, on, name)
    return Asked(use=name, day=day, bunches=bunches, anew=anew)


def use_named(season: Season, text: str) -> str:
    """The use of the farm that a word names."""
    uses = {squash(name): name for name in season.farm.uses}
    found = uses.get(squash(text))
    if found is None:
        near = nearest(text, uses.values())
        hint = f" The nearest is {near}." if near else ""
        raise UsageProblem(f"--for must be a use of the farm: {listed(uses.values())} (got {text!r}).{hint}")
    return found


def day_named(season: Season, text: str, use: str = "") -> date:
    """The day that a word names: a weekday to come, today, tomorrow, or a date.

    Today's weekday is today while the use has not left yet.
    """
    word, now = text.strip().casefold(), season.now
    today = now.date()
    if word in ("today", "tomorrow"):
        return today + timedelta(days=word == "tomorrow")
    number = next((n for n, name in enumerate(WEEKDAYS) if word.startswith(name) and word.isalpha()), None)
    if number is not None:
        day = today + timedelta(days=(number - today.weekday()) % 7)
        over = bool(use) and departure_of(season.farm.uses[use], day) < now
        return day + timedelta(days=7) if over else day
    try:
        return DateColumn("on", season.farm.day_first, now).read(text.strip()).day
    except UnfitCellError as unfit:
        raise UsageProblem(
            f"--on must be a weekday, today, tomorrow or a date (got {text!r}). {unfit.remedy}"
        ) from None
