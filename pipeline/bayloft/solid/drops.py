"""A second drop of the deck near the rail, held against the lofted deck and against what fair rails allow there."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import spelled
from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.section import SectionNumbers, over, rail_height
from bayloft.lines.section_lines import drop_at
from bayloft.solid.body import Body
from bayloft.solid.measure import deck_drop, stringer_from_mm
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given
from bayloft.tolerances import TAPE_MM
from bayloft.units import at_least, at_most, both

Array = NDArray[np.float64]

LEANEST, FULLEST = 0.2, 0.55
"""Least and greatest radius of a fair rail, as a share of the rail's own height: with a larger one the curvature has a
peak above the widest point, a boxy corner."""
RADII, LEANER = 24, 0.99
"""How many radii are tried, and by how much one must be less than the one before to be told from it."""
CRISPEST, LONGEST = 0.35, 1.0
"""Shoulders of fair rails."""
SHOULDERS = 5
HEIGHTS, HIGHEST = 80, 2.0
"""Heights of the rail that are tried, and the greatest, as a share of the deck's over the widest point at the
stringer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What fair rails that have a first drop allow a second to be, mm; radius in mm and shoulder of the one of them,
    its shoulder as near as may be, that has the second as it was read: None where there is none.
    """

    least_mm: float
    most_mm: float
    rail: tuple[float, float] | None


def window(n: SectionNumbers, first: Given, second: Given) -> Window | None:
    """Return what fair rails allow the second drop of a section (1,) to be where they have the first; None where none
    has it.
    """
    own = float(n.shoulder[0])
    shoulders = sorted({own, *np.linspace(CRISPEST, LONGEST, SHOULDERS).tolist()}, key=lambda each: abs(each - own))
    share, shoulder = np.linspace(FULLEST, LEANEST, RADII)[:, None], np.array(shoulders)
    above = float(over(n, n.inset)[0])
    heights = above * HIGHEST * np.linspace(1.0, 0.0, HEIGHTS, endpoint=False)[::-1, None, None]
    tried = _railed(n, above, heights, share, shoulder)
    # The higher the rail, the less dome: from a drop that is all the deck's to one that is all the rail's.
    excess = np.where(tried.dome >= 0.0, drop_at(tried, first.inside_mm) - first.value, np.nan)
    falls = (excess[:-1] >= 0.0) & (excess[1:] < 0.0)
    at = np.argmax(falls, axis=0)
    before, after = (np.take_along_axis(excess, at[None] + by, axis=0)[0] for by in (0, 1))
    has_first = np.asarray(falls.any(axis=0))
    way = np.where(has_first, before / np.where(has_first, before - after, 1.0), 0.0)
    rails = _railed(n, above, heights[at, 0, 0] + way * float(heights[1, 0, 0] - heights[0, 0, 0]), share, shoulder)
    # Leaner still, the radius grows again: of two rails of one radius that have the first drop the fuller is meant.
    grows = has_first[1:] & has_first[:-1] & (rails.radius[1:] > LEANER * rails.radius[:-1])
    fair = has_first.copy()
    fair[1:] &= ~np.logical_or.accumulate(grows, axis=0)
    over_read = np.where(fair, drop_at(rails, second.inside_mm) - second.value, np.nan)
    rail = None
    # Of the nearest shoulder that has both drops, the fullest rail.
    for column, row in np.argwhere((over_read[:-1] * over_read[1:] <= 0.0).T)[:1]:
        one, other = over_read[row : row + 2, column]
        between = one / (one - other) if one != other else 0.0
        radii = rails.radius[row : row + 2, column]
        rail = float(radii[0] + between * (radii[1] - radii[0])), shoulders[column]
    drops = over_read + second.value
    return Window(least_mm=float(np.nanmin(drops)), most_mm=float(np.nanmax(drops)), rail=rail)


def _railed(n: SectionNumbers, above: float, height: Array, share: Array, shoulder: Array) -> SectionNumbers:
    """Return a section (1,) with rails of other heights, radii in shares of them, and shoulders, and with the dome that
    keeps its deck at the stringer `above` its widest point, mm.
    """
    chine = (1.0 - n.apex) * n.depth - n.dome - rail_height(n)
    bare = replace(n, shoulder=shoulder, radius=share * height, dome=np.zeros(1), apex=1.0 - (height + chine) / n.depth)
    dome = above - over(bare, n.inset)
    return replace(bare, dome=dome, apex=bare.apex - dome / n.depth)


def drop_findings(board: Board, lines: BoardLines, body: Body) -> tuple[Finding, ...]:
    """Return a finding for each second drop: a note where fair rails allow it, or where it is as lofted; else a
    warning.
    """
    firsts = {given.x_mm: given for given in board.sections["dome"] if given.form == "drop"}
    from_mm = stringer_from_mm(body)
    return tuple(
        _finding(lines, body, firsts[drop.x_mm], drop)
        for drop in board.drops
        if drop.x_mm in firsts and from_mm < drop.x_mm < board.length_mm
    )


def _finding(lines: BoardLines, body: Body, first: Given, second: Given) -> Finding:
    lofted = float(deck_drop(body, [second.x_mm], [second.inside_mm])[0])
    n = lines.section_numbers(np.array([second.x_mm]))
    allowed = window(n, first, second)
    off = abs(lofted - second.value)
    good = off <= TAPE_MM
    text = (
        f"drop of the deck {both(second.inside_mm)} inside the widest point, {second.x_mm:.0f} mm from the tail: read "
        f"{both(second.value)}, lofted {both(lofted)}; with {both(first.value)} at {both(first.inside_mm)} "
    )
    if allowed is None:
        text += "there is no fair rail"
    else:
        good |= allowed.least_mm - TAPE_MM <= second.value <= allowed.most_mm + TAPE_MM
        text += f"fair rails have {at_least(allowed.least_mm)} to {at_most(allowed.most_mm)}"
    if off > TAPE_MM and allowed is not None and allowed.rail is not None:
        radius, shoulder = allowed.rail
        text += f'; radius = "{radius:.1f} mm"'
        text += f" and shoulder = {shoulder:.2f} have both" if shoulder != float(n.shoulder[0]) else " has both"
    return Finding(
        code="second-drop",
        severity="note" if good else "warning",
        where=spelled(second.path),
        measured=off,
        limit=TAPE_MM,
        unit="mm",
        text=text,
    )
