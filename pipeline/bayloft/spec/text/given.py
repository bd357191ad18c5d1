"""Numbers as a maker gave them, or as bayloft assumed them, with the key each came from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bayloft.errors import KeyPath
from bayloft.spec.text.source import Source

Form = Literal["length", "share", "radius", "drop"]
"""How a number of a section is told. length: in mm. share: of what its quantity scales with. radius: the edge's radius
in mm, for its softness. drop: in mm, from a straightedge on the deck down to the deck near the rail, for the dome.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One number at one station: `x_mm` from the tail end, `value` in the unit of its line, the key it came from.
    `assumed` marks a trade default that the maker did not write. `form` tells numbers of a section apart; `inside_mm`
    is how far inside the widest point a drop was measured. `play_mm`: what it may be off, to either side, as it was
    read; `exact`: it is never moved for the sake of a fair line. `source` is the file of a number that is not in the
    board's own, of shared rails.
    """

    x_mm: float
    value: float
    path: KeyPath
    assumed: bool = False
    form: Form = "length"
    inside_mm: float = 0.0
    play_mm: float = 0.0
    exact: bool = False
    source: Source | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """A value the maker did not give: the key that would set it, the value as text with its unit, and why this one."""

    path: KeyPath
    value: str
    reason: str
