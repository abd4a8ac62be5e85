"""The answer that would serve more of what was ordered, where there is one; HiGHS looks for it.

The solver is imported only where an order is short that what others have could serve.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tagmaker.farm import Farm
from tagmaker.storage.allocation import Allocation
from tagmaker.storage.better import Offer, WholeModel, answer, first_expired, model, offer, question
from tagmaker.storage.serving import Supply

SECONDS = 0.5  # [s] that the solver may take for a programme (chosen: the sheet is waited for)

# The sums are whole numbers: half a one is near enough. One thread and one seed: the same answer each time.
OPTIONS = {"threads": 1, "random_seed": 0, "mip_rel_gap": 0.0, "mip_abs_gap": 0.5}


def better(allocation: Allocation, supplies: Sequence[Supply], farm: Farm) -> Offer | None:
    """The answer that serves most of what was ordered; None where the allocation does.

    Of answers that serve as much it is the one with the fewest bunches moved; what first expired, first out
    gives, where that is as good.

    Args:
        allocation: who gets what.
        supplies: what it was made of.
        farm: its uses.
    """
    asked = question(allocation, supplies, farm)
    if asked is None:
        return None
    plain = offer(asked, first_expired(asked), plain=True)
    values = whole_solution(model(asked), SECONDS)
    if values is None:
        return plain
    most = asked.missing(answer(asked, values))
    if most >= asked.missing(asked.given):
        return plain
    near = whole_solution(model(asked, most), SECONDS)
    found = offer(asked, answer(asked, near or values), plain=False)
    return plain if found is None or (plain is not None and plain.missing <= found.missing) else found


def whole_solution(programme: WholeModel, seconds: float) -> Sequence[float] | None:
    """The columns of the least sum that was found in time; None where not one solution was."""
    import highspy
    import numpy as np

    class Quiet(highspy.Highs):
        """The solver without the banner that it prints for its callbacks, of which none are used."""

        def __init__(self) -> None:
            super(highspy.Highs, self).__init__()
            self.silent()

    solver: Any = Quiet()
    for option, value in (OPTIONS | {"time_limit": seconds}).items():
        solver.setOptionValue(option, value)
    rows = programme.rows
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(programme.highs), len(rows)
    lp.col_cost_ = np.array(programme.costs)
    lp.col_lower_ = np.zeros(len(programme.highs))
    lp.col_upper_ = np.array(programme.highs)
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    lp.integrality_ = [kinds[whole] for whole in programme.whole]
    lp.row_lower_ = np.array([low for _, low, _ in rows])
    lp.row_upper_ = np.array([high for _, _, high in rows])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(len(factors) for factors, _, _ in rows)])
    factors = [factor for row, _, _ in rows for factor in row]
    lp.a_matrix_.index_ = np.array([column for column, _ in factors])
    lp.a_matrix_.value_ = np.array([factor for _, factor in factors])
    solver.passModel(lp)
    solver.run()
    feasible = highspy.SolutionStatus.kSolutionStatusFeasible
    if solver.getInfo().primal_solution_status != feasible:
        return None
    return tuple(solver.getSolution().col_value)
