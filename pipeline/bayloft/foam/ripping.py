"""A block ripped for a new stringer: what saw and old stringer take, and how far its halves come to lie apart."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.spec.bench.stringer import Stringer
from bayloft.spec.blanks.blank import OldStringer


@dataclass(frozen=True, slots=True, kw_only=True)
class Rip:
    """A rip, mm. lost_mm: how far off the middle of the old stringer the block is sawn away; out_mm: how much further
    off the middle of the new one each half then lies (negative: nearer). once: one cut, and not one on each side.
    """

    lost_mm: float
    out_mm: float
    once: bool


def rip(stringer: Stringer, old: OldStringer | None) -> Rip:
    """Return the rip of a block with an old stringer, or with none, for a new one.

    Beside the old stringer the saw goes twice, and takes it; through it, or where there is none, once, and half of the
    old wood stays on each half.
    """
    once = stringer.through or old is None
    lost = stringer.kerf_mm / 2.0 if once or old is None else old.thickness_mm / 2.0 + stringer.kerf_mm
    return Rip(lost_mm=lost, out_mm=stringer.thickness_mm / 2.0 + stringer.glue_line_mm - lost, once=once)
