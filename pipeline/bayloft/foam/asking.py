"""Whether a board comes out of its blank, asked as a maker does: how much foam is over it, and else what would do."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.foam.blocks import FoamBlock, block_for
from bayloft.foam.fitting import BoardInBlank, Fit
from bayloft.foam.remedies import Remedy, remedies
from bayloft.solid.draft import Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedBoard:
    """A board in its block, and what would make it fit where it does not. on_rack_mm: the cover that was found for it
    in the blank as it lies on the rack, less its error; None where that is the block.
    """

    fit: Fit
    wanted_mm: float
    on_rack_mm: float | None
    remedies: tuple[Remedy, ...]

    @property
    def short_mm(self) -> float:
        """By how much the sure cover is less than what is wanted; 0 where it is enough."""
        return max(self.wanted_mm - self.fit.sure_mm, 0.0)

    @property
    def saw_cuts(self) -> int:
        """How many saw cuts it takes, without which the foam is strained more than its maker allows."""
        return sum(len(each.stations_mm) for each in self.fit.block.cuts)

    @property
    def better_left(self) -> bool:
        """Whether the board comes out of the blank as it lies on the rack, with no less foam over it: of what was found
        there, what a proof takes off is taken off too.
        """
        proof = self.fit.cover_mm - self.fit.floor_mm
        return self.on_rack_mm is not None and self.on_rack_mm - proof >= max(self.wanted_mm, self.fit.sure_mm)


def fitted(draft: Draft, rack: FoamBlock, wanted_mm: float) -> FittedBoard:
    """Return how a board lies in a block of the rack, re-glued where it has a new stringer.

    Raises SpecError where the block's halves cannot bend so.
    """
    board = draft.board
    block = block_for(board, draft.lines, rack)
    found = BoardInBlank(board, draft.body, block).fit()
    on_its_own = None
    if block.regluing:
        on_its_own = BoardInBlank(board, draft.body, rack).ranked[0].cover_mm - rack.error_mm
    needed = wanted_mm + block.error_mm + (found.cover_mm - found.floor_mm)
    better = () if found.sure_mm >= wanted_mm else tuple(remedies(board, rack, needed))
    return FittedBoard(fit=found, wanted_mm=wanted_mm, on_rack_mm=on_its_own, remedies=better)
