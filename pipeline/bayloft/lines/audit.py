"""The fairness audit: how often each line's curvature changes sign, and whether the lines agree with one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.tolerances import AGREEMENT_SHARE, LONGEST_STRAIGHT_SHARE

Array = NDArray[np.float64]

PLACES = 801
STRAIGHT_SHARE = 0.02
"""Curvature below this share of its median counts as straight, and is too small to have a sign."""


CHOSEN = "deepest concave"
"""The one summit that makers put under the nose or the tail on purpose: its distance is told, never warned of (common
practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """The curvature of one line along the board: stations (n,) in mm, curvature (n,) in 1/m, positive where the line
    bends the way the maker expects; how often its sign changes, and its longest straight stretch in mm.
    """

    line: str
    x_mm: Array
    curvature_per_m: Array
    sign_changes: int
    longest_straight_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Summit:
    """Where a line is at its fullest: its name in words, the station in mm from the tail end, the value there in mm."""

    line: str
    x_mm: float
    value_mm: float


def _strip(line: str, x: Array, curvature: Array) -> Strip:
    small = STRAIGHT_SHARE * float(np.median(np.abs(curvature)))
    # What is too small to have a sign keeps the sign before it.
    sign = np.where(np.abs(curvature) > small, np.sign(curvature), 0.0)
    signed = sign[sign != 0.0]
    straight = np.abs(curvature) <= small
    longest, start = 0.0, None
    for i, flat in enumerate(straight):
        if flat:
            start = i if start is None else start
            longest = max(longest, float(x[i] - x[start]))
        else:
            start = None
    return Strip(
        line=line,
        x_mm=x,
        curvature_per_m=curvature * 1000.0,
        sign_changes=int((np.diff(signed) != 0).sum()),
        longest_straight_mm=longest,
    )


def strips(lines: BoardLines) -> tuple[Strip, Strip, Strip]:
    """Return the curvature strips of outline, rocker and foil."""
    length = lines.length_mm
    u = np.linspace(0.0, 1.0, PLACES)[1:-1]
    outline = _strip("outline", lines.outline.station(u), -lines.outline.curvature(u))
    x = np.linspace(0.0, length, PLACES)
    rocker, foil = (
        sign * line.at(x, 2) / (1.0 + line.at(x, 1) ** 2) ** 1.5
        for sign, line in ((1.0, lines.rocker), (-1.0, lines.foil))
    )
    return outline, _strip("rocker", x, rocker), _strip("foil", x, foil)


def summits(lines: BoardLines) -> tuple[Summit, ...]:
    """Return where outline, rocker and foil, and the deepest roll, vee or concave where there is any, are fullest."""
    x = np.linspace(0.0, lines.length_mm, 5 * PLACES)
    wide = float(lines.outline.station(lines.outline.wide_u))
    thickest = float(x[int(np.argmax(lines.thickness(x)))])
    found = [
        Summit(line="wide point", x_mm=wide, value_mm=2.0 * float(lines.outline.half_width(lines.outline.wide_u))),
        Summit(line="lowest rocker", x_mm=lines.lowest_x_mm, value_mm=float(lines.bottom(lines.lowest_x_mm))),
        Summit(line="greatest thickness", x_mm=thickest, value_mm=float(lines.thickness(thickest))),
    ]
    n = lines.section_numbers(x)
    for line, depth in (("deepest roll", n.roll), (CHOSEN, n.concave + n.double_concave)):
        deepest = float(depth.max())
        if deepest > 0.0:
            # A depth that stays level has no one summit: the middle of the level stretch stands for it.
            level = x[depth >= deepest * (1.0 - 1e-6)]
            found.append(Summit(line=line, x_mm=float((level[0] + level[-1]) / 2), value_mm=deepest))
    return tuple(found)


def audit(lines: BoardLines) -> tuple[Finding, ...]:
    """Return the findings of the audit: notes where lines agree, warnings where they do not or run straight."""
    findings = []
    for strip in strips(lines):
        findings.append(
            Finding(
                code="curvature-signs",
                severity="note" if strip.sign_changes == 0 else "warning",
                where=strip.line,
                measured=strip.sign_changes,
                limit=0,
                unit="sign changes",
                text=f"the {strip.line} bends one way all along"
                if strip.sign_changes == 0
                else f"the {strip.line} changes the way it bends {strip.sign_changes} times",
            )
        )
        limit = LONGEST_STRAIGHT_SHARE * lines.length_mm
        if strip.longest_straight_mm > limit and strip.line != "foil":
            findings.append(
                Finding(
                    code="straight-stretch",
                    severity="warning",
                    where=strip.line,
                    measured=strip.longest_straight_mm,
                    limit=limit,
                    unit="mm",
                    text=f"the numbers force the {strip.line} to run straight for {strip.longest_straight_mm:.0f} mm",
                )
            )
    first, *others = summits(lines)
    limit = AGREEMENT_SHARE * lines.length_mm
    for other in others:
        apart = other.x_mm - first.x_mm
        side = "forward of" if apart > 0 else "behind"
        where = f"{abs(apart):.0f} mm {side}" if abs(apart) >= 0.5 else "at"
        findings.append(
            Finding(
                code="agreement",
                severity="note" if abs(apart) <= limit or other.line == CHOSEN else "warning",
                where=other.line,
                measured=abs(apart),
                limit=limit,
                unit="mm",
                text=f"{other.line} lies {where} the wide point",
            )
        )
    return tuple(findings)
