"""Which texts of a part go on which piece: lines that belong together stay together."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.drawing.labels import PITCH, bounds
from bayloft.drawing.sheet import SCRIBE, Label

Block = tuple[Label, ...]

_SAME_MM = 1e-6


def blocks(labels: Sequence[Label]) -> list[Block]:
    """Return labels in the blocks they were set in: level lines of one height, each a line's pitch under the other."""
    found: list[list[Label]] = []
    for label in labels:
        above = found[-1][-1] if found else None
        if above is not None and _follows(above, label):
            found[-1].append(label)
        else:
            found.append([label])
    return [tuple(block) for block in found]


def _follows(above: Label, label: Label) -> bool:
    down = above.y_mm - label.y_mm - PITCH * label.height_mm
    alike = above.height_mm == label.height_mm and above.turn_deg == label.turn_deg == 0.0
    return alike and abs(down) < _SAME_MM


def box_of(block: Block) -> tuple[float, float, float, float]:
    """Return the box round a block: least x, least y, greatest x, greatest y in mm."""
    boxes = [bounds(label) for label in block]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def middle_of(block: Block) -> tuple[float, float]:
    """Return the middle of a block's box in mm."""
    left, low, right, high = box_of(block)
    return (left + right) / 2, (low + high) / 2


def can_move(block: Block) -> bool:
    """Whether a block may be set elsewhere on its piece: level ones say themselves what they belong to, but for a
    station scribed at its tick.
    """
    return all(label.turn_deg == 0.0 and label.layer != SCRIBE for label in block)
