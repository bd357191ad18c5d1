"""Numbers as a maker gave them, or as bayloft assumed them, with the key each came from."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.errors import KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One number at one station: `x_mm` from the tail end, `value` in the unit of its line, the key it came from.
    `assumed` marks a trade default that the maker did not write.
    """

    x_mm: float
    value: float
    path: KeyPath
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """A value the maker did not give: the key that would set it, the value as text with its unit, and why this one."""

    path: KeyPath
    value: str
    reason: str
