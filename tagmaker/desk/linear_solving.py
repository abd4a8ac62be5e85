"""A linear programme solved by HiGHS, aim by aim; it is imported only where something is to be solved.

After each aim the columns and rows that have a price stay at their bounds: what remains are the solutions
that are best by the aims so far (complementary slackness), so that no aim ever costs an earlier one. Where
columns are whole there are no prices: the sum of the aim stays a row that is never passed.
"""

from __future__ import annotations

from itertools import chain
from typing import Any

from tagmaker.storage.linear_model import Aim, LinearModel, Solved

PRICE = 1e-7  # from which a reduced cost counts as one: the solver's own tolerance
WHOLE_SUMS = (("mip_rel_gap", 0.0), ("mip_abs_gap", 0.5))  # half of one is near enough to a whole number
PRIMAL = 4  # the strategy of HiGHS that goes on from the last solution, which is feasible already


def solve(model: LinearModel, seconds: float) -> Solved | None:
    """The best columns by the aims in their order.

    Args:
        model: what is to be solved; a model that has no solution is an error of ours.
        seconds: after which it ends with what it has [s].

    Returns:
        The columns, and how many aims they are proven best by; None where not one solution was found.
    """
    import highspy

    class Quiet(highspy.Highs):
        """The solver without the banner that it prints for its callbacks, of which none are used."""

        def __init__(self) -> None:
            super(highspy.Highs, self).__init__()
            self.silent()

    solver: Any = Quiet()
    for option, value in (("threads", 1), ("random_seed", 0), ("time_limit", seconds), *WHOLE_SUMS):
        solver.setOptionValue(option, value)
    _pass(solver, model, highspy)
    values: tuple[float, ...] | None = None
    for proven, aim in enumerate(model.aims):
        _aim_at(solver, aim, len(model.bounds))
        solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            raise ValueError("the season model must have a solution")
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            values = tuple(solver.getSolution().col_value)
        if status != highspy.HighsModelStatus.kOptimal:
            return None if values is None else Solved(values, proven)
        if model.whole:
            _stay_below(solver, aim, info.objective_function_value)
            continue
        _stay_best(solver)
        solver.setOptionValue("simplex_strategy", PRIMAL)
    return None if values is None else Solved(values, len(model.aims))


def _pass(solver: Any, model: LinearModel, highspy: Any) -> None:
    """Hand the columns and rows over."""
    import numpy as np

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.bounds), len(model.rows)
    lp.col_cost_ = np.zeros(len(model.bounds))
    lp.col_lower_ = np.array([low for low, _ in model.bounds])
    lp.col_upper_ = np.array([high for _, high in model.bounds])
    lp.row_lower_ = np.array([row.low for row in model.rows])
    lp.row_upper_ = np.array([row.high for row in model.rows])
    if model.whole:
        kinds = [highspy.HighsVarType.kContinuous] * len(model.bounds)
        for column in model.whole:
            kinds[column] = highspy.HighsVarType.kInteger
        lp.integrality_ = kinds
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(len(row.factors) for row in model.rows)])
    factors = list(chain.from_iterable(row.factors for row in model.rows))
    lp.a_matrix_.index_ = np.array([column for column, _ in factors])
    lp.a_matrix_.value_ = np.array([factor for _, factor in factors])
    solver.passModel(lp)


def _aim_at(solver: Any, aim: Aim, columns: int) -> None:
    import numpy as np

    costs = np.zeros(columns)
    for column, cost in aim.costs:
        costs[column] += cost
    solver.changeColsCost(columns, np.arange(columns, dtype=np.int32), costs)


def _stay_below(solver: Any, aim: Aim, least: float) -> None:
    """Keep the sum of an aim at the least whole number that it can be."""
    import numpy as np

    columns = np.array([column for column, _ in aim.costs], dtype=np.int32)
    costs = np.array([cost for _, cost in aim.costs])
    solver.addRow(-np.inf, round(least) + 0.25, len(columns), columns, costs)


def _stay_best(solver: Any) -> None:
    """Keep whatever has a price where it is: at the bound that it is nearest to."""
    import numpy as np

    solution, lp = solver.getSolution(), solver.getLp()
    for prices, values, low, high, change in (
        (solution.col_dual, solution.col_value, lp.col_lower_, lp.col_upper_, solver.changeColsBounds),
        (solution.row_dual, solution.row_value, lp.row_lower_, lp.row_upper_, _rows_changer(solver)),
    ):
        priced = np.flatnonzero(np.abs(np.array(prices)) > PRICE).astype(np.int32)
        value, low, high = (np.array(each)[priced] for each in (values, low, high))
        bound = np.where(np.abs(value - low) <= np.abs(value - high), low, high)
        change(len(priced), priced, bound, bound)


def _rows_changer(solver: Any) -> Any:
    """`changeColsBounds` for rows, which the solver takes one by one."""

    def change(_: int, rows: Any, low: Any, high: Any) -> None:
        for row, least, most in zip(rows, low, high, strict=True):
            solver.changeRowBounds(int(row), float(least), float(most))

    return change
