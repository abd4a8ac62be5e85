"""What the bench page of the season plan needs, handed in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from tagmaker.telling.season_told import PlanWords


@dataclass(frozen=True, slots=True)
class Planning:
    """The plan of one state of a season."""

    words: Callable[[], PlanWords]  # made when it is first asked for
    # rows, id of the form, device: what is shown from now on, and what was done; raises as `Live.change`
    accept: Callable[[Sequence[str], str, str], tuple[Any, str]]
