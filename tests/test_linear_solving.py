"""Aims one after the other: what HiGHS finds is best by the first, and among those by the next."""

from __future__ import annotations

import random

import pytest

from tagmaker.desk.linear_solving import solve
from tagmaker.storage.linear_model import INFINITE, Aim, LinearModel, ModelBuilder, Row

SECONDS = 60.0
SLACK = 1e-5  # a hundred times what the solver calls equal


def value(aim: Aim, values: tuple[float, ...]) -> float:
    """What an aim comes to."""
    return sum(cost * values[column] for column, cost in aim.costs)


def solved(model: LinearModel) -> tuple[float, ...]:
    """The solution of a model that is solved to its end."""
    found = solve(model, SECONDS)
    assert found is not None
    assert found.proven == len(model.aims)
    return found.values


def aim_by_aim(model: LinearModel) -> list[float]:
    """The best value of each aim, the other way: each solved by itself with those before it as rows."""
    best: list[float] = []
    for at, aim in enumerate(model.aims):
        kept = tuple(
            Row(-INFINITE, limit + SLACK, earlier.costs)
            for earlier, limit in zip(model.aims[:at], best, strict=True)
        )
        alone = LinearModel(model.bounds, (*model.rows, *kept), (aim,))
        best.append(value(aim, solved(alone)))
    return best


def a_transport(seed: int) -> LinearModel:
    """Stems of some lots for some wants, with three aims that contradict one another."""
    chance = random.Random(seed)
    build = ModelBuilder()
    lots, wants = range(chance.randrange(2, 6)), range(chance.randrange(2, 6))
    columns = {(lot, want): build.column(high=50) for lot in lots for want in wants if chance.random() < 0.7}
    short = {want: build.column() for want in wants}
    for lot in lots:
        own = {column: 1.0 for (of, _), column in columns.items() if of == lot}
        build.row(own, high=chance.randrange(60))
    for want in wants:
        served = {column: 1.0 for (_, of), column in columns.items() if of == want}
        build.row({**served, short[want]: 1.0}, low=30, high=30)
    build.aim("short", [(column, 1.0) for column in short.values()])
    build.aim("marked", [(column, float(chance.randrange(3))) for column in columns.values()])
    build.aim("far", [(column, chance.random()) for column in columns.values()])
    return build.model()


@pytest.mark.parametrize("seed", range(12))
def test_each_aim_is_as_good_as_those_before_it_allow(seed: int) -> None:
    """Keeping what has a price gives the values that solving with the earlier aims as rows gives."""
    model = a_transport(seed)
    found = [value(aim, solved(model)) for aim in model.aims]
    assert found == pytest.approx(aim_by_aim(model), abs=1e-3)


def test_a_later_aim_never_costs_an_earlier_one() -> None:
    """Of two columns that serve equally the cheaper one is taken, and as much is served."""
    build = ModelBuilder()
    dear, cheap, short = build.column(), build.column(high=4), build.column()
    build.row({dear: 1.0, cheap: 1.0, short: 1.0}, low=10, high=10)
    build.aim("short", [(short, 1.0)])
    build.aim("price", [(dear, 2.0), (cheap, 1.0)])
    assert solved(build.model()) == pytest.approx((6.0, 4.0, 0.0))


def test_without_time_nothing_is_proven() -> None:
    """A solver that may not begin proves no aim."""
    found = solve(a_transport(3), 0.0)
    assert found is None or found.proven == 0


def test_the_solver_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """Results of commands stand on stdout alone: no banner is among them."""
    solved(a_transport(1))
    assert capfd.readouterr() == ("", "")
