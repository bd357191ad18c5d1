"""What is said of a new stringer and its plank: whether it comes out, and else what is short and what would do."""

from __future__ import annotations

import math

from bayloft import tape
from bayloft.foam.stringers import MOST_LAID, CutStringer, StringerPiece
from bayloft.spec.text.kinds import MOST_STRIPS


def verdict(cut: CutStringer, *, metric: bool) -> tuple[str, str]:
    """Return in a sentence whether the stringer comes out of its plank; and what is short, or nothing."""
    plank, pieces = cut.plank, cut.pieces
    if plank is None:
        return f"Needs a plank of {plank_size(cut, metric=metric)}, turned {abs(cut.least.angle_deg):.2g}°.", ""
    if cut.comes_out:
        lie = pieces[0].lie
        assert lie is not None
        if len(pieces) == 1:
            return f"Comes out of {plank.name}, turned {abs(lie.angle_deg):g}°.", ""
        return f"Comes out of {plank.name} in {len(pieces)} pieces.", ""
    if cut.sawn == 0:
        thick, own = (tape.fine(mm, metric=metric) for mm in (plank.thickness_mm, cut.stringer.strip_mm))
        count = max(math.ceil(cut.stringer.thickness_mm / plank.thickness_mm), cut.stringer.strips + 1)
        would = f"In [stringer], strips = {count} would do" if count <= MOST_STRIPS else "A thicker one would do"
        why = f"It is {thick} thick, a strip {own}. {would}."
        return f"Does not come out of {plank.name}.", why
    missing = [piece for piece in pieces if piece.lie is None]
    wanted = "; ".join(dict.fromkeys(_short(piece, cut, metric=metric) for piece in missing))
    wanted = f"{wanted[0].upper()}{wanted[1:]}."
    if len(missing) == len(pieces):
        return f"Does not come out of {plank.name}.", wanted
    return f"Only {len(pieces) - len(missing)} of {len(pieces)} pieces come out of {plank.name}.", wanted


def plank_size(cut: CutStringer, *, metric: bool) -> str:
    """Return width and length of the least plank that a stringer comes out of in one piece."""
    return _size(cut.least.width_mm, cut.least.length_mm, metric=metric)


def _short(piece: StringerPiece, cut: CutStringer, *, metric: bool) -> str:
    """Return what a plank lacks for a piece, and what plank would do."""
    plank = cut.plank
    assert plank is not None
    wide = max(plank.width_mm, plank.width_other_mm)
    lacks = "knots, crook or other pieces are in the way"
    if len(cut.pieces) > MOST_LAID:
        lacks = f"of more than {MOST_LAID} pieces no layout is made"
    if piece.least.width_mm > wide:
        lacks = "the plank is too narrow"
    elif piece.least.length_mm > plank.length_mm:
        lacks = "the plank is too short"
    size = _size(piece.least.width_mm, piece.least.length_mm, metric=metric)
    ends = " to ".join(tape.station(x, metric=metric) for x in (max(piece.from_mm, 0.0), piece.to_mm))
    return f"from {ends}: {lacks}; sound wood of {size} would do"


def _size(width_mm: float, length_mm: float, *, metric: bool) -> str:
    return f"{tape.stock(width_mm, metric=metric)} × {tape.stock(length_mm, metric=metric)}"
