"""A linear programme as plain data: columns between bounds, rows between bounds, and aims in their order.

Minimise the first aim; of all that are best by it, minimise the second; and so on (lexicographic). Who
solves it need know nothing of flowers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

INFINITE = math.inf


@dataclass(frozen=True, slots=True)
class Row:
    """low ≤ Σ factor · column ≤ high."""

    low: float
    high: float
    factors: tuple[tuple[int, float], ...]  # column, factor


@dataclass(frozen=True, slots=True)
class Aim:
    """Σ cost · column is to be as small as can be."""

    name: str
    costs: tuple[tuple[int, float], ...]  # column, cost


@dataclass(frozen=True, slots=True)
class LinearModel:
    """Columns by index, each between a low and a high bound."""

    bounds: tuple[tuple[float, float], ...]
    rows: tuple[Row, ...]
    aims: tuple[Aim, ...]
    whole: tuple[int, ...] = ()  # columns of whole numbers; the sums of all aims are then whole too


@dataclass(frozen=True, slots=True)
class Solved:
    """Values of the columns, and how many of the aims they are proven to be best by."""

    values: tuple[float, ...]
    proven: int


@dataclass(slots=True)
class ModelBuilder:
    """Collects columns, rows and aims."""

    bounds: list[tuple[float, float]] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    aims: list[Aim] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)

    def column(self, high: float = INFINITE, low: float = 0.0, *, whole: bool = False) -> int:
        """One more column; returns its index."""
        self.bounds.append((low, high))
        self.whole += [len(self.bounds) - 1] * whole
        return len(self.bounds) - 1

    def row(self, factors: Mapping[int, float], low: float = -INFINITE, high: float = INFINITE) -> None:
        """One more row; factors of 0 are left out."""
        self.rows.append(Row(low, high, tuple((at, factor) for at, factor in factors.items() if factor)))

    def aim(self, name: str, costs: Iterable[tuple[int, float]]) -> None:
        """One more aim, after those before it."""
        self.aims.append(Aim(name, tuple((at, cost) for at, cost in costs if cost)))

    def model(self) -> LinearModel:
        """All of it."""
        return LinearModel(tuple(self.bounds), tuple(self.rows), tuple(self.aims), tuple(self.whole))
