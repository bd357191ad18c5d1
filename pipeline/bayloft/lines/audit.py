"""The fairness audit: how each line bends, in how many swells, and whether the lines agree with one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.section import inset_of, over, under
from bayloft.lines.swells import swells
from bayloft.spec.boards.board import Turn
from bayloft.tolerances import AGREEMENT_SHARE, LONGEST_STRAIGHT_SHARE

Array = NDArray[np.float64]

PLACES = 801
STRAIGHT_SHARE, STRAIGHT_PER_M = 0.02, 1e-3
"""Curvature below this share of its median, or below this, a radius of 1 km, counts as straight, and is too small to
have a sign: over a foot a line of such a radius sags by a hundredth of a millimetre."""

SIDE_PLACES = 321
BUTTOCKS = (("third", 1 / 3), ("two thirds", 2 / 3))
"""Buttocks that are looked at: lines along the faces so far off the stringer, as shares of the greatest half-width."""
INSIDE_SHARE = 0.85
"""Share of the half-width, and of the bottom inside its edge, up to which a buttock is looked at: beyond it runs round
the rail."""
HARD_EDGE = 0.05
"""Softness up to which a bottom edge is a line that can be seen; beyond it is rounded, and no edge to the eye."""
LEAST_PLACES = 24
"""Places that a line must have to be looked at."""


CHOSEN = "deepest concave"
"""The one summit that makers put under the nose or the tail on purpose: its distance is told, never warned of (common
practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """The curvature of one line along the board: stations (n,) in mm, curvature (n,) in 1/m, positive where the line
    bends the way the maker expects; how often its sign changes; its longest straight stretch in mm; the stations in mm
    of its swells, the places of greatest curvature that stand out, and whether each but the first is apart from the one
    before it by a straight stretch.
    """

    line: str
    x_mm: Array
    curvature_per_m: Array
    sign_changes: int
    longest_straight_mm: float
    swells_mm: tuple[float, ...]
    apart: tuple[bool, ...]

    @property
    def waves(self) -> int:
        """How many swells are too many: a line that bends fairly has one, on either side of a straight stretch."""
        return sum(not straight for straight in self.apart)


@dataclass(frozen=True, slots=True, kw_only=True)
class Summit:
    """Where a line is at its fullest: its name in words, the station in mm from the tail end, the value there in mm."""

    line: str
    x_mm: float
    value_mm: float


def _strip(line: str, x: Array, curvature: Array, turns: Sequence[Turn] = ()) -> Strip:
    """Return a strip; in its `turns` a line may bend as the maker likes."""
    bend = curvature * 1000.0
    small = max(STRAIGHT_SHARE * float(np.median(np.abs(bend))), STRAIGHT_PER_M)
    # What is too small to have a sign keeps the sign before it.
    free = np.zeros(len(x), dtype=np.bool_)
    for turn in turns:
        free |= (x > turn.from_mm - (turn.to_mm - turn.from_mm) / 2) & (
            x < turn.to_mm + (turn.to_mm - turn.from_mm) / 2
        )
    sign = np.where((np.abs(bend) > small) & ~free, np.sign(bend), 0.0)
    signed = sign[sign != 0.0]
    straight = np.abs(bend) <= small
    longest, start = 0.0, None
    for i, flat in enumerate(straight):
        if flat:
            start = i if start is None else start
            longest = max(longest, float(x[i] - x[start]))
        else:
            start = None
    tops = swells(x, bend)
    tops = tops[~free[tops]]
    return Strip(
        line=line,
        x_mm=x,
        curvature_per_m=bend,
        sign_changes=int((np.diff(signed) != 0).sum()),
        longest_straight_mm=longest,
        swells_mm=tuple(x[tops].tolist()),
        apart=tuple(bool((straight | free)[a:b].any()) for a, b in pairwise(tops.tolist())),
    )


def strips(lines: BoardLines) -> tuple[Strip, Strip, Strip]:
    """Return the curvature strips of outline, rocker and foil."""
    length = lines.length_mm
    u = np.linspace(0.0, 1.0, PLACES)[1:-1]
    outline = _strip("outline", lines.outline.station(u), -lines.outline.curvature(u), lines.turns.get("outline", ()))
    x = np.linspace(0.0, length, PLACES)
    rocker, foil = (
        sign * line.at(x, 2) / (1.0 + line.at(x, 1) ** 2) ** 1.5
        for sign, line in ((1.0, lines.rocker), (-1.0, lines.foil))
    )
    return outline, _strip("rocker", x, rocker), _strip("foil", x, foil, lines.turns.get("foil", ()))


def side_strips(lines: BoardLines) -> tuple[Strip, ...]:
    """Return the curvature strips of what an eye along the board sees besides: buttocks of bottom and deck, the rail
    line and, where it is hard, the bottom edge; each between the places where it turns into rail or tip.
    """
    x = np.linspace(0.0, lines.length_mm, SIDE_PLACES)[1:-1]
    n, rail = lines.section_numbers(x), lines.rail_line(x)
    edge_y = n.half_width * np.sqrt(1.0 - n.edge_share)
    found = [_along("rail line in profile", x, rail, np.ones(len(x), dtype=np.bool_))]
    greatest = float(lines.outline.half_width(lines.outline.wide_u))
    for name, share in BUTTOCKS:
        off = share * greatest
        inset = inset_of(n, np.maximum(n.half_width - off, 0.0))
        for face, sign, heights, most in (
            ("bottom", 1.0, rail - under(n, inset), edge_y),
            ("deck", -1.0, rail + over(n, inset), n.half_width),
        ):
            turns = lines.turns.get("foil", ()) if face == "deck" else ()
            found.append(_along(f"{face} at {name}", x, sign * heights, off < INSIDE_SHARE * most, turns))
    hard = n.edge_softness <= HARD_EDGE
    found.append(_along("bottom edge in plan", x, -edge_y, hard, lines.turns.get("outline", ())))
    found.append(_along("bottom edge in profile", x, rail - under(n, n.inset * n.edge_share), hard))
    return tuple(strip for strip in found if strip is not None)


def _along(name: str, x: Array, heights: Array, seen: NDArray[np.bool_], turns: Sequence[Turn] = ()) -> Strip | None:
    """Return the strip of heights (n,) in mm at even stations, over their longest stretch that is seen; None where that
    is too short.
    """
    change = np.flatnonzero(np.diff(np.concatenate([[False], seen, [False]]).astype(np.int64)))
    first, stop = max(zip(change[::2].tolist(), change[1::2].tolist(), strict=True), key=np.ptp, default=(0, 0))
    if stop - first < LEAST_PLACES:
        return None
    x, heights = x[first:stop], heights[first:stop]
    step = x[1] - x[0]
    slope = (heights[2:] - heights[:-2]) / (2.0 * step)
    bend = (heights[2:] - 2.0 * heights[1:-1] + heights[:-2]) / (step * step)
    return _strip(name, x[1:-1], bend / (1.0 + slope * slope) ** 1.5, turns)


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


def _swell_finding(strip: Strip) -> Finding:
    count = len(strip.swells_mm)
    text = f"the {strip.line} bends in one swell"
    if strip.waves:
        *places, last = (f"{x:.0f}" for x in strip.swells_mm)
        text = f"the {strip.line} waves: {count} swells, {', '.join(places)} and {last} mm from the tail"
    return Finding(
        code="swells",
        severity="warning" if strip.waves else "note",
        where=strip.line,
        measured=count,
        limit=count - strip.waves if strip.waves else max(count, 1),
        unit="swells",
        text=text,
    )


def audit(lines: BoardLines) -> tuple[Finding, ...]:
    """Return the findings of the audit: notes where lines agree and bend fairly, warnings where they do not."""
    findings = []
    shown = strips(lines)
    for strip in shown:
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
        if strip.longest_straight_mm > limit:
            findings.append(
                Finding(
                    code="straight-stretch",
                    severity="note",
                    where=strip.line,
                    measured=strip.longest_straight_mm,
                    limit=limit,
                    unit="mm",
                    text=f"the {strip.line} runs straight for {strip.longest_straight_mm:.0f} mm",
                )
            )
    findings += [_swell_finding(strip) for strip in (*shown, *side_strips(lines))]
    chosen = {CHOSEN} | ({"lowest rocker"} if lines.lowest_assumed else set())
    first, *others = summits(lines)
    limit = AGREEMENT_SHARE * lines.length_mm
    for other in others:
        apart = other.x_mm - first.x_mm
        side = "forward of" if apart > 0 else "behind"
        where = f"{abs(apart):.0f} mm {side}" if abs(apart) >= 0.5 else "at"
        findings.append(
            Finding(
                code="agreement",
                severity="note" if abs(apart) <= limit or other.line in chosen else "warning",
                where=other.line,
                measured=abs(apart),
                limit=limit,
                unit="mm",
                text=f"{other.line} lies {where} the wide point",
            )
        )
    return tuple(findings)
