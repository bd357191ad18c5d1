"""Families of router controllers, by what they read; every word is one of the open RS274/NGC standard."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """What a controller reads: arcs (G2, G3, also while going down) or straight lines only, a number before every line,
    a percent sign as first and last line, and how many seconds a program waits (G4) for the spindle; 0 for no G4.
    """

    name: str
    arcs: bool
    numbered: bool
    percent: bool
    dwell_s: float


DIALECTS = MappingProxyType(
    {
        dialect.name: dialect
        for dialect in (
            Dialect(name="arcs", arcs=True, numbered=False, percent=False, dwell_s=0.0),
            Dialect(name="arcs-dwell", arcs=True, numbered=False, percent=False, dwell_s=4.0),
            Dialect(name="arcs-numbered", arcs=True, numbered=True, percent=True, dwell_s=4.0),
            Dialect(name="lines", arcs=False, numbered=False, percent=False, dwell_s=0.0),
            Dialect(name="lines-numbered", arcs=False, numbered=True, percent=True, dwell_s=4.0),
        )
    }
)
"""By name, as a shop file says it. G4 takes seconds in RS274/NGC (from memory); a controller that takes thousandths
waits less, which is as without it."""
