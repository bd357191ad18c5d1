"""The block that a board is laid into: as it lies on the rack, or ripped and glued to a new stringer."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.errors import SpecError
from bayloft.foam.regluing import BeamSection, Moved, Regluing, UnbendableError, beam_sections, regluing
from bayloft.foam.ripping import rip
from bayloft.foam.sawing import WedgeCuts, wedge_cuts
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.profile import Profile
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.dimensions import dimensions
from bayloft.solid.measure import width
from bayloft.spec.blanks.blank import Blank
from bayloft.spec.boards.board import Board
from bayloft.spec.text.stations import usual_stations
from bayloft.tolerances import GIVEN_NUMBER_MM

Array = NDArray[np.float64]

STANDING_PLACES = 601
"""Places along the bottom at which the lowest is looked for."""

USUAL_CURL = 0.25
"""Poisson's ratio of a foam (common practice, no source): a half that is bent along curls across by so much of it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoamBlock:
    """A block of foam with its surface. pitch_rad: how a board stands in it at first, nose up; error_mm: what it may be
    less than it is drawn, and than its halves come out. regluing: how they bend, None on the rack; resisting: what
    its sections resist that with; cuts: the saw cuts without which their faces are strained more than they bear.
    """

    blank: Blank
    lines: BoardLines
    body: Body
    error_mm: float
    pitch_rad: float = 0.0
    regluing: Regluing | None = None
    resisting: tuple[BeamSection, ...] = ()
    cuts: tuple[WedgeCuts, ...] = ()

    @property
    def length_mm(self) -> float:
        """The station of its nose tip."""
        return float(self.body.port.at(1.0, 0.0)[0])

    def standing(self, points: ArrayLike) -> Array:
        """Return points (n, 3) in the block's axes where they lie as it stands: the lowest place of its bottom at the
        stringer at height 0, its tail end at station 0.
        """
        line = self.body.port.grid(np.linspace(0.0, 1.0, STANDING_PLACES), [0.0])[:, 0]
        level, tail = _turned(line, -self.pitch_rad), _turned(line[:1], -self.pitch_rad)
        origin = np.array([tail[0, 0], 0.0, level[:, 2].min()])
        return np.asarray(_turned(np.asarray(points, dtype=np.float64), -self.pitch_rad) - origin)

    def marks(self, *, metric: bool) -> tuple[Moved, ...]:
        """Return what becomes of marks at the usual stations and at both ends; none on the rack."""
        length = self.lines.length_mm
        stations = (0.0, *usual_stations(length, metric=metric), length)
        return () if self.regluing is None else self.regluing.marks(stations)


def _turned(points: Array, by_rad: float) -> Array:
    c, s = np.cos(by_rad), np.sin(by_rad)
    return np.column_stack([c * points[:, 0] - s * points[:, 2], points[:, 1], s * points[:, 0] + c * points[:, 2]])


def on_rack(blank: Blank) -> FoamBlock:
    """Return a block as it lies on the rack. Its error is what it may be less than it was measured, and what its lines
    pass outside of that.
    """
    lines = board_lines(blank.shape)
    body = board_body(lines)
    return FoamBlock(blank=blank, lines=lines, body=body, error_mm=blank.error_mm + drawn_larger_mm(blank, lines, body))


def drawn_larger_mm(blank: Blank, lines: BoardLines, body: Body) -> float:
    """Return how far at most a block's surface lies outside of the numbers that it was measured by, for lines that pass
    them within the mark of the tape.
    """
    off: dict[str, dict[float, float]] = {"width": {}, "rocker": {}, "thickness": {}}
    for each in dimensions(blank.shape, lines, body):
        off.get(each.what, {})[each.x_mm] = each.error_mm
    stations = sorted({x for found in off.values() for x in found})
    # Between two readings of a line it is taken to be off evenly; the deck is off by rocker and thickness together.
    width_off, rocker_off, thick_off = (
        np.interp(stations, sorted(found), [found[x] for x in sorted(found)]) if found else np.zeros(len(stations))
        for found in off.values()
    )
    larger = float(max(width_off.max() / 2.0, (rocker_off + thick_off).max(), -rocker_off.min()))
    return larger if larger > GIVEN_NUMBER_MM else 0.0


def reglued(block: FoamBlock, rocker: Profile, *, out_mm: float, ripped_mm: float, kerf_mm: float) -> FoamBlock:
    """Return a block of the rack, ripped and glued so that its bottom at the stringer follows a board's rocker.

    Its error is greater by what a bent half may curl across, nu k y^2 / 2, at the widest place off the stringer
    (S. Timoshenko and J. N. Goodier, "Theory of Elasticity", pure bending of prismatic bars, from memory); and, where
    its foam bears the bend only with saw cuts, by what a half that is straight between two of them stands off.

    out_mm: how far each half moves from the middle; ripped_mm: how far off it wood and saw took the foam away; kerf_mm:
    of the saw. Raises UnbendableError as `regluing` does.
    """
    resisting = beam_sections(block.body, block.lines.length_mm)
    bent = regluing(block.lines, resisting, rocker, out_mm=out_mm, ripped_mm=ripped_mm)
    inner = usual_stations(block.lines.length_mm, metric=block.blank.shape.metric)
    halves = width(block.body, inner) / 2.0
    curls = [
        USUAL_CURL * abs(mark.change_1_mm) * half * half / 2.0
        for mark, half in zip(bent.marks(inner), halves.tolist(), strict=True)
    ]
    limit = block.blank.foam.most_strain
    cuts = () if limit is None else wedge_cuts(bent, limit, kerf_mm)
    return replace(
        block,
        body=board_body(block.lines, bent.shape),
        error_mm=block.error_mm + max(curls) + max((each.off_mm for each in cuts), default=0.0),
        pitch_rad=bent.level_rad,
        regluing=bent,
        resisting=resisting,
        cuts=cuts,
    )


def block_for(board: Board, lines: BoardLines, rack: FoamBlock) -> FoamBlock:
    """Return the block that a board of such lines is laid into: the one of the rack, or, with a new stringer, that one
    ripped and re-glued to the board's rocker.

    Raises SpecError where its halves cannot bend so.
    """
    if board.stringer is None:
        return rack
    ripped = rip(board.stringer, rack.blank.stringer)
    try:
        return reglued(
            rack, lines.rocker, out_mm=ripped.out_mm, ripped_mm=ripped.lost_mm, kerf_mm=board.stringer.kerf_mm
        )
    except UnbendableError as error:
        hint = f"another blank than {rack.blank.name}, or a board of less bend"
        raise SpecError((board.source.fault(("rocker",), "", str(error), hint=hint),)) from error
