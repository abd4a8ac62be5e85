"""The answer that would serve more of what was ordered, where there is one; HiGHS looks for it.

It is asked only where an order is short that what others have could serve.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tagmaker.desk.linear_solving import solve
from tagmaker.farm import Farm
from tagmaker.storage.allocation import Allocation
from tagmaker.storage.better import Offer, answer, first_expired, model, offer, question
from tagmaker.storage.serving import Supply

SECONDS = 0.5  # [s] that the solver may take (chosen: the sheet is waited for)
SHORT_AIMS = 2  # aims about what is missing; the last is about what is moved


def better(allocation: Allocation, supplies: Sequence[Supply], farm: Farm) -> Offer | None:
    """The answer that serves most of what was ordered; None where the allocation does.

    Of answers that serve as much it is that of first expired, first out, else the one with the fewest bunches
    moved.

    Args:
        allocation: who gets what.
        supplies: what it was made of.
        farm: its uses.
    """
    asked = question(allocation, supplies, farm)
    if asked is None:
        return None
    plain = offer(asked, first_expired(asked), plain=True)
    solved = solve(model(asked), SECONDS)
    if solved is None:
        return plain
    proven = solved.proven >= SHORT_AIMS
    found = offer(asked, answer(asked, solved.values), proven=proven)
    if plain is None or (found is not None and found.missing < plain.missing):
        return found
    return replace(plain, proven=proven)
