"""The block that a board is laid into: as it lies on the rack, or ripped and glued to a new stringer."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bayloft.errors import SpecError
from bayloft.foam.regluing import BeamSection, Moved, Regluing, UnbendableError, beam_sections, regluing
from bayloft.foam.ripping import rip
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.profile import Profile
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.measure import width
from bayloft.spec.blanks.blank import Blank
from bayloft.spec.boards.board import Board
from bayloft.spec.text.stations import each_foot

USUAL_CURL = 0.25
"""Poisson's ratio of a foam (common practice, no source): a half that is bent along curls across by so much of it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoamBlock:
    """A block of foam with its surface. pitch_rad: how a board stands in it at first, nose up; error_mm: what it may be
    less than it was measured, and than its halves come out. regluing: how they bend, None on the rack; resisting: what
    its sections resist that with.
    """

    blank: Blank
    lines: BoardLines
    body: Body
    error_mm: float
    pitch_rad: float = 0.0
    regluing: Regluing | None = None
    resisting: tuple[BeamSection, ...] = ()

    @property
    def length_mm(self) -> float:
        """The station of its nose tip."""
        return float(self.body.port.at(1.0, 0.0)[0])

    @property
    def marks(self) -> tuple[Moved, ...]:
        """What becomes of marks each foot from either end, in the middle and at both ends; none on the rack."""
        length = self.lines.length_mm
        return () if self.regluing is None else self.regluing.marks((0.0, *each_foot(length), length))


def on_rack(blank: Blank) -> FoamBlock:
    """Return a block as it lies on the rack."""
    lines = board_lines(blank.shape)
    return FoamBlock(blank=blank, lines=lines, body=board_body(lines), error_mm=blank.error_mm)


def reglued(block: FoamBlock, rocker: Profile, *, out_mm: float, ripped_mm: float) -> FoamBlock:
    """Return a block of the rack, ripped and glued so that its bottom at the stringer follows a board's rocker.

    Its error is greater by what a bent half may curl across, nu k y^2 / 2, at the widest place off the stringer
    (S. Timoshenko and J. N. Goodier, "Theory of Elasticity", pure bending of prismatic bars, from memory).

    out_mm: how far each half moves from the middle; ripped_mm: how far off it wood and saw took the foam away. Raises
    UnbendableError as `regluing` does.
    """
    resisting = beam_sections(block.body, block.lines.length_mm)
    bent = regluing(block.lines, resisting, rocker, out_mm=out_mm, ripped_mm=ripped_mm)
    inner = each_foot(block.lines.length_mm)
    halves = width(block.body, inner) / 2.0
    curls = [
        USUAL_CURL * abs(mark.change_1_mm) * half * half / 2.0
        for mark, half in zip(bent.marks(inner), halves.tolist(), strict=True)
    ]
    return replace(
        block,
        body=board_body(block.lines, bent.shape),
        error_mm=block.blank.error_mm + max(curls),
        pitch_rad=bent.level_rad,
        regluing=bent,
        resisting=resisting,
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
        return reglued(rack, lines.rocker, out_mm=ripped.out_mm, ripped_mm=ripped.lost_mm)
    except UnbendableError as error:
        hint = f"another blank than {rack.blank.name}, or a board of less bend"
        raise SpecError((board.source.fault(("rocker",), "", str(error), hint=hint),)) from error
